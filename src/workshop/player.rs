//! The one door to what is measured: somebody who asks the program and does what it says.
//!
//! It asks for the advice on a job as `next` does, takes its first step, and notes what the program holds
//! for true. It must not know what is the matter; whether a claim was so is judged by `play`.

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use judge::diagnosis::{Assessment, CauseRef, Fault, diagnose, same_work};
use judge::plan::{JobEnd, Step, advise};
use measure::engine::{Place, ProbeSite};

use super::act::{Act, Trouble, Verdict};

/// What the program says at a moment.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Advised {
    /// What it would have done.
    pub(super) act: Act,
    /// Probability that nothing is wrong.
    pub(super) sound: f64,
    /// Suspects with their probabilities, likeliest first.
    pub(super) suspects: Vec<(Trouble, f64)>,
    /// Probability that the work on the leading suspect is the right one.
    pub(super) work: f64,
}

/// Asks the program.
pub(super) fn advised(known: &Knowledge, timeline: &Timeline) -> Advised {
    let diagnosis = diagnose(known, timeline);
    let Assessment { healthy, suspects, .. } = &diagnosis.assessment;
    let work = suspects.first().map_or(0.0, |s| same_work(known, &diagnosis.assessment, s.fault));
    Advised {
        act: act(advise(&diagnosis).best.step),
        sound: *healthy,
        suspects: suspects.iter().map(|s| (trouble(s.fault), s.probability)).collect(),
        work,
    }
}

/// Whether a test would tell what readings that were typed tell already.
#[must_use]
pub fn said_by_numbers(test: &str, timeline: &Timeline) -> bool {
    judge::diagnosis::said_by_numbers(test, timeline)
}

fn trouble(fault: Fault) -> Trouble {
    let cause = match fault.cause {
        CauseRef::Listed(index) => Some(index),
        CauseRef::Unlisted => None,
    };
    Trouble { cause, place: fault.place }
}

/// What is the matter, as the program calls it.
#[must_use]
pub fn fault(trouble: Trouble) -> Fault {
    Fault {
        cause: trouble.cause.map_or(CauseRef::Unlisted, CauseRef::Listed),
        place: trouble.place,
    }
}

/// The same act as the program's pages put it in words.
#[must_use]
pub fn step(act: Act, site: ProbeSite) -> Step {
    match act {
        Act::Test { test, cylinder, partner, at } => Step::Test { test, cylinder, partner, at },
        Act::Remedy { cause, place } => Step::Remedy(fault(Trouble { cause: Some(cause), place })),
        Act::Search => Step::Remedy(fault(Trouble { cause: None, place: Place::Nowhere })),
        Act::Read { at } => Step::Readings { at, site },
        Act::PutBack { item, a, b } => Step::PutBack { item, a, b },
        Act::Stop(Verdict::Normal) => Step::End(JobEnd::Normal),
        Act::Stop(Verdict::Proven) => Step::End(JobEnd::Proven),
        Act::Stop(Verdict::Unproven) => Step::End(JobEnd::Unproven),
        Act::Stop(Verdict::NotFound) => Step::End(JobEnd::NotFound),
    }
}

fn act(step: Step) -> Act {
    match step {
        Step::Test { test, cylinder, partner, at } => Act::Test { test, cylinder, partner, at },
        Step::Remedy(Fault { cause: CauseRef::Listed(cause), place }) => {
            Act::Remedy { cause, place }
        }
        Step::Remedy(_) => Act::Search,
        Step::Readings { at, .. } | Step::Verify { at } => Act::Read { at },
        Step::PutBack { item, a, b } => Act::PutBack { item, a, b },
        Step::End(JobEnd::Normal) => Act::Stop(Verdict::Normal),
        Step::End(JobEnd::Proven) => Act::Stop(Verdict::Proven),
        Step::End(JobEnd::Unproven | JobEnd::Closed) => Act::Stop(Verdict::Unproven),
        Step::End(JobEnd::NotFound) => Act::Stop(Verdict::NotFound),
    }
}
