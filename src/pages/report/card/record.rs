//! The record: everything that was entered, as it was read and done.

use std::collections::BTreeMap;

use jiff::Timestamp;

use facts::job::entry::{Journal, What};
use facts::job::read;
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

/// Every entry that stands, with the time its work is reckoned at; together they are what page one says.
fn entries(doc: &mut Doc, input: &CardInput<'_>, scale: Scale) {
    let standing = input.journal.standing();
    let times: Vec<Timestamp> = standing.iter().map(|(_, entry)| entry.time).collect();
    let (when, times) = input.local.column(&times);
    let texts = journal::standing_texts(input.knowledge, input.journal, scale);
    let spent: BTreeMap<usize, Cost> =
        read::spent(input.knowledge, input.journal).into_iter().collect();
    let mut table = Table::new([
        ("no", Align::Right),
        (when.as_str(), Align::Left),
        ("what", Align::Left),
        ("hands-on", Align::Right),
        ("waiting", Align::Right),
    ]);
    let minutes = |minutes: f64| {
        if minutes < 0.5 { String::new() } else { words::minutes(minutes) }
    };
    for ((number, _), time) in standing.into_iter().zip(times) {
        let cost = spent.get(&number).copied().unwrap_or_default();
        table.rows.push(vec![
            number.to_string(),
            time,
            texts.get(&number).map_or_else(String::new, |text| words::upper_first(text)),
            minutes(cost.hands_on),
            minutes(cost.wait),
        ]);
    }
    if !table.rows.is_empty() {
        doc.heading("Entries, with their times as estimated");
        doc.table(table);
    }
}
