//! The record of a vehicle: what its earlier jobs say of the next.
//!
//! Links jobs of one vehicle, says which of their readings count as healthy and why the others do
//! not (`past`), what its displays usually do ([`shrink`]), how probes were fitted and wired (`fitted`), which
//! displays drift (`drift`), and which causes came back. It is worked out when a job is opened and carried by that job from then on, so that
//! the job stands alone. It must not judge a job, open files or word pages.

mod after;
mod drift;
mod fitted;
mod past;
pub mod shrink;

pub use after::after;
pub use drift::{Drift, HORIZON};
pub use fitted::Fitted;
pub use past::Past;

use jiff::Timestamp;

use self::past::{Seen, seen};
use self::shrink::{Number, Spreads, expected};
use crate::diagnosis::data::{Kind, correlation, repeatability};
use crate::diagnosis::linalg::Matrix;
use facts::job::entry::Journal;
use facts::job::history::{History, Usual, Visit};
use facts::knowledge::Knowledge;
use measure::engine::{Cylinder, Engine, ProbeSite};

/// Everything that earlier jobs say.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// What a further job carries.
    pub history: History,
    /// Displays with readings enough to ask whether they drift.
    pub drifts: Vec<Drift>,
    /// Causes remedied more than once, with the visits as indices into [`History::visits`].
    pub comebacks: Vec<(String, Vec<usize>)>,
    /// Jobs of the name whose engine is another.
    pub other_engines: Vec<String>,
}

/// A vehicle's name as it is compared: case and white space do not matter.
#[must_use]
pub fn key(vehicle: &str) -> String {
    vehicle.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// Whether two descriptions are of one engine; how its probes sit may have been measured since.
#[must_use]
pub fn same_engine(a: &Engine, b: &Engine) -> bool {
    let bare = |engine: &Engine| Engine { fitting: None, ..engine.clone() };
    bare(a) == bare(b)
}

/// Works out the record of a vehicle before a moment, from all jobs of a store.
///
/// A name without letters or figures is nobody's, so that nothing is found for it.
#[must_use]
pub fn record(
    knowledge: &Knowledge,
    vehicle: &str,
    engine: &Engine,
    jobs: &[(String, &Journal)],
    before: Timestamp,
) -> Record {
    let wanted = key(vehicle);
    let mut linked: Vec<&(String, &Journal)> = jobs
        .iter()
        .filter(|(_, journal)| !wanted.is_empty() && key(&journal.head.vehicle) == wanted)
        .filter(|(_, journal)| journal.head.opened < before)
        .collect();
    linked.sort_by(|a, b| (a.1.head.opened, &a.0).cmp(&(b.1.head.opened, &b.0)));
    // A copy, as one that was mended, is no visit more: of both the one that has come farther speaks.
    let farther = |a: &(String, &Journal), b: &(String, &Journal)| {
        let far = |job: &(String, &Journal)| job.1.entries.len();
        a.1.head == b.1.head && (far(a), &b.0) > (far(b), &a.0)
    };
    let all = linked.clone();
    linked.retain(|job| !all.iter().any(|other| farther(other, job)));
    let (same, other): (Vec<_>, Vec<_>) =
        linked.into_iter().partition(|(_, journal)| same_engine(engine, &journal.head.engine));
    let past: Vec<Past> =
        same.iter().map(|(name, journal)| past::past(knowledge, name, journal)).collect();
    let seen = seen(&past, engine);
    let mut visits: Vec<Visit> = past.iter().map(|past| past.visit.clone()).collect();
    for (visit, index) in visits.iter_mut().zip(0..) {
        visit.sets = seen.sets.iter().filter(|set| set.visit == index).count();
    }
    let mut comebacks: Vec<(String, Vec<usize>)> = Vec::new();
    for (index, visit) in visits.iter().enumerate() {
        let Some((cause, _)) = &visit.cause else { continue };
        match comebacks.iter_mut().find(|(id, _)| id == cause) {
            Some((_, list)) => list.push(index),
            None => comebacks.push((cause.clone(), vec![index])),
        }
    }
    comebacks.retain(|(_, list)| list.len() > 1);
    let mut history =
        History { visits, usual: usual(knowledge, engine, &seen), ..History::default() };
    fitted::left(past.iter().map(|past| &past.fitted), &mut history);
    Record {
        history,
        drifts: drift::drifts(knowledge, engine, &seen, before),
        comebacks,
        other_engines: other.iter().map(|(name, _)| name.clone()).collect(),
    }
}

/// What displays usually do, at every running point of a site that was read at one of them.
fn usual(knowledge: &Knowledge, engine: &Engine, seen: &Seen) -> Vec<Usual> {
    let read = |site| move |set: &&past::HealthySet| set.kind.site == site;
    let mut kinds: Vec<Kind> = Vec::new();
    for site in [ProbeSite::Exhaust, ProbeSite::Head] {
        let running = seen.sets.iter().filter(read(site)).any(|set| !set.kind.at.is_cold());
        let at = |at| seen.sets.iter().filter(read(site)).any(|set| set.kind.at == at);
        // A point that was never read is told by the others, as far as they go together.
        kinds.extend(
            knowledge
                .points
                .kept()
                .filter(|p| if p.is_cold() { at(*p) } else { running })
                .map(|at| Kind { site, at }),
        );
    }
    let numbers: Vec<Number> = seen
        .sets
        .iter()
        .enumerate()
        .flat_map(|(index, set)| {
            let kind = kinds.iter().position(|kind| *kind == set.kind);
            set.values.iter().enumerate().filter_map(move |(cylinder, value)| {
                let (kind, value) = (kind?, (*value)?);
                Some(Number { set: index, visit: set.visit, kind, cylinder, value })
            })
        })
        .collect();
    let constants = &knowledge.constants;
    let spreads = Spreads {
        layout: kinds.iter().map(|k| knowledge.natural_sd(engine, k.site, k.at)).collect(),
        visit: kinds.iter().map(|k| visit_spread(knowledge, *k)).collect(),
        visit_freedom: constants.visit_freedom,
        repeatability: kinds.iter().map(|k| repeatability(knowledge, *k)).collect(),
        together: Matrix::from_fn(kinds.len(), kinds.len(), |a, b| {
            correlation(constants, kinds[a], kinds[b])
        }),
        banks: engine.all().map(|c| engine.bank_of(c)).collect(),
        bank_share: if engine.banks.len() > 1 { constants.bank_share } else { 0.0 },
    };
    let table = expected(&numbers, usize::from(engine.cylinders), &spreads);
    let visits = |kind: Kind, cylinder: Cylinder| {
        let index = usize::from(cylinder) - 1;
        let mut list: Vec<usize> = seen
            .sets
            .iter()
            .filter(|set| set.kind == kind && set.values[index].is_some())
            .map(|set| set.visit)
            .collect();
        list.dedup();
        list.len()
    };
    kinds
        .iter()
        .zip(table)
        .map(|(&kind, row)| Usual {
            at: kind.at.id,
            site: kind.site,
            visits: engine.all().map(|c| visits(kind, c)).collect(),
            mean: row.iter().map(|one| tenths(one.mean)).collect(),
            sd: row.iter().map(|one| tenths(one.sd).max(0.1)).collect(),
        })
        .collect()
}

/// Tenths of a degree are all that is kept: more would say more than is known.
fn tenths(value: f64) -> f64 {
    let rounded = (value * 10.0).round() / 10.0;
    // No minus before a nought.
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// Sd of a display against its mates from visit to visit before anything was read, °C. Heads move less,
/// as their repeatability has it.
pub(crate) fn visit_spread(knowledge: &Knowledge, kind: Kind) -> f64 {
    let constants = &knowledge.constants;
    let at = kind.at;
    match kind.site {
        ProbeSite::Exhaust => constants.visit_spread.at(at),
        ProbeSite::Head => {
            constants.visit_spread.at(at) * constants.repeatability_head.at(at)
                / constants.repeatability.at(at).max(0.1)
        }
    }
}

#[cfg(test)]
mod tests;
