//! When two causes look the same to every reading.

use crate::knowledge::model::{Cause, Condition, Law, Spread, StateChances};

/// Degrees Celsius below which a difference of shifts is lost in any reading.
const NOISE: f64 = 3.0;
/// The same for a relative change of mixture.
const MIXTURE_NOISE: f64 = 0.01;
/// How far apart two means may be, in sd, to count as one.
const MEANS: f64 = 0.25;
/// Factor between two sd up to which they count as one.
const SPREADS: f64 = 1.25;
/// How far apart the chances of a display state may be.
const STATES: f64 = 0.02;

/// Whether readings and display states of both are nearly the same, on an engine that can
/// have both.
pub(super) fn readings_alike(a: &Cause, b: &Cause) -> bool {
    a.place == b.place
        && can_meet(&[&a.applies, &b.applies])
        && laws(a) == laws(b)
        && shifts(a).iter().zip(shifts(b)).all(|(a, b)| near(*a, b, NOISE))
        && mixtures(a).iter().zip(mixtures(b)).all(|(a, b)| near(*a, b, MIXTURE_NOISE))
        && states_alike(a.states_cold, b.states_cold)
        && states_alike(a.states_running, b.states_running)
}

/// Whether some engine meets all conditions.
pub(super) fn can_meet(conditions: &[&Condition]) -> bool {
    fn common<T: Copy + PartialEq>(lists: &[&[T]]) -> bool {
        let mut asked = lists.iter().filter(|list| !list.is_empty());
        let Some(first) = asked.next() else {
            return true;
        };
        let rest: Vec<&&[T]> = asked.collect();
        first.iter().any(|value| rest.iter().all(|list| list.contains(value)))
    }
    macro_rules! all_share {
        ($($field:ident),+) => {
            $(common(&conditions.iter().map(|c| &c.$field[..]).collect::<Vec<_>>()))&&+
        };
    }
    let mut trims = conditions.iter().filter_map(|c| c.trims);
    let trims_agree = trims.next().is_none_or(|first| trims.all(|t| t == first));
    trims_agree && all_share!(layout, fuel, ignition, intake, induction, cooling, probes)
}

fn laws(cause: &Cause) -> Vec<Law> {
    let mut laws: Vec<Law> = cause.effects.iter().map(|effect| effect.law).collect();
    laws.sort_unstable();
    laws.dedup();
    laws
}

/// Mean and sd over the sides, at four points and for a head probe; `None` where no side has
/// a number.
fn shifts(cause: &Cause) -> [Option<Spread>; 5] {
    let sides = |pick: fn(&crate::knowledge::model::Effect) -> Option<Spread>| {
        pooled(cause.effects.iter().map(|e| (e.share, pick(e))))
    };
    [
        sides(|e| e.exhaust.as_ref()?.cold),
        sides(|e| e.exhaust.as_ref()?.idle),
        sides(|e| e.exhaust.as_ref()?.cruise),
        sides(|e| e.exhaust.as_ref()?.full),
        sides(|e| e.head),
    ]
}

fn mixtures(cause: &Cause) -> [Option<Spread>; 3] {
    [0, 1, 2].map(|n| {
        let sides = cause.effects.iter();
        pooled(sides.map(|e| (e.share, e.mixture.map(|m| m[n]))))
    })
}

/// Moments of a mixture: mean of the means, and the spread within and between the sides.
fn pooled(sides: impl Iterator<Item = (f64, Option<Spread>)>) -> Option<Spread> {
    let sides: Vec<(f64, Spread)> = sides.filter_map(|(w, s)| Some((w, s?))).collect();
    let weight: f64 = sides.iter().map(|(w, _)| w).sum();
    if sides.is_empty() || weight <= 0.0 {
        return None;
    }
    let average =
        |of: &dyn Fn(&Spread) -> f64| sides.iter().map(|(w, s)| w * of(s)).sum::<f64>() / weight;
    let mean = average(&|s| s.mean);
    let variance = average(&|s| s.sd.powi(2) + (s.mean - mean).powi(2));
    Some(Spread { mean, sd: variance.sqrt() })
}

fn near(a: Option<Spread>, b: Option<Spread>, noise: f64) -> bool {
    match (a, b) {
        (None, None) => true,
        (Some(a), Some(b)) => {
            let (sd_a, sd_b) = (a.sd.hypot(noise), b.sd.hypot(noise));
            (a.mean - b.mean).abs() <= MEANS * sd_a.min(sd_b)
                && sd_a.max(sd_b) <= SPREADS * sd_a.min(sd_b)
        }
        _ => false,
    }
}

fn states_alike(a: Option<StateChances>, b: Option<StateChances>) -> bool {
    match (a, b) {
        (None, None) => true,
        (Some(a), Some(b)) => {
            [(a.open, b.open), (a.stuck, b.stuck), (a.falling, b.falling), (a.erratic, b.erratic)]
                .iter()
                .all(|(a, b)| (a - b).abs() <= STATES)
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::engine::{Fuel, Ignition};

    #[test]
    fn conditions_meet_when_some_engine_meets_them_all() {
        let fuel = |list: &[Fuel]| Condition { fuel: list.to_vec(), ..Condition::default() };
        let port = fuel(&[Fuel::Port]);
        let petrol = fuel(&[Fuel::Port, Fuel::Direct]);
        let direct = fuel(&[Fuel::Direct]);
        let coil = Condition {
            ignition: vec![Ignition::CoilPerPlug],
            trims: Some(true),
            ..Condition::default()
        };
        assert!(can_meet(&[&port, &petrol, &coil]));
        assert!(!can_meet(&[&port, &direct]));
        // Each two meet, all three do not.
        let other = fuel(&[Fuel::Carburettor, Fuel::Direct]);
        let third = fuel(&[Fuel::Port, Fuel::Carburettor]);
        assert!(!can_meet(&[&petrol, &other, &third]));
        let untrimmed = Condition { trims: Some(false), ..Condition::default() };
        assert!(!can_meet(&[&coil, &untrimmed]));
    }

    #[test]
    fn two_sides_pool_to_their_common_moments() {
        let side = |mean| Some(Spread { mean, sd: 3.0 });
        let pool = pooled([(0.5, side(-4.0)), (0.5, side(4.0))].into_iter()).expect("has sides");
        assert!(pool.mean.abs() < 1e-12);
        assert!((pool.sd - 5.0).abs() < 1e-12);
        assert_eq!(pooled([(1.0, None)].into_iter()), None);
    }
}
