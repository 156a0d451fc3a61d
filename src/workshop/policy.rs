//! Ways of going about a job, from a fixed list of parts to this program's plan.
//!
//! Each says what to do next from what a mechanic can know: the journal and the knowledge base.
//! Only the oracle looks at what is truly there. None of them does anything itself.

use crate::diagnosis::{Diagnosis, Fault};
use crate::named_enum;
use crate::plan::value::{Move, Planner, after_outcome, repair};
use crate::plan::{Choices, Cure, JobEnd, Step, advise, choices};

use super::list::{SEARCH, after_compression, cheapest_first, parts_first};
use super::world::{Gone, World};

named_enum! {
    /// A way of going about a job.
    Policy, "policy" {
        /// A fixed list: injector, plug, high-tension lead, coil, compression, then probes.
        PartsFirst = "parts-first",
        /// Every remedy that applies, the cheapest first.
        Cheapest = "cheapest",
        /// Repairs by probability per cost, no tests.
        Odds = "odds",
        /// Tests by information per cost until one repair is as good as certain.
        Information = "information",
        /// One step of look-ahead.
        Myopic = "myopic",
        /// What this program advises.
        Plan = "plan",
        /// Knows what is the matter.
        Oracle = "oracle",
    }
}

impl Policy {
    /// Whether it goes by the diagnosis.
    #[must_use]
    pub fn diagnoses(self) -> bool {
        matches!(self, Self::Odds | Self::Information | Self::Myopic | Self::Plan)
    }

    /// What the policy is, in a few words.
    #[must_use]
    pub fn what(self) -> &'static str {
        match self {
            Self::PartsFirst => "parts first, fixed list",
            Self::Cheapest => "cheapest remedy first",
            Self::Odds => "odds per cost, no tests",
            Self::Information => "information per cost",
            Self::Myopic => "one step ahead",
            Self::Plan => "this program",
            Self::Oracle => "knows the cause",
        }
    }
}

/// What a policy remembers from step to step.
#[derive(Debug, Clone, Default)]
pub(super) struct Memory {
    /// Steps of a list that are left, last first.
    list: Option<Vec<Step>>,
    /// A remedy was done and not yet read.
    unread: bool,
    /// It was read once more before anything was touched.
    looked: bool,
    /// What the compression said was acted on.
    compression: bool,
}

/// Share of the belief at which a repair counts as as good as certain (of the theory page).
const CERTAIN: f64 = 0.95;
/// Bits below which a test tells nothing worth having (assumed).
const NOTHING: f64 = 0.02;

impl Memory {
    /// What a policy that does without a diagnosis does next.
    pub(super) fn without_diagnosis(&mut self, policy: Policy, world: &World<'_>) -> Step {
        if std::mem::take(&mut self.unread) {
            return verifying(world);
        }
        if policy == Policy::Oracle {
            return self.oracle(world);
        }
        // Anyone reads twice before reaching for a spanner.
        if !std::mem::replace(&mut self.looked, true) {
            return verifying(world);
        }
        if world.looks_normal() {
            return Step::End(JobEnd::Normal);
        }
        let list = self.list.get_or_insert_with(|| match policy {
            Policy::PartsFirst => parts_first(world),
            _ => cheapest_first(world),
        });
        if let Some(found) = after_compression(world)
            && !std::mem::replace(&mut self.compression, true)
        {
            list.extend(found);
        }
        let next = list.pop().unwrap_or(SEARCH);
        self.unread = matches!(next, Step::Remedy(_));
        next
    }

    fn oracle(&mut self, world: &World<'_>) -> Step {
        let left = world.job.faults.iter().zip(&world.gone);
        let left = left.filter(|(_, gone)| matches!(gone, None | Some(Gone::InPassing)));
        match left.map(|(fault, _)| fault).next() {
            None => Step::End(JobEnd::Normal),
            Some(fault) if fault.effect.passes => verifying(world),
            Some(fault) => {
                self.unread = true;
                Step::Remedy(fault.fault)
            }
        }
    }

    /// What a policy that goes by the diagnosis does next.
    pub(super) fn with_diagnosis(
        &mut self,
        policy: Policy,
        world: &World<'_>,
        diagnosis: &Diagnosis<'_>,
    ) -> Step {
        if policy == Policy::Plan {
            return advise(diagnosis).best.step;
        }
        if std::mem::take(&mut self.unread) {
            return verifying(world);
        }
        let timeline = &world.timeline;
        let slot = timeline.disturbances.len();
        let read = timeline.sets.iter().any(|set| set.after == slot);
        if timeline.disturbances.last().is_some_and(|d| d.work.is_some()) && !read {
            return verifying(world);
        }
        let remedied = timeline.disturbances.iter().any(|d| d.remedied.is_some());
        if remedied && read && world.looks_normal() {
            return Step::End(JobEnd::Normal);
        }
        let choices = choices(diagnosis);
        let problem = &choices.problem;
        let planner = Planner::new(problem);
        let all: Vec<usize> = (0..problem.probes.len()).collect();
        let probe = match policy {
            Policy::Information => most_bits_per_minute(&choices, &planner),
            Policy::Myopic => match planner.best_one_step(&problem.belief, problem.now, &all).0 {
                Move::Probe(probe) => Some(probe),
                Move::Repair => None,
            },
            _ => None,
        };
        if let Some(probe) = probe {
            return choices.options[probe].step;
        }
        let order = repair(problem, planner.prices(), &problem.belief, problem.now).order;
        let step = match order.first().map(|&r| &choices.cures[r]) {
            Some(Cure::Remedy(faults)) => likeliest(diagnosis, faults).map_or(SEARCH, Step::Remedy),
            Some(Cure::Record) => Step::End(JobEnd::Normal),
            Some(Cure::Settle | Cure::Confirm) => verifying(world),
            Some(Cure::Search) | None => SEARCH,
        };
        self.unread = matches!(step, Step::Remedy(_));
        step
    }
}

/// Reads where it was noticed.
fn verifying(world: &World<'_>) -> Step {
    Step::Verify { at: world.job.noticed_at }
}

fn likeliest(diagnosis: &Diagnosis<'_>, faults: &[Fault]) -> Option<Fault> {
    let suspects = &diagnosis.assessment.suspects;
    let of =
        |fault: &Fault| suspects.iter().find(|s| s.fault == *fault).map_or(0.0, |s| s.probability);
    faults.iter().copied().max_by(|a, b| of(a).total_cmp(&of(b)).then(b.cmp(a)))
}

/// The test that tells most per minute, unless one repair is as good as certain or none tells
/// anything.
fn most_bits_per_minute(choices: &Choices, planner: &Planner<'_>) -> Option<usize> {
    let problem = &choices.problem;
    let mut mass = vec![0.0; problem.repairs.len()];
    for (p, cures) in problem.belief.iter().zip(&problem.cures) {
        for &cure in cures {
            mass[cure] += p;
        }
    }
    if mass.into_iter().fold(0.0, f64::max) >= CERTAIN {
        return None;
    }
    (0..problem.probes.len())
        .map(|p| (bits(choices, p), p))
        .filter(|(bits, _)| *bits >= NOTHING)
        .map(|(bits, p)| (bits / planner.doing(p, problem.now).0.total.max(1.0), p))
        .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))
        .map(|(_, p)| p)
}

/// Expected bits about the case.
fn bits(choices: &Choices, probe: usize) -> f64 {
    let belief = &choices.problem.belief;
    let of_row = |row: &Vec<f64>| -> f64 {
        let (joint, sum) = after_outcome(belief, row);
        let bits = |(j, b): (&f64, &f64)| if *j > 0.0 { j * (j / (sum * b)).log2() } else { 0.0 };
        joint.iter().zip(belief).map(bits).sum()
    };
    choices.problem.probes[probe].rows.iter().map(of_row).sum()
}
