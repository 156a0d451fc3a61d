//! What a plan comes to in the hand: the mark on a stem, the sheath left outside, the lead, and how
//! far heat moves a boss.

use serde::Serialize;

use super::Runner;
use crate::engine::Regime;
use crate::probe::Case;

/// Left over on a lead for a loop at the probe and for the engine's rocking, mm (common practice, no
/// source).
pub const SLACK: f64 = 200.0;
/// Growth of austenitic stainless steel, per °C (from memory: about 17 millionths).
pub const STEEL_GROWTH: f64 = 17e-6;
/// What a runner is cold at, °C.
const COLD: f64 = 20.0;

/// A lead, mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lead {
    /// What it must measure, slack counted in.
    pub needed_mm: f64,
    /// What the probe brings, if known.
    pub there_mm: Option<f64>,
    /// What is missing.
    pub short_by_mm: f64,
}

/// From the tip to the mark that stands flush with the top of the fitting, mm, where the boss is
/// known.
pub(super) fn mark(runner: &Runner, depth: f64) -> Option<f64> {
    runner.boss_mm.map(|boss| boss + depth / runner.lean_deg.to_radians().cos())
}

/// Sheath left outside the fitting, mm.
pub(super) fn outside(runner: &Runner, depth: f64) -> Option<f64> {
    Some((runner.probe.length_mm? - mark(runner, depth)?).max(0.0))
}

/// The lead, where the way to the box is known.
pub(super) fn lead(runner: &Runner) -> Option<Lead> {
    let needed_mm = runner.to_box_mm? + SLACK;
    let there_mm = runner.probe.lead_mm;
    let short_by_mm = there_mm.map_or(0.0, |there| (needed_mm - there).max(0.0));
    Some(Lead { needed_mm, there_mm, short_by_mm })
}

/// How far a boss moves away from the flange from cold to the typical wall at full load, mm.
pub(super) fn moves(distance: f64) -> f64 {
    let wall = Case::typical(Regime::Full).map_or(COLD, |case| case.wall);
    STEEL_GROWTH * (wall - COLD) * distance
}

#[cfg(test)]
mod tests {
    use super::super::Probe;
    use super::*;

    #[test]
    fn marks_count_the_boss_and_the_lean() {
        let probe = Probe { diameter_mm: 3.0, length_mm: Some(80.0), lead_mm: Some(1500.0) };
        let square = Runner {
            boss_mm: Some(22.0),
            to_box_mm: Some(1400.0),
            probe,
            ..Runner::straight(42.0)
        };
        assert_eq!((mark(&square, 20.0), outside(&square, 20.0)), (Some(42.0), Some(38.0)));
        // At 60 degrees a stem is twice as long for the same depth.
        let leaning = Runner { lean_deg: 60.0, ..square };
        assert!((mark(&leaning, 20.0).expect("a boss") - 62.0).abs() < 1e-9);
        assert_eq!(mark(&Runner { boss_mm: None, ..square }, 20.0), None);
        let lead = lead(&square).expect("a way");
        assert!((lead.needed_mm - 1600.0).abs() < 1e-9 && (lead.short_by_mm - 100.0).abs() < 1e-9);
    }

    #[test]
    fn a_boss_moves_half_a_millimetre_at_fifty() {
        assert!((moves(50.0) - 0.54).abs() < 0.01, "{}", moves(50.0));
        assert!(moves(0.0).abs() < 1e-12);
    }
}
