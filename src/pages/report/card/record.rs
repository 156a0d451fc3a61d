//! The record: everything that was entered, as it was read and done.

use jiff::Timestamp;

use facts::job::entry::{Journal, What};
use facts::job::timeline::test_for;
use facts::knowledge::{Knowledge, Test};
use measure::units::{Cost, Scale};

use super::super::doc::{Align, Doc, Table};
use super::super::{balance, fit, journal, limits, readings, vehicle, words};
use super::CardInput;

/// The record of the job.
pub(super) fn add(doc: &mut Doc, input: &CardInput<'_>, scale: Scale) {
    doc.part("The record");
    all_readings(doc, input, scale);
    entries(doc, input, scale);
    if !input.timeline.sheet.noted.is_empty() {
        doc.heading("Probe-fit sheet");
        fit::add(doc, input.timeline, scale);
    }
    balance::on_card(doc, input.timeline, scale);
    if let Some(set) = input.limits {
        doc.heading(format!("Warning limits, {}", scale.sign()));
        limits::add(doc, input.timeline, set, scale);
    }
    if let Some(history) = &input.timeline.history {
        vehicle::on_card(doc, input.knowledge, history, (scale, input.local));
    }
}

fn all_readings(doc: &mut Doc, input: &CardInput<'_>, scale: Scale) {
    let timeline = input.timeline;
    let remedy = timeline.disturbances.iter().rev().find(|d| d.remedied.is_some()).map(|d| d.entry);
    let remedies = timeline.disturbances.iter().filter(|d| d.remedied.is_some()).count();
    let (after, before): (Vec<usize>, Vec<usize>) = (0..timeline.sets.len())
        .partition(|&set| remedy.is_some_and(|entry| timeline.sets[set].entry > entry));
    for (sets, when) in [(&before, "before"), (&after, "after")] {
        if sets.is_empty() {
            continue;
        }
        doc.heading(if remedy.is_some() {
            let last = if remedies > 1 { "last remedy" } else { "remedy" };
            format!("Readings {when} the {last}, {}", scale.sign())
        } else {
            format!("Readings, {}", scale.sign())
        });
        readings::add(doc, timeline, input.assessment, sets, scale);
    }
    if !timeline.sets.is_empty() {
        doc.para(readings::LEGEND);
        logs(doc, input.journal);
    }
}

/// Where readings out of data logs can be found again.
fn logs(doc: &mut Doc, journal: &Journal) {
    let items = journal.standing().into_iter().filter_map(|(number, entry)| match &entry.what {
        What::Temps { from: Some(log), .. } => Some(format!(
            "Entry {number}: {}, {:.0} to {:.0} s, SHA-256 {}",
            log.file, log.from, log.to, log.sha256
        )),
        _ => None,
    });
    let items: Vec<String> = items.collect();
    if !items.is_empty() {
        doc.para("Taken from data logs:");
        doc.bullets(items);
    }
}

/// Every entry that stands, with the time its work is reckoned at.
fn entries(doc: &mut Doc, input: &CardInput<'_>, scale: Scale) {
    let knowledge = input.knowledge;
    let standing = input.journal.standing();
    let times: Vec<Timestamp> = standing.iter().map(|(_, entry)| entry.time).collect();
    let (when, times) = input.local.column(&times);
    let mut table = Table::new([
        ("no", Align::Right),
        (when.as_str(), Align::Left),
        ("what", Align::Left),
        ("estimated", Align::Right),
    ]);
    for ((number, entry), time) in standing.into_iter().zip(times) {
        let cost = match &entry.what {
            What::Found { test, .. } => test_cost(knowledge, test),
            What::Exchange { item, .. } => test_cost(knowledge, test_for(*item, true, false)),
            What::Remake { item, new, .. } => test_cost(knowledge, test_for(*item, false, *new)),
            What::Remedy { cause, .. } => knowledge
                .cause(cause)
                .and_then(|index| knowledge.causes[index].remedy.as_ref())
                .map(|remedy| remedy.cost),
            What::LoadConfirmed
            | What::Recorded
            | What::Logged { .. }
            | What::Temps { .. }
            | What::Fitted { .. }
            | What::Fitting(_)
            | What::History(_)
            | What::Trim { .. }
            | What::Sign { .. }
            | What::BuilderLimit(_)
            | What::LimitsSet { .. }
            | What::State(_)
            | What::Close { .. }
            | What::Reopen
            | What::Undo { .. } => None,
        };
        table.rows.push(vec![
            number.to_string(),
            time,
            words::upper_first(&journal::entry_text(knowledge, &entry.what, scale)),
            cost.map_or_else(String::new, |cost| words::minutes(cost.hands_on + cost.wait)),
        ]);
    }
    if !table.rows.is_empty() {
        doc.heading("Entries");
        doc.table(table);
    }
}

fn test_cost(knowledge: &Knowledge, id: &str) -> Option<Cost> {
    let test = |index: usize| -> &Test { &knowledge.tests[index] };
    knowledge.test(id).map(|index| test(index).cost)
}
