//! What the knowledge base says of mixture and timing, against a cycle computed with Cantera.
//!
//! Levels of that cycle are put in and its running conditions are assumed, so signs and sizes of
//! differences are compared, the sizes with what they become when each assumption is taken
//! otherwise. It is the same kind of model as the figures of the knowledge base came from, written
//! anew: agreement clears the arithmetic and the direction, no engine was measured.

use std::sync::LazyLock;

use facts::knowledge::embedded::embedded;
use facts::knowledge::{Cause, Effect, Knowledge, Spread, load};
use measure::engine::{BaseMixture, Fuel, Regime};

use crate::support::{near, number, rows};

const POINTS: [Regime; 3] = [Regime::Idle, Regime::Cruise, Regime::Full];

fn knowledge() -> &'static Knowledge {
    static BASE: LazyLock<Knowledge> =
        LazyLock::new(|| load(embedded(), &[]).0.expect("a knowledge base"));
    &BASE
}

/// One recorded row.
struct Row {
    at: f64,
    reading: f64,
    shift: f64,
    least: f64,
    most: f64,
}

/// Recorded rows of one sweep at one running point, by what was changed.
fn sweep(point: Regime, what: &str) -> Vec<Row> {
    rows(include_str!("../fixtures/cycle_exhaust.csv"))
        .filter(|row| row[0] == point.as_str() && row[1] == what)
        .map(|row| Row {
            at: number(row[2]),
            reading: number(row[3]),
            shift: number(row[4]),
            least: number(row[5]),
            most: number(row[6]),
        })
        .collect()
}

/// Shift of the reading at a value of the sweep, by straight lines, the ends held.
fn shift_at(sweep: &[Row], at: f64) -> f64 {
    let above = sweep.partition_point(|row| row.at <= at).clamp(1, sweep.len() - 1);
    let (left, right) = (&sweep[above - 1], &sweep[above]);
    let part = ((at - left.at) / (right.at - left.at)).clamp(0.0, 1.0);
    left.shift + part * (right.shift - left.shift)
}

/// Mean of a function of a normal defect: what a cause is worth before its size is known.
fn over_sizes(defect: Spread, shift: impl Fn(f64) -> f64) -> f64 {
    let sizes = (-10..=10).map(|i| f64::from(i) * 0.3);
    let weight = |z: f64| (-0.5 * z * z).exp();
    let sum: f64 = sizes.clone().map(|z| weight(z) * shift(defect.mean + z * defect.sd)).sum();
    sum / sizes.map(weight).sum::<f64>()
}

fn named(id: &str) -> &'static Cause {
    knowledge().causes.iter().find(|cause| cause.id == id).expect("such a cause")
}

/// What the knowledge base's row says at a point, °C.
fn said(effect: &Effect, point: Regime) -> f64 {
    let shifts = effect.exhaust.as_ref().expect("an exhaust row");
    shifts.at(fixture::at(point)).expect("a shift").mean
}

/// The same sign, and neither more than `factor` times the other; below 5 °C, and between figures
/// within 5 °C, a sign means nothing.
#[track_caller]
fn alike(said: f64, computed: f64, factor: f64, what: &str) {
    if (said - computed).abs() <= 5.0 && said.abs().min(computed.abs()) < 5.0 {
        return;
    }
    assert!(said * computed > 0.0, "{what}: {said} in the knowledge base, computed {computed:.1}");
    let ratio = said / computed;
    assert!(
        1.0 / factor <= ratio && ratio <= factor,
        "{what}: {said} in the knowledge base, computed {computed:.1}"
    );
}

/// The flame is hottest a little rich, the exhaust at the exact mixture: rich products hold less heat
/// for the energy set free, and have given more of it to the piston.
#[test]
fn the_flame_peaks_slightly_rich_and_the_exhaust_does_not() {
    let flame: Vec<(f64, f64)> = rows(include_str!("../fixtures/flame_temperature.csv"))
        .filter(|row| row[0] == "propane")
        .map(|row| (number(row[1]), number(row[2])))
        .collect();
    let peak = flame.iter().max_by(|a, b| a.1.total_cmp(&b.1)).expect("rows");
    near(peak.0, 1.05, 1e-9, "mixture of the hottest flame");
    near(peak.1, 2004.0, 1.0, "its temperature, °C");
    for point in POINTS {
        let sweep = sweep(point, "mixture");
        let peak = sweep.iter().max_by(|a, b| a.reading.total_cmp(&b.reading)).expect("rows");
        near(peak.at, 1.0, 1e-9, &format!("mixture of the hottest exhaust at {point}"));
    }
}

#[test]
fn no_assumption_turns_a_sign_over() {
    for point in POINTS {
        for what in ["mixture", "burn-later"] {
            for row in sweep(point, what) {
                let same = row.least * row.most > 0.0 || row.shift.abs() < 0.05;
                assert!(same, "{point} {what} {}: {} to {}", row.at, row.least, row.most);
                // What is not known is worth a third of the shift or less; the crossing of the
                // curve at full load, a shift of 1 °C, has no size to speak of.
                let room = (row.shift.abs() / 3.0).max(1.0);
                assert!(row.most - row.shift <= room && row.shift - row.least <= room);
            }
        }
    }
}

/// The curve of `knowledge/model.ron` is that of the cycle within 1 °C.
#[test]
fn the_mixture_curve_is_the_cycles() {
    let curve = &knowledge().mixture;
    for point in POINTS {
        let sweep = sweep(point, "mixture");
        assert_eq!(sweep.len(), curve.phi.len());
        for row in sweep {
            near(curve.at(point, row.at), row.reading, 1.0, &format!("{point} at {}", row.at));
        }
    }
}

/// Every cause that changes the mixture, at every point: the tabulated mean is what the recorded
/// cycle gives for its defect, averaged over the sizes it may have, within a factor of 1.35.
#[test]
fn mixture_causes_move_the_reading_as_the_cycle_does() {
    let mut seen = 0;
    for cause in &knowledge().causes {
        // A cause of carburettors alone stands on a carburettor's base mixture, all others on the
        // usual one.
        let fuel = match cause.applies.fuel.as_slice() {
            [Fuel::Carburettor] => Fuel::Carburettor,
            _ => Fuel::Port,
        };
        let base = BaseMixture::usual(fuel);
        for effect in &cause.effects {
            let Some(defects) = effect.mixture else { continue };
            let bases = [base.idle, base.cruise, base.full];
            for ((point, base), defect) in POINTS.into_iter().zip(bases).zip(defects) {
                let sweep = sweep(point, "mixture");
                let computed = over_sizes(defect, |change| {
                    shift_at(&sweep, base * (1.0 + change)) - shift_at(&sweep, base)
                });
                let what = format!("{} at {point}", cause.id);
                alike(said(effect, point), computed, 1.35, &what);
                seen += 1;
            }
        }
    }
    assert!(seen >= 45, "{seen}");
}

/// A lean cylinder at the usual settings reads colder at idle and cruise and hotter at a rich full
/// load; a rich one colder everywhere. The rule that decides which way a trim is turned.
#[test]
fn lean_turns_over_with_the_setting_and_rich_does_not() {
    for (id, signs) in [("inj-lean", [-1.0, -1.0, 1.0]), ("inj-rich", [-1.0, -1.0, -1.0])] {
        let effect = &named(id).effects[0];
        let mixture = effect.mixture.expect("a mixture cause");
        let base = BaseMixture::usual(Fuel::Port);
        let bases = [base.idle, base.cruise, base.full];
        for (i, point) in POINTS.into_iter().enumerate() {
            let at = bases[i] * (1.0 + mixture[i].mean);
            let row = sweep(point, "mixture");
            let computed = shift_at(&row, at) - shift_at(&row, bases[i]);
            assert!(computed * signs[i] > 0.0, "{id} at {point}: computed {computed}");
            assert!(said(effect, point) * signs[i] > 0.0, "{id} at {point}");
        }
    }
}

/// Later burning raises the exhaust, earlier lowers it. Degrees of crank by which the spark is off
/// are taken for degrees by which half of the charge is burnt later, which is so as long as the
/// burn itself keeps its length.
#[test]
fn timing_causes_move_the_reading_as_the_cycle_does() {
    let cases = [("spark-late", 0, 7.0), ("trim-spark", 0, 5.0), ("trim-spark", 1, -5.0)];
    for (id, side, degrees) in cases {
        let effect = &named(id).effects[side];
        for point in POINTS {
            let computed = shift_at(&sweep(point, "burn-later"), degrees);
            assert!(computed * degrees > 0.0);
            alike(said(effect, point), computed, 1.2, &format!("{id} {degrees}° at {point}"));
        }
    }
}

/// What can stop a cylinder outright, an open contact as well as a dead part, has a form that does:
/// as cold as without combustion. A mean between a little late and dead is a size that nobody meets.
#[test]
fn what_can_stop_a_cylinder_has_a_form_that_does() {
    // Without combustion: the row of an injector that gives nothing.
    let dead = named("inj-dead").effects[0].exhaust.clone().expect("an exhaust row");
    for id in [
        "inj-wiring",
        "plug-fouled",
        "plug-dead",
        "ht-lead",
        "coil-weak",
        "coil-dead",
        "pair-coil",
        "dist-fault",
        "valve-exh-leak",
        "valve-wide",
        "cyl-cut",
        "dies-low",
        "ht-crossed",
        "coil-crossed",
        "inj-phase-direct",
    ] {
        let stops = named(id).effects.iter().any(|effect| {
            let Some(shifts) = &effect.exhaust else { return false };
            POINTS.into_iter().any(|point| {
                let (own, none) = (shifts.at(fixture::at(point)), dead.at(fixture::at(point)));
                let (own, none) = (own.expect("a shift"), none.expect("a shift"));
                // Within two of its own standard deviations, and more than half of the way.
                own.mean < 0.5 * none.mean && own.mean - 2.0 * own.sd < none.mean
            })
        });
        assert!(stops, "{id} never stops the cylinder");
    }
}

/// A cylinder that leans out far enough is past the hottest mixture at a rich full load too: what is
/// hotter there while it is a little lean is colder once it is starved.
#[test]
fn starved_cylinders_are_cold_at_load() {
    let sweep = sweep(Regime::Full, "mixture");
    let a_third_less = shift_at(&sweep, 1.15 * 0.67) - shift_at(&sweep, 1.15);
    assert!(a_third_less < 0.0, "{a_third_less}");
    for id in ["inj-lean", "rail-starved"] {
        let rows = named(id).effects.iter().filter(|e| e.mixture.is_none());
        let full = rows.map(|e| said(e, Regime::Full)).fold(f64::INFINITY, f64::min);
        assert!(full <= a_third_less, "{id}: {full}, computed {a_third_less}");
    }
}
