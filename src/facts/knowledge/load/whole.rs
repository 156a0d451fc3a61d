//! Checks of the knowledge base as a whole: what no evidence reaches, what tells nothing,
//! what nothing tells apart.

use super::spot::missing_from;
use super::written::Written;
use crate::knowledge::codes;
use crate::knowledge::finding::Finding;
use crate::knowledge::graph::{KnowledgeGraph, Node};
use crate::knowledge::model::{Condition, Knowledge, PlaceKind, Preset, Seat, Test};
use crate::knowledge::outline::Step::{Field, Nth};
use measure::engine::ProbeSite;

/// Adds what is wrong with the whole.
pub(super) fn check(knowledge: &Knowledge, written: &Written<'_>, findings: &mut Vec<Finding>) {
    let graph = KnowledgeGraph::of(knowledge);
    for (n, group) in knowledge.groups.iter().enumerate() {
        let below = graph.reachable(Node::Group(n));
        if !below.iter().any(|node| matches!(node, Node::Cause(_))) {
            findings.push(
                written.groups[n]
                    .at(&[Nth(0)])
                    .finding(codes::GROUP_EMPTY, format!("group `{}` has no cause", group.id), "")
                    .help("put a cause in it or delete it"),
            );
        }
    }
    for (n, cause) in knowledge.causes.iter().enumerate() {
        let shows = !cause.effects.is_empty()
            || cause.states_cold.is_some()
            || cause.states_running.is_some()
            || cause.place == PlaceKind::Nowhere;
        if !shows && graph.tests_for(n).is_empty() {
            findings.push(
                written.causes[n]
                    .at(&[Field("id")])
                    .finding(
                        codes::CAUSE_UNREACHABLE,
                        format!("no evidence can find cause `{}`", cause.id),
                        "no test speaks to it and it has no effect",
                    )
                    .help("give it `effects`, or a row in a test"),
            );
        }
    }
    for (n, test) in knowledge.tests.iter().enumerate() {
        if graph.speaks_to(n).is_empty() && test.reseats.is_empty() {
            findings.push(
                written.tests[n]
                    .at(&[Field("id")])
                    .finding(
                        codes::TEST_TELLS_NOTHING,
                        format!("test `{}` tells nothing", test.id),
                        "every cause gives it the same chances",
                    )
                    .help("add a row to `given` for a cause it speaks to"),
            );
        }
    }
    ambiguous(knowledge, &graph, written, findings);
    readings_only(knowledge, written, findings);
    spreads(knowledge, written, findings);
}

/// A fault that no test shows can only be guessed from degrees, and its cure is work in the dark.
fn readings_only(knowledge: &Knowledge, written: &Written<'_>, findings: &mut Vec<Finding>) {
    for (n, cause) in knowledge.causes.iter().enumerate() {
        let tests = knowledge.tests.iter();
        let told: Vec<&Test> =
            tests.filter(|test| !test.from_readings && shows(knowledge, n, test)).collect();
        let blind = |preset: &&Preset| {
            cause.applies.holds(&preset.engine)
                && !told.iter().any(|test| test.applies.holds(&preset.engine))
        };
        let Some(preset) = knowledge.presets.iter().find(blind) else { continue };
        if cause.remedy.is_none() {
            continue;
        }
        findings.push(
            written.causes[n]
                .at(&[Field("id")])
                .finding(
                    codes::READINGS_ONLY,
                    format!("no test shows cause `{}` on engine `{}`", cause.id, preset.id),
                    "only readings speak of it",
                )
                .help("give it a row in a test that can be done there, or add such a test"),
        );
    }
}

fn ambiguous(
    knowledge: &Knowledge,
    graph: &KnowledgeGraph<'_>,
    written: &Written<'_>,
    findings: &mut Vec<Finding>,
) {
    for group in graph.ambiguity_groups() {
        let names: Vec<String> =
            group.iter().map(|&n| format!("`{}`", knowledge.causes[n].id)).collect();
        let remedy = |n: usize| knowledge.causes[n].remedy.as_ref().map(|r| r.id.as_str());
        let same_remedy = group.iter().all(|&n| remedy(n) == remedy(group[0]));
        let (code, help) = if same_remedy {
            (codes::SAME_REMEDY_CAUSES, "they may be one cause")
        } else {
            (codes::AMBIGUOUS_CAUSES, "add a test that tells them apart, or make them one cause")
        };
        let mut finding =
            Finding::new(code, format!("nothing tells causes {} apart", names.join(", ")));
        for &n in &group {
            let at = written.causes[n].at(&[Field("id")]);
            finding = finding.at(at.file(), at.range(), "");
        }
        findings.push(finding.help(help));
    }
}

/// Re-seat chance from which being gone after a joint was remade shows what was wrong there (practice).
const REMADE: f64 = 0.3;

/// Whether a test shows a cause: its table has a row for it, other than that of a healthy engine; it
/// replaces the very part, or remakes it where that mostly helps; or it parts it from the cylinder, so
/// that the oddness goes with the one or stays with the other.
fn shows(knowledge: &Knowledge, n: usize, test: &Test) -> bool {
    let cause = &knowledge.causes[n];
    let row = test.given.get(&n).is_some_and(|row| *row != test.default);
    let moved = test.moves.contains(&cause.seat);
    let parted = moved != test.moves.contains(&Seat::Cylinder)
        && cause.place != PlaceKind::Nowhere
        && (moved || knowledge.is_measuring(n));
    let uncrossed = moved && cause.place == PlaceKind::Pair;
    let remade = test
        .reseats
        .iter()
        .any(|&(seat, share)| seat == cause.seat && share * cause.reseat > REMADE);
    let replaced = test.replaces.contains(&cause.seat) && cause.place != PlaceKind::Nowhere;
    !test.past && (row || parted || uncrossed || remade || replaced)
}

/// Every probe site needs a last row that asks for nothing else.
fn spreads(knowledge: &Knowledge, written: &Written<'_>, findings: &mut Vec<Finding>) {
    for &site in ProbeSite::ALL {
        let covered = knowledge.spreads.iter().any(|spread| {
            let rest = Condition { probes: Vec::new(), ..spread.applies.clone() };
            spread.site == site && rest == Condition::default()
        });
        if !covered {
            findings.push(
                missing_from(
                    written.spreads.last().copied(),
                    codes::SPREAD_GAP,
                    format!("no natural spread of probe site `{site}` holds for every engine"),
                )
                .help("end `spreads.ron` with a row for the site that has no `applies`"),
            );
        }
    }
}
