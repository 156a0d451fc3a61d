//! A small knowledge base and journals for tests.
//!
//! Its figures are invented.

use std::collections::BTreeMap;

use jiff::Timestamp;

use super::entry::{EngineState, Entry, FORMAT, Head, Journal, Reading, What};
use super::fit::FitLine;
use crate::engine::{
    BaseMixture, Cooling, DepthHold, Engine, Fitting, Fuel, Ignition, Induction, Intake, Layout,
    Place, ProbeSite, ProbeType, RunningPoint,
};
use crate::knowledge::{
    Access, Basis, Cause, Caution, Condition, Constants, Group, Item, Knowledge, MixtureCurve,
    Outcome, PlaceKind, Preset, RecentWork, Remedy, Scope, Seat, StateChances, StateChanges, Test,
    TestKind, Thermal, USUAL_SLIP,
};
use crate::units::{Celsius, Cost, Rates};

/// A port-injected wasted-spark four.
pub(crate) fn engine() -> Engine {
    Engine {
        cylinders: 4,
        layout: Layout::Inline,
        banks: vec![vec![1, 2, 3, 4]],
        firing_order: vec![1, 3, 4, 2],
        fuel: Fuel::Port,
        ignition: Ignition::WastedSpark,
        intake: Intake::Plenum,
        induction: Induction::Natural,
        cooling: Cooling::Liquid,
        probes: ProbeSite::Exhaust,
        probe_type: ProbeType::K,
        depth: DepthHold::Stays,
        trims: false,
        mixture: BaseMixture::usual(Fuel::Port),
        fitting: None,
    }
}

/// A job just opened on it, warm.
pub(crate) fn journal() -> Journal {
    Journal {
        format: FORMAT,
        head: Head {
            opened: Timestamp::UNIX_EPOCH,
            typed: "open van --cylinders 4".to_owned(),
            vehicle: "an invented van".to_owned(),
            complaint: "\"cylinder 2\" reads low".to_owned(),
            engine_name: String::new(),
            engine: engine(),
            recent: vec!["probes-new".to_owned()],
            state: EngineState::Warm,
            details: crate::job::complaint::Details::default(),
        },
        entries: Vec::new(),
    }
}

/// A line of the journal.
pub(crate) fn entry(what: What) -> Entry {
    Entry::new(Timestamp::UNIX_EPOCH, "typed".to_owned(), what)
}

/// Readings of the exhaust probes.
pub(crate) fn temps(at: &str, readings: Vec<Reading>) -> What {
    What::Temps {
        at: at.parse().unwrap_or(RunningPoint::Idle),
        site: ProbeSite::Exhaust,
        readings,
        from: None,
    }
}

/// Whole degrees as readings.
pub(crate) fn degrees(values: &[f64]) -> Vec<Reading> {
    let read = |&v| Celsius::new(v).map_or(Reading::Open, Reading::Degrees);
    values.iter().map(read).collect()
}

/// One of nearly everything.
pub(crate) fn long_journal() -> Journal {
    let mut journal = journal();
    let cylinder = Some(2);
    journal.entries = vec![
        entry(temps("idle", degrees(&[652.0, 590.0, 655.0, 648.0]))),
        entry(temps("cold", vec![Reading::Open, Reading::Stuck, Reading::Falling, Reading::Open])),
        entry(What::Found {
            test: "look-fit".to_owned(),
            outcome: "alike".to_owned(),
            cylinder,
            partner: None,
        }),
        entry(What::Exchange { item: Item::LeadAtBox, a: 2, b: 3 }),
        entry(What::Undo { entry: 4 }),
        entry(What::Remake { item: Item::Probe, cylinder: 2, new: true }),
        entry(What::State(EngineState::ColdSoaked)),
        entry(What::Remedy { cause: "fit-shallow".to_owned(), place: Place::Cylinder(2) }),
        entry(What::Close { proven: false, reason: None }),
        entry(What::Reopen),
        entry(What::Fitting(Fitting { diameter: 3.0, bore: 42.0, depth: 15.5 })),
        entry(What::Fitted {
            lines: vec![
                (1, FitLine { depth: Some(15.0), ..FitLine::default() }),
                (
                    3,
                    FitLine {
                        serial: Some("A 12".to_owned()),
                        clock: Some(3),
                        ..FitLine::default()
                    },
                ),
            ],
        }),
    ];
    journal
}

fn minutes(hands_on: f64, wait: f64) -> Cost {
    Cost { hands_on, wait, parts: 0.0 }
}

fn outcomes(ids: &[&str]) -> Vec<Outcome> {
    ids.iter()
        .map(|id| Outcome { id: (*id).to_owned(), text: format!("it is {id}"), partner: false })
        .collect()
}

fn test(id: &str, kind: TestKind, states: &[Thermal]) -> Test {
    Test {
        id: id.to_owned(),
        name: id.replace('-', " "),
        kind,
        scope: Scope::Cylinder,
        applies: Condition::default(),
        states: states.to_vec(),
        leaves: None,
        access: Vec::new(),
        tools: "none".to_owned(),
        cost: minutes(4.0, 2.0),
        moves: Vec::new(),
        replaces: Vec::new(),
        reseats: Vec::new(),
        item: None,
        steps: vec!["Do it".to_owned()],
        cautions: Vec::new(),
        outcomes: outcomes(&["gone", "stays", "other"]),
        default: vec![0.02, 0.97, 0.01],
        given: BTreeMap::new(),
        no_fire: None,
        slip: USUAL_SLIP,
        at_point: false,
        from_readings: false,
        past: false,
        basis: Basis::Practice,
    }
}

fn swap(id: &str, item: Item, states: &[Thermal], moves: &[Seat], reseats: &[(Seat, f64)]) -> Test {
    Test {
        item: Some(item),
        moves: moves.to_vec(),
        reseats: reseats.to_vec(),
        outcomes: outcomes(&["moved", "stays", "gone", "other"]),
        default: vec![0.01, 0.96, 0.02, 0.01],
        ..test(id, TestKind::Exchange, states)
    }
}

fn substitute(id: &str, item: Item, replaces: &[Seat], reseats: &[(Seat, f64)]) -> Test {
    Test {
        item: Some(item),
        replaces: replaces.to_vec(),
        reseats: reseats.to_vec(),
        ..test(id, TestKind::Substitute, &[Thermal::Idle])
    }
}

fn tests() -> Vec<Test> {
    const WARM: &[Thermal] = &[Thermal::Idle, Thermal::Hot];
    const COOL: &[Thermal] = &[Thermal::Cool, Thermal::Cold, Thermal::ColdSoaked];
    let engine_seats = [Seat::Probe, Seat::Fit, Seat::Injector, Seat::Cylinder];
    let fit = [(Seat::Fit, 1.0), (Seat::Lead, 0.5)];
    let half = [(Seat::Lead, 0.5)];
    let given = |row: [f64; 2]| BTreeMap::from([(1, row.to_vec())]);
    let mut list = vec![
        swap("swap-at-box", Item::LeadAtBox, WARM, &engine_seats, &half),
        swap("swap-at-probe", Item::LeadAtProbe, WARM, &engine_seats, &half),
        swap("swap-probe", Item::Probe, COOL, &[Seat::Probe], &fit),
        Test {
            access: vec![1],
            ..swap(
                "swap-injector",
                Item::Injector,
                COOL,
                &[Seat::Injector],
                &[(Seat::InjectorWiring, 1.0)],
            )
        },
        swap("swap-coil", Item::Coil, COOL, &[Seat::Coil], &[(Seat::HtLead, 0.5)]),
        swap("swap-plug", Item::Plug, COOL, &[Seat::Plug], &[(Seat::Coil, 0.5)]),
        swap("swap-lead-ht", Item::HtLead, COOL, &[Seat::HtLead], &[(Seat::Plug, 0.5)]),
        substitute("new-probe", Item::Probe, &[Seat::Probe], &fit),
        substitute("spare-channel", Item::LeadAtBox, &[Seat::Channel, Seat::Settings], &half),
        substitute("jumper-lead", Item::LeadAtProbe, &[Seat::Lead], &[(Seat::Lead, 1.0)]),
        Test {
            item: Some(Item::Probe),
            reseats: fit.to_vec(),
            ..test("reseat-probe", TestKind::Reseat, COOL)
        },
        Test {
            outcomes: outcomes(&["alike", "shallower"]),
            default: vec![0.95, 0.05],
            given: given([0.1, 0.9]),
            ..test("look-fit", TestKind::Observe, &[Thermal::Hot, Thermal::Cold])
        },
        Test {
            access: vec![0],
            reseats: vec![(Seat::Plug, 1.0)],
            outcomes: outcomes(&["even", "low"]),
            default: vec![0.95, 0.05],
            leaves: Some(Thermal::Hot),
            ..test("compression", TestKind::Measure, &[Thermal::Hot])
        },
        Test {
            scope: Scope::Engine,
            outcomes: outcomes(&["one", "bank"]),
            default: vec![0.9, 0.1],
            ..test("pattern", TestKind::Observe, &[Thermal::Idle])
        },
        Test {
            applies: Condition { fuel: vec![Fuel::Diesel], ..Condition::default() },
            outcomes: outcomes(&["equal", "less"]),
            default: vec![0.9, 0.1],
            ..test("dies-cut", TestKind::Disturb, &[Thermal::Idle])
        },
    ];
    list.sort_by(|a, b| a.id.cmp(&b.id));
    list
}

fn cause(id: &str, group: usize, seat: Seat, place: PlaceKind, remedy: Option<Remedy>) -> Cause {
    Cause {
        id: id.to_owned(),
        name: id.replace('-', " "),
        what: format!("{id}, invented"),
        group,
        seat,
        place,
        applies: Condition::default(),
        weight: 10.0,
        weight_if: Vec::new(),
        recent: BTreeMap::new(),
        effects: Vec::new(),
        diesel: Vec::new(),
        states_cold: None,
        states_running: None,
        reseat: 0.5,
        lasting: crate::knowledge::Lasting::Mostly,
        fitted: false,
        by_build: false,
        heat: false,
        clues: Vec::new(),
        remedy,
        basis: Basis::Practice,
    }
}

fn remedy(states: &[Thermal], reseats: &[(Seat, f64)]) -> Remedy {
    Remedy {
        id: "set-depth".to_owned(),
        what: "Set it to the mark".to_owned(),
        cost: minutes(5.0, 0.0),
        states: states.to_vec(),
        access: Vec::new(),
        first: Vec::new(),
        reseats: reseats.to_vec(),
        cautions: Vec::new(),
        basis: Basis::Practice,
    }
}

fn access(id: &str, blocks_running: bool) -> Access {
    Access {
        id: id.to_owned(),
        name: id.replace('-', " "),
        cost: minutes(20.0, 0.0),
        cost_if: Vec::new(),
        blocks_running,
        per_cylinder: false,
        basis: Basis::Practice,
    }
}

fn constants() -> Constants {
    Constants {
        repeatability: [1.0, 10.0, 5.0, 5.0, 8.0],
        repeatability_head: [1.0, 5.0, 3.0, 3.0, 4.0],
        offset_correlation: 0.7,
        bank_share: 0.5,
        spread_scale: 0.3,
        noise_scale: 0.8,
        wide_chance: 0.07,
        wide_factor: 2.5,
        fit_share: 0.333,
        level_spark: [20.0, 250.0, 400.0, 620.0, 860.0],
        level_diesel: [20.0, 90.0, 125.0, 325.0, 525.0],
        level_head: [20.0, 60.0, 100.0, 140.0, 170.0],
        level_sd: [12.0, 120.0, 120.0, 110.0, 90.0],
        level_sd_head: [12.0, 30.0, 30.0, 35.0, 40.0],
        begun: [0.08, 0.15],
        comes_and_goes: [0.03, 0.35],
        on_share: 0.5,
        look_again: 0.5,
        said_to_come: 1.0,
        state_again: 0.9,
        row_doubt: 0.0,
        misread_chance: 0.004,
        misread_sd: 100.0,
        two_faults: 0.1,
        severity: [0.0, 1.0, 0.0, 0.0],
        mixture_size: [1.0, 0.25],
        mixture_rich: [0.0, 0.0],
        noticed_healthy: 0.12,
        noticed_fault: 0.6,
        self_cure: 0.02,
        self_cure_fixed: 0.002,
        back_again: 0.05,
        remedy_works: 0.97,
        floor: 0.002,
        head_share: [0.0, 0.4, 0.6, 1.0, 1.3],
        reference_rise: [350.0, 550.0, 750.0],
        unlisted_weight: 20.0,
        unlisted_sd: 60.0,
        usual_states: StateChances { open: 0.002, stuck: 0.002, falling: 0.002, erratic: 0.01 },
        rates: Rates { labour_per_minute: 1.0, wait_weight: 0.25 },
        verify: minutes(5.0, 5.0),
        readings: minutes(2.0, 3.0),
        record: minutes(3.0, 0.0),
        comeback: 120.0,
        part_in_vain: 30.0,
        unlisted_cure: minutes(120.0, 60.0),
        chain_share: 0.3,
        heat_share: 0.2,
        visit_spread: [0.7, 10.0, 5.0, 5.0, 6.0],
        visit_freedom: 4.0,
        fitted_kept: 0.2,
        depth_kept: 0.5,
        balance_share: 0.1,
        fuel_trim: [2.0, 6.0],
        spark_trim: [1.0, 3.0],
        proof: 0.9,
    }
}

/// The small knowledge base; accesses are 0 `plugs-out` (blocks running) and 1 `rail-off`
/// (does not), and a change of state takes ten minutes of waiting.
pub(crate) fn knowledge() -> Knowledge {
    let cool = &[Thermal::Cool, Thermal::Cold];
    let mut change = vec![vec![minutes(0.0, 10.0); 7]; 7];
    for (index, row) in change.iter_mut().enumerate() {
        row[index] = Cost::default();
    }
    let group = |id: &str, parent| Group { id: id.to_owned(), name: id.to_owned(), parent };
    Knowledge {
        causes: vec![
            cause("coil-weak", 2, Seat::Coil, PlaceKind::CoilPair, None),
            cause(
                "fit-shallow",
                1,
                Seat::Fit,
                PlaceKind::Cylinder,
                Some(remedy(cool, &[(Seat::Fit, 1.0)])),
            ),
            cause("natural-spread", 3, Seat::Nothing, PlaceKind::Nowhere, None),
            cause(
                "probe-drift",
                1,
                Seat::Probe,
                PlaceKind::Cylinder,
                Some(remedy(cool, &[(Seat::Fit, 1.0), (Seat::Lead, 0.5)])),
            ),
        ],
        tests: tests(),
        groups: vec![
            group("measurement", None),
            group("installation", Some(0)),
            group("ignition", None),
            group("none", None),
        ],
        access: vec![access("plugs-out", true), access("rail-off", false)],
        cautions: vec![Caution {
            id: "hot".to_owned(),
            text: "It is hot".to_owned(),
            basis: Basis::Practice,
        }],
        spreads: Vec::new(),
        heat: Vec::new(),
        recent: ["probes-new", "wiring-worked"]
            .map(|id| RecentWork { id: id.to_owned(), question: format!("{id}?") })
            .to_vec(),
        presets: vec![Preset {
            id: "inline-four-port".to_owned(),
            name: "an invented four".to_owned(),
            engine: engine(),
            basis: None,
        }],
        mixture: MixtureCurve {
            phi: vec![0.8, 1.0, 1.2],
            reading: [
                vec![500.0, 550.0, 500.0],
                vec![600.0, 650.0, 600.0],
                vec![800.0, 850.0, 800.0],
            ],
            basis: Basis::Practice,
        },
        constants: constants(),
        changes: StateChanges { cost: change },
        sources: BTreeMap::new(),
        recall: None,
        lacking: Vec::new(),
    }
}
