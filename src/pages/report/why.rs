//! Why a suspect is where it is, and what a test would tell.

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use judge::diagnosis::{CauseExplanation, Contribution};
use judge::plan::TestExplanation;
use measure::units::Scale;

use super::doc::{Align, Doc, Table};
use super::{next, steps, terms, words};

/// Entries that are shown on one screen: those that moved it most.
const MOVED: usize = 6;

/// What the entries added to, and took from, a suspect.
#[must_use]
pub fn why_cause(
    knowledge: &Knowledge,
    timeline: &Timeline,
    explanation: &CauseExplanation,
    scale: Scale,
    whole: bool,
) -> Doc {
    let name = terms::fault_now(knowledge, timeline, explanation.fault);
    let mut doc = Doc::new(format!("Why: {name}"));
    doc.para(format!("Now: {}.", words::chance(explanation.probability)));
    if whole && !explanation.prior.is_empty() {
        doc.heading("Before anything was entered");
        let prior = explanation.prior.iter();
        doc.bullets(prior.map(|text| words::sentence(text)).collect());
    }
    if !explanation.contributions.is_empty() {
        doc.heading("Entry by entry");
        let columns = [
            ("no", Align::Right),
            ("entry", Align::Left),
            ("before", Align::Right),
            ("after", Align::Right),
            ("makes it", Align::Left),
        ];
        let mut table = Table::new(columns.into_iter().take(if whole { 5 } else { 4 }));
        let weight = |part: &Contribution| part.log_odds.abs();
        let mut parts: Vec<&Contribution> = explanation.contributions.iter().collect();
        if !whole && parts.len() > MOVED {
            parts.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
            parts.truncate(MOVED);
            parts.sort_by_key(|part| part.entry);
        }
        for part in parts {
            let start = part.entry == 0;
            let mut row = vec![
                if start { String::new() } else { part.entry.to_string() },
                part.text.clone(),
                if start { String::new() } else { words::percent(part.before) },
                words::percent(part.after),
            ];
            if whole && !start {
                row.push(words::odds_factor(part.log_odds));
            }
            table.rows.push(row);
        }
        doc.table(table);
    }
    if !explanation.expected.is_empty() {
        doc.heading(format!("What it would do to the readings, {}", scale.sign()));
        let mut table = Table::new([
            ("no", Align::Right),
            ("at", Align::Left),
            ("display", Align::Right),
            ("expected", Align::Right),
            ("give or take", Align::Right),
            ("shown", Align::Right),
        ]);
        for line in &explanation.expected {
            let (mean, sd) = line.expected.map_or_else(
                || ("no number".to_owned(), String::new()),
                |(mean, sd)| {
                    let sd = words::bare_difference(sd, scale);
                    (words::bare_difference(mean, scale), sd.trim_start_matches('+').to_owned())
                },
            );
            table.rows.push(vec![
                line.entry.to_string(),
                terms::point_and_site(line.at, line.site, timeline.engine.probes),
                line.display.to_string(),
                mean,
                sd,
                line.shown.map_or_else(
                    || "no number".to_owned(),
                    |shown| words::bare_difference(shown, scale),
                ),
            ]);
        }
        doc.table(table);
        doc.para("Differences from the middle of the other displays.");
    }
    doc
}

/// What a test separates and what it is worth.
#[must_use]
pub fn why_test(
    knowledge: &Knowledge,
    timeline: &Timeline,
    explanation: &TestExplanation,
    whole: bool,
) -> Doc {
    let name = steps::step(knowledge, timeline, explanation.step);
    let mut doc = Doc::new(format!("Why: {name}"));
    let saves = explanation.without - explanation.choice.expected_total;
    let worth = if saves > 0.5 {
        format!("saves {} against the best plan without it", words::minutes(saves))
    } else if saves < -0.5 {
        format!("costs {} more than the best plan without it", words::minutes(-saves))
    } else {
        "neither saves nor costs against the best plan without it".to_owned()
    };
    let mut fields = next::what_it_takes(knowledge, timeline, &explanation.choice);
    fields.push(("Worth", worth));
    let figures = [
        (
            "To a proven cure",
            format!(
                "{} when starting with it, {} without it (labour, on average)",
                words::minutes(explanation.choice.expected_total),
                words::minutes(explanation.without)
            ),
        ),
        ("Tells", format!("{:.2} bits about the cause", explanation.information)),
    ];
    fields.extend(figures.into_iter().filter(|_| whole));
    doc.fields(fields);
    if !explanation.moves.is_empty() {
        doc.heading("What each outcome would move");
        let mut table = Table::new([
            ("outcome", Align::Left),
            ("chance", Align::Right),
            ("suspect", Align::Left),
            ("now", Align::Right),
            ("then", Align::Right),
        ]);
        for (id, moves) in &explanation.moves {
            let branch = explanation.choice.branches.iter().find(|b| b.id == *id || b.text == *id);
            let text = branch.map_or(id.as_str(), |branch| branch.text.as_str());
            let chance = branch.map_or_else(String::new, |b| words::percent(b.probability));
            let mut lead = vec![words::lower_first(text), chance];
            if moves.is_empty() {
                lead.push("no suspect moves".to_owned());
                table.rows.push(std::mem::take(&mut lead));
            }
            for &(fault, before, after) in moves.iter().take(if whole { moves.len() } else { 1 }) {
                let mut row = std::mem::take(&mut lead);
                row.resize(2, String::new());
                row.push(words::lower_first(&terms::fault(knowledge, fault)));
                row.push(words::percent(before));
                row.push(words::percent(after));
                table.rows.push(row);
            }
        }
        doc.table(table);
    }
    doc
}
