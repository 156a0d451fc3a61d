//! What a workshop's memory may do, and what scipy makes of the same counts.

use judge::diagnosis::{CauseRef, same_work};
use judge::memory::shrink::{Group, Problem, shrink};
use judge::memory::{Counts, Lesson, Stratum, moved, standing};
use measure::engine::{Kind, Regime};
use serde::Deserialize;

use crate::support::{assess, inline, journal, knowledge, temps};

#[derive(Deserialize)]
struct Fixture {
    dirichlet: Vec<Dirichlet>,
    mixed: Vec<Mixed>,
}

#[derive(Deserialize)]
struct Dirichlet {
    prior: Vec<f64>,
    seen: Vec<f64>,
    mean: Vec<f64>,
}

#[derive(Deserialize)]
struct Mixed {
    prior: Vec<f64>,
    flag_prior: f64,
    pairs: Vec<(usize, usize)>,
    groups: Vec<MixedGroup>,
    causes: Vec<f64>,
    factors: Vec<f64>,
}

#[derive(Deserialize)]
struct MixedGroup {
    odds: Vec<f64>,
    flags: Vec<usize>,
    seen: Vec<f64>,
}

/// Recorded by `tests/reference/memory_check.py` with `scipy.stats.dirichlet` and
/// `scipy.optimize.minimize`.
fn recorded() -> Fixture {
    serde_json::from_str(include_str!("../fixtures/memory.json")).expect("a fixture")
}

#[test]
fn jobs_of_one_kind_give_the_means_of_scipys_dirichlet() {
    for case in recorded().dirichlet {
        let problem = Problem {
            prior: case.prior.clone(),
            flag_prior: 1.0,
            pairs: Vec::new(),
            groups: vec![Group { odds: case.prior.clone(), flags: Vec::new(), seen: case.seen }],
        };
        let factors = shrink(&problem);
        let weights: Vec<f64> =
            case.prior.iter().zip(&factors.causes).map(|(odds, m)| odds * m).collect();
        let sum: f64 = weights.iter().sum();
        for (weight, mean) in weights.iter().zip(&case.mean) {
            assert!((weight / sum - mean).abs() < 1e-9, "{} against {mean}", weight / sum);
        }
    }
}

#[test]
fn kinds_and_flags_mixed_give_the_mode_that_scipy_climbs_to() {
    for case in recorded().mixed {
        let group =
            |group: MixedGroup| Group { odds: group.odds, flags: group.flags, seen: group.seen };
        let factors = shrink(&Problem {
            prior: case.prior,
            flag_prior: case.flag_prior,
            pairs: case.pairs,
            groups: case.groups.into_iter().map(group).collect(),
        });
        let got = factors.causes.iter().chain(&factors.pairs);
        for (got, want) in got.zip(case.causes.iter().chain(&case.factors)) {
            // A climber without derivatives comes this near.
            assert!((got / want - 1.0).abs() < 2e-4, "{got} against {want}");
        }
    }
}

#[test]
fn a_proof_does_not_rest_on_the_memory() {
    let base = knowledge();
    let engine = inline(4);
    let job = journal(
        &engine,
        [
            temps(Regime::Idle, &[400.0, 470.0, 402.0, 398.0]),
            temps(Regime::Cruise, &[620.0, 688.0, 623.0, 618.0]),
        ],
    );
    let mut counts = Counts::default();
    let stratum = Stratum { kind: Kind::of(&engine), recent: Vec::new() };
    for _ in 0..60 {
        let cause = "fit-deep".to_owned();
        counts.add(&Lesson { stratum: stratum.clone(), cause, took: Vec::new() });
    }
    let recalled = moved(base, &standing(base, &counts), &engine, &[]);
    let (before, after) = (assess(base, &job), assess(&recalled, &job));
    let fault = before
        .suspects
        .iter()
        .map(|suspect| suspect.fault)
        .find(|f| matches!(f.cause, CauseRef::Listed(i) if base.causes[i].id == "fit-deep"))
        .expect("suspected");
    let share = |assessment: &judge::diagnosis::Assessment| {
        assessment.suspects.iter().find(|s| s.fault == fault).map_or(0.0, |s| s.probability)
    };
    assert!(share(&after) > share(&before) + 0.05, "{} {}", share(&before), share(&after));
    let (plain, taken_out) = (same_work(base, &before, fault), same_work(&recalled, &after, fault));
    assert!((plain - taken_out).abs() < 0.005, "{plain} against {taken_out}");
}
