//! Where to put the probes of an engine that has none yet: one distance, one depth, how exactly.
//!
//! From runners and probes as measured to a plan: a common distance from the flange and a common
//! depth, the tolerances that keep healthy displays within a spread, and for each runner that
//! cannot have them what to do instead and what its display is then off by. `place`, `depth` and
//! `tolerance` each answer one of these, `stem` turns depths into marks and lengths of lead,
//! [`trial`] holds the plan against the stem model with errors drawn by a seed. It must not word
//! anything.
//!
//! What a bend, a log or a neighbour's pulses do to the gas is not modelled: distances to be kept
//! from bends are common practice, no source.

mod depth;
mod offset;
mod place;
mod stem;
mod tolerance;
pub mod trial;

#[cfg(test)]
mod tests;

use serde::Serialize;
use thiserror::Error;

pub use depth::DepthLimit;
pub use offset::Offset;
pub use place::{NEAREST, USUAL_DISTANCE, Window};
pub use stem::{Lead, SLACK, STEEL_GROWTH};
pub use tolerance::{RULE, SHARE, Tolerance};

use super::{Fitting, FittingError};

/// Fewest probes that have a spread.
pub const FEWEST: usize = 2;
/// Most cylinders of an engine that this program knows.
pub const MOST: usize = 24;
/// Spread that fitting alone may cause unless another is asked for, °C. Healthy cylinders differ
/// by 12 °C anyway (one standard deviation, common practice); four of them then lie within 44 °C of
/// each other in 95 of 100 engines, and fitting adds under 2 °C to that. A test has the sums.
pub const USUAL_WITHIN: f64 = 10.0;

/// The probe that goes into a runner.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Probe {
    /// Outside diameter of the sheath, mm.
    pub diameter_mm: f64,
    /// Length of the sheath from its tip to where it ends at the head, mm, if known.
    pub length_mm: Option<f64>,
    /// Length of its lead, mm, if known.
    pub lead_mm: Option<f64>,
}

/// A runner as measured, and the probe that goes into it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Runner {
    /// Bore, mm.
    pub bore_mm: f64,
    /// Where its straight stretch begins, from the flange along the middle, mm.
    pub straight_from_mm: f64,
    /// Where it ends, mm; nothing where no bend was measured.
    pub straight_to_mm: Option<f64>,
    /// Angle of the bend before the stretch; it counts where the stretch begins past the flange.
    pub bend_before_deg: f64,
    /// Angle of the bend after it.
    pub bend_after_deg: f64,
    /// How far the boss leans from square to the runner.
    pub lean_deg: f64,
    /// From the inner wall to where the stem leaves the fitting, along the stem, mm, if known.
    pub boss_mm: Option<f64>,
    /// Along the loom from the boss to the box, mm, if known.
    pub to_box_mm: Option<f64>,
    /// Its probe.
    pub probe: Probe,
}

impl Runner {
    /// A straight runner of a bore, with a 3 mm probe set square in it.
    #[must_use]
    pub fn straight(bore_mm: f64) -> Self {
        Self {
            bore_mm,
            straight_from_mm: 0.0,
            straight_to_mm: None,
            bend_before_deg: 90.0,
            bend_after_deg: 90.0,
            lean_deg: 0.0,
            boss_mm: None,
            to_box_mm: None,
            probe: Probe { diameter_mm: 3.0, length_mm: None, lead_mm: None },
        }
    }
}

/// What is wanted of the plan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Wish {
    /// Spread between healthy displays that fitting alone may cause, °C.
    pub within: f64,
    /// Distance from the flange that is wanted, mm.
    pub distance_mm: Option<f64>,
    /// Depth that is wanted, mm.
    pub depth_mm: Option<f64>,
}

impl Default for Wish {
    fn default() -> Self {
        Self { within: USUAL_WITHIN, distance_mm: None, depth_mm: None }
    }
}

/// Where one probe is to sit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Seating {
    /// From the flange, mm.
    pub distance_mm: f64,
    /// Tip past the inner wall, square to it, mm.
    pub depth_mm: f64,
    /// Bore there, mm.
    pub bore_mm: f64,
    /// Lean of the probe.
    pub lean_deg: f64,
    /// Its diameter, mm.
    pub diameter_mm: f64,
}

impl Seating {
    fn fitting(self) -> Fitting {
        Fitting { diameter: self.diameter_mm, bore: self.bore_mm, depth: self.depth_mm }
    }
}

/// What a runner cannot have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Miss {
    /// The common distance: a bend or the end of the straight is in the way.
    Distance,
    /// The common depth: its bore or its probe does not allow it.
    Depth,
    /// Any place far enough from its bends.
    Straight,
}

/// The plan for one cylinder.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Planned {
    /// The cylinder, numbered from 1.
    pub cylinder: usize,
    /// Where its probe goes.
    pub spot: Seating,
    /// The places along its runner that keep clear of bends, if there are any.
    pub window: Option<Window>,
    /// What it cannot have.
    pub misses: Vec<Miss>,
    /// What its display is off by at each running point when all is healthy; empty where it sits
    /// as the others do.
    pub offsets: Vec<Offset>,
    /// From the tip to the mark that stands flush with the top of the fitting, mm, if known.
    pub mark_mm: Option<f64>,
    /// Sheath left outside the fitting, mm, if known.
    pub outside_mm: Option<f64>,
    /// Its lead, if the way to the box is known.
    pub lead: Option<Lead>,
    /// How far the boss moves away from the flange from cold to full load, mm.
    pub moves_mm: f64,
}

/// A plan for all probes of an engine.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// What was wanted.
    pub wish: Wish,
    /// Where a probe sits that has everything in common, in the bore that most runners have.
    pub common: Seating,
    /// What keeps the common depth from being deeper.
    pub depth_limit: DepthLimit,
    /// How exactly.
    pub tolerance: Tolerance,
    /// One per cylinder, in order.
    pub cylinders: Vec<Planned>,
}

impl Plan {
    /// How many sit exactly as planned for all.
    #[must_use]
    pub fn alike(&self) -> usize {
        self.cylinders.iter().filter(|one| one.spot == self.common).count()
    }

    /// Whether every runner can have it, and a rule and a hand can keep the tolerance.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.tolerance.spread_by_rule.is_none()
            && self.cylinders.iter().all(|one| one.misses.is_empty())
    }
}

/// Measures that cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum PlanError {
    /// Too few or too many.
    #[error("a plan is for {FEWEST} to {MOST} cylinders, given: {0}")]
    Count(usize),
    /// A bore or a diameter that cannot be.
    #[error("cylinder {cylinder}: {error}")]
    Fitting {
        /// Which.
        cylinder: usize,
        /// What is wrong.
        error: FittingError,
    },
    /// A measure outside what can be.
    #[error("cylinder {cylinder}: {what} {given} {unit}: expected {least} to {most} {unit}")]
    Measure {
        /// Which.
        cylinder: usize,
        /// What it measures.
        what: &'static str,
        /// What was given.
        given: f64,
        /// Least that can be.
        least: f64,
        /// Most.
        most: f64,
        /// Unit.
        unit: &'static str,
    },
    /// A straight that ends before it begins.
    #[error(
        "cylinder {cylinder}: the straight ends {to} mm from the flange and begins {from} mm from it: \
         both count from the flange, so the end is the larger"
    )]
    Straight {
        /// Which.
        cylinder: usize,
        /// Begin, mm.
        from: f64,
        /// End, mm.
        to: f64,
    },
    /// A length of sheath says nothing without the boss.
    #[error(
        "cylinder {0}: how deep the probe reaches takes the height of the boss as well: give it, from \
         the inner wall to where the stem leaves the fitting"
    )]
    BossMissing(usize),
    /// The boss swallows the probe.
    #[error(
        "cylinder {cylinder}: a probe of {length} mm in a boss of {boss} mm leaves {left:.1} mm in the \
         runner: fit a longer probe or a lower boss"
    )]
    Short {
        /// Which.
        cylinder: usize,
        /// Sheath, mm.
        length: f64,
        /// Boss, mm.
        boss: f64,
        /// What is left, mm.
        left: f64,
    },
    /// A wish outside what can be.
    #[error("{what} {given} {unit}: expected {least} to {most} {unit}")]
    Wish {
        /// What was wished.
        what: &'static str,
        /// What was given.
        given: f64,
        /// Least.
        least: f64,
        /// Most.
        most: f64,
        /// Unit.
        unit: &'static str,
    },
}

/// Makes the plan.
///
/// # Errors
/// The first measure or wish that cannot be.
pub fn plan(runners: &[Runner], wish: Wish) -> Result<Plan, PlanError> {
    checked(runners, wish)?;
    let places = place::places(runners, wish.distance_mm);
    let depths = depth::depths(runners, wish.depth_mm)?;
    let spots: Vec<Seating> = runners
        .iter()
        .zip(&places.each)
        .zip(&depths.each)
        .map(|((runner, place), depth)| Seating {
            distance_mm: place.distance,
            depth_mm: depth.mm,
            bore_mm: runner.bore_mm,
            lean_deg: runner.lean_deg,
            diameter_mm: runner.probe.diameter_mm,
        })
        .collect();
    let common = common(&spots, places.common, depths.common);
    let tolerance = tolerance::tolerance(&spots, wish.within);
    let cylinders = runners
        .iter()
        .zip(places.each.iter().zip(&depths.each))
        .zip(&spots)
        .enumerate()
        .map(|(at, ((runner, (place, depth)), &spot))| {
            let mut misses = Vec::new();
            misses.extend(place.window.is_none().then_some(Miss::Straight));
            misses.extend((!place.common).then_some(Miss::Distance));
            misses.extend((!depth.common).then_some(Miss::Depth));
            Planned {
                cylinder: at + 1,
                spot,
                window: place.window,
                misses,
                offsets: offset::offsets(spot, common),
                mark_mm: stem::mark(runner, spot.depth_mm),
                outside_mm: stem::outside(runner, spot.depth_mm),
                lead: stem::lead(runner),
                moves_mm: stem::moves(spot.distance_mm),
            }
        })
        .collect();
    Ok(Plan { wish, common, depth_limit: depths.limit, tolerance, cylinders })
}

/// The spot of the runners that have the common distance and depth, of the kind that most have.
fn common(spots: &[Seating], distance_mm: f64, depth_mm: f64) -> Seating {
    let count = |spot: &Seating| spots.iter().filter(|other| *other == spot).count();
    let has = |spot: &&Seating| {
        (spot.distance_mm - distance_mm).abs() < 1e-9 && (spot.depth_mm - depth_mm).abs() < 1e-9
    };
    // Of several kinds equally frequent the first stands for all.
    let best = spots.iter().filter(has).rev().max_by_key(|spot| count(spot));
    Seating { distance_mm, depth_mm, ..*best.unwrap_or(&spots[0]) }
}

fn checked(runners: &[Runner], wish: Wish) -> Result<(), PlanError> {
    if !(FEWEST..=MOST).contains(&runners.len()) {
        return Err(PlanError::Count(runners.len()));
    }
    for (at, runner) in runners.iter().enumerate() {
        one_checked(at + 1, runner)?;
    }
    let wished = |what, given: Option<f64>, least: f64, most: f64, unit| match given {
        Some(given) if !(least..=most).contains(&given) => {
            Err(PlanError::Wish { what, given, least, most, unit })
        }
        _ => Ok(()),
    };
    let widest = runners.iter().map(|runner| runner.bore_mm).fold(0.0, f64::max);
    wished("a spread of", Some(wish.within), 1.0, 100.0, "°C")?;
    wished("a distance of", wish.distance_mm, 0.0, 1000.0, "mm")?;
    wished("a depth of", wish.depth_mm, depth::SHALLOWEST, (widest - depth::CLEAR).floor(), "mm")
}

fn one_checked(cylinder: usize, runner: &Runner) -> Result<(), PlanError> {
    let fitting = Fitting {
        diameter: runner.probe.diameter_mm,
        bore: runner.bore_mm,
        depth: depth::SHALLOWEST,
    };
    fitting.check().map_err(|error| PlanError::Fitting { cylinder, error })?;
    let measures: [(&'static str, Option<f64>, f64, f64, &'static str); 8] = [
        ("straight from", Some(runner.straight_from_mm), 0.0, 2000.0, "mm"),
        ("straight to", runner.straight_to_mm, 1.0, 2000.0, "mm"),
        ("bend before the straight", Some(runner.bend_before_deg), 0.0, 180.0, "degrees"),
        ("bend after the straight", Some(runner.bend_after_deg), 0.0, 180.0, "degrees"),
        ("lean of the boss", Some(runner.lean_deg), 0.0, 60.0, "degrees"),
        ("boss", runner.boss_mm, 1.0, 200.0, "mm"),
        ("way to the box", runner.to_box_mm, 50.0, 50_000.0, "mm"),
        ("lead", runner.probe.lead_mm, 50.0, 50_000.0, "mm"),
    ];
    for (what, given, least, most, unit) in measures {
        if let Some(given) = given.filter(|given| !(least..=most).contains(given)) {
            return Err(PlanError::Measure { cylinder, what, given, least, most, unit });
        }
    }
    if let Some(length) = runner.probe.length_mm.filter(|mm| !(5.0..=2000.0).contains(mm)) {
        let (what, least, most) = ("probe length", 5.0, 2000.0);
        return Err(PlanError::Measure { cylinder, what, given: length, least, most, unit: "mm" });
    }
    match runner.straight_to_mm {
        Some(to) if to <= runner.straight_from_mm => {
            Err(PlanError::Straight { cylinder, from: runner.straight_from_mm, to })
        }
        _ => Ok(()),
    }
}
