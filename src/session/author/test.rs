//! A test of one's own, with its table.

use std::fmt::Write as _;

use super::ask::{
    access, basis, cautions, figures, id, line, list, minutes, parts, quoted, row, several, slug,
    states, text,
};
use super::{Shelves, Written};
use crate::session::asker::{Asked, Line};
use crate::session::desk::Desk;
use facts::knowledge::{Scope, TestKind};

/// Most outcomes and steps that are asked for.
const MOST: usize = 8;

/// Asks for one.
pub(super) fn ask(desk: &mut Desk<'_>, shelves: Shelves<'_>) -> Asked<Written> {
    let help = "as an order, as: Feel for a draught at the clamp";
    let name = line(desk, ("What is done?", help), "", text)?;
    let id = id(desk, &name)?;
    let kind = kind(desk)?;
    let scopes = [
        ("on one cylinder, or the chain of one display".to_owned(), Scope::Cylinder),
        ("on the engine as a whole".to_owned(), Scope::Engine),
    ];
    let scope = desk.pick("On what?", &scopes, 0)?;
    let states = states(desk, "In which states of the engine can it be done?")?;
    let access = access(desk)?;
    let tools = line(desk, ("Tools?", "as: rule, mirror"), "none", text)?;
    let time = minutes(desk, "Minutes it takes, hands-on and waiting?", "5 0")?;
    let parts = parts(desk, shelves, "What parts does it need, worth how much labour?")?;
    let steps = steps(desk)?;
    let cautions = cautions(desk)?;
    let outcomes = outcomes(desk)?;
    let ids: Vec<&str> = outcomes.iter().map(|(id, _)| id.as_str()).collect();
    let in_order = format!("chances in per cent, in this order: {}", ids.join(", "));
    let question = "What does it show on a healthy cylinder?";
    let usual = line(desk, (question, &in_order), "", |answer| row(answer, ids.len()))?;
    let given = given(desk, ids.len(), &in_order)?;
    let basis = basis(desk)?;

    let mut out = String::from(
        "\
// A test of this workshop's own, written by `oddpot knowledge new test`. Change it as you like, then
// `oddpot knowledge check`.
(
    tests: [
        (
            // Jobs name it so; never change it.
",
    );
    let _ = writeln!(out, "            id: {},", quoted(&id));
    let _ = writeln!(out, "            name: {},", quoted(&name));
    let _ = writeln!(out, "            kind: {},", quoted(kind.as_str()));
    let _ = writeln!(out, "            scope: {},", quoted(scope.as_str()));
    let _ = writeln!(out, "            states: {},", list(&states));
    let _ = writeln!(out, "            access: {},", list(&access));
    let _ = writeln!(out, "            tools: {},", quoted(&tools));
    let _ = writeln!(out, "            // Hands-on and waiting minutes, opening left out.");
    let _ = writeln!(out, "            time: ({:?}, {:?}),", time.0, time.1);
    let _ = writeln!(out, "            parts: {},", quoted(&parts));
    let _ = writeln!(out, "            steps: {},", list(&steps));
    let _ = writeln!(out, "            cautions: {},", list(&cautions));
    let _ = writeln!(out, "            outcomes: [");
    for (outcome, seen) in &outcomes {
        let _ = writeln!(out, "                ({}, {}),", quoted(outcome), quoted(seen));
    }
    let _ = writeln!(out, "            ],");
    let _ =
        writeln!(out, "            // Chances in that order: of any cause without a row below.");
    let _ = writeln!(out, "            default: {},", figures(&usual));
    let _ = writeln!(out, "            // And of the causes named, or the sets of causes.");
    let _ = writeln!(out, "            given: [");
    for (causes, row) in &given {
        let _ = writeln!(out, "                ({}, {}),", list(causes), figures(row));
    }
    let _ = write!(
        out,
        "            ],\n            // Where the figures come from: practice, memory, \
         computed(\"how\"), source(\"id\").\n            basis: {basis},\n        ),\n    ],\n)\n"
    );
    Ok(Written { id, text: out })
}

fn kind(desk: &mut Desk<'_>) -> Asked<TestKind> {
    // Exchanges and re-seats have no table: what they show follows from what moves.
    let choices = [
        ("look, listen or read", TestKind::Observe),
        ("measure with an instrument", TestKind::Measure),
        ("change something for a moment and watch", TestKind::Disturb),
    ];
    let choices: Vec<(String, TestKind)> = choices.map(|(t, k)| (t.to_owned(), k)).to_vec();
    desk.pick("What kind of work is it?", &choices, 0)
}

fn steps(desk: &mut Desk<'_>) -> Asked<Vec<String>> {
    let mut steps = Vec::new();
    while steps.len() < MOST {
        let question = format!("Step {}?", steps.len() + 1);
        let help = if steps.is_empty() { "a sentence" } else { "empty when that is all" };
        let answer = desk.asker.line(Line { question: &question, help, ..Line::default() })?;
        match text(answer.trim()) {
            Ok(step) => steps.push(step),
            Err(_) if answer.trim().is_empty() && !steps.is_empty() => break,
            Err(why) => desk.refuse(&format!("{why}: type it again"))?,
        }
    }
    Ok(steps)
}

fn outcomes(desk: &mut Desk<'_>) -> Asked<Vec<(String, String)>> {
    let mut outcomes: Vec<(String, String)> = Vec::new();
    while outcomes.len() < MOST {
        let question = format!("What can it show, {}?", outcomes.len() + 1);
        let help = if outcomes.len() < 2 {
            "what is seen, as: A draught is felt; two at least"
        } else {
            "empty when that is all"
        };
        let answer = desk.asker.line(Line { question: &question, help, ..Line::default() })?;
        let seen = answer.trim();
        if seen.is_empty() && outcomes.len() >= 2 {
            break;
        }
        match text(seen) {
            Ok(seen) => {
                let taken: Vec<String> = outcomes.iter().map(|(id, _)| id.clone()).collect();
                let default = free(&slug(&seen), &taken);
                let short = "what is typed for it; small letters, digits, hyphens";
                let id = line(desk, ("In a word?", short), &default, |answer| {
                    let lawful = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
                    if answer.is_empty() || !answer.chars().all(lawful) {
                        Err(format!("`{answer}` is not of small letters, digits and hyphens"))
                    } else if taken.iter().any(|id| id == answer) {
                        Err(format!("`{answer}` is another outcome"))
                    } else {
                        Ok(answer.to_owned())
                    }
                })?;
                outcomes.push((id, seen));
            }
            Err(why) => desk.refuse(&format!("{why}: type it again"))?,
        }
    }
    Ok(outcomes)
}

/// The first word or two of an outcome, unlike those taken.
fn free(slug: &str, taken: &[String]) -> String {
    let words: Vec<&str> =
        slug.split('-').filter(|w| !["a", "an", "the", "it"].contains(w)).collect();
    (1..=words.len())
        .map(|n| words[..n].join("-"))
        .find(|id| !id.is_empty() && !taken.contains(id))
        .unwrap_or_else(|| format!("outcome-{}", taken.len() + 1))
}

fn given(desk: &mut Desk<'_>, count: usize, in_order: &str) -> Asked<Vec<(Vec<String>, Vec<f64>)>> {
    let mut given: Vec<(Vec<String>, Vec<f64>)> = Vec::new();
    loop {
        let named: Vec<&String> = given.iter().flat_map(|(causes, _)| causes).collect();
        let causes: Vec<(String, String)> = desk
            .knowledge
            .causes
            .iter()
            .filter(|cause| !named.contains(&&cause.id))
            .map(|cause| (cause.id.clone(), cause.name.clone()))
            .collect();
        let question = if given.is_empty() {
            "Which causes does it show? Those that look alike together."
        } else {
            "Which others, looking otherwise? None marked: that is all."
        };
        let chosen = several(desk, question, &causes)?;
        if chosen.is_empty() {
            if !given.is_empty() {
                return Ok(given);
            }
            desk.refuse("none is marked, and a test that shows no cause tells nothing: mark one")?;
            continue;
        }
        let question = "What does it show where it is one of these?";
        let chances = line(desk, (question, in_order), "", |answer| row(answer, count))?;
        given.push((chosen, chances));
    }
}
