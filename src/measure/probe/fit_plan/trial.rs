//! A plan held against the stem model: engines with errors of depth and place drawn within the
//! tolerances, in conditions that are not known.
//!
//! Every number hangs on the seed that is handed in. Fifty engines share the conditions drawn for
//! them (flow, gas, wall, conductance, emissivity, cooling along the pipe, depth common to all); the
//! stem model is solved at five depths and two places for each, and between these a parabola is laid
//! through the nearest three. It must not use the tolerance's own arithmetic.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use serde::Serialize;

use super::tolerance::OF_100;
use super::{Plan, Seating, offset};
use crate::number::real;
use crate::probe::Build;
use crate::probe::pipe::STRENGTH_DOUBT;
use crate::probe::shift::{Doubt, UNKNOWN};

/// Engines that a trial is made of unless someone wants another number.
pub const ENGINES: u32 = 10_000;
/// Engines that share what was drawn of their conditions.
const ALIKE: u32 = 50;
/// Depths at which the model is solved, in tolerances from the planned one.
const NODES: [f64; 5] = [-1.0, -0.5, 0.0, 0.5, 1.0];

/// What came of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Trial {
    /// Engines.
    pub engines: u32,
    /// Seed.
    pub seed: u64,
    /// Displays of each that should be alike.
    pub displays: usize,
    /// Share of the engines whose spread stayed within what was asked for, at every running point.
    pub share: f64,
    /// Spread that 95 of 100 engines stayed within, °C.
    pub spread: f64,
}

/// Tries a plan on at least so many engines.
#[must_use]
pub fn trial(plan: &Plan, engines: u32, seed: u64) -> Trial {
    let displays = plan.alike().max(super::FEWEST);
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut spreads = Vec::new();
    for _ in 0..engines.div_ceil(ALIKE).max(1) {
        let models = models(plan, &mut random);
        for _ in 0..ALIKE {
            let errors: Vec<(f64, f64)> = (0..displays)
                .map(|_| (2.0 * random.random::<f64>() - 1.0, 2.0 * random.random::<f64>() - 1.0))
                .collect();
            spreads.push(models.iter().map(|model| model.spread(&errors)).fold(0.0, f64::max));
        }
    }
    spreads.sort_by(f64::total_cmp);
    let kept = spreads.iter().filter(|&&spread| spread <= plan.wish.within).count();
    let at = (spreads.len() * OF_100).div_ceil(100).saturating_sub(1);
    Trial {
        engines: u32::try_from(spreads.len()).unwrap_or(u32::MAX),
        seed,
        displays,
        share: real(kept) / real(spreads.len()),
        spread: spreads.get(at).copied().unwrap_or(0.0),
    }
}

/// A display near the common spot at one running point.
struct Model {
    /// At [`NODES`].
    by_depth: [f64; 5],
    /// A whole tolerance of place further from the flange, less at the planned place.
    by_place: f64,
}

impl Model {
    /// Spread of displays with these errors, in tolerances of depth and of place.
    fn spread(&self, errors: &[(f64, f64)]) -> f64 {
        let shown = |&(depth, place): &(f64, f64)| self.at(depth) + place * self.by_place;
        let (low, high) = errors
            .iter()
            .map(shown)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)));
        high - low
    }

    /// The display at a depth, by the parabola through the nearest three nodes.
    fn at(&self, depth: f64) -> f64 {
        let middle = if depth < -0.25 {
            1
        } else if depth <= 0.25 {
            2
        } else {
            3
        };
        let [left, own, right] = [middle - 1, middle, middle + 1].map(|at| self.by_depth[at]);
        let t = (depth - NODES[middle]) / (NODES[1] - NODES[0]);
        own + t * (right - left) / 2.0 + t * t * (right - 2.0 * own + left) / 2.0
    }
}

/// The models of all running points in conditions that are drawn.
fn models(plan: &Plan, random: &mut Pcg64Mcg) -> Vec<Model> {
    let doubt = Doubt::default();
    let off: [f64; UNKNOWN] = std::array::from_fn(|_| normal(random));
    let strength = STRENGTH_DOUBT.powf(normal(random));
    let base = doubt.base_depth * normal(random);
    offset::points()
        .map(|(_, case)| {
            let (case, build) = doubt.off(&case, &Build::default(), off);
            let own = plan.common;
            let further = Seating { distance_mm: own.distance_mm + plan.tolerance.place_mm, ..own };
            let shown =
                |spot, deeper| offset::shown((spot, own), deeper, (&case, &build), strength);
            let by_depth = NODES.map(|node| shown(own, base + node * plan.tolerance.depth_mm));
            Model { by_depth, by_place: shown(further, base) - by_depth[2] }
        })
        .collect()
}

/// Standard normal, by Box and Muller, never beyond three: what lies there is no doubt but a mistake.
fn normal(random: &mut Pcg64Mcg) -> f64 {
    let (a, b): (f64, f64) = (random.random(), random.random());
    let drawn = (-2.0 * (1.0 - a).ln()).sqrt() * (std::f64::consts::TAU * b).cos();
    drawn.clamp(-3.0, 3.0)
}

#[cfg(test)]
mod tests {
    use super::super::{Runner, Wish, plan};
    use super::*;

    /// Between the depths that are solved the parabola is the stem model.
    #[test]
    fn the_parabola_is_the_stem_model() {
        let plan = plan(&[Runner::straight(42.0); 4], Wish::default()).expect("can be");
        let mut random = Pcg64Mcg::seed_from_u64(3);
        let mut again = random.clone();
        let models = models(&plan, &mut random);
        let off: [f64; UNKNOWN] = std::array::from_fn(|_| normal(&mut again));
        let strength = STRENGTH_DOUBT.powf(normal(&mut again));
        let base = Doubt::default().base_depth * normal(&mut again);
        for ((_, case), model) in offset::points().zip(&models) {
            let (case, build) = Doubt::default().off(&case, &Build::default(), off);
            for (depth, place) in [(-0.8, 0.3), (-0.1, -1.0), (0.3, 0.9), (0.95, -0.4)] {
                let spot = Seating {
                    distance_mm: plan.common.distance_mm + place * plan.tolerance.place_mm,
                    ..plan.common
                };
                let deeper = base + depth * plan.tolerance.depth_mm;
                let exact = offset::shown((spot, plan.common), deeper, (&case, &build), strength);
                let found = model.at(depth) + place * model.by_place;
                assert!((found - exact).abs() < 0.1, "{depth} {place}: {found} for {exact}");
            }
        }
    }

    #[test]
    fn a_seed_gives_the_same_trial_again_and_another_seed_another() {
        let plan = plan(&[Runner::straight(42.0); 4], Wish::default()).expect("can be");
        assert_eq!(trial(&plan, 200, 5), trial(&plan, 200, 5));
        assert!((trial(&plan, 200, 5).spread - trial(&plan, 200, 6).spread).abs() > 1e-9);
    }
}
