//! The knowledge base: five causes, three tests.

use std::collections::BTreeMap;

use facts::knowledge::{
    Access, Basis, Cause, Caution, Condition, Constants, Group, Item, Knowledge, MixtureCurve,
    Outcome, PlaceKind, Points, RecentWork, Remedy, Scope, Seat, StateChances, StateChanges, Test,
    TestKind, Thermal,
};
use judge::diagnosis::{CauseRef, Fault};
use measure::engine::Place;
use measure::units::{Cost, Rates};

/// Indices of the causes.
pub(in crate::report) const CHAN_ERROR: usize = 0;
pub(in crate::report) const FIT_DEEP: usize = 1;
pub(in crate::report) const INJ_LEAN: usize = 2;
pub(in crate::report) const NATURAL: usize = 3;
/// Indices of the tests.
pub(in crate::report) const LOOK_FIT: usize = 0;
pub(in crate::report) const SWAP_INJECTOR: usize = 1;
pub(in crate::report) const SWAP_PROBE: usize = 2;

pub(in crate::report) fn cost(hands_on: f64, wait: f64, parts: f64) -> Cost {
    Cost { hands_on, wait, parts }
}

pub(in crate::report) fn at(cause: usize, place: Place) -> Fault {
    Fault { cause: CauseRef::Listed(cause), place }
}

fn remedy(what: &str, cost: Cost, first: Vec<usize>, cautions: Vec<usize>) -> Remedy {
    Remedy {
        id: "work".to_owned(),
        what: what.to_owned(),
        cost,
        states: vec![Thermal::Cold, Thermal::Cool],
        access: vec![0],
        first,
        reseats: Vec::new(),
        cautions,
        basis: Basis::Memory,
    }
}

fn cause(id: &str, name: &str, group: usize, seat: Seat, remedy: Option<Remedy>) -> Cause {
    Cause {
        id: id.to_owned(),
        name: name.to_owned(),
        what: format!("{name}, as it happens."),
        group,
        seat,
        place: if seat == Seat::Nothing { PlaceKind::Nowhere } else { PlaceKind::Cylinder },
        applies: Condition::default(),
        weight: 1.0,
        weight_if: Vec::new(),
        recent: BTreeMap::new(),
        effects: Vec::new(),
        diesel: Vec::new(),
        states_cold: None,
        states_running: None,
        reseat: 0.0,
        lasting: facts::knowledge::Lasting::Mostly,
        fitted: false,
        by_build: false,
        heat: false,
        clues: Vec::new(),
        remedy,
        basis: Basis::Memory,
    }
}

fn outcome(id: &str, text: &str) -> Outcome {
    Outcome { id: id.to_owned(), text: text.to_owned(), partner: false }
}

fn test(id: &str, name: &str, kind: TestKind, item: Option<Item>, minutes: Cost) -> Test {
    Test {
        id: id.to_owned(),
        name: name.to_owned(),
        kind,
        scope: Scope::Cylinder,
        applies: Condition::default(),
        states: vec![Thermal::Cold, Thermal::Cool],
        leaves: None,
        access: vec![0],
        tools: "torch, steel rule".to_owned(),
        cost: minutes,
        moves: Vec::new(),
        replaces: Vec::new(),
        reseats: Vec::new(),
        item,
        steps: vec![
            "Wipe the stem clean just outside the fitting".to_owned(),
            "Measure from the fitting to the collar on this probe and on its neighbours".to_owned(),
        ],
        cautions: vec![0],
        outcomes: vec![
            outcome("deeper", "Less stem outside than on the others"),
            outcome("shallower", "More stem outside"),
            outcome("same", "All alike within 2 mm"),
        ],
        default: vec![0.05, 0.05, 0.9],
        given: BTreeMap::new(),
        by_charge: BTreeMap::new(),
        slip: facts::knowledge::USUAL_SLIP,
        at_point: false,
        from_readings: false,
        past: false,
        basis: Basis::Memory,
    }
}

fn constants() -> Constants {
    Constants {
        repeatability: [1.0; 5].into(),
        repeatability_head: [1.0; 5].into(),
        offset_correlation: 0.8,
        bank_share: 0.5,
        spread_scale: 0.3,
        noise_scale: 0.8,
        wide_chance: 0.07,
        wide_factor: 2.5,
        fit_share: 0.333,
        level_spark: [20.0, 250.0, 400.0, 620.0, 860.0].into(),
        level_diesel: [20.0, 90.0, 125.0, 325.0, 525.0].into(),
        level_head: [20.0, 60.0, 100.0, 140.0, 170.0].into(),
        level_sd: [12.0, 120.0, 120.0, 110.0, 90.0].into(),
        level_sd_head: [12.0, 30.0, 30.0, 35.0, 40.0].into(),
        begun: [0.08, 0.15],
        comes_and_goes: [0.03, 0.35],
        on_share: 0.5,
        look_again: 0.5,
        said_to_come: 1.0,
        state_again: 0.9,
        row_doubt: 0.0,
        effect_doubt: 0.0,
        misread_chance: 0.004,
        misread_sd: 100.0,
        two_faults: 0.05,
        severity: [0.0, 1.0, 0.0, 0.0],
        mixture_size: [1.0, 0.25],
        mixture_rich: [0.0, 0.0],
        noticed_healthy: 0.12,
        noticed_fault: 0.6,
        self_cure: 0.01,
        self_cure_fixed: 0.001,
        back_again: 0.02,
        remedy_works: 0.95,
        floor: 0.001,
        head_share: [0.0, 0.3, 0.5, 1.0, 1.2].into(),
        reference_rise: [300.0, 550.0, 750.0],
        unlisted_weight: 1.0,
        unlisted_sizes: [40.0; 6],
        usual_states: StateChances { open: 0.001, stuck: 0.001, falling: 0.001, erratic: 0.01 },
        rates: Rates { labour_per_minute: 1.0, wait_weight: 0.25 },
        verify: cost(5.0, 10.0, 0.0),
        readings: cost(3.0, 0.0, 0.0),
        record: cost(2.0, 0.0, 0.0),
        comeback: 120.0,
        part_in_vain: 30.0,
        unlisted_cure: cost(240.0, 0.0, 100.0),
        by_the_way: 0.0,
        chain_share: 0.2,
        heat_share: 0.1,
        visit_spread: [0.7, 10.0, 5.0, 5.0, 6.0].into(),
        visit_freedom: 4.0,
        fitted_kept: 0.2,
        depth_kept: 0.5,
        balance_share: 0.1,
        fuel_trim: [2.0, 6.0],
        spark_trim: [1.0, 3.0],
        proof: 0.9,
    }
}

fn causes() -> Vec<Cause> {
    vec![
        cause(
            "chan-error",
            "Channel of the box reads wrong",
            1,
            Seat::Channel,
            Some(remedy("Set or renew the channel", cost(20.0, 0.0, 0.0), vec![], vec![])),
        ),
        cause(
            "fit-deep",
            "Probe pushed in further than the others",
            1,
            Seat::Fit,
            Some(remedy("Set the probe to its mark", cost(5.0, 0.0, 0.0), vec![LOOK_FIT], vec![0])),
        ),
        cause(
            "inj-lean",
            "Injector delivers too little",
            2,
            Seat::Injector,
            Some(remedy("Clean or renew the injector", cost(60.0, 10.0, 85.0), vec![], vec![1])),
        ),
        cause("natural-spread", "This is how the engine is", 3, Seat::Nothing, None),
        cause(
            "probe-drift",
            "Probe has drifted",
            1,
            Seat::Probe,
            Some(remedy("Renew the probe", cost(10.0, 0.0, 40.0), vec![], vec![0])),
        ),
    ]
}

fn tests() -> Vec<Test> {
    vec![
        test("look-fit", "Look at the depth marks", TestKind::Observe, None, cost(6.0, 0.0, 0.0)),
        test(
            "swap-injector",
            "Exchange this injector with a neighbour's",
            TestKind::Exchange,
            Some(Item::Injector),
            cost(60.0, 10.0, 12.0),
        ),
        test(
            "swap-probe",
            "Exchange the two probes, each set to the same measured depth",
            TestKind::Exchange,
            Some(Item::Probe),
            cost(25.0, 25.0, 4.0),
        ),
    ]
}

pub(in crate::report) fn knowledge() -> Knowledge {
    let group =
        |id: &str, name: &str, parent| Group { id: id.to_owned(), name: name.to_owned(), parent };
    let caution = |id: &str, text: &str| Caution {
        id: id.to_owned(),
        text: text.to_owned(),
        applies: Condition::default(),
        basis: Basis::Practice,
    };
    let change = |from: usize, to: usize| match (from, to) {
        (a, b) if a == b => cost(0.0, 0.0, 0.0),
        (4.., ..=1) => cost(0.0, 120.0, 0.0),
        (4.., 2) => cost(0.0, 20.0, 0.0),
        _ => cost(2.0, 8.0, 0.0),
    };
    Knowledge {
        points: Points::built_in().clone(),
        causes: causes(),
        tests: tests(),
        groups: vec![
            group("measuring", "Sensor side", None),
            group("fit", "Probe and its fit", Some(0)),
            group("fuel", "Fuel", None),
            group("natural", "No fault", None),
        ],
        access: vec![Access {
            id: "shield".to_owned(),
            name: "Heat shield off".to_owned(),
            cost: cost(8.0, 0.0, 0.0),
            cost_if: Vec::new(),
            blocks_running: true,
            per_cylinder: false,
            basis: Basis::Memory,
        }],
        cautions: vec![
            caution("hot-exhaust", "the exhaust burns skin long after it stopped glowing"),
            caution("fuel-pressure", "let the fuel pressure down before a rail is opened"),
        ],
        spreads: Vec::new(),
        heat: Vec::new(),
        recent: vec![RecentWork {
            id: "probes-new".to_owned(),
            question: "Were probes or bosses just fitted?".to_owned(),
        }],
        presets: Vec::new(),
        mixture: MixtureCurve {
            phi: vec![1.0],
            reading: [vec![0.0], vec![0.0], vec![0.0]],
            basis: Basis::Memory,
        },
        constants: constants(),
        changes: StateChanges {
            cost: (0..7).map(|from| (0..7).map(|to| change(from, to)).collect()).collect(),
        },
        sources: BTreeMap::new(),
        recall: None,
        lacking: Vec::new(),
    }
}
