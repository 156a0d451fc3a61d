//! One job by one policy, from the complaint to its end.
//!
//! Counts what it cost and how it ended, and keeps what the diagnosis said on the way. It must not
//! choose a step itself.

use crate::diagnosis::{Assessment, CauseRef, Fault, diagnose};
use crate::job::entry::Journal;
use crate::knowledge::Knowledge;
use crate::plan::{JobEnd, Step};
use crate::units::Cost;

use super::engine::VirtualEngine;
use super::policy::{Memory, Policy};
use super::world::{Shown, World};
use super::wrong::Truth;

/// Steps after which a job counts as never ending (assumed).
const PATIENCE: usize = 30;
/// Probability at which a cause is said.
const SAID: f64 = 0.95;

/// How a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ended {
    /// Written down as normal.
    Normal,
    /// Closed after a remedy, readings as they should be, the cause called proven.
    Proven,
    /// Closed after a remedy without calling it proven.
    Closed,
    /// By the long search.
    Searched,
    /// Out of patience.
    Never,
}

/// What the diagnosis said at one moment, and whether it was so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Said {
    /// Probability of the suspect (or of nothing wrong) that led.
    pub top: f64,
    /// It was the case.
    pub right: bool,
    /// Probability given to what was the case.
    pub truth: f64,
    /// Sum of squared errors over all suspects and nothing wrong.
    pub squares: f64,
}

/// One job done by one policy.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Minutes of labour until the proven cause, what came back included.
    pub total: f64,
    /// The parts of it, what came back left out.
    pub cost: Cost,
    /// Steps taken.
    pub steps: Vec<(Step, Shown)>,
    /// How it ended.
    pub ended: Ended,
    /// What was the matter was found and put right, or nothing was and nothing was done.
    pub proven: bool,
    /// Something noticeable was left and came back: found by a search at last.
    pub came_back: bool,
    /// Engine parts bought where nothing was the matter.
    pub healthy_parts: u32,
    /// What the diagnosis said, moment by moment; empty for policies without.
    pub said: Vec<Said>,
    /// The first time a cause was given 0.95, whether it was so.
    pub sure: Option<bool>,
    /// The first time the work on a cause was given 0.95, whether it was right.
    pub sure_work: Option<bool>,
    /// Everything that was entered.
    pub journal: Journal,
}

/// Plays a job.
#[must_use]
pub fn play(known: &Knowledge, truth: &Truth, job: &VirtualEngine, policy: Policy) -> Outcome {
    let mut world = World::open(known, truth, job);
    let mut memory = Memory::default();
    let mut steps = Vec::new();
    let mut book = Book::default();
    let mut ended = Ended::Never;
    while steps.len() < PATIENCE {
        let (step, verified) = if policy.diagnoses() {
            let timeline = world.timeline.clone();
            let diagnosis = diagnose(known, &timeline);
            book.note(known, job, &diagnosis.assessment);
            let step = memory.with_diagnosis(policy, &world, &diagnosis);
            let verified = step == Step::End(JobEnd::Proven);
            (step, verified)
        } else {
            (memory.without_diagnosis(policy, &world), false)
        };
        let remedied = world.timeline.disturbances.iter().any(|d| d.remedied.is_some());
        let shown = world.step(step);
        steps.push((step, shown.clone()));
        match shown {
            Shown::End => {
                ended = match (remedied, verified) {
                    (false, _) => Ended::Normal,
                    (true, true) => Ended::Proven,
                    (true, false) => Ended::Closed,
                };
                break;
            }
            Shown::Found => {
                ended = Ended::Searched;
                break;
            }
            Shown::Readings | Shown::Outcome(_) | Shown::Done => {}
        }
    }
    let cost = world.spent();
    let (proven, left) = world.judged(ended);
    Outcome {
        total: world.spent().total(known.constants.rates),
        cost,
        steps,
        ended,
        proven,
        came_back: left,
        healthy_parts: world.healthy_parts,
        said: book.said,
        sure: book.sure,
        sure_work: book.sure_work,
        journal: world.journal,
    }
}

/// What the diagnosis said so far.
#[derive(Default)]
struct Book {
    said: Vec<Said>,
    sure: Option<bool>,
    sure_work: Option<bool>,
}

impl Book {
    fn note(&mut self, known: &Knowledge, job: &VirtualEngine, assessment: &Assessment) {
        let is_so = |fault: Fault| job.faults.iter().any(|f| f.fault == fault);
        let sound = job.faults.is_empty();
        let mut top = (assessment.healthy, sound);
        let mut truth = if sound { assessment.healthy } else { 0.0 };
        let mut squares = (assessment.healthy - f64::from(u8::from(sound))).powi(2);
        let mut seen = 0.0;
        for suspect in &assessment.suspects {
            let so = is_so(suspect.fault);
            if suspect.probability > top.0 {
                top = (suspect.probability, so);
            }
            if so {
                truth = truth.max(suspect.probability);
                seen += 1.0;
            }
            squares += (suspect.probability - f64::from(u8::from(so))).powi(2);
        }
        // True faults that are no suspects at all.
        squares += (job.faults.iter().map(|_| 1.0).sum::<f64>() - seen).max(0.0);
        self.said.push(Said { top: top.0, right: top.1, truth, squares });
        if self.sure.is_none() && top.0 >= SAID {
            self.sure = Some(top.1);
        }
        if self.sure_work.is_none() {
            self.sure_work = sure_of_work(known, job, assessment);
        }
    }
}

/// Whether the work on the leading cause is given 0.95, and is right.
fn sure_of_work(known: &Knowledge, job: &VirtualEngine, assessment: &Assessment) -> Option<bool> {
    let leader = assessment.suspects.first()?.fault;
    if crate::diagnosis::same_work(known, assessment, leader) < SAID {
        return None;
    }
    let remedy = |cause: CauseRef| match cause {
        CauseRef::Listed(index) => known.causes[index].remedy.as_ref().map(|r| r.id.as_str()),
        CauseRef::Unlisted => None,
    };
    Some(job.faults.iter().any(|f| {
        f.fault.place == leader.place
            && (f.fault.cause == leader.cause
                || remedy(leader.cause).is_some_and(|id| remedy(f.fault.cause) == Some(id)))
    }))
}
