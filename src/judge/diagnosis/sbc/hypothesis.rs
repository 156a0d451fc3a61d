//! A hypothesis, drawn from the prior: nothing, one cause at a place, or two.

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;

use super::dice::Dice;
use crate::diagnosis::prior::{Prior, pairs_up, prior, together};
use crate::diagnosis::result::Fault;

/// Every hypothesis with its prior weight.
pub(super) struct Hypotheses {
    list: Vec<Vec<Fault>>,
    weights: Vec<f64>,
}

impl Hypotheses {
    /// Those of a job of which nothing but the head is written.
    ///
    /// Two faults share the mass of pairs by how common each is, the one or the other being complained of; what is not steady yet, and what
    /// misnames, goes with a fault as often as with none. Two misnamings are left out: the screening of pairs
    /// does not follow them.
    pub(super) fn of(knowledge: &Knowledge, head: &Timeline) -> Self {
        let sheets = (&head.sheet, head.history.as_ref());
        let Prior { healthy, singles, pairs, .. } =
            prior(knowledge, &head.engine, &head.recent, sheets, &head.complaint);
        let mut list = vec![Vec::new()];
        let mut weights = vec![healthy];
        for single in &singles {
            list.push(vec![single.fault]);
            weights.push(single.prior);
        }
        let misnames = |fault: Fault| fault.cause.misnames(knowledge);
        let passes = |fault: Fault| fault.cause.passes(knowledge);
        let is_fault = |fault: Fault| pairs_up(knowledge, fault) && !misnames(fault);
        let both = || {
            let each = singles.iter().enumerate();
            each.flat_map(|(at, a)| singles[at + 1..].iter().map(move |b| (a, b)))
        };
        let product: f64 = both()
            .filter(|(a, b)| is_fault(a.fault) && is_fault(b.fault))
            .map(|(a, b)| together((a.prior, a.said), (b.prior, b.said)))
            .sum();
        for (a, b) in both() {
            let goes_along = |x: Fault, y: Fault| (misnames(x) || passes(x)) && is_fault(y);
            let weight = if is_fault(a.fault) && is_fault(b.fault) {
                pairs / product * together((a.prior, a.said), (b.prior, b.said))
            } else if goes_along(a.fault, b.fault)
                || goes_along(b.fault, a.fault)
                || misnames(a.fault) && passes(b.fault)
                || passes(a.fault) && misnames(b.fault)
            {
                a.prior * b.prior / healthy
            } else {
                continue;
            };
            list.push(vec![a.fault, b.fault]);
            weights.push(weight);
        }
        Self { list, weights }
    }

    pub(super) fn draw(&self, dice: &mut Dice) -> Vec<Fault> {
        self.list[dice.weighted(&self.weights)].clone()
    }
}
