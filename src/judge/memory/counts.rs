//! Lessons, their sums, and who they are from.
//!
//! A job is known by its key and counted once, however often it is learned; a workshop's share is
//! known by the workshop and replaced whole, however often it is pooled. It must not weigh
//! anything.

use std::collections::BTreeMap;

use thiserror::Error;

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

/// Jobs that the share of one other workshop counts for at most, however many it names: less than half of
/// what the knowledge base itself is worth, so that a file from elsewhere moves it and does not overrule it
/// (common practice, no source).
const MOST: u32 = 60;

impl Counts {
    /// Adds a lesson.
    pub fn add(&mut self, lesson: &Lesson) {
        let causes = self.causes.entry(lesson.stratum.clone()).or_default();
        let count = causes.entry(lesson.cause.clone()).or_default();
        *count = count.saturating_add(1);
        for (test, minutes) in &lesson.took {
            let took = self.took.entry(test.clone()).or_default();
            took.times = took.times.saturating_add(1);
            took.minutes += minutes;
        }
    }

    /// Adds the counts of another workshop.
    pub fn pool(&mut self, other: &Self) {
        for (stratum, causes) in &other.causes {
            let own = self.causes.entry(stratum.clone()).or_default();
            for (cause, count) in causes {
                let sum = own.entry(cause.clone()).or_default();
                *sum = sum.saturating_add(*count);
            }
        }
        for (test, took) in &other.took {
            let own = self.took.entry(test.clone()).or_default();
            own.times = own.times.saturating_add(took.times);
            own.minutes += took.minutes;
        }
    }

    /// The same proportions of no more jobs, and no more times of a test, than a stranger may speak for.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "rounded, and between nothing and the bound"
    )]
    fn bounded(&self) -> Self {
        let all = self.causes.values().flat_map(BTreeMap::values).map(|count| f64::from(*count));
        let part = (f64::from(MOST) / all.sum::<f64>()).min(1.0);
        let mut bounded = self.clone();
        for count in bounded.causes.values_mut().flat_map(BTreeMap::values_mut) {
            *count = (f64::from(*count) * part).round().min(f64::from(MOST)) as u32;
        }
        for took in bounded.took.values_mut().filter(|took| took.times > MOST) {
            took.minutes *= f64::from(MOST) / f64::from(took.times);
            took.times = MOST;
        }
        bounded
    }

    /// How many jobs are counted.
    #[must_use]
    pub fn jobs(&self) -> u32 {
        let all = self.causes.values().flat_map(BTreeMap::values);
        all.fold(0, |sum, count| sum.saturating_add(*count))
    }
}

/// Counts as one workshop hands them to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// Whose.
    pub workshop: String,
    /// Goes up whenever the workshop learns something.
    pub revision: u64,
    /// Its own jobs, none that it pooled itself.
    pub counts: Counts,
}

/// What a workshop remembers.
#[derive(Debug, Clone, PartialEq)]
pub struct Memory {
    /// By which other workshops tell this one.
    pub workshop: String,
    /// Goes up whenever something is learned.
    pub revision: u64,
    /// Lessons of its own by key of the job.
    own: BTreeMap<String, Lesson>,
    /// Counts of other workshops, by workshop.
    pooled: BTreeMap<String, Share>,
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

/// What pooling a share came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pooled {
    /// The workshop was not known.
    New,
    /// It takes the place of an older share of the same workshop.
    Replaced,
    /// It is here already.
    Known,
}

/// Why a share is not pooled.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PoolError {
    /// It is what this workshop gave away.
    #[error("these counts are this workshop's own: its jobs are counted already")]
    Own,
    /// There is a newer one.
    #[error("revision {given} of workshop {workshop} is older than revision {here}, which is here")]
    Older {
        /// Whose.
        workshop: String,
        /// What was given.
        given: u64,
        /// What is here.
        here: u64,
    },
}

impl Memory {
    /// One that knows nothing yet.
    #[must_use]
    pub fn new(workshop: String) -> Self {
        Self { workshop, revision: 0, own: BTreeMap::new(), pooled: BTreeMap::new() }
    }

    /// One of known parts.
    pub(super) fn of(
        (workshop, revision): (String, u64),
        own: BTreeMap<String, Lesson>,
        pooled: BTreeMap<String, Share>,
    ) -> Self {
        Self { workshop, revision, own, pooled }
    }

    /// Learns a job, or takes back what was learned of it.
    pub fn learn(&mut self, brief: &Brief) -> Learned {
        let known = self.own.get(&brief.key);
        let learned = match (known, Lesson::of(brief)) {
            (None, None) => return Learned::Nothing,
            (Some(known), Some(lesson)) if *known == lesson => return Learned::Known,
            (Some(_), None) => {
                self.own.remove(&brief.key);
                Learned::Withdrawn
            }
            (known, Some(lesson)) => {
                let learned = if known.is_none() { Learned::New } else { Learned::Changed };
                self.own.insert(brief.key.clone(), lesson);
                learned
            }
        };
        self.revision += 1;
        learned
    }

    /// Takes in what another workshop counted; its earlier share goes.
    ///
    /// # Errors
    /// When it is this workshop's own, or older than what is here.
    pub fn pool(&mut self, share: Share) -> Result<Pooled, PoolError> {
        if share.workshop == self.workshop {
            return Err(PoolError::Own);
        }
        let pooled = match self.pooled.get(&share.workshop) {
            None => Pooled::New,
            Some(here) if *here == share => Pooled::Known,
            Some(here) if here.revision > share.revision => {
                return Err(PoolError::Older {
                    workshop: share.workshop,
                    given: share.revision,
                    here: here.revision,
                });
            }
            Some(_) => Pooled::Replaced,
        };
        self.pooled.insert(share.workshop.clone(), share);
        Ok(pooled)
    }

    /// Drops what another workshop counted; false when nothing of it is here.
    pub fn drop_share(&mut self, workshop: &str) -> bool {
        self.pooled.remove(workshop).is_some()
    }

    /// What another workshop may have: sums of its own jobs.
    #[must_use]
    pub fn share(&self) -> Share {
        let mut counts = Counts::default();
        self.own.values().for_each(|lesson| counts.add(lesson));
        Share { workshop: self.workshop.clone(), revision: self.revision, counts }
    }

    /// All counts, pooled ones with them, but for the job of a key: nobody is a witness in a case
    /// of their own.
    #[must_use]
    pub fn counts(&self, without: Option<&str>) -> Counts {
        let mut counts = Counts::default();
        let own = self.own.iter().filter(|(key, _)| Some(key.as_str()) != without);
        own.for_each(|(_, lesson)| counts.add(lesson));
        self.pooled.values().for_each(|share| counts.pool(&share.counts.bounded()));
        counts
    }

    /// Own lessons by key of the job.
    #[must_use]
    pub fn own(&self) -> &BTreeMap<String, Lesson> {
        &self.own
    }

    /// Shares of other workshops.
    pub fn pooled(&self) -> impl Iterator<Item = &Share> {
        self.pooled.values()
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
        let mut memory = Memory::new("ours".to_owned());
        for job in jobs {
            memory.learn(job);
        }
        memory
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
            let before = memory.revision;
            assert_eq!(memory.learn(&job), learned);
            assert_eq!(memory.counts(None).jobs(), count);
            let still = matches!(learned, Learned::Nothing | Learned::Known);
            assert_eq!(memory.revision == before, still, "{learned:?}");
        }
    }

    #[test]
    fn a_job_is_no_witness_in_its_own_case() {
        let (a, b) = (job("a", "fit-deep", true), job("b", "fit-deep", true));
        let memory = memory(&[a.clone(), b]);
        assert_eq!(memory.counts(Some(&a.key)).jobs(), 1);
        assert_eq!(memory.counts(Some("unknown")).jobs(), 2);
    }

    #[test]
    fn a_share_pooled_twice_counts_once_and_a_newer_one_replaces_it() {
        let mut theirs = Memory::new("theirs".to_owned());
        theirs.learn(&job("x", "fit-deep", true));
        let old = theirs.share();
        theirs.learn(&job("y", "fit-deep", true));
        let new = theirs.share();
        let mut ours = memory(&[job("a", "fit-deep", true)]);
        assert_eq!(ours.pool(old.clone()), Ok(Pooled::New));
        assert_eq!(ours.pool(old.clone()), Ok(Pooled::Known));
        assert_eq!(ours.counts(None).jobs(), 2);
        assert_eq!(ours.pool(new), Ok(Pooled::Replaced));
        assert_eq!(ours.counts(None).jobs(), 3);
        assert!(matches!(ours.pool(old), Err(PoolError::Older { given: 1, here: 2, .. })));
        assert_eq!(ours.pool(ours.clone().share()), Err(PoolError::Own));
        // What was pooled is not handed on, so that no job goes round and comes back.
        assert_eq!(ours.share().counts.jobs(), 1);
        assert!(ours.drop_share("theirs") && !ours.drop_share("theirs"));
        assert_eq!(ours.counts(None).jobs(), 1);
    }

    #[test]
    fn a_share_of_a_million_jobs_counts_as_no_more_than_a_stranger_may_speak_for() {
        let mut ours = Memory::new("ours".to_owned());
        let lesson = Lesson::of(&job("a", "fit-deep", true)).expect("a lesson");
        let mut counts = Counts::default();
        counts.add(&lesson);
        for causes in counts.causes.values_mut() {
            for count in causes.values_mut() {
                *count = 750_000;
            }
            causes.insert("other".to_owned(), 250_000);
        }
        counts.took.insert("look-fit".to_owned(), Took { times: u32::MAX, minutes: 2e10 });
        let share = Share { workshop: "theirs".to_owned(), revision: 1, counts };
        ours.pool(share).expect("pooled");
        let seen = ours.counts(None);
        assert_eq!(seen.jobs(), MOST);
        // What it says of one cause against another stays.
        let causes = seen.causes.values().next().expect("a kind");
        assert_eq!(causes["other"], MOST / 4);
        let took = seen.took["look-fit"];
        assert!(took.times == MOST && (took.minutes / f64::from(MOST) - 4.66).abs() < 0.01);
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
