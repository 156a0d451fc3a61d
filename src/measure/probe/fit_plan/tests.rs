//! What holds for every plan, and plans held against the stem model.

use super::trial::{ENGINES, trial};
use super::*;
use crate::engine::Regime;

fn fours(bore: f64) -> Vec<Runner> {
    vec![Runner::straight(bore); 4]
}

fn within(within: f64) -> Wish {
    Wish { within, ..Wish::default() }
}

fn planned(runners: &[Runner], wish: Wish) -> Plan {
    plan(runners, wish).expect("can be")
}

fn mean(plan: &Plan, cylinder: usize, at: Regime) -> f64 {
    let offsets = &plan.cylinders[cylinder - 1].offsets;
    offsets.iter().find(|offset| offset.at == at).expect("an offset").mean
}

#[test]
fn equal_runners_have_everything_in_common_and_no_offset() {
    let plan = planned(&fours(42.0), Wish::default());
    assert_eq!(plan.alike(), 4);
    assert!(plan.holds());
    assert!(plan.cylinders.iter().all(|one| one.offsets.is_empty() && one.misses.is_empty()));
    assert!((plan.common.distance_mm - USUAL_DISTANCE).abs() < 1e-9);
    assert!((plan.common.depth_mm - 21.0).abs() < 1e-9);
}

#[test]
fn a_tighter_spread_asks_for_tighter_tolerances_and_more_cylinders_do_too() {
    let of = |spread: f64| planned(&fours(42.0), within(spread)).tolerance;
    let all: Vec<Tolerance> = [4.0, 7.0, 10.0, 15.0, 25.0].into_iter().map(of).collect();
    for pair in all.windows(2) {
        assert!(pair[0].depth_mm < pair[1].depth_mm, "{pair:?}");
        assert!(pair[0].place_mm <= pair[1].place_mm, "{pair:?}");
    }
    let eight = planned(&[Runner::straight(42.0); 8], within(15.0)).tolerance;
    assert!(eight.depth_mm < all[3].depth_mm);
}

#[test]
fn what_is_finer_than_a_rule_is_said_with_what_a_rule_keeps() {
    let fine = planned(&fours(42.0), within(4.0));
    let spread = fine.tolerance.spread_by_rule.expect("finer than a rule");
    assert!(!fine.holds() && fine.tolerance.depth_mm < RULE && spread > 4.0);
    let kept = planned(&fours(42.0), within(spread + 2.0));
    assert!(kept.tolerance.spread_by_rule.is_none() && kept.tolerance.depth_mm >= RULE);
}

#[test]
fn a_short_probe_reads_low_a_narrow_runner_high_and_a_far_boss_low() {
    let boss = Runner { boss_mm: Some(20.0), ..Runner::straight(42.0) };
    let length = |mm| Probe { length_mm: Some(mm), ..boss.probe };
    let short = Runner { probe: length(30.0), ..boss };
    let long = Runner { probe: length(80.0), ..boss };
    let plan = planned(&[long, long, long, short], Wish::default());
    assert_eq!(plan.cylinders[3].misses, [Miss::Depth]);
    assert!(mean(&plan, 4, Regime::Idle) < -30.0);

    let narrow = planned(&[boss, boss, boss, Runner { bore_mm: 36.0, ..boss }], Wish::default());
    assert!(narrow.cylinders.iter().all(|one| one.misses.is_empty()));
    assert!(mean(&narrow, 4, Regime::Cruise) > 2.0);

    // Its bend ends 60 mm from the flange: two bores on it is clear of it.
    let far = Runner { straight_from_mm: 60.0, straight_to_mm: Some(300.0), ..boss };
    let near = Runner { straight_to_mm: Some(90.0), ..boss };
    let plan = planned(&[near, near, near, far], Wish::default());
    assert_eq!(plan.cylinders[3].misses, [Miss::Distance]);
    let (idle, full) = (mean(&plan, 4, Regime::Idle), mean(&plan, 4, Regime::Full));
    assert!(idle < full && full < -5.0 && idle > -60.0, "{idle} {full}");
    let doubt = plan.cylinders[3].offsets[0].sd;
    assert!(doubt > 0.2 * idle.abs(), "the correlation is only known to a factor: {doubt}");
}

#[test]
fn a_leaning_probe_has_more_stem_in_the_gas() {
    let square = Runner::straight(42.0);
    let leaning = Runner { lean_deg: 30.0, ..square };
    let plan = planned(&[square, square, square, leaning], Wish::default());
    assert!(plan.cylinders[3].misses.is_empty());
    let idle = mean(&plan, 4, Regime::Idle);
    assert!((2.0..40.0).contains(&idle), "{idle}");
}

/// The plans of the figures in `docs/numbers.md`.
#[test]
fn ten_thousand_engines_stay_within_the_spread_as_often_as_said() {
    let reached = Runner {
        boss_mm: Some(20.0),
        probe: Probe { diameter_mm: 3.0, length_mm: Some(35.0), lead_mm: None },
        ..Runner::straight(45.0)
    };
    let thin = Probe { diameter_mm: 1.5, length_mm: None, lead_mm: None };
    let thin = Runner { probe: thin, ..Runner::straight(42.0) };
    for (runners, spread) in [
        (vec![Runner::straight(42.0); 4], USUAL_WITHIN),
        (vec![Runner::straight(38.0); 6], 15.0),
        (vec![reached; 4], 20.0),
        (vec![thin; 8], USUAL_WITHIN),
    ] {
        let mut plan = planned(&runners, within(spread));
        let tried = trial(&plan, ENGINES, 1);
        assert_eq!((tried.engines, tried.displays), (ENGINES, runners.len()));
        assert!(tried.share >= SHARE && tried.spread <= spread, "{tried:?}");
        // It is no empty promise: twice the tolerance breaks it.
        plan.tolerance.depth_mm *= 2.0;
        plan.tolerance.place_mm *= 2.0;
        assert!(trial(&plan, 1000, 1).share < SHARE);
    }
}

/// 95 of 100 ranges of four normal numbers are under 3.633 standard deviations (tables of the
/// studentised range, no end of degrees of freedom); even errors over ±a have a/√3.
#[test]
fn the_usual_spread_adds_little_to_what_cylinders_differ_by_anyway() {
    let (healthy, of_range) = (12.0_f64, 3.633);
    let even = tolerance::least(|a| 1.0 - tolerance::kept(4, a, 0.0, USUAL_WITHIN) + 0.90);
    let both = healthy.hypot(even / 3.0_f64.sqrt());
    let added = of_range * (both - healthy);
    assert!((of_range * healthy - 44.0).abs() < 0.5);
    assert!((1.0..2.0).contains(&added), "{added}");
}

#[test]
fn measures_that_cannot_be_are_named_with_their_cylinder() {
    let good = Runner::straight(42.0);
    let second = |bad: Runner| plan(&[good, bad], Wish::default()).expect_err("bad").to_string();
    for (bad, said) in [
        (Runner::straight(4.0), "cylinder 2: runner bore 4 mm: expected 10 to 300 mm"),
        (
            Runner { straight_from_mm: 80.0, straight_to_mm: Some(60.0), ..good },
            "cylinder 2: the straight ends 60 mm from the flange and begins 80 mm from it: both count \
             from the flange, so the end is the larger",
        ),
        (
            Runner { lean_deg: 75.0, ..good },
            "cylinder 2: lean of the boss 75 degrees: expected 0 to 60 degrees",
        ),
        (
            Runner { bend_after_deg: f64::NAN, ..good },
            "cylinder 2: bend after the straight NaN degrees: expected 0 to 180 degrees",
        ),
    ] {
        assert_eq!(second(bad), said);
    }
    let wish = |wish: Wish| plan(&[good, good], wish).expect_err("bad").to_string();
    assert_eq!(wish(within(0.2)), "a spread of 0.2 °C: expected 1 to 100 °C");
    let deep = Wish { depth_mm: Some(60.0), ..Wish::default() };
    assert_eq!(wish(deep), "a depth of 60 mm: expected 5 to 39 mm");
    assert_eq!(plan(&[good], Wish::default()), Err(PlanError::Count(1)));
}
