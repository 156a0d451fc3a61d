//! Lessons and their sums.
//!
//! A job is known by its key and counted once, however often it is learned. It must not weigh anything.

use std::collections::BTreeMap;

use facts::job::brief::Brief;
use measure::engine::Kind;

/// Jobs that the knowledge base expects the same causes of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stratum {
    /// Kind of engine.
    pub kind: Kind,
    /// Flags of recent work, in order, each once.
    pub recent: Vec<String>,
}

/// What one closed, proven job has to say.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    /// What kind of job it was.
    pub stratum: Stratum,
    /// Id of the cause that was proven.
    pub cause: String,
    /// Tests with the hands-on minutes they took, where that was told.
    pub took: Vec<(String, f64)>,
}

impl Lesson {
    /// The lesson of a job; none unless it is closed and proven.
    #[must_use]
    pub fn of(brief: &Brief) -> Option<Self> {
        let cause = brief.proven()?.to_owned();
        let stratum = Stratum { kind: brief.kind, recent: brief.recent.clone() };
        Some(Self { stratum, cause, took: brief.took.clone() })
    }
}

/// Times told for one test.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Took {
    /// How often.
    pub times: u32,
    /// Hands-on minutes together.
    pub minutes: f64,
}

/// Sums of lessons. Nothing in them speaks of one job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Counts {
    /// Proven causes by kind of job, cause id to number of jobs.
    pub causes: BTreeMap<Stratum, BTreeMap<String, u32>>,
    /// Times by test id.
    pub took: BTreeMap<String, Took>,
}

impl Counts {
    /// Adds a lesson.
    pub fn add(&mut self, lesson: &Lesson) {
        let causes = self.causes.entry(lesson.stratum.clone()).or_default();
        *causes.entry(lesson.cause.clone()).or_default() += 1;
        for (test, minutes) in &lesson.took {
            let took = self.took.entry(test.clone()).or_default();
            took.times += 1;
            took.minutes += minutes;
        }
    }
}

/// What a workshop remembers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Memory {
    /// Lessons by key of the job.
    pub(super) own: BTreeMap<String, Lesson>,
    /// Jobs of other workshops that an earlier version counted with them, and that no longer count.
    pub(super) left_out: u32,
}

/// What learning a job came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Learned {
    /// It was not known.
    New,
    /// It was known and says the same.
    Known,
    /// It was known and says something else now.
    Changed,
    /// It was known, and is no longer closed and proven.
    Withdrawn,
    /// It is not closed and proven, and was not known.
    Nothing,
}

impl Memory {
    /// Learns a job, or takes back what was learned of it.
    pub fn learn(&mut self, brief: &Brief) -> Learned {
        let known = self.own.get(&brief.key);
        match (known, Lesson::of(brief)) {
            (None, None) => Learned::Nothing,
            (Some(known), Some(lesson)) if *known == lesson => Learned::Known,
            (Some(_), None) => {
                self.own.remove(&brief.key);
                Learned::Withdrawn
            }
            (known, Some(lesson)) => {
                let learned = if known.is_none() { Learned::New } else { Learned::Changed };
                self.own.insert(brief.key.clone(), lesson);
                learned
            }
        }
    }

    /// All counts but for the job of a key: nobody is a witness in a case of their own.
    #[must_use]
    pub fn counts(&self, without: Option<&str>) -> Counts {
        let mut counts = Counts::default();
        let own = self.own.iter().filter(|(key, _)| Some(key.as_str()) != without);
        own.for_each(|(_, lesson)| counts.add(lesson));
        counts
    }

    /// Lessons by key of the job.
    #[must_use]
    pub fn own(&self) -> &BTreeMap<String, Lesson> {
        &self.own
    }

    /// Jobs of other workshops that an earlier version counted with them, and that no longer count.
    #[must_use]
    pub fn left_out(&self) -> u32 {
        self.left_out
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use facts::job::entry::What;
    use measure::engine::Place;

    /// A job of a vehicle, closed and proven or not.
    fn job(vehicle: &str, cause: &str, proven: bool) -> Brief {
        let mut journal = fixture::journal();
        journal.head.vehicle = vehicle.to_owned();
        let remedy = What::Remedy { cause: cause.to_owned(), place: Place::Cylinder(1) };
        journal.entries =
            vec![fixture::entry(remedy), fixture::entry(What::Close { proven, reason: None })];
        Brief::of(&journal)
    }

    fn memory(jobs: &[Brief]) -> Memory {
        let mut memory = Memory::default();
        for job in jobs {
            memory.learn(job);
        }
        memory
    }

    /// How many jobs are counted.
    fn jobs(memory: &Memory, without: Option<&str>) -> u32 {
        memory.counts(without).causes.values().flat_map(BTreeMap::values).sum()
    }

    #[test]
    fn a_job_counts_once_and_only_while_it_is_proven() {
        let mut memory = memory(&[]);
        let steps = [
            (job("a", "fit-deep", false), Learned::Nothing, 0),
            (job("a", "fit-deep", true), Learned::New, 1),
            (job("a", "fit-deep", true), Learned::Known, 1),
            (job("b", "fit-deep", true), Learned::New, 2),
            (job("a", "probe-drift", true), Learned::Changed, 2),
            (job("a", "probe-drift", false), Learned::Withdrawn, 1),
            (job("a", "probe-drift", false), Learned::Nothing, 1),
        ];
        for (job, learned, count) in steps {
            let before = memory.clone();
            assert_eq!(memory.learn(&job), learned);
            assert_eq!(jobs(&memory, None), count);
            let still = matches!(learned, Learned::Nothing | Learned::Known);
            assert_eq!(memory == before, still, "{learned:?}");
        }
    }

    #[test]
    fn a_job_is_no_witness_in_its_own_case() {
        let (a, b) = (job("a", "fit-deep", true), job("b", "fit-deep", true));
        let memory = memory(&[a.clone(), b]);
        assert_eq!(jobs(&memory, Some(&a.key)), 1);
        assert_eq!(jobs(&memory, Some("unknown")), 2);
    }

    proptest! {
        #[test]
        fn the_order_and_number_of_times_jobs_are_learned_does_not_matter(
            list in prop::collection::vec((0..6u8, 0..3usize), 0..12),
            again in prop::collection::vec(0..12usize, 0..12),
        ) {
            let causes = ["fit-deep", "fit-shallow", "probe-drift"];
            // One job of a vehicle says one thing, whatever the order.
            let jobs: Vec<Brief> = list
                .iter()
                .map(|&(v, _)| job(&v.to_string(), causes[usize::from(v) % 3], true))
                .collect();
            let once = memory(&jobs).counts(None);
            let mut back: Vec<Brief> = jobs.iter().rev().cloned().collect();
            back.extend(again.iter().filter_map(|&i| jobs.get(i)).cloned());
            prop_assert_eq!(once, memory(&back).counts(None));
        }
    }
}
