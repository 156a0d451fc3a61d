//! Whether every piece of work warns of what can hurt in it.
//!
//! A hazard comes from the work itself, from what has to be opened for it and from the states the
//! engine is in. Which warnings answer it, the knowledge base says: what it does not say is not asked
//! for. It must not judge a warning's text.

use std::collections::{BTreeMap, BTreeSet};

use super::cx::Cx;
use super::read::Rows;
use super::spot::At;
use crate::knowledge::codes;
use crate::knowledge::model::{Hazard, Thermal};
use crate::knowledge::outline::Step::{Field, Nth};

/// Work, as far as hazards go.
struct Work<'a> {
    what: String,
    own: &'a [Hazard],
    access: &'a [&'a str],
    states: Vec<Thermal>,
    cautions: &'a [&'a str],
}

/// What a knowledge base says of hazards.
struct Safety<'a> {
    access: BTreeMap<&'a str, &'a [Hazard]>,
    states: BTreeMap<Thermal, BTreeSet<Hazard>>,
    answers: BTreeMap<Hazard, Vec<&'a str>>,
}

/// Adds a finding for each hazard of a test or remedy that none of its cautions answers.
pub(super) fn check(cx: &mut Cx<'_>, rows: &Rows<'_>) {
    let mut safety =
        Safety { access: BTreeMap::new(), states: BTreeMap::new(), answers: BTreeMap::new() };
    for row in &rows.answers {
        for (n, id) in row.value.1.iter().enumerate() {
            let path = [Nth(1), Nth(n)];
            cx.cautions.resolve(&mut cx.findings, row.spot.at(&path), id);
        }
        safety.answers.entry(row.value.0).or_default().extend(&row.value.1);
    }
    for row in &rows.access {
        safety.access.insert(row.value.id, &row.value.hazards);
    }
    for row in &rows.hazards {
        safety.states.entry(row.value.0).or_default().extend(&row.value.1);
    }
    for row in &rows.tests {
        let test = &row.value;
        let states = test.states.iter().copied().chain(test.leaves);
        let work = Work {
            what: format!("test `{}`", test.id),
            own: &test.hazards,
            access: &test.access,
            // What asks of the past is not done on the engine.
            states: if test.past { Vec::new() } else { states.collect() },
            cautions: &test.cautions,
        };
        unwarned(cx, &safety, &work, row.spot.at(&[Field("id")]));
    }
    for row in &rows.causes {
        let Some(remedy) = &row.value.remedy else { continue };
        let work = Work {
            what: format!("remedy `{}` of cause `{}`", remedy.id, row.value.id),
            own: &remedy.hazards,
            access: &remedy.access,
            states: remedy.states.clone(),
            cautions: &remedy.cautions,
        };
        unwarned(cx, &safety, &work, row.spot.at(&[Field("remedy"), Field("id")]));
    }
}

fn unwarned(cx: &mut Cx<'_>, safety: &Safety<'_>, work: &Work<'_>, at: At<'_, '_>) {
    let mut hazards: BTreeMap<Hazard, String> = BTreeMap::new();
    for &hazard in work.own {
        hazards.entry(hazard).or_insert_with(|| "it says so itself".to_owned());
    }
    for id in work.access {
        for &hazard in safety.access.get(id).copied().unwrap_or_default() {
            hazards.entry(hazard).or_insert_with(|| format!("from opening `{id}`"));
        }
    }
    for state in &work.states {
        for &hazard in safety.states.get(state).into_iter().flatten() {
            hazards.entry(hazard).or_insert_with(|| format!("from the engine being `{state}`"));
        }
    }
    for (hazard, from) in hazards {
        let answers = safety.answers.get(&hazard).map_or(&[][..], Vec::as_slice);
        if answers.is_empty() || answers.iter().any(|id| work.cautions.contains(id)) {
            continue;
        }
        let list: Vec<String> = answers.iter().map(|id| format!("`{id}`")).collect();
        cx.findings.push(
            at.finding(
                codes::HAZARD_UNWARNED,
                format!("{} has hazard `{hazard}` and no caution against it", work.what),
                from,
            )
            .help(format!("add one of {} to its `cautions`", list.join(", "))),
        );
    }
}
