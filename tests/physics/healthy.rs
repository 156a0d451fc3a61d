//! How far healthy cylinders lie apart, and what follows from it: by the parts that make it, by one flight
//! log that is public, and how often somebody would notice something.
//!
//! How far cylinders differ in each part is judgement, so what is computed here is no better than that.

use std::f64::consts::TAU;

use facts::knowledge::{Cause, Condition, Effect, Knowledge, Law};
use judge::diagnosis::prior::weight;
use measure::engine::{Engine, Fuel, Intake, ProbeSite, Regime};
use measure::readings::outlier::median;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use crate::effects::{Recorded, knowledge, recorded};
use crate::support::{near, number, rows};

const POINTS: [Regime; 3] = [Regime::Idle, Regime::Cruise, Regime::Full];

/// How far healthy cylinders of an engine are apart, sd: fuel and charge as shares, the burn in degrees.
struct Apart {
    is_it: fn(&Condition) -> bool,
    kind: &'static str,
    fuel: f64,
    burn: f64,
    charge: f64,
}

/// With injection, where one carburettor or a log feeds all unevenly, and diesels.
fn cases() -> [Apart; 6] {
    let apart = |is_it, kind, fuel, burn, charge| Apart { is_it, kind, fuel, burn, charge };
    [
        apart(|row| *row == Condition::default(), "port", 0.02, 1.5, 0.03),
        apart(|row| *row == Condition::default(), "direct", 0.02, 1.5, 0.03),
        apart(|row| row.intake == [Intake::Log], "carburettor", 0.05, 2.0, 0.06),
        apart(|row| row.fuel == [Fuel::Carburettor], "carburettor", 0.05, 2.0, 0.06),
        apart(|row| row.fuel == [Fuel::Diesel], "diesel", 0.03, 1.5, 0.02),
        apart(|row| row.fuel == [Fuel::Diesel], "diesel-boosted", 0.03, 1.5, 0.02),
    ]
}

/// What one part does to the display: shift at one sd less and at one sd more of it, °C. Between them it is
/// straight on either side, for about the exact mixture more fuel and less both cool.
#[derive(Clone, Copy)]
struct Part {
    less: f64,
    more: f64,
}

impl Part {
    fn straight(more: f64) -> Self {
        Self { less: -more, more }
    }

    /// Covariance of two such functions of one standard normal.
    fn with(self, other: Self) -> f64 {
        f64::midpoint(self.less * other.less, self.more * other.more)
            - (self.less + self.more) * (other.less + other.more) / TAU
    }
}

/// The parts at one running point: depth, probe, fuel, burn, charge, compression.
fn parts(recorded: &Recorded, case: &Apart, i: usize) -> [Part; 6] {
    let of = |change: &str| {
        let point = POINTS[i].as_str().to_owned();
        recorded.central.get(&(case.kind.to_owned(), point, change.to_owned())).copied()
    };
    let diesel = case.kind.starts_with("diesel");
    let reads = if diesel { [150.0, 350.0, 550.0][i] } else { [400.0, 620.0, 860.0][i] };
    // What a millimetre is worth goes by how hot the gas is.
    let depth = [8.0, 7.5, 5.5][i] * reads / [400.0, 620.0, 860.0][i];
    let by = |less: Option<f64>, more: Option<f64>, share: f64| Part {
        less: less.or(more.map(|m| -m)).expect("recorded") * share,
        more: more.or(less.map(|l| -l)).expect("recorded") * share,
    };
    [
        // ±2 mm of depth give 16, 15 and 11 (stem model); a millimetre.
        Part::straight(depth),
        // Half the limit of class 2 (IEC 60584-1).
        Part::straight(0.0075 / 2.0 * reads),
        match of("fuel-5") {
            Some(less) => by(Some(less), of("fuel+5"), case.fuel / 0.05),
            None => by(of("fuel-8"), of("fuel+8"), case.fuel / 0.08),
        },
        Part::straight(of("burn+3").expect("recorded") * case.burn / 3.0),
        by(of("charge-20"), of("charge+20"), case.charge / 0.2),
        Part::straight(0.2 * of("ratio-1").expect("recorded")),
    ]
}

fn covariance(one: &[Part; 6], other: &[Part; 6]) -> f64 {
    one.iter().zip(other).map(|(a, b)| a.with(*b)).sum()
}

/// The usual spread between healthy cylinders: what depth, probe, fuel, burn, charge and compression make of it
/// together, each as far apart as is usual (judgement).
#[test]
fn the_natural_spread_is_made_of_its_parts() {
    let (recorded, knowledge) = (recorded(), knowledge());
    for case in cases() {
        let is_it = |row: &&facts::knowledge::NaturalSpread| {
            row.site == ProbeSite::Exhaust && (case.is_it)(&row.applies)
        };
        let row = knowledge.spreads.iter().find(is_it).expect("a row of such engines");
        for (i, point) in POINTS.into_iter().enumerate() {
            let parts = parts(&recorded, &case, i);
            let all = covariance(&parts, &parts).sqrt();
            let said = row.at(fixture::at(point));
            // Idle of a diesel is kept wider than its parts, a judgement.
            let most = if case.kind.starts_with("diesel") && i == 0 { 2.2 } else { 1.3 };
            assert!(
                (1.0 / 1.3..=most).contains(&(said / all)),
                "{} {point}: {said}, by its parts {all}",
                case.kind
            );
        }
    }
}

/// A cylinder that is a little hot at one point is mostly so at the next: by the parts, 0.78 on the mean of
/// three pairs of points with port injection, 0.80 with direct injection, 0.94 on diesels, 0.23 on a carburettor, whose
/// mixture lies on either side of the exact one.
#[test]
fn offsets_go_together_as_their_parts_do() {
    let (recorded, knowledge) = (recorded(), knowledge());
    let mut kinds = Vec::new();
    for case in cases() {
        let points: Vec<_> = (0..3).map(|i| parts(&recorded, &case, i)).collect();
        let together = |a: usize, b: usize| {
            let of = |a: usize, b: usize| covariance(&points[a], &points[b]);
            of(a, b) / (of(a, a) * of(b, b)).sqrt()
        };
        let mean = (together(0, 1) + together(0, 2) + together(1, 2)) / 3.0;
        if kinds.iter().all(|(kind, _)| *kind != case.kind) {
            kinds.push((case.kind, mean));
        }
    }
    let expected = [
        ("port", 0.78),
        ("direct", 0.80),
        ("carburettor", 0.23),
        ("diesel", 0.94),
        ("diesel-boosted", 0.94),
    ];
    for ((kind, found), (of, expected)) in kinds.iter().zip(expected) {
        assert_eq!(*kind, of);
        near(*found, expected, 0.01, kind);
    }
    let mean = kinds.iter().map(|(_, found)| found).sum::<f64>() / 5.0;
    near(knowledge.constants.offset_correlation, mean, 0.05, "over the kinds of engine");
}

/// How far an engine lies from the usual spread: each part a factor of 1.3 more or less (judgement), all alike
/// where one workmanship made them, and fuel by two cycles 1.1 to 1.6 times the curve.
#[test]
fn an_engine_s_own_spread_is_as_unsure_as_its_parts() {
    let (recorded, knowledge) = (recorded(), knowledge());
    let (part, curve) = (1.3_f64.ln(), (1.6_f64 / 1.1).ln() / 2.0);
    for case in cases() {
        for i in 0..3 {
            let parts = parts(&recorded, &case, i);
            let all = covariance(&parts, &parts);
            let share = |part: &Part| part.with(*part) / all;
            let apart: f64 = parts.iter().map(|p| (part * share(p)).powi(2)).sum();
            let fuel = (curve * share(&parts[2])).powi(2);
            let (least, most) = ((apart + fuel).sqrt(), part.hypot(fuel.sqrt()));
            let said = knowledge.constants.spread_scale;
            assert!((0.13..0.24).contains(&least), "{} {i}: apart {least}", case.kind);
            assert!((0.26..0.31).contains(&most), "{} {i}: alike {most}", case.kind);
            assert!(said > least && said < most * 1.2, "{} {i}: {said}", case.kind);
        }
    }
}

/// A set of the flight log: exhaust and heads against their mean, °C.
fn flight(set: usize) -> [[f64; 4]; 2] {
    let row = rows(include_str!("../fixtures/flight_log.csv")).nth(set).expect("a row");
    [3, 7].map(|from| {
        let degrees = [0, 1, 2, 3].map(|i| number(row[from + i]) / 1.8);
        let mean = degrees.iter().sum::<f64>() / 4.0;
        degrees.map(|d| d - mean)
    })
}

fn sd(offsets: [f64; 4]) -> f64 {
    (offsets.iter().map(|o| o * o).sum::<f64>() / 3.0).sqrt()
}

/// Sd of one set, by what two of them differ by.
fn again(one: [f64; 4], other: [f64; 4]) -> f64 {
    sd([0, 1, 2, 3].map(|i| one[i] - other[i])) / 2.0_f64.sqrt()
}

/// Four cylinders, three degrees of freedom: whatever they say leaves a factor of two and more either way.
#[test]
fn one_flight_agrees_with_what_is_usual_as_far_as_it_goes() {
    let constants = knowledge().constants;
    let exhaust = |set: usize| flight(set)[0];
    for (set, expected) in [(0, 16.0), (3, 16.7), (6, 14.5), (4, 6.6), (5, 17.7)] {
        near(sd(exhaust(set)), expected, 0.1, "spread of the exhaust");
    }
    near(sd(flight(4)[1]), 5.1, 0.1, "spread of the heads in level flight");
    // A hundred minutes apart; a quarter and half of a minute.
    let (long, short) = (again(exhaust(2), exhaust(3)), again(exhaust(0), exhaust(1)));
    near(long, 5.4, 0.1, "sets a hundred minutes apart");
    near(short, 1.1, 0.1, "sets a quarter of a minute apart");
    near(again(exhaust(0), exhaust(2)), 0.6, 0.1, "sets half a minute apart");
    near(again(exhaust(6), exhaust(7)), 0.1, 0.1, "sets half a minute apart, another flight");
    let said = constants.repeatability.at(fixture::at(Regime::Idle));
    assert!((short..long).contains(&said), "{said}");
    // From the soonest to the latest that a job reads again: half of that is a scale's one sd.
    near(constants.noise_scale, (long / 0.6).ln() / 2.0, 0.35, "how unsure");
}

/// Of a side of a cause; of healthy engines four times as many.
const DRAWS: u32 = 1_000;

struct Dice(Pcg64Mcg);

impl Dice {
    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.0.random::<f64>()).ln()).sqrt();
        radius * (TAU * self.0.random::<f64>()).cos()
    }

    fn chance(&mut self, chance: f64) -> bool {
        self.0.random::<f64>() < chance
    }
}

/// Natural offsets of an engine in natural spreads, by cylinder and point.
fn natural(knowledge: &Knowledge, cylinders: usize, dice: &mut Dice) -> Vec<[f64; 3]> {
    let constants = &knowledge.constants;
    let (shared, own) =
        (constants.offset_correlation.sqrt(), (1.0 - constants.offset_correlation).sqrt());
    let scale = (constants.spread_scale * dice.normal()).exp();
    (0..cylinders)
        .map(|_| {
            let wide = dice.chance(constants.wide_chance);
            let times = scale * if wide { constants.wide_factor } else { 1.0 };
            let common = dice.normal();
            [0; 3].map(|_| times * (shared * common + own * dice.normal()))
        })
        .collect()
}

fn share(of: usize, all: u32) -> f64 {
    f64::from(u32::try_from(of).expect("no more than were drawn")) / f64::from(all)
}

/// Whether a display stands three natural spreads from the median of the others at some point.
fn odd(offsets: &[[f64; 3]], display: usize) -> bool {
    (0..3).any(|i| {
        let others: Vec<f64> = offsets
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != display)
            .map(|(_, offsets)| offsets[i])
            .collect();
        (offsets[display][i] - median(&others).expect("others")).abs() > 3.0
    })
}

/// Chance that one side of a cause is odd on the display of its cylinder.
fn side_is_odd(knowledge: &Knowledge, engine: &Engine, side: &Effect, dice: &mut Dice) -> f64 {
    if side.law == Law::Invalid {
        return 1.0;
    }
    let [gross, times, usual_sd, gross_sd] = knowledge.constants.severity;
    let spread =
        POINTS.map(|point| knowledge.natural_sd(engine, ProbeSite::Exhaust, fixture::at(point)));
    let odd_ones = (0..DRAWS)
        .filter(|_| {
            let mut offsets = natural(knowledge, usize::from(engine.cylinders), dice);
            let severity: f64 = if dice.chance(gross) {
                times + gross_sd * dice.normal()
            } else {
                1.0 + usual_sd * dice.normal()
            };
            let drawn = dice.normal();
            for (i, point) in POINTS.into_iter().enumerate() {
                let shift = side.exhaust.as_ref().and_then(|row| row.at(fixture::at(point)));
                let by = shift.map_or(0.0, |shift| shift.mean + drawn * shift.sd);
                offsets[0][i] += severity.max(0.2) * by / spread[i];
            }
            odd(&offsets, 0)
        })
        .count();
    share(odd_ones, DRAWS)
}

fn is_odd(knowledge: &Knowledge, engine: &Engine, cause: &Cause, dice: &mut Dice) -> f64 {
    let sides = cause.effects_on(engine);
    sides.iter().map(|side| side.share * side_is_odd(knowledge, engine, side, dice)).sum()
}

/// `noticed_healthy` and `noticed_fault` are one thing asked of engines with nothing wrong and of those with a
/// fault: whether a display stands three natural spreads off at idle, cruise or full load.
#[test]
fn what_is_noticed_follows_from_spreads_and_effects() {
    let knowledge = knowledge();
    let mut dice = Dice(Pcg64Mcg::seed_from_u64(8));
    let mut found = Vec::new();
    for preset in
        ["inline-four-port", "inline-four-direct", "inline-four-carburettor", "inline-six-diesel"]
    {
        let engine = &knowledge.presets.iter().find(|p| p.id == preset).expect("a preset").engine;
        let healthy = (0..4 * DRAWS)
            .filter(|_| {
                let offsets = natural(&knowledge, usize::from(engine.cylinders), &mut dice);
                (0..offsets.len()).any(|display| odd(&offsets, display))
            })
            .count();
        let faults: Vec<(f64, f64)> = knowledge
            .causes
            .iter()
            .filter(|cause| cause.remedy.is_some())
            .map(|cause| (weight(cause, engine, &[]), cause))
            .filter(|(weight, _)| *weight > 0.0)
            .map(|(weight, cause)| (weight, is_odd(&knowledge, engine, cause, &mut dice)))
            .collect();
        let whole: f64 = faults.iter().map(|(weight, _)| weight).sum();
        let nothing: f64 = knowledge
            .causes
            .iter()
            .filter(|cause| cause.remedy.is_none())
            .map(|cause| cause.weight)
            .sum();
        let noticed = faults.iter().map(|(weight, odd)| weight * odd).sum::<f64>() / whole;
        let unlisted = knowledge.constants.unlisted_weight;
        found.push(format!(
            "{preset}: healthy {:.2}, fault {noticed:.2}; nothing wrong {:.2}",
            share(healthy, 4 * DRAWS),
            nothing / (nothing + whole + unlisted),
        ));
    }
    insta::assert_snapshot!(found.join("\n"), @"
    inline-four-port: healthy 0.27, fault 0.62; nothing wrong 0.19
    inline-four-direct: healthy 0.29, fault 0.62; nothing wrong 0.19
    inline-four-carburettor: healthy 0.27, fault 0.47; nothing wrong 0.21
    inline-six-diesel: healthy 0.33, fault 0.56; nothing wrong 0.23
    ");
}
