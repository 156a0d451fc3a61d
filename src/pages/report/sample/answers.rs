//! What diagnosis and plan would say about the job, invented.

use facts::knowledge::Seat;
use judge::diagnosis::{
    Assessment, CauseExplanation, Contribution, ExpectedShift, Hypothesis, Note, Oddness, Proof,
    Surprise, Suspect, Verification,
};
use judge::plan::{
    Advice, Assumption, Branch, Choice, Guard, Lean, Standing, Step, TestExplanation,
};
use measure::engine::{Place, ProbeSite, Regime};
use measure::units::Cost;

use super::base::{
    CHAN_ERROR, FIT_DEEP, INJ_LEAN, LOOK_FIT, NATURAL, SWAP_INJECTOR, SWAP_PROBE, at, cost,
};

pub(in crate::report) fn assessment() -> Assessment {
    let three = Place::Cylinder(3);
    let list = [
        (at(FIT_DEEP, three), 0.74),
        (at(CHAN_ERROR, three), 0.09),
        (at(INJ_LEAN, three), 0.06),
        (at(4, three), 0.04),
        (at(NATURAL, Place::Nowhere), 0.05),
        (at(INJ_LEAN, Place::Cylinder(2)), 0.02),
    ];
    let odd = |set, display, difference: f64, sigmas| Oddness {
        set,
        display,
        difference: Some(difference),
        sigmas: Some(sigmas),
    };
    Assessment {
        healthy: 0.0,
        suspects: list
            .iter()
            .map(|&(fault, probability)| Suspect { fault, probability, present: probability })
            .collect(),
        groups: vec![(0, 0.87), (1, 0.87), (2, 0.08), (3, 0.05)],
        seats: vec![
            (Seat::Fit, 0.74),
            (Seat::Channel, 0.09),
            (Seat::Injector, 0.08),
            (Seat::Nothing, 0.05),
            (Seat::Probe, 0.04),
        ],
        hypotheses: list
            .iter()
            .map(|&(fault, probability)| Hypothesis {
                faults: vec![fault],
                probability,
                present: vec![1.0],
                resting: vec![0.0],
            })
            .collect(),
        pairs_dropped_mass: 0.0004,
        present: 0.95,
        sound: 0.05,
        oddness: vec![
            odd(0, 1, 1.0, 0.1),
            odd(0, 2, -4.0, -0.3),
            odd(0, 3, 54.0, 3.2),
            odd(0, 4, 0.0, 0.0),
            odd(1, 2, -23.5, -0.9),
            odd(1, 3, 41.0, 1.9),
            odd(1, 4, -18.0, -0.8),
        ],
        odd_display: Some(3),
        surprise: Surprise { p_value: 0.4, unexplained: false },
        notes: vec![Note {
            entry: 4,
            text: "display 1 shows no number, so it is left out of the comparison".to_owned(),
        }],
    }
}

pub(in crate::report) fn choice(step: Step, cost: Cost, expected_total: f64) -> Choice {
    Choice {
        step,
        cost,
        total: cost.hands_on,
        expected_total,
        expected_hands_on: expected_total * 0.6,
        lower_bound: expected_total,
        branches: Vec::new(),
        cautions: Vec::new(),
        before: matches!(step, Step::Remedy(_)).then_some(LOOK_FIT),
        why: Vec::new(),
    }
}

fn look() -> Choice {
    let three = Place::Cylinder(3);
    let branch = |id: &str, text: &str, probability, leads, then| Branch {
        id: id.to_owned(),
        text: text.to_owned(),
        partner: false,
        probability,
        leads: Some(leads),
        then: Some(then),
    };
    let step = Step::Test { test: LOOK_FIT, cylinder: Some(3), partner: None, at: None };
    let exchange = Step::Test { test: SWAP_PROBE, cylinder: Some(3), partner: Some(2), at: None };
    Choice {
        lower_bound: 41.3,
        branches: vec![
            branch(
                "deeper",
                "Less stem outside than on the others",
                0.56,
                (at(FIT_DEEP, three), 0.98),
                Step::Remedy(at(FIT_DEEP, three)),
            ),
            branch("shallower", "More stem outside", 0.04, (at(FIT_DEEP, three), 0.41), exchange),
            branch("same", "All alike within 2 mm", 0.40, (at(FIT_DEEP, three), 0.46), exchange),
        ],
        cautions: vec![0],
        why: vec!["it separates the leading suspect from all others for the least time".to_owned()],
        ..choice(step, cost(6.0, 20.0, 0.0), 42.6)
    }
}

pub(in crate::report) fn advice() -> Advice {
    let injectors =
        Step::Test { test: SWAP_INJECTOR, cylinder: Some(3), partner: Some(2), at: None };
    let probes = Step::Test { test: SWAP_PROBE, cylinder: Some(3), partner: Some(2), at: None };
    let readings = Step::Readings { at: fixture::at(Regime::ColdSoak), site: ProbeSite::Exhaust };
    Advice {
        standing: Standing::Test,
        sound: 0.05,
        best: look(),
        alternatives: vec![
            choice(probes, cost(25.0, 45.0, 4.0), 66.0),
            choice(readings, cost(3.0, 480.0, 0.0), 130.0),
        ],
        guards: vec![Guard {
            code: "chain-first",
            text: "no engine part is touched while the sensor side holds 87 %".to_owned(),
            held_back: vec![injectors],
        }],
        lower_bound: 41.3,
        holds: true,
        leans: vec![Lean {
            assumption: Assumption::Prior(at(FIT_DEEP, Place::Cylinder(3)).cause),
            factor: 0.5,
            instead: None,
            minutes: -12.0,
        }],
        in_time: None,
    }
}

pub(in crate::report) fn unverified() -> Verification {
    Verification {
        remedied: None,
        readings_after: false,
        gone: 0.05,
        left_over: Some(1.9),
        probability: 0.0,
        proof: None,
        missing: vec!["no remedy was entered".to_owned()],
    }
}

pub(in crate::report) fn verified() -> Verification {
    Verification {
        remedied: Some(at(FIT_DEEP, Place::Cylinder(3))),
        readings_after: true,
        gone: 0.98,
        left_over: Some(0.4),
        probability: 0.97,
        proof: Some(Proof::Verified),
        missing: Vec::new(),
    }
}

pub(in crate::report) fn cause_explanation() -> CauseExplanation {
    CauseExplanation {
        fault: at(FIT_DEEP, Place::Cylinder(3)),
        probability: 0.74,
        prior: vec!["3 times as common after probes were fitted".to_owned()],
        contributions: vec![
            Contribution {
                entry: 0,
                text: "before any entry".to_owned(),
                before: 0.03,
                after: 0.03,
                log_odds: 0.0,
            },
            Contribution {
                entry: 1,
                text: "readings at warm idle".to_owned(),
                before: 0.03,
                after: 0.42,
                log_odds: 3.15,
            },
            Contribution {
                entry: 4,
                text: "readings at steady cruise".to_owned(),
                before: 0.42,
                after: 0.74,
                log_odds: 1.37,
            },
        ],
        expected: vec![
            ExpectedShift {
                entry: 1,
                at: fixture::at(Regime::Idle),
                site: ProbeSite::Exhaust,
                display: 3,
                expected: Some((50.0, 22.0)),
                shown: Some(54.0),
            },
            ExpectedShift {
                entry: 4,
                at: fixture::at(Regime::Cruise),
                site: ProbeSite::Exhaust,
                display: 3,
                expected: Some((36.0, 18.0)),
                shown: None,
            },
        ],
    }
}

pub(in crate::report) fn test_explanation() -> TestExplanation {
    let three = Place::Cylinder(3);
    TestExplanation {
        step: look().step,
        choice: look(),
        without: 66.0,
        moves: vec![
            (
                "deeper".to_owned(),
                vec![(at(FIT_DEEP, three), 0.74, 0.98), (at(CHAN_ERROR, three), 0.09, 0.01)],
            ),
            ("same".to_owned(), vec![(at(FIT_DEEP, three), 0.74, 0.46)]),
            ("shallower".to_owned(), Vec::new()),
        ],
        information: 0.61,
    }
}
