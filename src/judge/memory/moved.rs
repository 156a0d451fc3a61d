//! The knowledge base of one job with weights, factors and times as the memory has moved them.
//!
//! Indices stay as they are, so that whatever was read of the job with one can be used with the
//! other. It must not change what a cause does to a reading, nor how probable it is that there is
//! a fault at all.

use std::collections::BTreeMap;

use super::counts::Counts;
use super::shrink::{Factors, Group, Problem, drawn, shrink};
use crate::diagnosis::prior::{places, weight};
use facts::knowledge::{Knowledge, PlaceKind, Recall};
use measure::engine::Engine;
use measure::number::real;

/// How many jobs the belief in one cause or factor is worth, on the average of causes: as a gamma's
/// shape, whose standard deviation of the logarithm is near ln 2 at 1 / ln² 2. A weight of the
/// knowledge base is a guess of the trade, good to a factor of two (common practice, no source;
/// `next --sensitivity` doubts figures as far).
const PER_CAUSE: f64 = 2.081;

/// How many times told the knowledge base's time of a test is worth (common practice, no source: a
/// handful of jobs on a few cars should not outvote a time that holds for many).
const PER_TIME: f64 = 4.0;

/// A time is moved no further than by this factor either way, so that slips of the pen do not steer
/// a plan (common practice, no source).
const FARTHEST: f64 = 4.0;

/// How a cause's weight stands.
#[derive(Debug, Clone, PartialEq)]
pub struct CauseMoved {
    /// Index into [`Knowledge::causes`].
    pub cause: usize,
    /// Jobs in which it was proven.
    pub seen: u32,
    /// Jobs in which the knowledge base would have had it.
    pub expected: f64,
    /// Factor on its weight.
    pub factor: f64,
}

/// How what recent work does to a cause stands.
#[derive(Debug, Clone, PartialEq)]
pub struct FlagMoved {
    /// Index into [`Knowledge::causes`].
    pub cause: usize,
    /// The flag.
    pub flag: String,
    /// Jobs with the flag in which it was proven.
    pub seen: u32,
    /// Factor in the knowledge base.
    pub from: f64,
    /// As moved.
    pub to: f64,
}

/// How the time of a test stands.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeMoved {
    /// Index into [`Knowledge::tests`].
    pub test: usize,
    /// How often it was told.
    pub times: u32,
    /// Mean of what was told, hands-on minutes.
    pub told: f64,
    /// Hands-on minutes in the knowledge base.
    pub from: f64,
    /// As moved.
    pub to: f64,
}

/// Counts that this knowledge base has no use for; they are kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aside {
    /// Id of the cause or test.
    pub id: String,
    /// Jobs or times.
    pub count: u32,
    /// Why.
    pub why: &'static str,
}

/// All that a memory does to a knowledge base.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Jobs that count.
    pub jobs: u32,
    /// How many jobs the knowledge base is worth beside them.
    pub worth: f64,
    /// Causes that were seen or expected, in order of the knowledge base.
    pub causes: Vec<CauseMoved>,
    /// Factors of recent work that were touched by a job.
    pub flags: Vec<FlagMoved>,
    /// Times that were told.
    pub times: Vec<TimeMoved>,
    /// What is left aside.
    pub aside: Vec<Aside>,
}

/// Causes of which a memory can know something: faults that have a remedy.
fn learnable(knowledge: &Knowledge) -> impl Iterator<Item = usize> {
    let fault = |&index: &usize| {
        let cause = &knowledge.causes[index];
        cause.remedy.is_some() && cause.place != PlaceKind::Nowhere
    };
    (0..knowledge.causes.len()).filter(fault)
}

/// Weights of those causes on an engine; 0 where one has no place.
fn odds(knowledge: &Knowledge, causes: &[usize], engine: &Engine, recent: &[String]) -> Vec<f64> {
    let of = |&index: &usize| {
        let cause = &knowledge.causes[index];
        if places(cause, engine).is_empty() { 0.0 } else { weight(cause, engine, recent) }
    };
    causes.iter().map(of).collect()
}

/// Weighs counts against a knowledge base.
#[must_use]
pub fn standing(knowledge: &Knowledge, counts: &Counts) -> Standing {
    let causes: Vec<usize> = learnable(knowledge).collect();
    let at = |id: &str| causes.iter().position(|&index| knowledge.causes[index].id == id);
    let pairs: Vec<(usize, &str)> = causes
        .iter()
        .enumerate()
        .flat_map(|(at, &index)| {
            knowledge.causes[index].recent.keys().map(move |flag| (at, flag.as_str()))
        })
        .collect();
    let flags: Vec<&str> = knowledge.recent.iter().map(|work| work.id.as_str()).collect();
    let flag = |id: &str| flags.iter().position(|flag| *flag == id);
    let mut aside: BTreeMap<(&str, &'static str), u32> = BTreeMap::new();
    let mut groups = Vec::new();
    for (stratum, proven) in &counts.causes {
        let odds = odds(knowledge, &causes, &stratum.kind.engine(), &stratum.recent);
        let mut seen = vec![0.0; causes.len()];
        for (id, &count) in proven {
            match at(id) {
                Some(at) if odds[at] > 0.0 => seen[at] += f64::from(count),
                Some(_) => {
                    *aside.entry((id, "cannot occur on that engine")).or_default() += count;
                }
                None => {
                    *aside.entry((id, "no cause of the knowledge base")).or_default() += count;
                }
            }
        }
        let flags = stratum.recent.iter().filter_map(|id| flag(id)).collect();
        groups.push(Group { odds, flags, seen });
    }
    let all: f64 = causes.iter().map(|&index| knowledge.causes[index].weight).sum();
    let worth = PER_CAUSE * real(causes.len());
    let problem = Problem {
        prior: causes.iter().map(|&i| worth * knowledge.causes[i].weight / all).collect(),
        flag_prior: PER_CAUSE,
        pairs: pairs.iter().filter_map(|&(at, id)| Some((at, flag(id)?))).collect(),
        groups,
    };
    let factors = shrink(&problem);
    let jobs = problem.groups.iter().flat_map(|group| &group.seen).sum::<f64>();
    let mut standing = Standing {
        jobs: whole(jobs),
        worth,
        causes: causes_moved(&problem, &factors, &causes),
        flags: flags_moved(knowledge, &problem, &factors, (&causes, &flags)),
        times: Vec::new(),
        aside: Vec::new(),
    };
    for (id, took) in &counts.took {
        match knowledge.test(id) {
            Some(test) if took.times > 0 => {
                let from = knowledge.tests[test].cost.hands_on;
                let to = drawn(from, PER_TIME, took.times, took.minutes);
                let told = took.minutes / f64::from(took.times);
                let to = to.clamp(from / FARTHEST, from * FARTHEST);
                standing.times.push(TimeMoved { test, times: took.times, told, from, to });
            }
            Some(_) => {}
            None => {
                *aside.entry((id, "no test of the knowledge base")).or_default() += took.times;
            }
        }
    }
    standing.aside = aside
        .into_iter()
        .map(|((id, why), count)| Aside { id: id.to_owned(), count, why })
        .collect();
    standing
}

fn causes_moved(problem: &Problem, factors: &Factors, causes: &[usize]) -> Vec<CauseMoved> {
    let mut list = Vec::new();
    for (at, &cause) in causes.iter().enumerate() {
        let (mut seen, mut expected) = (0.0, 0.0);
        for group in &problem.groups {
            seen += group.seen[at];
            let share = group.odds[at] / group.odds.iter().sum::<f64>().max(f64::MIN_POSITIVE);
            expected += share * group.seen.iter().sum::<f64>();
        }
        if seen > 0.0 || expected > 0.0 {
            list.push(CauseMoved {
                cause,
                seen: whole(seen),
                expected,
                factor: factors.causes[at],
            });
        }
    }
    list
}

fn flags_moved(
    knowledge: &Knowledge,
    problem: &Problem,
    factors: &Factors,
    (causes, flags): (&[usize], &[&str]),
) -> Vec<FlagMoved> {
    let mut list = Vec::new();
    for (&(at, flag), factor) in problem.pairs.iter().zip(&factors.pairs) {
        let here = problem.groups.iter().filter(|g| g.flags.contains(&flag) && g.odds[at] > 0.0);
        let jobs: f64 = here.clone().flat_map(|group| &group.seen).sum();
        if jobs <= 0.0 {
            continue;
        }
        let cause = causes[at];
        let from = knowledge.causes[cause].recent.get(flags[flag]).copied().unwrap_or(1.0);
        list.push(FlagMoved {
            cause,
            flag: flags[flag].to_owned(),
            seen: whole(here.map(|group| group.seen[at]).sum()),
            from,
            to: from * factor,
        });
    }
    list
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "sums of whole numbers that were no larger"
)]
fn whole(count: f64) -> u32 {
    count.round() as u32
}

/// The knowledge base of a job on an engine after recent work, moved by a memory. As it was when
/// the memory has nothing to say.
#[must_use]
pub fn moved(
    knowledge: &Knowledge,
    standing: &Standing,
    engine: &Engine,
    recent: &[String],
) -> Knowledge {
    let mut moved = knowledge.clone();
    if standing.jobs == 0 && standing.times.is_empty() {
        return moved;
    }
    for change in &standing.causes {
        moved.causes[change.cause].weight *= change.factor;
    }
    for change in &standing.flags {
        moved.causes[change.cause].recent.insert(change.flag.clone(), change.to);
    }
    for change in &standing.times {
        moved.tests[change.test].cost.hands_on = change.to;
    }
    // Which fault, not whether there is one: together they stay as probable as they were.
    let causes: Vec<usize> = learnable(knowledge).collect();
    let before = odds(knowledge, &causes, engine, recent);
    let after = odds(&moved, &causes, engine, recent);
    let (sum_before, sum_after): (f64, f64) = (before.iter().sum(), after.iter().sum());
    let level = if sum_after > 0.0 { sum_before / sum_after } else { 1.0 };
    let mut factors = vec![1.0; knowledge.causes.len()];
    for ((&cause, before), after) in causes.iter().zip(&before).zip(&after) {
        moved.causes[cause].weight *= level;
        if *before > 0.0 {
            factors[cause] = level * after / before;
        }
    }
    let times = standing.times.iter().map(|time| (time.test, time.from)).collect();
    moved.recall = Some(Recall { own: standing.jobs, worth: standing.worth, factors, times });
    moved
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::memory::{Stratum, Took};
    use facts::knowledge::{embedded::embedded, load};
    use measure::engine::Kind;

    fn base() -> Knowledge {
        load(embedded(), &[]).0.expect("sound")
    }

    fn kind(text: &str) -> Kind {
        text.parse().expect("a kind")
    }

    fn four() -> Kind {
        kind("4 inline port coil-per-plug plenum natural liquid exhaust")
    }

    fn counts(kind: Kind, recent: &[&str], proven: &[(&str, u32)]) -> Counts {
        let recent = recent.iter().map(|&flag| flag.to_owned()).collect();
        let proven = proven.iter().map(|&(id, n)| (id.to_owned(), n)).collect();
        Counts {
            causes: BTreeMap::from([(Stratum { kind, recent }, proven)]),
            took: BTreeMap::new(),
        }
    }

    /// Shares of the causes a memory can know of, by index, on an engine.
    fn shares(knowledge: &Knowledge, engine: &Engine, recent: &[String]) -> Vec<f64> {
        let causes: Vec<usize> = learnable(knowledge).collect();
        let odds = odds(knowledge, &causes, engine, recent);
        let sum: f64 = odds.iter().sum();
        odds.iter().map(|odds| odds / sum).collect()
    }

    #[test]
    fn three_jobs_turn_nothing_over() {
        let knowledge = base();
        let engine = four().engine();
        let before = shares(&knowledge, &engine, &[]);
        let leader = |shares: &[f64]| {
            (0..shares.len()).max_by(|&a, &b| shares[a].total_cmp(&shares[b])).expect("one")
        };
        for (at, cause) in learnable(&knowledge).enumerate().filter(|(at, _)| before[*at] > 0.0) {
            let id = knowledge.causes[cause].id.as_str();
            let standing = standing(&knowledge, &counts(four(), &[], &[(id, 3)]));
            let moved = moved(&knowledge, &standing, &engine, &[]);
            let after = shares(&moved, &engine, &[]);
            // Three jobs beside what the knowledge base is worth for the causes of this engine.
            let worth = PER_CAUSE * f64::from(u16::try_from(before.len()).expect("few"));
            assert!(after[at] > before[at], "{id}");
            assert!(after[at] - before[at] < 6.0 / worth, "{id}: {} {}", before[at], after[at]);
            if before[at] < before[leader(&before)] / 2.0 {
                assert_eq!(leader(&after), leader(&before), "{id}");
            }
        }
    }

    #[test]
    fn which_fault_but_not_whether_there_is_one() {
        let knowledge = base();
        let kind = four();
        let standing = standing(&knowledge, &counts(kind, &[], &[("fit-deep", 40), ("rings", 9)]));
        for engine in knowledge.presets.iter().map(|preset| &preset.engine) {
            let recent = vec!["manifold-off".to_owned()];
            let moved = moved(&knowledge, &standing, engine, &recent);
            let prior = |knowledge: &Knowledge| {
                use facts::job::complaint::Complaint;
                let sheet = facts::job::fit::Sheet::default();
                crate::diagnosis::prior::prior(
                    knowledge,
                    engine,
                    &recent,
                    (&sheet, None),
                    &Complaint::default(),
                )
            };
            let (before, after) = (prior(&knowledge), prior(&moved));
            assert!((before.healthy - after.healthy).abs() < 1e-12);
            // The factors told are those the priors were multiplied with.
            let recall = moved.recall.as_ref().expect("moved");
            for (a, b) in before.singles.iter().zip(&after.singles) {
                let factor = match a.fault.cause {
                    crate::diagnosis::CauseRef::Listed(index) => recall.factors[index],
                    crate::diagnosis::CauseRef::Unlisted => 1.0,
                };
                assert!((a.prior * factor - b.prior).abs() < 1e-12, "{:?}", a.fault);
            }
        }
    }

    #[test]
    fn recent_work_takes_its_share_of_what_came_after_it() {
        let knowledge = base();
        let mut list = counts(four(), &["manifold-off"], &[("fit-shallow", 12)]);
        list.causes.extend(counts(four(), &[], &[("inj-lean", 12)]).causes);
        let standing = standing(&knowledge, &list);
        let flag = standing
            .flags
            .iter()
            .find(|f| knowledge.causes[f.cause].id == "fit-shallow" && f.flag == "manifold-off")
            .expect("touched");
        assert!(flag.seen == 12 && flag.to > 1.2 * flag.from, "{flag:?}");
        assert!(standing.flags.iter().all(|f| f.flag == "manifold-off"));
    }

    #[test]
    fn what_the_knowledge_base_has_no_use_for_is_kept_and_named() {
        let knowledge = base();
        let mut list = counts(four(), &[], &[("fit-deep", 2), ("gone-id", 3), ("dies-nozzle", 1)]);
        list.took.insert("gone-test".to_owned(), Took { times: 4, minutes: 40.0 });
        let standing = standing(&knowledge, &list);
        assert_eq!(standing.jobs, 2);
        let aside: Vec<(&str, u32)> =
            standing.aside.iter().map(|a| (a.id.as_str(), a.count)).collect();
        assert_eq!(aside, [("dies-nozzle", 1), ("gone-id", 3), ("gone-test", 4)]);
        let none = self::standing(&knowledge, &counts(four(), &[], &[("gone-id", 3)]));
        assert_eq!(moved(&knowledge, &none, &four().engine(), &[]), knowledge);
    }

    #[test]
    fn times_told_draw_the_time_of_a_test_and_slips_do_not_run_away_with_it() {
        let knowledge = base();
        let index = knowledge.test("look-fit").expect("there");
        let from = knowledge.tests[index].cost.hands_on;
        let after = |times: u32, minutes: f64| {
            let mut list = Counts::default();
            list.took.insert("look-fit".to_owned(), Took { times, minutes });
            let standing = standing(&knowledge, &list);
            moved(&knowledge, &standing, &four().engine(), &[]).tests[index].cost.hands_on
        };
        assert!((after(4, 4.0 * 3.0 * from) - 2.0 * from).abs() < 1e-9);
        assert!((after(5, 3000.0) - FARTHEST * from).abs() < 1e-9);
    }
}
