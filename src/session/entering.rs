//! An entry of the session: kept in the job, said back, and what hangs on it.
//!
//! An entry that could not be kept is not lost: it is tried again, or kept elsewhere. It must not ask what to do
//! next.

use super::asker::{Asked, Line, or_back};
use super::desk::Purpose;
use super::opening::engine_state;
use super::work::{Once, Work, ended, told_state};
use facts::job::check;
use facts::job::entry::{Entry, What};
use facts::knowledge::RunningPoint;
use measure::engine::Regime;
use measure::units::Scale;
use pages::report;

/// What to do with an entry that could not be kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unkept {
    Again,
    Elsewhere,
    Leave,
}

impl Unkept {
    fn choices() -> [(String, Self); 3] {
        [
            ("Try again".to_owned(), Self::Again),
            ("Keep the whole job in another file, this entry with it".to_owned(), Self::Elsewhere),
            ("Leave this entry out".to_owned(), Self::Leave),
        ]
    }
}

impl Work<'_, '_> {
    /// Adds an entry, says so, and tells whether it was added.
    pub(super) fn enter(&mut self, typed: String, what: What) -> Asked<bool> {
        self.enter_timed(typed, what, None, None)
    }

    /// The same for work that took so many minutes, if that was said, and was done at a running point other than
    /// the usual one.
    pub(super) fn enter_timed(
        &mut self,
        typed: String,
        what: What,
        minutes: Option<f64>,
        at: Option<RunningPoint>,
    ) -> Asked<bool> {
        let number = self.job.journal().entries.len() + 1;
        let (knowledge, scale) = (self.desk.knowledge, self.desk.settings.scale);
        if let Err(error) = check::entry(&self.timeline.engine, number, &what) {
            self.desk.refuse(&format!("{error}; nothing was entered"))?;
            return Ok(false);
        }
        let said = match &what {
            What::Undo { entry } => {
                let gone = self.job.journal().entries.get(entry - 1);
                let gone = gone.map(|e| report::entry_text(knowledge, &e.what, scale));
                format!("undone: entry {entry}: {}", gone.unwrap_or_default())
            }
            what => report::entry_text(knowledge, what, scale),
        };
        let time = (self.desk.settings.now)();
        let at = at.map(|at| at.id).or_else(|| self.timeline.point_of(knowledge, &what));
        let scale = self.scale_of(&what);
        // What is asked on the way to it is no correction.
        let instead = self.correcting.filter(|_| super::correcting::asked_anew(&what));
        let air = self.beside.take().filter(|_| matches!(what, What::Temps { .. }));
        let entry = Entry { minutes, at, instead, scale, air, ..Entry::new(time, typed, what) };
        let same = self.job.journal().same_as(&entry.what).filter(|same| Some(*same) != instead);
        let known = self.job.journal().entries.len();
        let Some(number) = self.keep(&entry)? else {
            return Ok(false);
        };
        if instead.is_some() {
            self.correcting = None;
        }
        self.reread();
        self.tell_of_others(known, number - 1)?;
        let said = if matches!(entry.what, What::Close { .. }) {
            // Whether it is normal or unproven the entry alone does not know.
            format!("job {}", report::terms::standing(self.timeline.standing))
        } else {
            said
        };
        let place = instead.map_or_else(String::new, |n| format!(" in the place of entry {n}"));
        self.desk.say(&format!("Saved as entry {number}{place}: {}", ended(&said)))?;
        if let Some(same) = same {
            let said = format!(
                "every reading is exactly that of entry {same}: if it was entered twice, undo it"
            );
            self.desk.refuse(&said)?;
        }
        Ok(true)
    }

    /// The scale that temperatures were said to be in, where the job goes by another.
    fn scale_of(&self, what: &What) -> Option<Scale> {
        let settings = &self.desk.settings;
        let said = settings.scale_said && matches!(what, What::Temps { .. });
        let known = self.job.journal().scale().unwrap_or(Scale::Celsius);
        Some(settings.scale).filter(|scale| said && *scale != known)
    }

    /// Keeps an entry here, or elsewhere where it cannot be kept here; its number, if it was kept.
    fn keep(&mut self, entry: &Entry) -> Asked<Option<usize>> {
        loop {
            let problem = match self.job.append(entry.clone()) {
                Ok(number) => return Ok(Some(number)),
                Err(problem) => problem,
            };
            self.desk.refuse(&format!("{problem}; this was not entered, all before it is safe"))?;
            if self.look_again()? {
                return Ok(None);
            }
            let mut choices = Unkept::choices().to_vec();
            if self.desk.on_page() {
                // A page names no files of the computer that it comes from.
                choices.retain(|(_, what)| *what != Unkept::Elsewhere);
            }
            match or_back(self.desk.pick("What now?", &choices, 0))? {
                Some(Unkept::Again) => {}
                Some(Unkept::Elsewhere) => {
                    if let Some(number) = or_back(self.keep_elsewhere(entry))? {
                        return Ok(Some(number));
                    }
                }
                Some(Unkept::Leave) | None => return Ok(None),
            }
        }
    }

    /// Keeps the job with an entry more in another file, and goes on with that one.
    fn keep_elsewhere(&mut self, entry: &Entry) -> Asked<usize> {
        let mut journal = self.job.journal().clone();
        journal.push(entry.clone());
        let line = Line {
            question: "File for the whole job?",
            help: "a path on another disk that ends in .ron",
            ..Line::default()
        };
        (self.job, self.name) = self.desk.line(line, |file| {
            self.shelf.create(file, &journal)?;
            Ok((self.shelf.take(file)?, file.to_owned()))
        })?;
        let file = &self.name;
        self.desk.say(&format!("The whole job is kept in {file}; this session goes on there."))?;
        Ok(journal.entries.len())
    }

    /// Asks how long a test took where that is remembered; nothing need be said.
    pub(super) fn took(&mut self) -> Asked<Option<f64>> {
        if !self.shelf.remembers() {
            return Ok(None);
        }
        let line = Line {
            question: "Hands-on minutes it took?",
            help: "the test alone, no opening, no waiting; may be left empty",
            ..Line::default()
        };
        self.desk.line(line, |answer| {
            let text = answer.trim().replace(',', ".");
            if text.is_empty() {
                return Ok(None);
            }
            let no_minutes =
                |_| format!("`{answer}`: expected minutes, as `12`; or leave it empty");
            let minutes = Some(text.parse::<f64>().map_err(no_minutes)?);
            check::minutes(minutes).map_err(|error| error.to_string())?;
            Ok(minutes)
        })
    }

    pub(super) fn undo(&mut self) -> Asked<()> {
        match self.job.journal().last_standing() {
            Some(entry) => {
                self.enter("undo".to_owned(), What::Undo { entry })?;
            }
            None => self.desk.say("There is no entry to take back.")?,
        }
        Ok(())
    }

    pub(super) fn tell_state(&mut self) -> Asked<()> {
        let state = engine_state(self.desk, told_state(self.timeline.thermal))?;
        self.enter(format!("state {state}"), What::State(state))?;
        Ok(())
    }

    /// The point that physics knows by a regime.
    pub(super) fn at(&self, regime: Regime) -> RunningPoint {
        self.timeline.points.of(regime)
    }

    /// Asks whether load is safe where a rule holds it back; true when it may be run.
    pub(super) fn confirm_load(&mut self, at: RunningPoint) -> Asked<bool> {
        let picture = self.picture();
        let Some(guard) = picture.advice.guards.iter().find(|guard| guard.code == "no-load") else {
            return Ok(true);
        };
        self.desk.say(&guard.text)?;
        if self.desk.yes(&is_safe(at), false)? {
            return self.enter("confirm-load".to_owned(), What::LoadConfirmed);
        }
        Ok(false)
    }

    /// Holds back readings at full load unless they are known to be safe.
    pub(super) fn may_run_at(&mut self, at: RunningPoint) -> Asked<bool> {
        if !at.confirm {
            return Ok(true);
        }
        let may = self.confirm_load(at)?;
        // Only now does it matter; who has no papers at hand is not asked again.
        let known = self.timeline.builder_limit.is_some() || self.purpose == Purpose::Commission;
        if may && !known && self.once.insert(Once::Limit) {
            or_back(self.builder_limit())?;
        }
        Ok(may)
    }
}

/// The question by which running at a point is confirmed.
pub(super) fn is_safe(at: RunningPoint) -> String {
    format!("Is running at {} safe on this engine?", report::terms::point(at))
}
