//! What can be done at the main question, and which of it is offered as the job stands.
//!
//! Only the choices; what comes of one is `work`'s.

use super::desk::Purpose;
use super::work::Work;
use facts::job::timeline::{Closing, Standing};
use judge::plan::{Step, is_done};
use measure::engine::Fuel;
use pages::report;

/// Choices of the main question that are in sight without going on below what stands above them; the others are a
/// key or a letter away.
pub(super) const IN_SIGHT: usize = 5;

/// What can be done at the main question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Act {
    Recommended,
    Cannot,
    Show,
    Alternatives,
    Readings,
    Parts,
    OwnTest,
    Remedy,
    Why,
    Where,
    State,
    Fitting,
    ConfirmLoad,
    BuilderLimit,
    Balance,
    Limits,
    Commission,
    CommissionSheet,
    Journal,
    Undo,
    Correct,
    Card,
    Close,
    Reopen,
    OtherJob,
    More,
    PutAway,
}

impl Work<'_, '_> {
    /// What is mostly wanted, short enough to leave room for the recommendation above it.
    pub(super) fn acts(&mut self) -> Vec<(String, Act)> {
        let mut acts: Vec<(String, Act)> = Vec::new();
        let on_page = self.desk.on_page();
        let page = |file: &'static str, page: &'static str| if on_page { page } else { file };
        let mut add = |label: &str, act| acts.push((label.to_owned(), act));
        if self.timeline.standing == Standing::Open {
            let picture = self.picture();
            add(&self.recommended_label(picture.advice.best.step), Act::Recommended);
            if !picture.advice.alternatives.is_empty() {
                add("Do something else: the alternatives", Act::Alternatives);
            }
            add("Enter readings", Act::Readings);
            add("Enter a part exchanged, re-seated or renewed", Act::Parts);
            add("Enter a test of my own choice", Act::OwnTest);
            add("Enter a remedy that was done", Act::Remedy);
            add("Why? A suspect, a test, what is held back", Act::Why);
            if is_done(&self.timeline, &picture.verification) {
                // Only now are displays worth levelling, and what they do worth a limit.
                if self.timeline.engine.fuel != Fuel::Diesel {
                    add("Balance mixtures by small trims", Act::Balance);
                }
                add("Warning limits for the controller", Act::Limits);
            }
        } else {
            let done = matches!(
                self.timeline.standing,
                Standing::Closed(Closing::Proven | Closing::Normal)
            );
            add("Put it away", Act::PutAway);
            add(page("Write the job card to a file", "Show the job card"), Act::Card);
            if done {
                add("Warning limits for the controller", Act::Limits);
            }
            if self.picture().commission.is_done() {
                let label = "Write the commissioning sheet to a file";
                add(page(label, "Show the commissioning sheet"), Act::CommissionSheet);
            }
            add("Open the job again", Act::Reopen);
        }
        if self.job.journal().last_standing().is_some() {
            add("Undo the last entry", Act::Undo);
        }
        let more = "More: where everything is, journal, files, other jobs";
        add(page(more, "More: where everything is, journal, sheets, other jobs"), Act::More);
        if self.timeline.standing == Standing::Open {
            add("Put it away for today", Act::PutAway);
        }
        acts
    }

    /// What is wanted now and then.
    pub(super) fn more_acts(&mut self) -> Vec<(String, Act)> {
        let mut acts: Vec<(String, Act)> = Vec::new();
        let mut add = |label: &str, act| acts.push((label.to_owned(), act));
        add("Show it all: every suspect, outcome and figure", Act::Show);
        add("Where everything is, and how to put it back", Act::Where);
        add("Journal: everything entered", Act::Journal);
        if self.timeline.standing == Standing::Open {
            let picture = self.picture();
            add("Correct an entry", Act::Correct);
            if matches!(picture.advice.best.step, Step::Test { .. }) {
                add("What is advised cannot be done here", Act::Cannot);
            }
            add("The engine has cooled down or warmed up", Act::State);
            add("Probe-fit sheet: depths, and what differences are worth", Act::Fitting);
            if picture.advice.guards.iter().any(|guard| guard.code == "no-load") {
                add("Running at full load is safe here", Act::ConfirmLoad);
            }
            if self.timeline.builder_limit.is_none() {
                add("The builder's limit for one display", Act::BuilderLimit);
            }
            if !is_done(&self.timeline, &picture.verification) {
                add("Balance and limits: what stands in the way", Act::Balance);
            }
            if self.purpose != Purpose::Commission && !self.timeline.complaint.is_there() {
                add("Commission this engine: its own record, step by step", Act::Commission);
            }
            let label =
                self.desk.word("Write the handover sheet to a file", "Show the handover sheet");
            add(label, Act::Card);
            add("Close the job", Act::Close);
        }
        add("Another job", Act::OtherJob);
        acts
    }

    /// The first choice names the work, for its description may have left the screen.
    fn recommended_label(&self, step: Step) -> String {
        let what = report::step(self.desk.knowledge, &self.timeline, step);
        match step {
            Step::Test { .. } | Step::Remedy(_) | Step::PutBack { .. } => format!("Done: {what}"),
            Step::Readings { .. } | Step::Verify { .. } | Step::End(_) => {
                report::words::upper_first(&what)
            }
        }
    }
}

/// Lines of a menu of so many choices: the question above them, the help below.
pub(super) fn menu_lines(choices: usize) -> usize {
    choices + 2
}
