//! What a display is off by where its probe cannot sit as the others do, and how steeply a display
//! goes with depth and place.
//!
//! All from the stem model and the cooling along the pipe, averaged over what is not known. It must
//! not choose a spot.

use serde::Serialize;

use super::Seating;
use crate::engine::Regime;
use crate::probe::outlook::POINTS;
use crate::probe::pipe::{Along, STRENGTH_DOUBT, moved};
use crate::probe::shift::{Doubt, Shift, spread};
use crate::probe::{Build, Case, Contact, display_leaning};

/// What a healthy display is off by at one running point, °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Offset {
    /// The running point.
    pub at: Regime,
    /// Expected, less the others' display.
    pub mean: f64,
    /// One standard deviation of what is not known.
    pub sd: f64,
}

/// How much steeper than expected a slope is taken, in standard deviations of what is not known: so
/// much that the trial keeps what the tolerance says (choice of this program).
const STEEPER: f64 = 0.75;
/// Stretch over which a slope along the runner is taken, mm.
const STRETCH: f64 = 5.0;

/// What a probe at `spot` shows, °C, in an engine whose typical gas is at the `common` spot; `deeper`
/// millimetres of depth come on top.
pub(super) fn shown(
    (spot, common): (Seating, Seating),
    deeper: f64,
    (case, build): (&Case, &Build),
    strength: f64,
) -> f64 {
    let along = |spot: Seating| Along { distance: spot.distance_mm, bore: spot.bore_mm };
    let case = moved(case, along(common), along(spot), strength);
    let fitting = spot.fitting().at_depth(spot.depth_mm + deeper);
    display_leaning(fitting, spot.lean_deg, &case, build, Contact::Free)
}

/// The steady running points with their typical cases.
pub(super) fn points() -> impl Iterator<Item = (Regime, Case)> {
    POINTS.into_iter().filter_map(|at| Some((at, Case::typical(at)?)))
}

/// What a display is off by at each steady running point; empty for a spot that is the common one.
pub(super) fn offsets(spot: Seating, common: Seating) -> Vec<Offset> {
    if spot == common {
        return Vec::new();
    }
    let (build, doubt) = (Build::default(), Doubt::default());
    points()
        .map(|(at, case)| {
            let shift = doubted(&case, &build, &doubt, |base, difference, with, strength| {
                shown((spot, common), base + difference, with, strength)
                    - shown((common, common), base, with, strength)
            });
            Offset { at, mean: shift.mean, sd: shift.sd }
        })
        .collect()
}

/// The steepest that a display goes over some millimetres of depth to either side at any running
/// point, °C per mm: one standard deviation more than expected.
pub(super) fn by_depth(spot: Seating, over: f64) -> f64 {
    let (build, doubt) = (Build::default(), Doubt { difference: 0.0, ..Doubt::default() });
    let mut steepest = 0.0_f64;
    for (_, case) in points() {
        for way in [over, -over] {
            let shift = spread(&doubt, &case, &build, |base, _, case, build| {
                shown((spot, spot), base + way, (case, build), 1.0)
                    - shown((spot, spot), base, (case, build), 1.0)
            });
            steepest = steepest.max((shift.mean.abs() + STEEPER * shift.sd) / over);
        }
    }
    steepest
}

/// The same for the place along the runner.
pub(super) fn by_place(spot: Seating) -> f64 {
    let (build, doubt) = (Build::default(), Doubt { difference: 0.0, ..Doubt::default() });
    let further = Seating { distance_mm: spot.distance_mm + STRETCH, ..spot };
    points()
        .map(|(_, case)| {
            let shift = doubted(&case, &build, &doubt, |base, _, with, strength| {
                shown((further, spot), base, with, strength)
                    - shown((spot, spot), base, with, strength)
            });
            (shift.mean.abs() + STEEPER * shift.sd) / STRETCH
        })
        .fold(0.0, f64::max)
}

/// A shift over all that is not known, the strength of the pipe's cooling included.
fn doubted(
    case: &Case,
    build: &Build,
    doubt: &Doubt,
    shift: impl Fn(f64, f64, (&Case, &Build), f64) -> f64,
) -> Shift {
    let known = spread(doubt, case, build, |base, difference, case, build| {
        shift(base, difference, (case, build), 1.0)
    });
    let at = |strength| shift(0.0, 0.0, (case, build), strength);
    let pipe = (at(STRENGTH_DOUBT) - at(1.0 / STRENGTH_DOUBT)) / 2.0;
    Shift { mean: known.mean, sd: known.sd.hypot(pipe) }
}
