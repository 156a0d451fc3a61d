//! One mistake a finding code, made in the clean fixture.

use std::collections::BTreeSet;

use crate::knowledge::codes::{self, Code};
use crate::knowledge::fixture::{broken, files};
use crate::knowledge::sources::SourceText;

/// A mistake: the code it is found under, and the stretch of a text that is replaced.
struct Mistake {
    code: Code,
    file: &'static str,
    from: &'static str,
    to: &'static str,
}

const fn mistake(code: Code, file: &'static str, from: &'static str, to: &'static str) -> Mistake {
    Mistake { code, file, from, to }
}

const CAUSES: &str = "causes/chain.ron";
const TESTS: &str = "tests/chain.ron";

/// A cause like `fit-deep` in all that can be seen.
const TWIN: &str = r#"causes: [
        (
            id: "fit-bent", name: "bent probe", what: "It is bent inwards.",
            group: "fit", seat: "fit", weight: 5,
            effects: [(
                law: "wall", exhaust: ((0, 1), (51, 22), (36, 18), (21, 14)), basis: practice,
            )],
            reseat: 0.8,
            remedy: (
                id: "REMEDY", what: "Straighten it.", time: (5, 0), parts: "none",
                states: ["cool"], basis: practice,
            ),
            basis: practice,
        ),"#;

/// The set that gives the twin its row.
const WITH_TWIN: (&str, &str) =
    (r#"["fit-deep", "fit-shallow"]"#, r#"["fit-bent", "fit-deep", "fit-shallow"]"#);

#[expect(clippy::too_many_lines, reason = "a list, one line for each kind of finding")]
fn mistakes() -> Vec<Mistake> {
    use codes::*;
    vec![
        mistake(BAD_CHANCE, CAUSES, "reseat: 0.03", "reseat: 1.03"),
        mistake(BAD_CURVE, "model.ron", "(1, 400, 620, 920)", "(0.8, 400, 620, 920)"),
        mistake(BAD_ENGINE, "engines.ron", "[1, 3, 4, 2]", "[1, 3, 3, 2]"),
        mistake(BAD_ID, TESTS, "\"new-probe\"", "\"New probe\""),
        mistake(
            BAD_OUTCOMES,
            TESTS,
            "(\"stays\", \"Stays.\"), (\"other\", \"Other.\")],\n            basis: practice,\n        ),\n        (\n            id: \"new-probe\"",
            "(\"kept\", \"Stays.\"), (\"other\", \"Other.\")],\n            basis: practice,\n        ),\n        (\n            id: \"new-probe\"",
        ),
        mistake(
            BAD_POINT,
            "points.ron",
            "id: \"full\",\n            name: \"full load\",",
            "id: \"full\",\n            name: \" \",",
        ),
        mistake(
            BAD_PHYSICS,
            CAUSES,
            "(share: 0.5, law: \"offset\", exhaust: ((-9, 5)",
            "(share: 0.5, law: \"offset\", physics: stray(-1), exhaust: ((-9, 5)",
        ),
        mistake(BAD_SEATS, TESTS, "replaces: [\"probe\"], ", ""),
        mistake(
            CAUSE_UNREACHABLE,
            CAUSES,
            "effects: [(\n                law: \"time\", exhaust: ((0, 3), (-10, 28), (-5, 14), (-5, 14)), basis: practice,\n            )],\n            reseat: 0.6",
            "reseat: 0.6",
        ),
        mistake(CONSTANT_LENGTH, "model.ron", "[375, 595, 835]", "[375, 595]"),
        mistake(DUPLICATE_FIELD, TESTS, "tools: \"rule\"", "tools: \"rule\", tools: \"eye\""),
        mistake(DUPLICATE_ID, "groups.ron", "(\"lead\", \"lead\"", "(\"fit\", \"lead\""),
        mistake(GIVEN_TWICE, TESTS, "[\"set:fit\"]", "[\"fit-shallow\", \"fit-deep\"]"),
        mistake(
            ENGINE_BASIS,
            "engines.ron",
            "            ),\n            basis: practice,\n",
            "            ),\n",
        ),
        mistake(
            GROUP_CYCLE,
            "groups.ron",
            "(\"no-fault\", \"no fault\", None)",
            "(\"no-fault\", \"no fault\", \"no-fault\")",
        ),
        mistake(
            GROUP_EMPTY,
            "groups.ron",
            "(\"no-fault\",",
            "(\"spare\", \"spare\", \"fit\"), (\"no-fault\",",
        ),
        mistake(
            GROUP_UNREACHABLE,
            "groups.ron",
            "(\"measuring\", \"sensor side\", None)",
            "(\"measuring\", \"sensor side\", \"ring\"), (\"ring\", \"ring\", \"ring\")",
        ),
        mistake(MISSING_BASIS, "setups.ron", "(\"probe\", 45, memory)", "(\"probe\", 45)"),
        mistake(MISSING_CONSTANT, "model.ron", "(\"proof\", [0.95], practice),", ""),
        mistake(MISSING_FIELD, "setups.ron", "name: \"probe out\", ", ""),
        mistake(
            MISSING_REMEDY,
            CAUSES,
            "seat: \"none\", weight: 60",
            "seat: \"probe\", weight: 60",
        ),
        mistake(NEGATIVE, TESTS, "time: (7, 5)", "time: (7, -5)"),
        mistake(NEWER_FORMAT, "groups.ron", "    groups: [", "    format: 2, groups: ["),
        mistake(NOT_FINITE, CAUSES, "(-4, 6)", "(-4, 1e999)"),
        mistake(
            RETIRED_CONSTANT,
            "model.ron",
            "(\"proof\",",
            "(\"t_freedom\", [4], practice), (\"proof\",",
        ),
        // No exchange parts the channel from the cylinder any more.
        mistake(
            READINGS_ONLY,
            TESTS,
            "moves: [\"lead\", \"probe\", \"fit\", \"cylinder\"]",
            "moves: [\"lead\", \"probe\", \"fit\"]",
        ),
        mistake(ROW_LENGTH, TESTS, "[0.3, 0.6, 0.1]", "[0.3, 0.7]"),
        mistake(ROW_SUM, TESTS, "[0.2, 0.05, 0.75]", "[0.2, 0.05, 0.65]"),
        mistake(
            SHARE_SUM,
            CAUSES,
            "(share: 0.5, law: \"offset\", exhaust: ((-9, 5)",
            "(law: \"offset\", exhaust: ((-9, 5)",
        ),
        mistake(
            SPREAD_GAP,
            "spreads.ron",
            "(site: \"head\"",
            "(applies: (cooling: [\"air\"]), site: \"head\"",
        ),
        mistake(STATE_UNREACHABLE, "setups.ron", "(\"cruise\", \"full\", 2, 1, practice),", ""),
        mistake(SYNTAX, TESTS, "tools: \"rule\", time", "tools: \"rule\" time"),
        mistake(
            TEST_TELLS_NOTHING,
            TESTS,
            "given: [\n                ([\"set:fit\"], [0.3, 0.6, 0.1]),\n                ([\"fit-shallow\"], [0.2, 0.05, 0.75]),\n            ],",
            "given: [([\"set:fit\"], [0.94, 0.03, 0.03])],",
        ),
        mistake(
            UNKNOWN_CONSTANT,
            "model.ron",
            "(\"proof\",",
            "(\"proofs\", [1], practice), (\"proof\",",
        ),
        mistake(UNKNOWN_FIELD, CAUSES, "intermittent: true", "intermitent: true"),
        mistake(UNKNOWN_FLAG, CAUSES, "(\"probes-new\", 3)", "(\"probe-new\", 3)"),
        mistake(UNKNOWN_ID, CAUSES, "first: [\"look-fit\"]", "first: [\"look-fits\"]"),
        mistake(UNKNOWN_SOURCE, CAUSES, "source(\"handbook\")", "source(\"handbok\")"),
        mistake(UNKNOWN_WORD, CAUSES, "seat: \"channel\"", "seat: \"chanel\""),
        mistake(
            UNUSED,
            "cautions.ron",
            "(\"hot\"",
            "(\"cold\", \"It chills.\", practice), (\"hot\"",
        ),
        mistake(
            UNUSED_SOURCE,
            "sources.ron",
            "(\"handbook\",",
            "(\"leaflet\", \"A leaflet; seen.\"), (\"handbook\",",
        ),
        mistake(WEIGHT_NOT_POSITIVE, CAUSES, "weight: 15", "weight: 0"),
        mistake(WRONG_TYPE, "spreads.ron", "(1, 10, 5, 5, 8)", "(1, \"ten\", 5, 5, 8)"),
    ]
}

/// Texts for the codes that one replacement does not bring about.
fn others() -> Vec<(Code, Vec<SourceText>)> {
    let twin = |remedy: &str| {
        let mut files = broken(CAUSES, "causes: [", &TWIN.replace("REMEDY", remedy));
        let groups = broken("groups.ron", WITH_TWIN.0, WITH_TWIN.1);
        files[2] = groups[2].clone();
        files
    };
    let mut stray = files();
    stray.push(SourceText::new("source.ron", "()"));
    let missing = files().into_iter().filter(|f| f.name() != "cautions.ron");
    let answers = "practice)], answers: [(\"heat\", [\"hot\"])])";
    let mut unwarned = broken("cautions.ron", "practice)])", answers);
    unwarned[1] = broken(TESTS, "cautions: [\"hot\"],", "hazards: [\"heat\"],")[1].clone();
    let ring = r#"points: [
        (id: "towing", name: "towing", thermal: "full", order: 50, like: "uphill"),
        (id: "uphill", name: "uphill", thermal: "full", order: 60, like: "towing"),"#;
    vec![
        (codes::AMBIGUOUS_CAUSES, twin("straighten")),
        (codes::POINT_CYCLE, broken("points.ron", "points: [", ring)),
        (codes::FILE_MISSING, missing.collect()),
        (codes::HAZARD_UNWARNED, unwarned),
        (codes::SAME_REMEDY_CAUSES, twin("set-depth")),
        (codes::UNKNOWN_FILE, stray),
    ]
}

/// A code and texts that bring it about, in order of code.
pub(super) fn all_cases() -> Vec<(Code, Vec<SourceText>)> {
    let mut cases: Vec<_> = mistakes()
        .into_iter()
        .map(|m| (m.code, broken(m.file, m.from, m.to)))
        .chain(others())
        .collect();
    cases.sort_by_key(|(code, _)| code.name);
    cases
}

#[test]
fn every_code_is_brought_about_by_its_mistake() {
    let covered: BTreeSet<&str> = all_cases().iter().map(|(code, _)| code.name).collect();
    let listed: BTreeSet<&str> = codes::ALL.iter().map(|code| code.name).collect();
    assert_eq!(covered, listed);
}
