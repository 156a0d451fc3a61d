//! What one earlier job gives: how it ended, and which of its readings are of a healthy engine.
//!
//! Readings count when the job was closed as proven or as normal, when they were taken since anything
//! was last touched, settled, with every part in its place. It must not reckon with the numbers.

use std::collections::BTreeSet;

use jiff::Timestamp;

use super::fitted::{Fitted, fitted};
use crate::diagnosis::data::Kind;
use crate::diagnosis::diagnose;
use crate::plan::verify;
use facts::job::entry::{Journal, Reading};
use facts::job::history::Visit;
use facts::job::read::read;
use facts::job::timeline::{Closing, Standing, Timeline};
use facts::knowledge::{Item, Knowledge, Seat};
use measure::engine::{Cylinder, Engine};

/// An earlier job.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    /// What is kept of it.
    pub visit: Visit,
    /// Cylinders whose offset is another since: probe fitted anew, injector out, trim set.
    pub anew: BTreeSet<Cylinder>,
    /// What it says of how probes were fitted and wired.
    pub fitted: Fitted,
    /// Healthy readings: time, kind, a number a display.
    pub(super) sets: Vec<(Timestamp, Kind, Vec<Option<f64>>)>,
}

/// A healthy reading set, as far as it still holds.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct HealthySet {
    pub(super) visit: usize,
    pub(super) time: Timestamp,
    pub(super) kind: Kind,
    /// Nothing for a display that showed no number or whose probe was fitted anew since.
    pub(super) values: Vec<Option<f64>>,
}

/// All healthy readings that still hold.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Seen {
    pub(super) sets: Vec<HealthySet>,
}

/// Seats whose undoing gives a display another offset: what it sits in, and what feeds its cylinder.
const OFFSET_SEATS: [Seat; 3] = [Seat::Probe, Seat::Fit, Seat::Injector];

/// Reads an earlier job.
pub(super) fn past(knowledge: &Knowledge, name: &str, journal: &Journal) -> Past {
    let timeline = read(knowledge, journal);
    let mut visit = Visit {
        job: name.to_owned(),
        opened: journal.head.opened,
        cause: None,
        believed: None,
        proven: timeline.standing == Standing::Closed(Closing::Proven),
        sets: 0,
        left_out: String::new(),
    };
    if let Some((cause, place)) = timeline.disturbances.iter().rev().find_map(|d| d.remedied) {
        let verification = verify(&diagnose(knowledge, &timeline));
        visit.cause = Some((knowledge.causes[cause].id.clone(), place));
        visit.believed = Some((verification.probability * 1000.0).round() / 1000.0);
    }
    let (sets, left_out) = healthy(journal, &timeline);
    visit.left_out = left_out;
    let fitted = fitted(knowledge, journal, &timeline, !sets.is_empty());
    Past { visit, anew: anew(&timeline), fitted, sets }
}

/// A healthy set before it is known whether it still holds.
type Taken = (Timestamp, Kind, Vec<Option<f64>>);

fn healthy(journal: &Journal, timeline: &Timeline) -> (Vec<Taken>, String) {
    let refused = |why: &str| (Vec::new(), why.to_owned());
    match timeline.standing {
        Standing::Open => return refused("the job is still open"),
        Standing::Closed(Closing::Unproven) => return refused("it was closed without proof"),
        Standing::Closed(Closing::Proven | Closing::Normal) => {}
    }
    if !timeline.arrangement.is_original() {
        return refused("parts were left in other places");
    }
    let time = |entry: usize| {
        journal.entries.get(entry.wrapping_sub(1)).map_or(journal.head.opened, |e| e.time)
    };
    let sets: Vec<Taken> = last_readings(timeline)
        .into_iter()
        .map(|(entry, kind, values)| (time(entry), kind, values))
        .collect();
    let taken = timeline.sets.len() + timeline.trimming.sets.len();
    let left_out = match (sets.len(), taken) {
        (0, _) => "no settled readings since the last change".to_owned(),
        (used, taken) if used < taken => format!("{} from before the last change", taken - used),
        _ => String::new(),
    };
    (sets, left_out)
}

/// Settled readings since anything was last touched or trimmed, by entry: what shows how the engine is
/// now. A number that jumps is left out, and a set with fewer than two numbers.
pub(super) fn last_readings(timeline: &Timeline) -> Vec<(usize, Kind, Vec<Option<f64>>)> {
    let last = timeline.disturbances.len();
    let number = |reading: &Reading| match reading {
        Reading::Degrees(t) => Some(t.value()),
        _ => None,
    };
    let trimming = &timeline.trimming;
    let trimmed = trimming
        .sets
        .iter()
        .filter(|set| set.after == last && set.trims == trimming.now)
        .map(|set| (set.entry, Kind { site: set.site, at: set.at }, &set.readings));
    let plain = timeline
        .sets
        .iter()
        .filter(|set| set.after == last && trimming.now.is_empty())
        .map(|set| (set.entry, Kind { site: set.site, at: set.at }, &set.readings));
    let mut all: Vec<(usize, Kind, Vec<Option<f64>>)> = plain
        .chain(trimmed)
        .filter(|(_, kind, _)| kind.at.settled || kind.at.is_cold())
        .map(|(entry, kind, readings)| (entry, kind, readings.iter().map(number).collect()))
        .filter(|(_, _, values): &(usize, Kind, Vec<Option<f64>>)| {
            values.iter().flatten().count() > 1
        })
        .collect();
    all.sort_by_key(|(entry, _, _)| *entry);
    all
}

/// Whether a display's offset is another since this job was opened.
pub(super) fn anew(timeline: &Timeline) -> BTreeSet<Cylinder> {
    let touched = timeline
        .disturbances
        .iter()
        .flat_map(|d| &d.touched)
        .filter(|(seat, _, _)| OFFSET_SEATS.contains(seat))
        .map(|&(_, number, _)| number);
    // A part that was left elsewhere: where it was, and where it is.
    let moved = timeline
        .arrangement
        .displaced()
        .into_iter()
        .filter(|(item, _, _)| matches!(item, Item::Probe | Item::Injector))
        .flat_map(|(_, number, position)| [number, position]);
    let trimmed = timeline.trimming.now.keys().map(|&(_, cylinder)| cylinder);
    touched.chain(moved).chain(trimmed).collect()
}

/// Healthy readings of all jobs in order of time, without those that a later job made void.
pub(super) fn seen(past: &[Past], engine: &Engine) -> Seen {
    let since =
        |cylinder: Cylinder| past.iter().rposition(|job| job.anew.contains(&cylinder)).unwrap_or(0);
    let first: Vec<usize> = engine.all().map(since).collect();
    let sets = past
        .iter()
        .enumerate()
        .flat_map(|(visit, job)| {
            let first = &first;
            job.sets.iter().map(move |(time, kind, values)| HealthySet {
                visit,
                time: *time,
                kind: *kind,
                values: values
                    .iter()
                    .zip(first)
                    .map(|(value, first)| value.filter(|_| visit >= *first))
                    .collect(),
            })
        })
        .filter(|set| set.values.iter().flatten().count() > 1)
        .collect();
    Seen { sets }
}
