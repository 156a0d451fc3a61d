//! Candidates: single causes prepared for the likelihood, and what work does to them.
//!
//! Says how likely a disturbance is to cure a fault and how likely a cured one is to be back. It
//! must not look at a reading, a finding or a verdict.

use std::rc::Rc;

use facts::job::timeline::{Disturbance, Timeline, Touch};
use facts::knowledge::{Knowledge, Lasting, Seat};
use measure::engine::{Cylinder, Place};

use super::display::Renaming;
use crate::diagnosis::looks::Course;
use crate::diagnosis::path::{Chances, Path, Presence, paths};
use crate::diagnosis::prior::Single;
use crate::diagnosis::result::{CauseRef, Fault};

/// A single cause prepared for the likelihood.
#[derive(Debug, Clone)]
pub(crate) struct Candidate {
    pub(crate) fault: Fault,
    pub(crate) prior: f64,
    /// The factor in it that stands for what is complained of.
    pub(crate) said: f64,
    pub(crate) seat: Seat,
    /// First numbers of the seats it is on.
    pub(crate) numbers: Vec<Cylinder>,
    pub(crate) renaming: Option<Renaming>,
    /// It passes with time, so that a second reading at the same point is free of it.
    pub(crate) passes: bool,
    /// Shared by models of the same job.
    pub(crate) paths: Rc<[Path]>,
    /// How it may show over the reading sets; never empty once the model is made.
    pub(crate) courses: Rc<[Course]>,
}

/// Prepares a fault; `seen` has the slots in which something was read, found or said, `known` the paths that others
/// were found to have.
pub(super) fn candidate(
    knowledge: &Knowledge,
    timeline: &Timeline,
    &Single { fault, prior, said }: &Single,
    seen: Presence,
    known: &mut Vec<(Vec<Chances>, Rc<[Path]>)>,
) -> Candidate {
    let engine = &timeline.engine;
    let numbers = match fault.place {
        // The whole box.
        Place::Nowhere => engine.all().collect(),
        place => place.cylinders(engine),
    };
    let seat = match fault.cause {
        CauseRef::Listed(index) => knowledge.causes[index].seat,
        // Something unknown stays with the cylinder.
        CauseRef::Unlisted => Seat::Cylinder,
    };
    let misnamed = |index: usize| knowledge.causes[index].misnames();
    let renaming = match (fault.cause, fault.place) {
        (CauseRef::Listed(index), Place::Pair(a, b)) if misnamed(index) => Some(match seat {
            Seat::Settings | Seat::Channel => Renaming::Name(a, b),
            _ => Renaming::Joint(a, b),
        }),
        _ => None,
    };
    let passes = fault.cause.passes(knowledge);
    let chances: Vec<Chances> = timeline
        .disturbances
        .iter()
        .map(|d| {
            let mut chances = chances(knowledge, timeline, fault, seat, &numbers, d);
            if renaming.is_some() {
                // Nothing is crossed again, or put right, by itself. Besides, each way in which
                // it might have been has a covariance of its own to be factorised.
                chances.back = 0.0;
                if chances.cure <= knowledge.constants.self_cure {
                    chances.cure = 0.0;
                }
            }
            chances
        })
        .collect();
    let before =
        known.iter().find(|(other, _)| *other == chances).map(|(_, paths)| Rc::clone(paths));
    let paths = before.unwrap_or_else(|| {
        let paths: Rc<[Path]> = paths(&chances, seen).into();
        known.push((chances, Rc::clone(&paths)));
        paths
    });
    Candidate { fault, prior, said, seat, numbers, renaming, passes, paths, courses: Rc::from([]) }
}

/// Share of the re-seat chance that is left for depth where a fixed collar carries it along.
const COLLAR_SHARE: f64 = 0.125;

/// Chance that a replaced seat takes the fault away with it (inventory section 3, practice).
const REPLACED: f64 = 0.96;

/// Chance that a known good lead takes a crossing away with it (judgement): run from the probe to its own channel it
/// goes past the crossing, put in where the old one was plugged it keeps it.
const PAST_A_CROSSING: f64 = 0.5;

/// Chance that work on its place ends a fault that is in no list (practice).
const UNLISTED_RESEAT: f64 = 0.05;

/// Chances that a disturbance cures a fault, and that a cured one is back.
pub(crate) fn chances(
    knowledge: &Knowledge,
    timeline: &Timeline,
    fault: Fault,
    seat: Seat,
    numbers: &[Cylinder],
    disturbance: &Disturbance,
) -> Chances {
    let constants = &knowledge.constants;
    let cause = match fault.cause {
        CauseRef::Listed(index) => Some(&knowledge.causes[index]),
        CauseRef::Unlisted => None,
    };
    let reseat = cause.map_or(UNLISTED_RESEAT, |cause| cause.reseat);
    let remedy = cause.and_then(|cause| cause.remedy.as_ref()).map(|remedy| remedy.id.as_str());
    // That it rests at some looks is a matter of its course, whatever is done between them.
    let (own, mut back) = match cause.map_or(Lasting::Mostly, |cause| cause.lasting) {
        Lasting::Fixed => (constants.self_cure_fixed, constants.self_cure_fixed),
        Lasting::Mostly | Lasting::ComesAndGoes => (constants.self_cure, constants.back_again),
    };
    let mut cure = own;
    for &(touched, number, touch) in &disturbance.touched {
        if touched != seat || !numbers.contains(&number) {
            continue;
        }
        // What was put right may be put wrong by the next who works on it.
        back = back.max(constants.back_again);
        let chance = match touch {
            Touch::Replaced if seat == Seat::Lead && fault.cause.misnames(knowledge) => {
                PAST_A_CROSSING
            }
            Touch::Replaced => REPLACED,
            Touch::Reseated(share) => {
                let travels = timeline.engine.depth_travels();
                let collar = if seat == Seat::Fit && travels { COLLAR_SHARE } else { 1.0 };
                share * collar * reseat
            }
        };
        cure = cure.max(chance);
    }
    if let Some((cause, place)) = disturbance.remedied {
        let same_work = knowledge.causes[cause].remedy.as_ref().map(|r| r.id.as_str());
        let this =
            fault.cause == CauseRef::Listed(cause) || (remedy.is_some() && remedy == same_work);
        if this && place == fault.place {
            cure = cure.max(constants.remedy_works);
        }
    }
    Chances { cure: cure.min(0.99), back }
}
