//! How the suspects stood after each entry that told something.

use std::collections::BTreeSet;

use crate::job::timeline::Timeline;
use crate::knowledge::Knowledge;

use super::assess::assess;
use super::explain::upto;
use super::result::{Assessment, Suspect};

/// The suspects at a moment of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// Number of the entry it is after; 0 before the first.
    pub entry: usize,
    /// All suspects then, most probable first.
    pub suspects: Vec<Suspect>,
    /// Probability that nothing is wrong.
    pub healthy: f64,
}

/// The job moment by moment, from before the first entry to now.
///
/// `now` is the assessment of the whole timeline. Work that nobody looked at the effect of yet
/// tells nothing, so that it has no moment of its own.
#[must_use]
pub fn course(knowledge: &Knowledge, timeline: &Timeline, now: &Assessment) -> Vec<Moment> {
    let mut entries: BTreeSet<usize> = BTreeSet::from([0]);
    entries.extend(timeline.sets.iter().map(|set| set.entry));
    entries.extend(timeline.findings.iter().map(|finding| finding.entry));
    entries.extend(timeline.sheet.noted.iter().map(|noted| noted.entry));
    entries.extend(timeline.disturbances.iter().filter_map(|d| Some(d.verdict.as_ref()?.entry)));
    let last = entries.last().copied();
    entries
        .into_iter()
        .map(|entry| {
            let then;
            let assessment = if Some(entry) == last {
                now
            } else {
                then = assess(knowledge, &upto(timeline, entry));
                &then
            };
            Moment { entry, suspects: assessment.suspects.clone(), healthy: assessment.healthy }
        })
        .collect()
}
