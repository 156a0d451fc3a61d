//! Answers as documents of `--json`, in the shapes of the contract.
//!
//! Pure. Fields may be added, never renamed or removed.

mod advice;
mod assessment;
mod explanation;
mod journal;

use std::collections::BTreeMap;

use serde::Serialize;

pub(super) use advice::{Of, advice};
pub(super) use assessment::{suspects, verification};
pub(super) use explanation::{cause_explanation, test_explanation};
use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
pub(super) use journal::journal;
use judge::diagnosis::Fault;
use judge::heat;
use measure::engine::{Cylinder, Engine};
use measure::units::Scale;
use pages::report;

/// A cause at a place.
#[derive(Debug, Serialize)]
pub(super) struct FaultDocument<'a> {
    id: &'a str,
    name: &'a str,
    place: String,
    /// A number where the place is one cylinder.
    cylinder: Option<Cylinder>,
    cylinders: Vec<Cylinder>,
}

/// A cause at a place.
pub(super) fn fault<'a>(
    knowledge: &'a Knowledge,
    engine: &Engine,
    fault: Fault,
) -> FaultDocument<'a> {
    FaultDocument {
        id: fault.cause.id(knowledge),
        name: fault.cause.name(knowledge),
        place: fault.place.code(),
        cylinder: fault.place.cylinder(),
        cylinders: fault.place.cylinders(engine),
    }
}

/// A document with `stop` in it while the engine must stop or be watched.
#[derive(Debug, Serialize)]
pub(super) struct WithStop<D> {
    #[serde(flatten)]
    document: D,
    #[serde(skip_serializing_if = "Option::is_none")]
    stop: Option<StopDocument>,
}

/// What heat asks for, and on which readings.
#[derive(Debug, Serialize)]
struct StopDocument {
    verdict: &'static str,
    why: Option<String>,
    readings: Vec<HotDocument>,
}

#[derive(Debug, Serialize)]
struct HotDocument {
    entry: usize,
    at: &'static str,
    site: &'static str,
    display: Cylinder,
    value: f64,
}

/// Adds `stop` while the engine must stop or be watched.
pub(super) fn with_stop<D: Serialize>(
    document: D,
    knowledge: &Knowledge,
    timeline: &Timeline,
) -> WithStop<D> {
    let stop = heat::judge(knowledge, timeline).map(|heat| {
        let readings = heat.readings.iter().map(|hot| HotDocument {
            entry: hot.entry,
            at: hot.at.as_str(),
            site: hot.site.as_str(),
            display: hot.display,
            value: hot.value,
        });
        StopDocument {
            verdict: heat.verdict.as_str(),
            why: report::heat_line(knowledge, timeline, Scale::Celsius),
            readings: readings.collect(),
        }
    });
    WithStop { document, stop }
}

/// What a workshop's memory moved: `memory`, only where one was used.
#[derive(Debug, Serialize)]
struct Recalled<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    memory: Option<MemoryDocument<'a>>,
}

#[derive(Debug, Serialize)]
struct MemoryDocument<'a> {
    own: u32,
    worth: f64,
    /// By the cause's id; what is one is left out.
    factors: BTreeMap<&'a str, f64>,
}

fn recalled(knowledge: &Knowledge) -> Recalled<'_> {
    let memory = knowledge.recall.as_ref().map(|recall| {
        let all = knowledge.causes.iter().zip(&recall.factors);
        let moved = all.filter(|(_, factor)| (*factor - 1.0).abs() > 1e-9);
        MemoryDocument {
            own: recall.own,
            worth: recall.worth,
            factors: moved.map(|(cause, factor)| (cause.id.as_str(), *factor)).collect(),
        }
    });
    Recalled { memory }
}

#[cfg(test)]
mod tests;
