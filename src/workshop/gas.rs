//! A simple engine: by how much the gas of one cylinder leaves hotter or colder than its mates'.
//!
//! Shares of the rise above the surroundings, at warm idle, steady cruise and full load. The
//! world's own formulae, plain on purpose: none is taken from what is measured in this workshop. All
//! figures are from memory, without a source, unless it is said otherwise. It must not know causes.

use measure::engine::{Engine, Fuel};

/// Shares of the rise at idle, cruise, full load.
pub(super) type Shares = [f64; 3];

/// What is left of the rise where a cylinder does not fire: warm pumped air, and heat of its mates.
const UNFIRED: f64 = 0.3;

/// How far below its hottest the gas stands at an equivalence ratio: hottest about stoichiometric, some
/// 30 °C less a tenth leaner and some 70 °C less two tenths richer (habit of setting mixtures by
/// the exhaust gas temperature, from memory).
fn below_peak(phi: f64) -> f64 {
    let off = phi - 1.0;
    if off < 0.0 {
        -3.2 * off * off
    } else if off < 0.25 {
        -2.2 * off * off
    } else {
        -2.2 * 0.25 * 0.25 - 1.1 * (off - 0.25)
    }
}

/// Share of cycles missed because the charge is too lean or too rich to burn.
fn missed_at(phi: f64) -> f64 {
    let lean = 6.0 * (0.72 - phi);
    let rich = 2.0 * (phi - 1.5);
    lean.max(rich).clamp(0.0, 1.0)
}

/// Some cycles missed, `share` of each point's.
pub(super) fn missing(share: Shares) -> Shares {
    // What did not burn in the cylinder burns in part in a hot runner.
    let after = [0.0, 0.08, 0.12];
    at_points(|k| {
        let m = share[k].clamp(0.0, 1.0);
        -(1.0 - UNFIRED) * m + after[k] * m * (1.0 - m)
    })
}

/// Fuel over air changed by a factor at each point.
pub(super) fn mixture(engine: &Engine, factor: Shares) -> Shares {
    if engine.fuel == Fuel::Diesel {
        // The rise goes with the fuel (what is left goes to the walls).
        return at_points(|k| 0.9 * (factor[k] - 1.0));
    }
    let set = [engine.mixture.idle, engine.mixture.cruise, engine.mixture.full];
    let more = at_points(|k| missed_at(set[k] * factor[k]) - missed_at(set[k]));
    let missed = missing(more);
    // Only what burns burns hotter or colder.
    let burnt = |k: usize| below_peak(set[k] * factor[k]) - below_peak(set[k]);
    at_points(|k| burnt(k) * (1.0 - more[k].max(0.0)) + missed[k])
}

/// Air that gets in unmeasured, as a share of the idle air: next to nothing where the throttle is open.
pub(super) fn air_leak(engine: &Engine, share: f64) -> Shares {
    let more = [share, 0.12 * share, 0.01 * share];
    if engine.fuel == Fuel::Diesel {
        return at_points(|k| -0.3 * more[k]);
    }
    mixture(engine, at_points(|k| 1.0 / (1.0 + more[k])))
}

/// Air missing by a share at each point, fuel as before.
pub(super) fn less_air(engine: &Engine, share: Shares) -> Shares {
    if engine.fuel == Fuel::Diesel {
        return at_points(|k| 0.4 * share[k]);
    }
    // A carburettor sees to the mixture; a smaller charge warms the probe less.
    let richer = if engine.fuel == Fuel::Carburettor {
        [1.0; 3]
    } else {
        share.map(|s| 1.0 / (1.0 - s.min(0.6)))
    };
    let rich = mixture(engine, richer);
    at_points(|k| rich[k] - 0.35 * share[k])
}

/// Spark, or diesel injection, later by degrees of crank: about 3 °C a degree at full load.
pub(super) fn later(degrees: f64) -> Shares {
    [0.0045, 0.004, 0.0036].map(|each| each * degrees)
}

/// Exhaust valve leaks a share of the charge: hot gas at load, missing at idle.
pub(super) fn exhaust_valve(share: f64) -> Shares {
    let lost = missing([0.9 * share, 0.15 * share, 0.0]);
    at_points(|k| lost[k] + [0.05, 0.2, 0.35][k] * share)
}

/// Gas lost elsewhere: past rings, gasket, inlet valve.
pub(super) fn lost(share: f64) -> Shares {
    let lost = missing([0.6 * share, 0.1 * share, 0.0]);
    at_points(|k| lost[k] - [0.1, 0.15, 0.12][k] * share)
}

/// Burnt gas or oil mist in the charge, strongest at idle.
pub(super) fn inert(share: f64) -> Shares {
    let missed = missing([(3.0 * (share - 0.12)).max(0.0), 0.0, 0.0]);
    at_points(|k| missed[k] - [0.8, 0.5, 0.1][k] * share)
}

/// Cold air drawn in before the probe, mostly between the pulses of a slow engine.
pub(super) fn thinned(share: f64) -> Shares {
    [-share, -0.55 * share, -0.3 * share]
}

/// Burning on in the runner.
pub(super) fn afterburn(share: f64) -> Shares {
    [0.4 * share, share, 0.8 * share]
}

/// Exhaust blocked by a share: gas stays in at idle, leaves hot at load.
pub(super) fn blocked(share: f64) -> Shares {
    [-0.25 * share, 0.1 * share, 0.2 * share]
}

/// Burns early and hard at load: less is left for the exhaust.
pub(super) fn knocking(share: f64) -> Shares {
    [0.0, -0.3 * share, -share]
}

pub(super) fn at_points(of: impl Fn(usize) -> f64) -> Shares {
    std::array::from_fn(of)
}

#[cfg(test)]
mod tests {
    use super::*;
    use facts::knowledge::{embedded::embedded, load};

    fn engine(id: &str) -> Engine {
        let known = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        known.presets.into_iter().find(|p| p.id == id).expect("is there").engine
    }

    #[test]
    fn signs_are_those_of_the_trade() {
        let four = engine("inline-four-port");
        let lean = mixture(&four, [0.85; 3]);
        assert!(
            lean[0] < 0.0 && lean[1] < 0.0 && lean[2] > 0.0,
            "cold at idle, hot at a rich full load"
        );
        let drawn = air_leak(&four, 0.5);
        assert!(drawn[0] < -0.1 && drawn[2].abs() < 0.01, "felt at idle alone");
        assert!(later(10.0).iter().all(|share| *share > 0.0));
        let valve = exhaust_valve(0.3);
        assert!(valve[0] < 0.0 && valve[2] > 0.0);
        let dead = missing([1.0; 3]);
        assert!(dead.iter().all(|share| (share + 0.7).abs() < 1e-12));
        let diesel = engine("inline-four-diesel");
        assert!(mixture(&diesel, [0.8; 3]).iter().all(|share| (share + 0.18).abs() < 1e-12));
    }

    /// And no display falls below what a cylinder shows that pumps warm air.
    #[test]
    fn a_hose_that_is_off_kills_the_idle() {
        for id in ["inline-four-port", "inline-six-carburettor", "inline-four-direct"] {
            for share in [1.0, 1.5, 3.0] {
                let idle = air_leak(&engine(id), share)[0];
                assert!(idle < -0.5 && idle > -0.75, "{id}, {share}: {idle}");
            }
        }
    }
}
