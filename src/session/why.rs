//! "Why?": the grounds of a suspect, the worth of a test, the rules that hold something back.

use super::asker::{Asked, or_back};
use super::sheet::Sheet;
use super::work::Work;
use judge::diagnosis::{self, Fault};
use judge::plan::{self, Step};
use pages::report::{self, terms, words};

/// Suspects that can be asked about.
const ASKED: usize = 6;

#[derive(Debug, Clone, Copy)]
enum About {
    Recommendation(Step),
    Suspect(Fault),
    Rules,
}

impl Work<'_, '_> {
    /// Asks about what, and shows the grounds; again until it is enough.
    pub(super) fn why(&mut self) -> Asked<()> {
        let picture = self.picture();
        let (knowledge, timeline) = (self.desk.knowledge, &self.timeline);
        let best = picture.advice.best.step;
        let what = words::lower_first(&report::step(knowledge, timeline, best));
        let mut choices = vec![(format!("Next: {what}"), About::Recommendation(best))];
        for suspect in picture.assessment.suspects.iter().take(ASKED) {
            let name = words::upper_first(&terms::fault_now(knowledge, timeline, suspect.fault));
            choices.push((
                format!("{name} ({})", words::percent(suspect.probability)),
                About::Suspect(suspect.fault),
            ));
        }
        if !picture.advice.guards.is_empty() {
            choices.push(("What is held back, and by which rule".to_owned(), About::Rules));
        }
        // Esc leads back to the main question.
        let question = self.desk.word("Why what? Esc when done.", "Why what?");
        while let Some(about) = or_back(self.desk.pick(question, &choices, 0))? {
            match about {
                About::Recommendation(step) => self.why_step(step)?,
                About::Suspect(fault) => {
                    let (knowledge, scale) = (self.desk.knowledge, self.desk.settings.scale);
                    let grounds = diagnosis::explain_cause(knowledge, &self.timeline, fault);
                    let page = report::why_cause(knowledge, &self.timeline, &grounds, scale, false);
                    self.desk.page(&page)?;
                }
                About::Rules => self.rules()?,
            }
        }
        Ok(())
    }

    fn why_step(&mut self, step: Step) -> Asked<()> {
        let knowledge = self.desk.knowledge;
        let diagnosis = diagnosis::diagnose(knowledge, &self.timeline);
        let explained = plan::explain_test(&diagnosis, step)
            .map(|worth| report::why_test(knowledge, &self.timeline, &worth, false));
        drop(diagnosis);
        if let Some(page) = explained {
            return self.desk.page(&page);
        }
        let picture = self.picture();
        let best = &picture.advice.best;
        let why: Vec<String> = best.why.iter().map(|text| words::sentence(text)).collect();
        let expected = words::minutes(best.expected_total);
        self.desk.say(&format!(
            "{} To a proven cure {expected} of labour are expected when starting with it.",
            why.join(" ")
        ))
    }

    fn rules(&mut self) -> Asked<()> {
        let picture = self.picture();
        let (knowledge, timeline) = (self.desk.knowledge, &self.timeline);
        let mut sheet = Sheet::new(self.desk.settings.width);
        for guard in &picture.advice.guards {
            sheet.block();
            sheet.item("- ", &words::sentence(&guard.text));
            let held: Vec<String> = guard
                .held_back
                .iter()
                .map(|&step| report::step(knowledge, timeline, step))
                .collect();
            if !held.is_empty() {
                sheet.item("  ", &format!("Not now: {}.", held.join("; ")));
            }
        }
        self.desk.show(&sheet)
    }
}
