//! How exhaust gas cools on its way along a runner.
//!
//! One published correlation for flow in pulses, and the fall of the gas towards a wall that keeps
//! its temperature over the stretch. It must not know of probes.

use std::f64::consts::PI;

use super::case::{Case, ZERO};
use super::gas::{PRANDTL, viscosity};

/// How far the heat given to the pipe may be off, as a factor: one standard deviation (judgement).
/// The correlation meets the exhaust-side measurements that it was fitted to with a coefficient of
/// 0.80 (its abstract), and those are of other engines.
pub const STRENGTH_DOUBT: f64 = 1.5;

/// Nusselt number of a runner whose flow comes in pulses, by the mean Reynolds number: Depcik and
/// Assanis 2002, SAE 2002-01-0372, `Nu = 0.07·Re^¾` (abstract seen), fitted to intake and exhaust
/// flows of spark engines. Steady flow in a long pipe has 0.4 to 0.5 of it here (Dittus and Boelter).
#[must_use]
pub fn pulsed_pipe_film(reynolds: f64) -> f64 {
    0.07 * reynolds.powf(0.75)
}

/// Length in metres along which the gas comes nearer to the wall by a factor of e, in a bore of
/// `bore` metres: `ṁ·cp/(h·π·D)`, which is `ṁ·Pr/(π·μ·Nu)`.
#[must_use]
pub fn cooling_length(case: &Case, bore: f64) -> f64 {
    let flow = case.flow * 1e-3;
    let viscosity = viscosity(case.gas + ZERO);
    let reynolds = 4.0 * flow / (PI * bore * viscosity);
    flow * PRANDTL / (PI * viscosity * pulsed_pipe_film(reynolds))
}

/// A place along a runner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Along {
    /// From the flange, mm.
    pub distance: f64,
    /// Bore of the runner, mm.
    pub bore: f64,
}

/// The case at a place, when `case` is what goes on at `known` in a runner of the same engine; the
/// pipe takes `strength` times the heat of the correlation.
#[must_use]
pub fn moved(case: &Case, known: Along, place: Along, strength: f64) -> Case {
    let lengths = |along: Along| along.distance * 1e-3 / cooling_length(case, along.bore * 1e-3);
    let fade = (strength * (lengths(known) - lengths(place))).exp();
    Case { gas: case.wall + (case.gas - case.wall) * fade, ..*case }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Regime;

    fn fall(point: Regime) -> f64 {
        let case = Case::typical(point).expect("a steady point");
        let at = |distance| Along { distance, bore: 40.0 };
        case.gas - moved(&case, at(50.0), at(60.0), 1.0).gas
    }

    /// The project's own table: 2.5 (full) to 4 (idle) °C lower per 10 mm in a 40 mm bore, from
    /// Dittus and Boelter times 2.5, another correlation.
    #[test]
    fn ten_millimetres_cool_the_gas_as_another_correlation_has_it() {
        assert!((fall(Regime::Idle) - 4.0).abs() < 0.8, "{}", fall(Regime::Idle));
        assert!((fall(Regime::Full) - 2.5).abs() < 0.8, "{}", fall(Regime::Full));
    }

    /// `0.023·Re^0.8·Pr^0.3`, a long pipe without pulses.
    #[test]
    fn pulses_about_double_what_a_long_pipe_takes() {
        for reynolds in [1100.0_f64, 4200.0, 16_000.0] {
            let steady = 0.023 * reynolds.powf(0.8) * PRANDTL.powf(0.3);
            let share = steady / pulsed_pipe_film(reynolds);
            assert!((0.4..0.5).contains(&share), "{reynolds}: {share}");
        }
    }

    #[test]
    fn the_gas_falls_towards_the_wall_and_never_past_it() {
        let case = Case::typical(Regime::Cruise).expect("a steady point");
        let at = |distance| Along { distance, bore: 40.0 };
        let gas = |distance| moved(&case, at(50.0), at(distance), 1.0).gas;
        assert!((gas(50.0) - case.gas).abs() < 1e-9);
        assert!(gas(20.0) > case.gas && gas(80.0) < case.gas);
        assert!(gas(1e5) >= case.wall - 1e-9);
        // Twice the length is what twice the strength is.
        let twice = moved(&case, at(50.0), at(70.0), 2.0).gas;
        assert!((twice - gas(90.0)).abs() < 1e-9);
    }
}
