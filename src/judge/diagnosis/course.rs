//! How the suspects stood after each entry that told something.

use std::collections::BTreeSet;

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;

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
    let last = entries.pop_last().unwrap_or(0);
    let entries: Vec<usize> = entries.into_iter().collect();
    // The moments do not depend on each other, so that two workers share them, every other one each;
    // the order in which they finish does not show.
    let (odd, even) = std::thread::scope(|scope| {
        let part = |from: usize| entries.iter().skip(from).step_by(2);
        let judge = |entry: &usize| moment(*entry, &assess(knowledge, &upto(timeline, *entry)));
        let other = scope.spawn(move || part(1).map(judge).collect::<Vec<Moment>>());
        let own: Vec<Moment> = part(0).map(judge).collect();
        // A worker ends badly only where this one would have: by a bug in the judging.
        (other.join().unwrap_or_else(|bug| std::panic::resume_unwind(bug)), own)
    });
    let mut moments: Vec<Moment> = odd.into_iter().chain(even).collect();
    moments.sort_by_key(|moment| moment.entry);
    moments.push(moment(last, now));
    moments
}

fn moment(entry: usize, assessment: &Assessment) -> Moment {
    Moment { entry, suspects: assessment.suspects.clone(), healthy: assessment.healthy }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_moment_is_the_diagnosis_of_that_time() {
        let knowledge = fixture::knowledge();
        let mut journal = fixture::journal();
        for values in [[640.0, 638.0, 560.0, 642.0], [641.0, 637.0, 561.0, 640.0]] {
            let read = fixture::temps("idle", fixture::degrees(&values));
            journal.entries.push(fixture::entry(read));
        }
        let timeline = facts::job::read::read(&knowledge, &journal);
        let now = assess(&knowledge, &timeline);
        let moments = course(&knowledge, &timeline, &now);
        let entries: Vec<usize> = moments.iter().map(|moment| moment.entry).collect();
        assert_eq!(entries, [0, 1, 2]);
        for moment in &moments {
            let then = assess(&knowledge, &upto(&timeline, moment.entry));
            assert_eq!(moment.suspects, then.suspects);
        }
    }
}
