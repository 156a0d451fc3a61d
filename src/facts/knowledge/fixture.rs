//! A small knowledge base without a fault, for tests that break one thing in it.

use super::load::load;
use super::model::Knowledge;
use super::sources::SourceText;

/// Texts by name.
pub(super) const TEXTS: &[(&str, &str)] = &[
    ("causes/chain.ron", CAUSES),
    ("tests/chain.ron", TESTS),
    ("groups.ron", GROUPS),
    ("setups.ron", SETUPS),
    ("cautions.ron", "(cautions: [(\"hot\", \"It burns.\", practice)])"),
    ("spreads.ron", SPREADS),
    ("engines.ron", ENGINES),
    ("model.ron", MODEL),
    ("sources.ron", "(sources: [(\"handbook\", \"A handbook; seen.\")])"),
    ("heat.ron", HEAT),
    ("points.ron", include_str!("../../../knowledge/points.ron")),
];

/// The texts as sources.
pub(super) fn files() -> Vec<SourceText> {
    TEXTS.iter().map(|&(name, text)| SourceText::new(name, text)).collect()
}

/// The texts with one stretch of one of them replaced.
pub(super) fn broken(name: &str, from: &str, to: &str) -> Vec<SourceText> {
    let mut files = files();
    let file = files.iter_mut().find(|file| file.name() == name).expect("a text of the fixture");
    assert_eq!(file.text().matches(from).count(), 1, "`{from}` must be there once");
    *file = SourceText::new(name.to_owned(), file.text().replace(from, to));
    files
}

/// The small knowledge base.
pub(super) fn knowledge() -> Knowledge {
    let (knowledge, findings) = load(&files(), &[]);
    assert_eq!(findings, [], "the fixture is clean");
    knowledge.expect("no findings")
}

const CAUSES: &str = r#"(
    causes: [
        (
            id: "fit-deep", name: "probe too deep", what: "The tip is too far in.",
            group: "fit", seat: "fit", weight: 25, recent: [("probes-new", 3)],
            effects: [(
                law: "wall", exhaust: ((0, 1), (50, 22), (36, 18), (21, 14)),
                basis: computed("fin model"),
            )],
            reseat: 0.8,
            remedy: (
                id: "set-depth", what: "Set it to the mark.", time: (5, 0), parts: "none",
                states: ["cool"], access: ["probe-out"], first: ["look-fit"],
                reseats: [("fit", 1)], cautions: ["hot"], basis: practice,
            ),
            basis: practice,
        ),
        (
            id: "fit-shallow", name: "probe not in far enough", what: "The tip is near the wall.",
            group: "fit", seat: "fit", weight: 40,
            effects: [(
                law: "wall", exhaust: ((0, 1), (-55, 28), (-64, 30), (-58, 30)),
                basis: computed("fin model"),
            )],
            reseat: 0.8,
            remedy: (
                id: "set-depth", what: "Set it to the mark.", time: (5, 0), parts: "none",
                states: ["cool"], basis: practice,
            ),
            basis: practice,
        ),
        (
            id: "probe-drift", name: "drifted probe", what: "It reads a little off.",
            group: "probe", seat: "probe", weight: 15,
            effects: [(
                law: "proportional", exhaust: ((0, 1), (-4, 6), (-7, 9), (-10, 13)),
                head: (-3, 4), basis: source("handbook"),
            )],
            reseat: 0.05,
            remedy: (
                id: "replace-probe", what: "Replace the probe.", time: (10, 0), parts: "probe",
                states: ["cool"], basis: practice,
            ),
            basis: practice,
        ),
        (
            id: "conn-poor", name: "poor connector", what: "Corroded or loose pins.",
            group: "lead", seat: "lead", weight: 35,
            effects: [(
                law: "proportional", exhaust: ((0, 2), (-10, 16), (-14, 20), (-16, 25)),
                basis: practice,
            )],
            states_running: (open: 0.02, erratic: 0.4),
            reseat: 0.7, intermittent: true,
            remedy: (
                id: "clean-pins", what: "Clean the pins.", time: (10, 0), parts: "none",
                states: ["cool", "hot"], basis: practice,
            ),
            basis: practice,
        ),
        (
            id: "lead-crossed", name: "crossed leads", what: "Two leads are crossed.",
            group: "lead", seat: "lead", place: "pair", weight: 12,
            effects: [(
                law: "misnamed", exhaust: ((0, 1), (0, 14), (0, 14), (0, 18)), basis: practice,
            )],
            reseat: 0.15,
            remedy: (
                id: "cross-back", what: "Cross them back.", time: (5, 0), parts: "none",
                states: ["cool", "hot"], basis: practice,
            ),
            basis: practice,
        ),
        (
            id: "chan-error", name: "channel off", what: "The input amplifier is out.",
            group: "channel", seat: "channel", weight: 8, weight_if: [((trims: true), 1.5)],
            effects: [
                (share: 0.5, law: "offset", exhaust: ((-9, 5), (-9, 5), (-9, 5), (-9, 5)), basis: practice),
                (share: 0.5, law: "offset", exhaust: ((9, 5), (9, 5), (9, 5), (9, 5)), basis: practice),
            ],
            reseat: 0.03,
            remedy: (
                id: "spare-channel-use", what: "Use a spare channel.", time: (15, 0),
                parts: "none", states: ["cool", "hot"], basis: practice,
            ),
            basis: practice,
        ),
        (
            id: "natural-spread", name: "nothing wrong", what: "Within the usual spread.",
            group: "no-fault", seat: "none", place: "nowhere", weight: 120, reseat: 0,
            basis: practice,
        ),
        (
            id: "not-settled", name: "not settled", what: "Still warming.",
            group: "no-fault", seat: "none", weight: 60,
            effects: [(
                law: "time", exhaust: ((0, 3), (-10, 28), (-5, 14), (-5, 14)), basis: practice,
            )],
            reseat: 0.6, basis: practice,
        ),
    ],
)
"#;

const TESTS: &str = r#"(
    tests: [
        (
            id: "look-fit", name: "Look at the depth marks", kind: "observe",
            states: ["cool", "hot"], access: ["probe-out"], tools: "rule", time: (2, 0),
            parts: "none", steps: ["Look."], cautions: ["hot"],
            outcomes: [("right", "As the others."), ("less-out", "Less shows."), ("more-out", "More shows.")],
            default: [0.94, 0.03, 0.03],
            given: [
                (["set:fit"], [0.3, 0.6, 0.1]),
                (["fit-shallow"], [0.2, 0.05, 0.75]),
            ],
            basis: practice,
        ),
        (
            id: "swap-at-box", name: "Exchange leads at the box", kind: "exchange",
            states: ["idle", "hot"], tools: "none", time: (2, 2), parts: "none",
            moves: ["lead", "probe", "fit", "cylinder"], reseats: [("lead", 0.5)],
            item: "lead-at-box", steps: ["Exchange."],
            outcomes: [("moved", "Moved."), ("stays", "Stays."), ("gone", "Gone."), ("other", "Other.")],
            basis: practice,
        ),
        (
            id: "swap-probe", name: "Exchange the probes", kind: "exchange",
            applies: (probes: ["exhaust"]), states: ["cool"], leaves: "idle",
            tools: "spanner", time: (20, 5), parts: "none",
            moves: ["probe"], reseats: [("fit", 1), ("lead", 0.5)],
            item: "probe", steps: ["Exchange."],
            outcomes: [("moved", "Moved."), ("stays", "Stays."), ("gone", "Gone."), ("other", "Other.")],
            basis: practice,
        ),
        (
            id: "reseat-probe", name: "Refit the probe", kind: "reseat",
            states: ["cool"], tools: "spanner", time: (7, 5), parts: "none",
            reseats: [("fit", 1), ("lead", 0.5)], item: "probe", steps: ["Refit."],
            outcomes: [("gone", "Gone."), ("stays", "Stays."), ("other", "Other.")],
            basis: practice,
        ),
        (
            id: "new-probe", name: "Fit a good probe", kind: "substitute",
            states: ["cool"], tools: "spanner", time: (10, 5), parts: "probe",
            replaces: ["probe"], reseats: [("fit", 1), ("lead", 0.5)], item: "probe",
            steps: ["Fit."],
            outcomes: [("gone", "Gone."), ("stays", "Stays."), ("other", "Other.")],
            basis: practice,
        ),
    ],
)
"#;

const GROUPS: &str = r#"(
    groups: [
        ("measuring", "sensor side", None),
        ("probe", "probe", "measuring"),
        ("fit", "fit", "measuring"),
        ("lead", "lead", "measuring"),
        ("channel", "channel", "measuring"),
        ("no-fault", "no fault", None),
    ],
    sets: [("fit", ["fit-deep", "fit-shallow"])],
)
"#;

const SETUPS: &str = r#"(
    changes: [
        ("cold-soaked", "cold", 0, 0, practice),
        ("cold", "idle", 1, 8, practice),
        ("cool", "idle", 1, 4, practice),
        ("idle", "hot", 0, 0, practice),
        ("idle", "cruise", 3, 2, practice),
        ("cruise", "full", 2, 1, practice),
        ("full", "cruise", 0, 3, practice),
        ("cruise", "idle", 0, 2, practice),
        ("hot", "cool", 0, 20, practice),
        ("cool", "cold", 0, 70, practice),
        ("cold", "cold-soaked", 0, 480, practice),
    ],
    access: [
        (id: "probe-out", name: "probe out", time: (5, 0), per_cylinder: true, blocks_running: true, basis: practice),
    ],
    parts: [("none", 0, memory), ("probe", 45, memory)],
    recent: [("probes-new", "Were probes just fitted?")],
)
"#;

const SPREADS: &str = r#"(
    spreads: [
        (applies: (fuel: ["diesel"]), site: "exhaust", sd: (1, 25, 12, 12, 15), basis: practice),
        (site: "exhaust", sd: (1, 30, 15, 15, 18), basis: practice),
        (site: "head", sd: (1, 10, 5, 5, 8), basis: practice),
    ],
)
"#;

const HEAT: &str = r#"(
    heat: [
        (
            site: "exhaust", watch: (700, 800, 950), stop: (800, 900, 1000), lone: (60, 100),
            can_be: ((50, 900), (150, 1000), (250, 1100)), basis: practice,
        ),
        (
            site: "head", watch: (150, 180, 210), stop: (180, 210, 240), lone: (25, 40),
            can_be: ((20, 300), (30, 300), (40, 350)), basis: practice,
        ),
    ],
)
"#;

const ENGINES: &str = r#"(
    engines: [
        (
            id: "inline-four-port", name: "four in line",
            engine: (
                cylinders: 4, layout: "inline", banks: [[1, 2, 3, 4]], firing_order: [1, 3, 4, 2],
                fuel: "port", ignition: "wasted-spark", intake: "plenum", induction: "natural",
                cooling: "liquid", probes: "exhaust", probe_type: "K", depth: "stays",
                trims: false, mixture: (idle: 1, cruise: 1, full: 1.15),
            ),
            basis: practice,
        ),
    ],
)
"#;

const MODEL: &str = r#"(
    constants: [
        ("repeatability", [1, 8, 4, 4, 5], practice),
        ("repeatability_head", [0.7, 2, 1, 1, 1.5], practice),
        ("offset_correlation", [0.7], practice),
        ("bank_share", [0.5], practice),
        ("spread_scale", [0.3], practice), ("noise_scale", [0.8], practice), ("state_again", [0.9], practice),
        ("wide_chance", [0.07], practice), ("wide_factor", [2.5], practice), ("fit_share", [0.333], practice),
        ("level_spark", [20, 250, 400, 620, 860], practice), ("level_diesel", [20, 90, 125, 325, 525], practice),
        ("level_head", [20, 60, 100, 140, 170], practice), ("level_sd", [12, 120, 120, 110, 90], practice),
        ("level_sd_head", [12, 30, 30, 35, 40], practice),
        ("begun", [0.08, 0.15], practice), ("comes_and_goes", [0.03, 0.35], practice),
        ("on_share", [0.5], practice), ("look_again", [0.5], practice), ("said_to_come", [8], practice), ("row_doubt", [0], practice), ("effect_doubt", [0], practice),
        ("misread_chance", [0.004], practice),
        ("misread_sd", [100], practice),
        ("two_faults", [0.06], practice), ("severity", [0, 1, 0, 0], practice), ("mixture_size", [1, 0.25], practice), ("mixture_rich", [0, 0], practice), ("noticed_healthy", [0.12], practice), ("noticed_fault", [0.6], practice),
        ("self_cure", [0.02], practice),
        ("self_cure_fixed", [0.002], practice),
        ("back_again", [0.02], practice),
        ("remedy_works", [0.97], practice),
        ("floor", [0.002], practice),
        ("head_share", [0, 0.4, 0.7, 1, 1.2], practice),
        ("reference_rise", [375, 595, 835], practice),
        ("unlisted_weight", [25], practice),
        ("unlisted_sizes", [56, 65, 88, 151, 239, 351], practice),
        ("usual_states", [0.002, 0.002, 0.001, 0.02], practice),
        ("labour_per_minute", [2], practice),
        ("wait_weight", [0.25], practice), ("visit_spread", [0.7, 10, 5, 5, 6], practice), ("visit_freedom", [4], practice), ("fitted_kept", [0.2], practice), ("depth_kept", [0.5], practice), ("balance_share", [0.1], practice), ("fuel_trim", [2, 6], practice), ("spark_trim", [1, 3], practice),
        ("verify", [3, 5, 0], practice),
        ("readings", [3, 3], practice),
        ("record", [15, 0], practice),
        ("comeback", [100], practice), ("part_in_vain", [20], practice), ("unlisted_cure", [180, 60, 60], practice),
        ("by_the_way", [0], practice), ("chain_share", [0.1], practice),
        ("heat_share", [0.05], practice),
        ("proof", [0.95], practice),
    ],
    mixture: [(0.8, 365, 557, 798), (1, 400, 620, 920), (1.2, 375, 577, 843)],
    mixture_basis: computed("cycle model"),
)
"#;
