//! Sums over all hypotheses: how probable each fault, group and seat is.
//!
//! It must not be given only the hypotheses that are handed on: the sums are over all of them.

use std::collections::BTreeMap;

use crate::diagnosis::model::Model;
use crate::diagnosis::prior::pairs_up;
use crate::diagnosis::rank::by_chance;
use crate::diagnosis::result::{CauseRef, Fault, Hypothesis, Suspect};
use facts::knowledge::{Knowledge, Seat};

/// Sums over all hypotheses.
pub(super) struct Margins {
    pub(super) healthy: f64,
    pub(super) present: f64,
    pub(super) suspects: Vec<Suspect>,
    pub(super) groups: Vec<(usize, f64)>,
    pub(super) seats: Vec<(Seat, f64)>,
}

impl Margins {
    /// Takes all hypotheses there are.
    pub(super) fn of(model: &Model<'_>, hypotheses: &[Hypothesis]) -> Self {
        let knowledge = model.knowledge;
        let mut suspects: BTreeMap<Fault, (f64, f64)> = BTreeMap::new();
        let mut groups: BTreeMap<usize, f64> = BTreeMap::new();
        let mut seats: BTreeMap<Seat, f64> = BTreeMap::new();
        let (mut healthy, mut present) = (0.0, 0.0);
        for h in hypotheses {
            if h.faults.is_empty() {
                healthy += h.probability;
                if let Some(cause) = knowledge.causes.iter().find(|c| c.is_ordinary()) {
                    add_groups(knowledge, cause.group, h.probability, &mut groups, &mut Vec::new());
                }
            }
            // What is not steady yet passes by itself: there or not, it is no fault.
            let real = |f: Fault| pairs_up(knowledge, f);
            let faults = h.faults.iter().zip(&h.present).filter(|(f, _)| real(**f));
            let absent: f64 = faults.map(|(_, there)| 1.0 - there).product();
            present += h.probability * (1.0 - absent);
            let (mut seen_groups, mut seen_seats) = (Vec::new(), Vec::new());
            for (fault, there) in h.faults.iter().zip(&h.present) {
                let at = suspects.entry(*fault).or_default();
                at.0 += h.probability;
                at.1 += h.probability * there;
                if let CauseRef::Listed(index) = fault.cause {
                    let group = knowledge.causes[index].group;
                    add_groups(knowledge, group, h.probability, &mut groups, &mut seen_groups);
                    let seat = knowledge.causes[index].seat;
                    if !seen_seats.contains(&seat) {
                        seen_seats.push(seat);
                        *seats.entry(seat).or_default() += h.probability;
                    }
                }
            }
        }
        let mut suspects: Vec<Suspect> = suspects
            .into_iter()
            .map(|(fault, (probability, present))| Suspect { fault, probability, present })
            .collect();
        suspects.sort_by(|a, b| {
            by_chance(b.probability, a.probability).then_with(|| a.fault.cmp(&b.fault))
        });
        Self { healthy, present, suspects, groups: ranked(groups), seats: ranked(seats) }
    }
}

/// Adds to a group and all above it, each once.
fn add_groups(
    knowledge: &Knowledge,
    group: usize,
    probability: f64,
    groups: &mut BTreeMap<usize, f64>,
    seen: &mut Vec<usize>,
) {
    let mut at = Some(group);
    while let Some(group) = at {
        if !seen.contains(&group) {
            seen.push(group);
            *groups.entry(group).or_default() += probability;
        }
        at = knowledge.groups[group].parent;
    }
}

/// By probability, most first.
fn ranked<K: Ord + Copy>(map: BTreeMap<K, f64>) -> Vec<(K, f64)> {
    let mut list: Vec<(K, f64)> = map.into_iter().collect();
    list.sort_by(|a, b| by_chance(b.1, a.1).then(a.0.cmp(&b.0)));
    list
}
