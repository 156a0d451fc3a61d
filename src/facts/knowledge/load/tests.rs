//! What comes out of loading as a whole, and what overlays do.

use proptest::prelude::*;

use super::load;
use crate::knowledge::finding::{Finding, Severity, any_error, render, to_json};
use crate::knowledge::fixture::{broken, files, knowledge};
use crate::knowledge::model::{Basis, Thermal};
use crate::knowledge::sources::SourceText;
use measure::engine::{ProbeSite, Regime};

const CAUSES: &str = "causes/chain.ron";
const TESTS: &str = "tests/chain.ron";

fn codes_of(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.code).collect()
}

#[test]
fn mistakes_in_several_files_are_reported_at_once() {
    let mut all = broken(CAUSES, "weight: 15", "weight: -1");
    all[1] = broken(TESTS, "[0.3, 0.6, 0.1]", "[0.3, 0.6, 0.4]")[1].clone();
    all[5] = broken("spreads.ron", "(1, 10, 5, 5, 8)", "(1, 10, 5, 5)")[5].clone();
    let (knowledge, findings) = load(&all, &[]);
    assert!(knowledge.is_none());
    assert_eq!(codes_of(&findings), ["weight-not-positive", "wrong-type", "row-sum"]);
}

#[test]
fn a_text_that_cannot_be_read_does_not_make_its_ids_unknown() {
    let (_, findings) = load(&broken("sources.ron", "(sources:", "(sorces:"), &[]);
    assert_eq!(codes_of(&findings), ["unknown-field"]);
}

#[test]
fn a_basis_is_kept_with_its_source_and_place() {
    let with = |basis: &str| {
        let (knowledge, findings) = load(&broken(CAUSES, "source(\"handbook\")", basis), &[]);
        let basis = knowledge
            .map(|k| k.causes[k.cause("probe-drift").expect("it")].effects[0].basis.clone());
        (basis, codes_of(&findings))
    };
    let cited = with("cited(\"handbook\", \"table 3\")");
    let basis = Basis::Cited("handbook".to_owned(), "table 3".to_owned());
    assert_eq!(cited, (Some(basis), vec![]));
    // A computed number may rest on a source, which it names in brackets.
    let computed = with("computed(\"by the law of [handbook]\")");
    assert_eq!(computed, (Some(Basis::Computed("by the law of [handbook]".to_owned())), vec![]));
    assert_eq!(with("judgement(\"seen twice\")").1, ["unused-source"]);
    assert_eq!(with("cited(\"handbook\", \"\")").1, ["missing-basis"]);
    assert_eq!(with("judgement(\" \")").1, ["missing-basis", "unused-source"]);
    assert_eq!(with("cited(\"handbok\", \"table 3\")").1, ["unknown-source"]);
    assert_eq!(with("computed(\"by [handbok]\")").1, ["unknown-source"]);
    // Brackets around other things name no source.
    assert_eq!(with("computed(\"from [1, 2] and [handbook]\")").1, [""; 0]);
}

#[test]
fn a_source_of_the_code_is_not_unused() {
    let sources = |list: &str| {
        let text = format!(
            "(sources: [(\"handbook\", \"A handbook; seen.\"), (\"norm\", \"A norm; seen.\")]{list})"
        );
        let mut files = files();
        let at = files.iter().position(|f| f.name() == "sources.ron").expect("it");
        files[at] = SourceText::new("sources.ron", text);
        codes_of(&load(&files, &[]).1)
    };
    assert_eq!(sources(""), ["unused-source"]);
    assert_eq!(sources(", in_code: [\"norm\"]"), [""; 0]);
    assert_eq!(sources(", in_code: [\"nrom\"]"), ["unknown-source"]);
}

#[test]
fn an_overlay_replaces_by_id_and_adds() {
    let overlay = [
        SourceText::new("mine/model.ron", "(constants: [(\"proof\", [0.9], memory)])"),
        SourceText::new(
            "mine/spreads.ron",
            "(spreads: [(site: \"exhaust\", sd: (1, 2, 3, 4, 5), basis: memory)])",
        ),
        SourceText::new("mine/groups.ron", "(groups: [(\"fit\", \"how it sits\", \"measuring\")])"),
        SourceText::new("mine/setups.ron", "(changes: [(\"cool\", \"cold\", 0, 7, memory)])"),
        SourceText::new(
            "mine/causes/own.ron",
            r#"(causes: [(
                id: "natural-spread", name: "healthy", what: "Nothing.", group: "no-fault",
                seat: "none", place: "nowhere", weight: 1, reseat: 0, basis: source("handbook"),
            ), (
                id: "aaa", name: "new", what: "New.", group: "fit", seat: "none", weight: 1,
                effects: [(law: "noise", head: (0, 9), basis: memory)], reseat: 0, basis: memory,
            )])"#,
        ),
    ];
    let (changed, findings) = load(&files(), &overlay);
    assert_eq!(findings, []);
    let (changed, before) = (changed.expect("clean"), knowledge());
    assert_eq!(changed.causes.len(), before.causes.len() + 1);
    assert_eq!(changed.causes[0].id, "aaa");
    let healthy = &changed.causes[changed.cause("natural-spread").expect("is there")];
    assert_eq!(healthy.name, "healthy");
    assert_eq!(healthy.basis, Basis::Source("handbook".to_owned()));
    assert!((changed.constants.proof - 0.9).abs() < 1e-12);
    assert!((changed.spreads[0].at(changed.points.of(Regime::Full)) - 5.0).abs() < 1e-12);
    assert_eq!(changed.spreads.len(), before.spreads.len() + 1);
    assert!(changed.groups.iter().any(|g| g.name == "how it sits"));
    assert_eq!(changed.groups.len(), before.groups.len());
    let way = changed.changes.between(Thermal::Cool, Thermal::Cold);
    assert!((way.wait - 7.0).abs() < 1e-12);
}

#[test]
fn a_row_for_nothing_wrong_is_what_a_sound_engine_shows() {
    let overlay = [SourceText::new(
        "mine/tests/own.ron",
        r#"(tests: [(
            id: "ask", name: "Ask", kind: "observe", scope: "engine", states: ["hot"], tools: "none",
            time: (1, 0), parts: "none", steps: ["Ask."], outcomes: [("new", "New."), ("old", "Old.")],
            default: [0.7, 0.3], basis: memory,
            given: [(["natural-spread"], [0.2, 0.8]), (["fit-deep"], [0.9, 0.1])],
        )])"#,
    )];
    let knowledge = load(&files(), &overlay).0.expect("clean");
    let ask = &knowledge.tests[knowledge.test("ask").expect("is there")];
    let near = |row: &[f64], first: f64| (row[0] - first).abs() < 1e-9;
    assert!(near(&ask.default, 0.2), "{:?}", ask.default);
    for (index, cause) in knowledge.causes.iter().enumerate() {
        match cause.id.as_str() {
            "natural-spread" => assert!(!ask.given.contains_key(&index)),
            "fit-deep" => assert!(near(&ask.given[&index], 0.9)),
            _ => assert!(near(&ask.given[&index], 0.7), "{}", cause.id),
        }
    }
}

#[test]
fn a_broken_overlay_is_named() {
    let overlay = [SourceText::new("mine/tests/own.ron", "(tests: [(id: \"look-fit\")])")];
    let (knowledge, findings) = load(&files(), &overlay);
    assert!(knowledge.is_none());
    assert_eq!(codes_of(&findings), ["missing-field"]);
    assert_eq!(findings[0].labels[0].file, "mine/tests/own.ron");
}

#[test]
fn the_cheapest_way_between_states_is_filled_in() {
    let knowledge = knowledge();
    let way = |from, to| knowledge.changes.between(from, to);
    // idle → hot → cool: twenty minutes of waiting
    let cost = way(Thermal::Idle, Thermal::Cool);
    assert!((cost.wait - 20.0).abs() < 1e-12 && cost.hands_on.abs() < 1e-12);
    // cold-soaked → cold → idle → cruise → full
    let cost = way(Thermal::ColdSoaked, Thermal::Full);
    assert!((cost.wait - 11.0).abs() < 1e-12 && (cost.hands_on - 6.0).abs() < 1e-12);
    for &state in Thermal::ALL {
        assert!(way(state, state).total(knowledge.constants.rates).abs() < 1e-12);
    }
}

#[test]
fn parts_are_priced_in_money_at_the_labour_rate() {
    let knowledge = knowledge();
    let test = &knowledge.tests[knowledge.test("new-probe").expect("is there")];
    // 45 minutes of labour at 2 a minute
    assert!((test.cost.parts - 90.0).abs() < 1e-12);
    assert!((test.cost.total(knowledge.constants.rates) - (10.0 + 0.25 * 5.0 + 45.0)).abs() < 1e-9);
}

#[test]
fn opening_takes_the_minutes_of_the_engine() {
    let knowledge = load(crate::knowledge::embedded::embedded(), &[]).0.expect("sound");
    let minutes = |engine: &str, access: &str| {
        let preset = knowledge.presets.iter().find(|preset| preset.id == engine);
        let fitted = knowledge.clone().fitted_to(&preset.expect("such an engine").engine);
        fitted.access.iter().find(|a| a.id == access).expect("such a thing").cost.hands_on
    };
    for access in ["rail-off", "plug-out"] {
        let port = minutes("inline-four-port", access);
        assert!(minutes("inline-six-diesel", access) >= 2.0 * port, "{access}");
    }
    assert!(minutes("inline-four-direct", "rail-off") >= 90.0);
}

#[test]
fn parents_come_before_their_children() {
    let knowledge = knowledge();
    for (n, group) in knowledge.groups.iter().enumerate() {
        assert!(group.parent.is_none_or(|parent| parent < n), "{}", group.id);
    }
    let fit = &knowledge.causes[knowledge.cause("fit-deep").expect("is there")];
    assert_eq!(knowledge.groups[fit.group].id, "fit");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn no_slip_of_the_pen_panics(
        which in 0..9_usize,
        at in 0.0..1.0_f64,
        cut in 0..40_usize,
        put in "[()\\[\\],:\"a-z0-9/*. °-]{0,12}",
    ) {
        let mut files = files();
        let text: Vec<char> = files[which].text().chars().collect();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss,
            reason = "a place in a short text")]
        let at = (at * text.len() as f64) as usize;
        let rest = text.get(at + cut..).unwrap_or_default();
        let changed: String = text[..at].iter().copied().chain(put.chars()).chain(rest.iter().copied()).collect();
        files[which] = SourceText::new(files[which].name().to_owned(), changed);
        let (knowledge, findings) = load(&files, &[]);
        prop_assert_eq!(knowledge.is_none(), any_error(&findings));
        prop_assert_eq!(render(&findings, &files, false).is_empty(), findings.is_empty());
        prop_assert_eq!(to_json(&findings, &files).as_array().map(Vec::len), Some(findings.len()));
    }
}

/// An overlay of running points, and of whatever else.
fn with_points(points: &str, others: &[(&'static str, &'static str)]) -> Vec<SourceText> {
    let own = SourceText::new("mine/points.ron", format!("(points: [{points}])"));
    let others = others.iter().map(|(name, text)| SourceText::new(*name, *text));
    std::iter::once(own).chain(others).collect()
}

const TOWING: &str = r#"(
    id: "towing", name: "towing uphill", words: ["Trailer"], thermal: "full", order: 50,
    settled: true, load: "full", confirm: true, like: "full", factor: 1.5, basis: memory,
)"#;

#[test]
fn a_point_of_an_overlay_has_the_figures_of_the_one_it_is_like() {
    let (own, findings) = load(&files(), &with_points(TOWING, &[]));
    assert_eq!(findings, []);
    let own = own.expect("clean");
    let [towing, full] = ["towing", "full"].map(|id| own.points.named(id).expect("is there"));
    assert_eq!(
        (towing.name(), towing.as_str(), towing.regime),
        ("towing uphill", "towing", Regime::Full)
    );
    assert_eq!(towing.words, ["trailer"]);
    assert!(towing.is_full_load() && towing.confirm && towing.settled && !towing.routine);
    assert!(full < towing && own.points.iter().next_back() == Some(towing));
    let constants = &own.constants;
    assert!((constants.level_spark.at(towing) - constants.level_spark.at(full)).abs() < 1e-12);
    let deep = &own.causes[own.cause("fit-deep").expect("is there")].effects[0];
    let deep = deep.exhaust.as_ref().expect("an exhaust probe's");
    let [there, as_full] = [towing, full].map(|at| deep.at(at).expect("a number"));
    assert!((there.mean - 1.5 * as_full.mean).abs() < 1e-12);
    assert!((there.sd - 1.5 * as_full.sd).abs() < 1e-12);
    let engine = &own.presets[0].engine;
    let site = ProbeSite::Exhaust;
    assert!(
        (own.natural_sd(engine, site, towing) - own.natural_sd(engine, site, full)).abs() < 1e-12
    );
    // The built-in ones are what they were.
    assert_eq!(
        own.points.iter().take(5).collect::<Vec<_>>(),
        knowledge().points.iter().collect::<Vec<_>>()
    );
}

#[test]
fn a_point_has_its_own_figures_where_they_are_given_and_hands_them_on() {
    let winter =
        r#", (id: "winter", name: "towing in winter", thermal: "full", order: 60, like: "towing")"#;
    let others = [
        ("mine/model.ron", "(constants: [(\"level_spark:towing\", [777], memory)])"),
        (
            "mine/spreads.ron",
            "(spreads: [(site: \"exhaust\", sd: (1, 2, 3, 4, 5), at: [(\"towing\", 6)], basis: memory)])",
        ),
        (
            "mine/heat.ron",
            r#"(heat: [(
                site: "exhaust", watch: (700, 800, 900), stop: (800, 900, 1000), lone: (60, 100),
                can_be: ((80, 950), (170, 1100), (250, 1200)),
                at: [(point: "towing", watch: 850, stop: 880, can_be: (300, 1150))], basis: memory,
            )])"#,
        ),
        (
            "mine/causes/own.ron",
            r#"(causes: [(
                id: "fit-deep", name: "deep", what: "Deep.", group: "fit", seat: "none", weight: 1,
                effects: [(
                    law: "wall", exhaust: ((0, 1), (50, 22), (36, 18), (21, 14)),
                    at: [("towing", (70, 9))], basis: memory,
                )],
                reseat: 0, basis: memory,
            )])"#,
        ),
    ];
    let (own, findings) = load(&files(), &with_points(&format!("{TOWING}{winter}"), &others));
    let wrong: Vec<&Finding> = findings.iter().filter(|f| f.severity == Severity::Error).collect();
    assert!(wrong.is_empty(), "{wrong:?}");
    let own = own.expect("usable");
    let [towing, winter] = ["towing", "winter"].map(|id| own.points.named(id).expect("is there"));
    for at in [towing, winter] {
        assert!((own.constants.level_spark.at(at) - 777.0).abs() < 1e-12, "{at}");
        let engine = &own.presets[0].engine;
        assert!((own.natural_sd(engine, ProbeSite::Exhaust, at) - 6.0).abs() < 1e-12, "{at}");
        let bounds = own.heat_bounds(engine, ProbeSite::Exhaust).and_then(|row| row.at(at));
        assert!((bounds.expect("a row").stop - 880.0).abs() < 1e-12, "{at}");
        let deep = &own.causes[own.cause("fit-deep").expect("is there")].effects[0];
        let shift = deep.exhaust.as_ref().and_then(|shifts| shifts.at(at)).expect("a number");
        // No factor on what is its own.
        assert!((shift.mean - 70.0).abs() < 1e-12, "{at}");
    }
}

#[test]
fn a_wrong_point_is_a_finding_with_its_place() {
    let row = |from: &str, to: &str| {
        assert!(TOWING.contains(from), "{from}");
        TOWING.replace(from, to)
    };
    for (points, code, place) in [
        (row("like: \"full\"", "like: \"ful\""), "unknown-id", "\"ful\""),
        (row(", like: \"full\", factor: 1.5, basis: memory", ""), "bad-point", "\"towing\""),
        (row("like: \"full\"", "like: \"towing\""), "point-cycle", "\"towing\""),
        (row("\"towing uphill\"", "\"\""), "bad-point", "\"\""),
        (row("name: \"towing uphill\", ", ""), "missing-field", ""),
        (row("\"towing\"", "\"Towing\""), "bad-id", "\"Towing\""),
        (row("\"towing\"", &format!("\"{}\"", "t".repeat(31))), "bad-id", ""),
        (row("thermal: \"full\"", "thermal: \"cool\""), "bad-point", "\"cool\""),
        (row("thermal: \"full\"", "thermal: \"fast\""), "unknown-word", "\"fast\""),
        (row("like: \"full\"", "like: \"cold\""), "bad-point", "\"full\""),
        (row("load: \"full\"", "load: \"much\""), "unknown-word", "\"much\""),
        (row(", basis: memory", ""), "missing-basis", "1.5"),
        (row("factor: 1.5", "factor: -1"), "negative", "-1"),
        (format!("{TOWING}, {TOWING}"), "duplicate-id", "\"towing\""),
        (row("id: \"towing\"", "id: \"idle\""), "bad-point", ""),
    ] {
        let overlay = with_points(&points, &[]);
        let (own, findings) = load(&files(), &overlay);
        assert!(own.is_none(), "{points}");
        let found = findings.iter().find(|f| f.code == code);
        let found = found.unwrap_or_else(|| panic!("{code}: {points}: {findings:?}"));
        let at = found.labels.first().unwrap_or_else(|| panic!("{code} has no place"));
        assert_eq!(at.file, "mine/points.ron", "{points}");
        assert!(overlay[0].text()[at.start..at.end].contains(place), "{code}: {points}: {at:?}");
    }
    for (name, text, code) in [
        ("mine/model.ron", "(constants: [(\"level_spark:tow\", [777], memory)])", "unknown-id"),
        ("mine/model.ron", "(constants: [(\"level_spark:idle\", [777], memory)])", "bad-point"),
        ("mine/model.ron", "(constants: [(\"proof:towing\", [1], memory)])", "unknown-constant"),
        (
            "mine/model.ron",
            "(constants: [(\"level_spark:towing\", [7, 8], memory)])",
            "constant-length",
        ),
        (
            "mine/spreads.ron",
            "(spreads: [(site: \"head\", sd: (1, 2, 3, 4, 5), at: [(\"tow\", 6)], basis: memory)])",
            "unknown-id",
        ),
    ] {
        let overlay = with_points(TOWING, &[(name, text)]);
        let (own, findings) = load(&files(), &overlay);
        assert!(own.is_none(), "{text}");
        assert!(findings.iter().any(|f| f.code == code), "{code}: {text}: {findings:?}");
    }
}
