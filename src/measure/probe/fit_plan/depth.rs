//! One depth for all tips.
//!
//! As deep as the middle of the runners: there a millimetre is worth least, and past it the display
//! turns back. A probe that is too short, or a bore that is much narrower than the others', gets a
//! depth of its own. It must not compute temperatures.

use serde::Serialize;

use super::{PlanError, Runner};

/// Least depth that is planned for, mm: below it a display says more of the wall than of the gas.
pub(super) const SHALLOWEST: f64 = 5.0;
/// Left between tip and far wall, mm, so that growth and shake do not bring them together (judgement).
pub(super) const CLEAR: f64 = 3.0;
/// A runner that allows less than this share of what the middle one allows does not hold all others
/// back (choice of this program: at half the depth a millimetre is worth three times as much).
const HELD_BACK: f64 = 0.75;
/// Steps that a depth is planned in, mm.
const STEP: f64 = 0.5;

/// What keeps the common depth from being deeper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DepthLimit {
    /// The middle of the narrowest runner.
    Middle,
    /// The length of the shortest probe.
    Reach,
    /// It was asked for.
    Asked,
}

/// How deep one tip goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Depth {
    pub(super) mm: f64,
    pub(super) common: bool,
}

/// How deep all go.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Depths {
    pub(super) common: f64,
    pub(super) limit: DepthLimit,
    pub(super) each: Vec<Depth>,
}

/// The common depth and each runner's own.
///
/// # Errors
/// When a probe does not come out of its boss.
pub(super) fn depths(runners: &[Runner], asked: Option<f64>) -> Result<Depths, PlanError> {
    let reach: Vec<Option<f64>> =
        runners.iter().enumerate().map(|(at, one)| reach(at + 1, one)).collect::<Result<_, _>>()?;
    let stepped = |mm: f64| (mm / STEP + 1e-9).floor() * STEP;
    let limits = |middle: f64, clear: f64| {
        let limit = move |(runner, reach): (&Runner, &Option<f64>)| {
            let inside = (middle * runner.bore_mm).min(runner.bore_mm - clear);
            stepped(inside.min(reach.unwrap_or(inside)))
        };
        runners.iter().zip(&reach).map(limit).collect::<Vec<f64>>()
    };
    if let Some(asked) = asked {
        let each = limits(1.0, CLEAR);
        let each =
            each.into_iter().map(|most| Depth { mm: asked.min(most), common: asked <= most });
        return Ok(Depths { common: asked, limit: DepthLimit::Asked, each: each.collect() });
    }
    let most = limits(0.5, CLEAR);
    let mut ordered = most.clone();
    ordered.sort_by(f64::total_cmp);
    let usual = ordered[ordered.len() / 2];
    let common = ordered.iter().copied().find(|&mm| mm >= HELD_BACK * usual).unwrap_or(usual);
    let by_reach = runners.iter().zip(&reach).zip(&most).any(|((runner, reach), &mm)| {
        reach.is_some() && (mm - common).abs() < 1e-9 && mm < stepped(0.5 * runner.bore_mm)
    });
    let limit = if by_reach { DepthLimit::Reach } else { DepthLimit::Middle };
    let each = most.into_iter().map(|mm| Depth { mm: mm.min(common), common: mm >= common });
    Ok(Depths { common, limit, each: each.collect() })
}

/// How far past the inner wall the probe can stand, square to it, if its length is known.
fn reach(cylinder: usize, runner: &Runner) -> Result<Option<f64>, PlanError> {
    let Some(length) = runner.probe.length_mm else { return Ok(None) };
    let boss = runner.boss_mm.ok_or(PlanError::BossMissing(cylinder))?;
    let left = (length - boss) * runner.lean_deg.to_radians().cos();
    if left < SHALLOWEST {
        return Err(PlanError::Short { cylinder, length, boss, left: left.max(0.0) });
    }
    Ok(Some(left))
}

#[cfg(test)]
mod tests {
    use super::super::Probe;
    use super::*;

    fn of(bore: f64, length: Option<f64>) -> Runner {
        let probe = Probe { diameter_mm: 3.0, length_mm: length, lead_mm: None };
        Runner { boss_mm: Some(20.0), probe, ..Runner::straight(bore) }
    }

    #[track_caller]
    fn planned(runners: &[Runner], expected: &[f64], limit: DepthLimit) {
        let all = depths(runners, None).expect("can be");
        let mm: Vec<f64> = all.each.iter().map(|depth| depth.mm).collect();
        assert_eq!((mm, all.limit), (expected.to_vec(), limit));
        assert!(
            all.each.iter().all(|depth| depth.common == (depth.mm - all.common).abs().le(&1e-9))
        );
    }

    #[test]
    fn the_middle_of_the_narrowest_or_the_reach_of_the_shortest_is_the_depth() {
        planned(&[of(42.0, None), of(42.0, None)], &[21.0, 21.0], DepthLimit::Middle);
        planned(&[of(42.0, None), of(38.5, None)], &[19.0, 19.0], DepthLimit::Middle);
        planned(&[of(42.0, Some(60.0)), of(42.0, Some(38.0))], &[18.0, 18.0], DepthLimit::Reach);
    }

    #[test]
    fn one_that_is_far_behind_does_not_hold_the_others_back() {
        let short = of(42.0, Some(30.0));
        planned(&[of(42.0, None), of(42.0, None), short], &[21.0, 21.0, 10.0], DepthLimit::Middle);
    }

    #[test]
    fn a_probe_that_stays_in_its_boss_is_refused() {
        let error = depths(&[of(42.0, None), of(42.0, Some(22.0))], None).expect_err("too short");
        assert!(error.to_string().contains("leaves 2.0 mm in the runner"), "{error}");
        let loose = Runner { boss_mm: None, ..of(42.0, Some(60.0)) };
        let error = depths(&[loose], None).expect_err("no boss");
        assert_eq!(error, PlanError::BossMissing(1));
    }

    #[test]
    fn a_depth_that_is_asked_for_may_pass_the_middle_but_not_reach_the_far_wall() {
        let all = depths(&[of(42.0, None), of(30.0, None)], Some(28.0)).expect("can be");
        assert_eq!(all.each.iter().map(|depth| depth.mm).collect::<Vec<_>>(), [28.0, 27.0]);
        assert_eq!((all.each[0].common, all.each[1].common), (true, false));
    }
}
