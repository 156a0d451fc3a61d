//! How probable it is that a piece of work cures the complaint: over all causes that it cures.
//!
//! It must not say what a proof needs: that is [`crate::plan::ends`].

use facts::knowledge::Knowledge;

use super::result::{Assessment, CauseRef, Fault, Hypothesis};

/// Probability of the causes that the same work at the same place cures.
///
/// What a workshop's memory added is taken out again: a proof stands on this job's own evidence, so
/// that what is learned from it is not what was remembered.
#[must_use]
pub fn same_work(knowledge: &Knowledge, assessment: &Assessment, fault: Fault) -> f64 {
    let remedy = |cause: CauseRef| match cause {
        CauseRef::Listed(index) => knowledge.causes[index].remedy.as_ref().map(|r| r.id.as_str()),
        CauseRef::Unlisted => None,
    };
    let own = remedy(fault.cause);
    let cured = |h: &&Hypothesis| {
        h.faults.iter().any(|f| {
            f.place == fault.place
                && (f.cause == fault.cause || (own.is_some() && remedy(f.cause) == own))
        })
    };
    let Some(recall) = &knowledge.recall else {
        return assessment.hypotheses.iter().filter(cured).map(|h| h.probability).sum();
    };
    // The likelihood is the same, so that dividing by what the priors were multiplied with and
    // sharing out anew gives what would have come of the knowledge base alone.
    let factor = |fault: &Fault| match fault.cause {
        CauseRef::Listed(index) => recall.factors[index],
        CauseRef::Unlisted => 1.0,
    };
    let plain = |h: &Hypothesis| h.probability / h.faults.iter().map(factor).product::<f64>();
    let all: f64 = assessment.hypotheses.iter().map(plain).sum();
    assessment.hypotheses.iter().filter(cured).map(plain).sum::<f64>() / all.max(f64::MIN_POSITIVE)
}
