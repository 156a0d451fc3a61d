//! What each fault is expected to show in each test: its own row of the table, as far as that is believed.
//!
//! A row of a table says what a test shows of one cause. Most rest on practice, so that each may be wrong:
//! then the test shows of the cause what it shows of faults on the average. It must not know what was
//! found.

use std::collections::BTreeMap;

use facts::knowledge::{Charge, Knowledge, Seat, Test};
use measure::number::real;

use super::Candidate;
use crate::diagnosis::result::CauseRef;

/// Chances of outcomes by test, for causes in the list and for one that is in none.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Expected {
    /// By test, and by cause that it speaks to.
    listed: Vec<BTreeMap<usize, Vec<f64>>>,
    /// By test.
    unlisted: Vec<Vec<f64>>,
    /// By test, and by what there is to burn where the test shows that.
    by_charge: Vec<BTreeMap<Charge, Vec<f64>>>,
}

impl Expected {
    /// Rows for a job's candidates, each doubted by the share that the knowledge base says.
    pub(super) fn of(knowledge: &Knowledge, candidates: &[Candidate]) -> Self {
        let unlisted = unlisted_rows(knowledge, candidates);
        let doubt = knowledge.constants.row_doubt;
        let blended = |own: &[f64], average: &[f64]| {
            own.iter()
                .zip(average)
                .map(|(own, average)| (1.0 - doubt) * own + doubt * average)
                .collect()
        };
        let row = |(test, average): (&Test, &Vec<f64>)| {
            test.given.iter().map(|(&cause, own)| (cause, blended(own, average))).collect()
        };
        let listed = knowledge.tests.iter().zip(&unlisted).map(row).collect();
        let charges = |(test, average): (&Test, &Vec<f64>)| {
            test.by_charge.iter().map(|(&charge, own)| (charge, blended(own, average))).collect()
        };
        let by_charge = knowledge.tests.iter().zip(&unlisted).map(charges).collect();
        Self { listed, unlisted, by_charge }
    }

    /// What a test is expected to show of a cause and of what it leaves to burn; `None` where it does not speak to it.
    pub(super) fn row(&self, test: usize, cause: CauseRef, charge: Charge) -> Option<&[f64]> {
        if let Some(row) = self.by_charge[test].get(&charge) {
            return Some(row);
        }
        match cause {
            CauseRef::Listed(cause) => self.listed[test].get(&cause).map(Vec::as_slice),
            CauseRef::Unlisted => Some(&self.unlisted[test]),
        }
    }
}

/// What a cause in no list shows, by test: what the listed ones that may be at one cylinder show on the
/// average, by how common they are there. Most tests speak to few of them, and would so to it.
fn unlisted_rows(knowledge: &Knowledge, candidates: &[Candidate]) -> Vec<Vec<f64>> {
    let mut weight = vec![0.0; knowledge.causes.len()];
    for candidate in candidates {
        if let CauseRef::Listed(cause) = candidate.fault.cause {
            weight[cause] += candidate.prior * real(candidate.numbers.len());
        }
    }
    let row = |test: &Test| {
        let mut row = vec![0.0; test.default.len()];
        let mut sum = 0.0;
        for (cause, weight) in weight.iter().enumerate() {
            // What is no fault is no measure of one.
            if knowledge.causes[cause].seat == Seat::Nothing {
                continue;
            }
            sum += weight;
            for (to, from) in row.iter_mut().zip(test.given.get(&cause).unwrap_or(&test.default)) {
                *to += weight * from;
            }
        }
        if sum <= 0.0 {
            return test.default.clone();
        }
        row.into_iter().map(|chance| chance / sum).collect()
    };
    knowledge.tests.iter().map(row).collect()
}
