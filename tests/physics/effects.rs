//! What the knowledge base says a fault does to the exhaust, against the project's own cycle model and
//! one with Cantera (`tests/reference/effects.py`, `effects_cantera.py`).
//!
//! A row stands for a defect whose size is not known, so it is held against the span from the smaller
//! to the larger size named here, over every kind of engine that the cause exists on, with what neither
//! model knows taken otherwise, and with the second model beside. No engine was measured.

use std::collections::BTreeMap;

use facts::knowledge::embedded::embedded;
use facts::knowledge::{Cause, Effect, Knowledge, Spread, load};
use measure::engine::{Fuel, Regime};

use crate::held::HELD;
use crate::held::Side::{self, Diesel, Petrol};
use crate::support::{number, rows};

const POINTS: [Regime; 3] = [Regime::Idle, Regime::Cruise, Regime::Full];
const PETROL: [&str; 3] = ["port", "carburettor", "direct"];
const DIESEL: [&str; 2] = ["diesel", "diesel-boosted"];

/// How far outside the span a mean may lie, as a factor; and by how many °C, for small ones.
const FACTOR: f64 = 1.35;
const SLACK: f64 = 6.0;

/// Between which shifts an answer lies, °C.
#[derive(Debug, Clone, Copy)]
struct Span {
    least: f64,
    most: f64,
}

impl Span {
    fn hull(self, other: Self) -> Self {
        Self { least: self.least.min(other.least), most: self.most.max(other.most) }
    }

    fn lies_above(self) -> bool {
        self.least > SLACK
    }

    fn lies_below(self) -> bool {
        self.most < -SLACK
    }

    /// Whether a mean agrees: no other sign than the span, where that has one, and no farther outside
    /// than allowed.
    fn holds(self, mean: f64) -> bool {
        let wider = |end: f64, outward: f64| {
            let grown = if end * outward > 0.0 { end * FACTOR } else { end / FACTOR };
            if outward > 0.0 { grown.max(end + SLACK) } else { grown.min(end - SLACK) }
        };
        let sign = !(self.lies_above() && mean < 0.0 || self.lies_below() && mean > 0.0);
        sign && wider(self.least, -1.0) <= mean && mean <= wider(self.most, 1.0)
    }
}

/// Everything recorded, by kind of engine, running point and change.
pub(crate) struct Recorded {
    own: BTreeMap<(String, String, String), Span>,
    pub(crate) central: BTreeMap<(String, String, String), f64>,
    second: BTreeMap<(String, String, String), f64>,
}

fn key(row: &[&str]) -> (String, String, String) {
    (row[0].to_owned(), row[1].to_owned(), row[2].to_owned())
}

pub(crate) fn recorded() -> Recorded {
    let own: Vec<_> = rows(include_str!("../fixtures/effects.csv")).collect();
    let second = rows(include_str!("../fixtures/effects_cantera.csv"));
    Recorded {
        own: own
            .iter()
            .map(|row| (key(row), Span { least: number(row[6]), most: number(row[7]) }))
            .collect(),
        central: own.iter().map(|row| (key(row), number(row[3]))).collect(),
        second: second.map(|row| (key(&row), number(row[3]))).collect(),
    }
}

impl Recorded {
    /// Over some kinds of engine, with the second model where it has the change for one of them.
    fn span(&self, kinds: &[&str], point: Regime, changes: &[&str]) -> Span {
        let mut hull: Option<Span> = None;
        for &kind in kinds {
            for &change in changes {
                let key = (kind.to_owned(), point.as_str().to_owned(), change.to_owned());
                // Air in the runner can only be lit where the gas is rich.
                let Some(&own) = self.own.get(&key) else { continue };
                let both = match self.second.get(&key) {
                    Some(&second) => own.hull(Span { least: second, most: second }),
                    None => own,
                };
                hull = Some(hull.map_or(both, |hull| hull.hull(both)));
            }
        }
        hull.unwrap_or_else(|| panic!("none of {changes:?} at {point} of {kinds:?}"))
    }
}

pub(crate) fn knowledge() -> Knowledge {
    load(embedded(), &[]).0.expect("a knowledge base")
}

/// The kinds of engine that a side speaks of.
fn kinds(cause: &Cause, side: Side) -> Vec<&'static str> {
    let fuels = &cause.applies.fuel;
    match side {
        Diesel(_) => DIESEL.to_vec(),
        Petrol(_) => PETROL
            .into_iter()
            .filter(|kind| {
                fuels.is_empty() || fuels.iter().any(|fuel: &Fuel| fuel.as_str() == *kind)
            })
            .collect(),
    }
}

fn effect(cause: &Cause, side: Side) -> &Effect {
    match side {
        Petrol(n) => &cause.effects[n],
        // A cause that only diesels have, has its rows among the plain ones.
        Diesel(n) if cause.diesel.is_empty() => &cause.effects[n],
        Diesel(n) => &cause.diesel[n],
    }
}

fn said(effect: &Effect, point: Regime) -> f64 {
    effect.exhaust.as_ref().expect("an exhaust row").at(fixture::at(point)).expect("a shift").mean
}

#[test]
fn rows_lie_in_the_span_of_two_cycles() {
    let (recorded, knowledge) = (recorded(), knowledge());
    let (mut wrong, mut seen) = (Vec::new(), 0);
    for &(id, side, changes) in HELD {
        let cause = knowledge.causes.iter().find(|cause| cause.id == id).expect(id);
        let kinds = kinds(cause, side);
        for (point, changes) in POINTS.into_iter().zip(changes) {
            if changes.is_empty() {
                continue;
            }
            let span = recorded.span(&kinds, point, changes);
            let mean = said(effect(cause, side), point);
            seen += 1;
            if !span.holds(mean) {
                wrong.push(format!("{id} {side:?} {point}: {mean}, computed {span:?}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(seen >= 190, "{seen}");
}

/// Mean over a normal defect of a curve through recorded changes of fuel, straight between them.
fn over_sizes(defect: Spread, curve: &[(f64, f64)]) -> f64 {
    let at = |x: f64| {
        let above = curve.partition_point(|&(c, _)| c <= x).clamp(1, curve.len() - 1);
        let ((x0, y0), (x1, y1)) = (curve[above - 1], curve[above]);
        y0 + ((x - x0) / (x1 - x0)).clamp(0.0, 1.0) * (y1 - y0)
    };
    let sizes = (-10..=10).map(|i| f64::from(i) * 0.3);
    let weight = |z: f64| (-0.5 * z * z).exp();
    let sum: f64 = sizes.clone().map(|z| weight(z) * at(defect.mean + z * defect.sd)).sum();
    sum / sizes.map(weight).sum::<f64>()
}

/// Every cause that changes the mixture, on each kind of petrol engine at its usual setting: what the
/// program makes of its row, which is `mixture_size` times that, is what the models say of its defect.
#[test]
fn mixture_rows_are_those_of_two_cycles() {
    const FUEL: [i32; 8] = [-33, -15, -10, -5, 5, 10, 15, 30];
    let (recorded, knowledge) = (recorded(), knowledge());
    let size = knowledge.constants.mixture_size[0];
    let (mut wrong, mut seen) = (Vec::new(), 0);
    for cause in &knowledge.causes {
        let only_carburettor = cause.applies.fuel.as_slice() == [Fuel::Carburettor];
        for (n, effect) in cause.effects.iter().enumerate() {
            let Some(defects) = effect.mixture else { continue };
            // On a carburettor the curve is asked anew; the row itself stands for injection.
            for kind in if only_carburettor { &["carburettor"][..] } else { &["port", "direct"] } {
                for (point, defect) in POINTS.into_iter().zip(defects) {
                    let curve = |of: &dyn Fn(&(String, String, String)) -> f64| {
                        let mut curve: Vec<(f64, f64)> = FUEL
                            .iter()
                            .map(|d| {
                                let change = format!("fuel{d:+}");
                                let key = (kind.to_string(), point.as_str().to_owned(), change);
                                (f64::from(*d) / 100.0, of(&key))
                            })
                            .collect();
                        curve.insert(4, (0.0, 0.0));
                        over_sizes(defect, &curve)
                    };
                    let ends = [
                        curve(&|key| recorded.own[key].least),
                        curve(&|key| recorded.own[key].most),
                        // The second model has these differences smaller, by up to 1.45.
                        curve(&|key| recorded.central[key]) / 1.45,
                    ];
                    let span = Span {
                        least: ends.iter().copied().fold(f64::INFINITY, f64::min),
                        most: ends.iter().copied().fold(f64::NEG_INFINITY, f64::max),
                    };
                    let mean = size * said(effect, point);
                    seen += 1;
                    if !span.holds(mean) {
                        wrong.push(format!("{} {n} {kind} {point}: {mean}, {span:?}", cause.id));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(seen >= 80, "{seen}");
}

/// A cylinder that gives nothing on a diesel: its row stands at the readings of a petrol engine and is scaled.
#[test]
fn a_diesel_without_fuel_falls_by_what_is_computed() {
    let (recorded, knowledge) = (recorded(), knowledge());
    let row = knowledge.causes.iter().find(|cause| cause.id == "dies-low").expect("it");
    for (i, point) in POINTS.into_iter().enumerate() {
        // The level that diesel rows stand at, over the air, beside that of petrol rows.
        let rise = [125.0, 325.0, 525.0][i];
        let share = rise / knowledge.constants.reference_rise[i];
        let span = recorded.span(&DIESEL, point, &["no-fuel"]);
        let mean = said(&row.effects[1], point) * share;
        assert!(span.holds(mean), "{point}: {mean}, computed {span:?}");
    }
}

/// Both models, wherever both have an answer: the same sign in all, and sizes within a factor by kind.
#[test]
fn two_cycles_agree() {
    let recorded = recorded();
    let mut seen = 0;
    for (key, &second) in &recorded.second {
        let own = recorded.central[key];
        // The wall follows its gas in one and not in the other, and idle has the most wall.
        let factor = match key.2.as_str() {
            _ if key.0.starts_with("diesel") => 2.0,
            change if change.starts_with("fuel") || change.starts_with("no-") => 1.5,
            change if change.starts_with("air") || change.starts_with("dilution") => 1.7,
            _ => 2.8,
        };
        assert!(own * second > 0.0, "{key:?}: {own} and {second}");
        let ratio = own / second;
        assert!((1.0 / factor..=factor).contains(&ratio), "{key:?}: {own} and {second}");
        seen += 1;
    }
    assert!(seen >= 95, "{seen}");
}

/// What separates a diesel from a petrol engine: less air for the same fuel is hotter, and so is a leak.
#[test]
fn lost_air_heats_a_diesel_and_cools_a_petrol_engine() {
    let recorded = recorded();
    for point in POINTS {
        for change in ["air-10", "leak-crankcase-3mm2"] {
            assert!(recorded.span(&DIESEL, point, &[change]).least > 0.0, "{point} {change}");
            assert!(
                recorded.span(&["port", "direct"], point, &[change]).most < 0.0,
                "{point} {change}"
            );
        }
    }
}

/// Lean cools where the base is exact and heats where it is rich; rich cools wherever it is not lean.
#[test]
fn lean_turns_over_with_the_setting() {
    let recorded = recorded();
    for kind in ["port", "direct"] {
        for point in [Regime::Idle, Regime::Cruise] {
            assert!(recorded.span(&[kind], point, &["fuel-10"]).most < 0.0);
        }
        assert!(recorded.span(&[kind], Regime::Full, &["fuel-10"]).least > 0.0);
        for point in POINTS {
            assert!(recorded.span(&[kind], point, &["fuel+10"]).most < 0.0);
        }
    }
    // A carburettor that idles rich and cruises lean.
    let carburettor = &["carburettor"];
    assert!(recorded.span(carburettor, Regime::Idle, &["fuel-5"]).least > 0.0);
    assert!(recorded.span(carburettor, Regime::Cruise, &["fuel+5"]).least > 0.0);
}

/// A missed charge cools, and heats where it burns in the runner; at light load half of it is enough.
#[test]
fn a_missed_charge_has_two_signs() {
    let recorded = recorded();
    for point in POINTS {
        assert!(recorded.span(&PETROL, point, &["miss-1-in-4"]).most < 0.0);
        assert!(recorded.span(&PETROL, point, &["miss-1-in-4-lit"]).least > 0.0);
    }
    for point in [Regime::Idle, Regime::Cruise] {
        assert!(recorded.span(&PETROL, point, &["miss-1-in-4-half-lit"]).least > 0.0);
    }
}

/// The measure itself: a petrol row on a diesel has the wrong sign, and a size outside is seen.
#[test]
fn a_wrong_row_is_seen() {
    let heats = Span { least: 15.0, most: 47.0 };
    for (mean, holds) in [
        (-3.0, false),
        (-20.0, false),
        (5.0, false),
        (9.5, true),
        (30.0, true),
        (63.0, true),
        (64.0, false),
    ] {
        assert_eq!(heats.holds(mean), holds, "{mean}");
    }
    let cools = Span { least: -47.0, most: -15.0 };
    assert!(cools.holds(-12.0) && !cools.holds(3.0) && !cools.holds(-70.0));
    // A span on both sides of nought has no sign to hold to.
    assert!(Span { least: -20.0, most: 30.0 }.holds(-18.0));
}
