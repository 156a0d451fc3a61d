//! Reads a journal in order and says what was done to which seat, and what it cost.
//!
//! Pure: the same journal and knowledge give the same timeline. It must not judge what a
//! reading or an outcome means.

#[cfg(test)]
mod tests;
mod touch;
mod walk;

use crate::job::entry::{EngineState, Journal, What};
use crate::job::timeline::{Closing, Standing, Timeline, Touch};
use crate::knowledge::{Knowledge, Seat, Thermal};
use measure::engine::{Cylinder, Place};
use measure::units::Cost;
use touch::{Handling, touched};
use walk::Walk;

pub use touch::touched_by_remedy;

/// Reads the standing entries of a journal.
#[must_use]
pub fn read(knowledge: &Knowledge, journal: &Journal) -> Timeline {
    Walk::over(knowledge, journal).timeline
}

/// What each standing entry cost by the knowledge base's figures, set-ups included.
#[must_use]
pub fn spent(knowledge: &Knowledge, journal: &Journal) -> Vec<(usize, Cost)> {
    Walk::over(knowledge, journal).costs
}

/// The sum of [`spent`].
#[must_use]
pub fn minutes_spent(knowledge: &Knowledge, journal: &Journal) -> Cost {
    spent(knowledge, journal).into_iter().map(|(_, cost)| cost).sum()
}

/// What an exchange, re-seat or substitution would touch if it were done now.
#[must_use]
pub fn would_touch(
    knowledge: &Knowledge,
    timeline: &Timeline,
    test: usize,
    a: Cylinder,
    b: Option<Cylinder>,
) -> Vec<(Seat, Cylinder, Touch)> {
    let known = &knowledge.tests[test];
    let Some(item) = known.item else { return Vec::new() };
    let now = &timeline.arrangement;
    touched(&timeline.engine, now, Some(known), item, Handling::of(known), [Some(a), b])
}

/// Whether the last thing done undid and remade what a cause is attached to as wholly as its remedy
/// would, so that the remedy is done and only waits to be said.
///
/// Never where the remedy needs a part.
#[must_use]
pub fn already_done(
    knowledge: &Knowledge,
    timeline: &Timeline,
    cause: usize,
    place: Place,
) -> bool {
    let cause = &knowledge.causes[cause];
    let (Some(remedy), Some(last)) = (&cause.remedy, timeline.disturbances.last()) else {
        return false;
    };
    let Some(&(_, share)) = remedy.reseats.iter().find(|(seat, _)| *seat == cause.seat) else {
        return false;
    };
    let wholly = |number| {
        last.touched.iter().any(|&(seat, n, touch)| {
            seat == cause.seat
                && n == number
                && match touch {
                    Touch::Reseated(done) => done >= share,
                    Touch::Replaced => true,
                }
        })
    };
    let numbers = place.cylinders(&timeline.engine);
    last.remedied.is_none()
        && remedy.cost.parts <= 0.0
        && !numbers.is_empty()
        && numbers.into_iter().all(wholly)
}

/// Whether a journal is open or closed, which needs no knowledge base.
#[must_use]
pub fn standing(journal: &Journal) -> Standing {
    let mut recorded = false;
    let mut standing = Standing::Open;
    for (_, entry) in journal.standing() {
        match entry.what {
            What::Recorded => recorded = true,
            // Something was touched, or might have been: what was normal must be read again.
            What::Exchange { .. } | What::Remake { .. } | What::Remedy { .. } => recorded = false,
            What::Close { proven, .. } => {
                standing = Standing::Closed(Closing::of(proven, recorded));
            }
            What::Reopen => standing = Standing::Open,
            _ => {}
        }
    }
    standing
}

/// The engine's state as told at the counter, in the words of set-ups.
#[must_use]
pub fn thermal_of(state: EngineState) -> Thermal {
    match state {
        EngineState::ColdSoaked => Thermal::ColdSoaked,
        EngineState::Cold => Thermal::Cold,
        EngineState::Warm => Thermal::Hot,
    }
}
