//! An earlier entry put right: another is asked for in its place.

use super::asker::{Asked, Stop};
use super::parts::Doing;
use super::work::Work;
use facts::job::entry::What;
use facts::job::typed;
use pages::report::{self, words};

impl Work<'_, '_> {
    /// Asks which entry is wrong and what it should have been, and says what no longer fits.
    pub(super) fn correct(&mut self) -> Asked<()> {
        let (knowledge, scale) = (self.desk.knowledge, self.desk.settings.scale);
        let mut choices: Vec<(String, usize)> = self
            .job
            .journal()
            .standing()
            .into_iter()
            .filter(|(_, entry)| asked_anew(&entry.what))
            .map(|(n, entry)| {
                (format!("{n}: {}", report::entry_text(knowledge, &entry.what, scale)), n)
            })
            .collect();
        // The slip is mostly a fresh one.
        choices.reverse();
        let number = self.desk.pick("Which entry is wrong?", &choices, 0)?;
        let before = self.timeline.clone();
        self.correcting = Some(number);
        let done = self.anew(number);
        let kept = self.correcting.take().is_none();
        done?;
        if kept {
            let said = report::no_longer_fits(knowledge, &before, &self.timeline, number);
            for line in said {
                self.desk.refuse(&line)?;
            }
        }
        Ok(())
    }

    /// Asks for what stands in a place as if it were entered now.
    fn anew(&mut self, number: usize) -> Asked<()> {
        let standing = self.job.journal().standing();
        let what =
            standing.into_iter().find(|(known, _)| *known == number).map(|(_, e)| e.what.clone());
        match what.ok_or(Stop::Back)? {
            What::Temps { at, site, readings, .. } => {
                let choices = [
                    ("a value was wrong".to_owned(), true),
                    ("they were taken at another running point".to_owned(), false),
                ];
                if !self.desk.pick("What was wrong?", &choices, 0)? {
                    return self.take_readings(None, Some(site));
                }
                let scale = self.desk.settings.scale;
                let values: Vec<String> =
                    readings.into_iter().map(|reading| typed::written(reading, scale)).collect();
                // At a point that this knowledge base has not, it must be said anew.
                let Some(at) = self.timeline.points.get(at) else {
                    return self.take_readings(None, Some(site));
                };
                let (typed, readings) = self.reading_line(at, site, &values.join(" "))?;
                self.enter(typed, What::Temps { at: at.id, site, readings, from: None })?;
                Ok(())
            }
            What::Found { test, .. } => match self.desk.knowledge.test(&test) {
                Some(index) => {
                    let knowledge = self.desk.knowledge;
                    self.found(&knowledge.tests[index], None, None)
                }
                None => self.own_test(),
            },
            What::Exchange { item, .. } => self.do_parts(item, Doing::Exchanged, None, None),
            What::Remake { item, new, .. } => {
                let doing = if new { Doing::Renewed } else { Doing::Reseated };
                self.do_parts(item, doing, None, None)
            }
            What::State(_) => self.tell_state(),
            What::Remedy { .. } => self.remedy(),
            other => self.desk.say(&words::sentence(&format!(
                "{}: that is corrected with `oddpot correct`",
                report::entry_text(self.desk.knowledge, &other, self.desk.settings.scale)
            ))),
        }
    }
}

/// What the session can ask for again by itself.
pub(super) fn asked_anew(what: &What) -> bool {
    matches!(
        what,
        What::Temps { .. }
            | What::Found { .. }
            | What::Exchange { .. }
            | What::Remake { .. }
            | What::State(_)
            | What::Remedy { .. }
    )
}
