//! What ends a hypothesis: repairs with their prices, each once.
//!
//! It must not decide whether a repair may be begun: that is for `guard`.

use std::collections::BTreeMap;

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::model::chances;
use crate::diagnosis::{CauseRef, Fault};
use crate::plan::cases::Case;
use crate::plan::problem::{Needs, Price, Repair, World};
use facts::job::read::touched_by_remedy;
use facts::job::timeline::Disturbance;
use facts::knowledge::{Knowledge, Remedy, Thermal};
use measure::engine::Place;
use measure::units::Cost;

use super::setups::{needs, price};

/// What ends a hypothesis.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Cure {
    /// Work on a fault; any of these causes at the place is cured by it.
    Remedy(Vec<Fault>),
    /// Nothing is wrong: write it down.
    Record,
    /// Wait until it has settled and read again.
    Settle,
    /// It has gone away: make sure.
    Confirm,
    /// Search for something in no list.
    Search,
}

/// Repairs gathered from the hypotheses, each once.
#[derive(Default)]
pub(super) struct Repairs {
    keys: BTreeMap<(String, Place), usize>,
    pub(super) list: Vec<Repair>,
    pub(super) cures: Vec<Cure>,
    pub(super) costs: Vec<Cost>,
}

impl Repairs {
    /// Repairs that a hypothesis needs.
    pub(super) fn of(
        &mut self,
        diagnosis: &Diagnosis<'_>,
        world: &World,
        case: &Case,
    ) -> Vec<usize> {
        let knowledge = diagnosis.model.knowledge;
        let constants = &knowledge.constants;
        if case.faults.is_empty() {
            return vec![self.record(knowledge)];
        }
        let mut cures = Vec::new();
        for (fault, there) in case.faults.iter().zip(&case.present) {
            if *there < 0.5 {
                continue;
            }
            let CauseRef::Listed(index) = fault.cause else {
                let cost = constants.unlisted_cure;
                cures.push(self.plain("search", Cure::Search, cost, search(knowledge)));
                continue;
            };
            let Some(remedy) = &knowledge.causes[index].remedy else {
                // Beside a fault it is waited for while that is looked for.
                if case.faults.len() > 1 {
                    continue;
                }
                // It was waited for; what is left to do is to write it down.
                if diagnosis.model.timeline.read_again() {
                    cures.push(self.record(knowledge));
                    continue;
                }
                let cost = constants.readings + Cost { hands_on: 1.0, wait: 5.0, parts: 0.0 };
                cures.push(self.plain("settle", Cure::Settle, cost, price(knowledge, cost)));
                continue;
            };
            let key = (remedy.id.clone(), fault.place);
            let repair = if let Some(&known) = self.keys.get(&key) {
                if let Cure::Remedy(faults) = &mut self.cures[known]
                    && !faults.contains(fault)
                {
                    faults.push(*fault);
                }
                known
            } else {
                let (mut repair, cost) = repair(knowledge, world, remedy);
                if cost.parts > 0.0 && !fault.cause.is_measuring(knowledge) {
                    repair.in_vain = knowledge.constants.part_in_vain;
                }
                self.add(key, repair, Cure::Remedy(vec![*fault]), cost)
            };
            if !cures.contains(&repair) {
                cures.push(repair);
            }
        }
        if cures.is_empty() {
            let cost = constants.verify;
            let confirm = self.plain("confirm", Cure::Confirm, cost, price(knowledge, cost));
            self.list[confirm].in_vain = knowledge.constants.comeback;
            cures.push(confirm);
        }
        cures.sort_unstable();
        cures
    }

    fn record(&mut self, knowledge: &Knowledge) -> usize {
        let cost = knowledge.constants.record;
        let record = self.plain("record", Cure::Record, cost, price(knowledge, cost));
        self.list[record].in_vain = knowledge.constants.comeback;
        record
    }

    fn plain(&mut self, id: &str, cure: Cure, cost: Cost, price: Price) -> usize {
        let key = (id.to_owned(), Place::Nowhere);
        if let Some(&known) = self.keys.get(&key) {
            return known;
        }
        let states = (0..Thermal::ALL.len()).collect();
        let repair = Repair {
            price,
            own_hands_on: 0.0,
            in_vain: 0.0,
            needs: Needs { states, access: 0, openings: 1.0 },
        };
        self.add(key, repair, cure, cost)
    }

    fn add(&mut self, key: (String, Place), repair: Repair, cure: Cure, cost: Cost) -> usize {
        self.list.push(repair);
        self.cures.push(cure);
        self.costs.push(cost);
        self.keys.insert(key, self.list.len() - 1);
        self.list.len() - 1
    }
}

/// What it costs to leave a job with its fault not found: it comes back, and then takes a long search.
pub(super) fn search(knowledge: &Knowledge) -> Price {
    price(knowledge, knowledge.constants.unlisted_cure)
        + Price { total: knowledge.constants.comeback, hands_on: 0.0 }
}

/// A remedy with the readings that verify it.
fn repair(knowledge: &Knowledge, world: &World, remedy: &Remedy) -> (Repair, Cost) {
    let mut total = price(knowledge, remedy.cost) + price(knowledge, knowledge.constants.verify);
    let back = remedy
        .states
        .iter()
        .map(|s| world.change[*s as usize][world.verifying])
        .min_by(|a, b| a.total.total_cmp(&b.total));
    total += back.unwrap_or_default();
    let repair = Repair {
        price: total,
        own_hands_on: remedy.cost.hands_on,
        in_vain: 0.0,
        needs: needs(&remedy.states, &remedy.access, &knowledge.access, false),
    };
    (repair, remedy.cost)
}

/// Adds to what each remedy costs in vain what it hides: its work may re-seat what is really the matter, which
/// then shows no more, is not found, and comes back. Weighed over the cases as they are now.
pub(super) fn price_what_is_hidden(
    diagnosis: &Diagnosis<'_>,
    cases: &[Case],
    cures: &[Vec<usize>],
    repairs: &mut Repairs,
) {
    let model = &diagnosis.model;
    let (knowledge, timeline) = (model.knowledge, model.timeline);
    for (repair, (work, cure)) in repairs.list.iter_mut().zip(&repairs.cures).enumerate() {
        let Cure::Remedy(faults) = cure else { continue };
        let Some(&Fault { cause: CauseRef::Listed(cause), place }) = faults.first() else {
            continue;
        };
        let touched = touched_by_remedy(timeline, &knowledge.causes[cause], place);
        let remedied = Some((cause, place));
        let done = Disturbance { remedied, ..Disturbance::new(0, touched) };
        let chance = |&c: &usize| {
            let candidate = &model.candidates[c];
            let (fault, seat) = (candidate.fault, candidate.seat);
            chances(knowledge, timeline, fault, seat, &candidate.numbers, &done).cure
        };
        let others = cases.iter().zip(cures).filter(|(_, cures)| !cures.contains(&repair));
        let (mut left, mut hidden) = (0.0, 0.0);
        for (case, _) in others {
            left += case.probability;
            if !case.candidates.is_empty() {
                hidden += case.probability * case.candidates.iter().map(chance).product::<f64>();
            }
        }
        if left > 0.0 {
            work.in_vain += knowledge.constants.comeback * hidden / left;
        }
    }
}
