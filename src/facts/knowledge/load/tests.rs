//! What comes out of loading as a whole, and what overlays do.

use proptest::prelude::*;

use super::load;
use crate::knowledge::finding::{Finding, any_error, render, to_json};
use crate::knowledge::fixture::{broken, files, knowledge};
use crate::knowledge::model::{Basis, Thermal};
use crate::knowledge::sources::SourceText;

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
    assert!((changed.spreads[0].sd[4] - 5.0).abs() < 1e-12);
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
