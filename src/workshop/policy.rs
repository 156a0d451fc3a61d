//! Ways of going about a job, from a fixed list of parts to this program's advice.
//!
//! Each says what to do next from what a mechanic can know: complaint, readings, what was seen, and the
//! knowledge base. Only the oracle looks at what is truly there. None of them does anything itself.

use measure::named_enum;

use super::act::{Act, Verdict};
use super::human::Human;
use super::list::{after_compression, cheapest_first, parts_first};
use super::mechanic::looks_normal;
use super::world::{Shown, World};

named_enum! {
    /// A way of going about a job.
    Policy, "policy" {
        /// A fixed list: injector, plug, high-tension lead, coil, compression, then probes.
        PartsFirst = "parts-first",
        /// Cheap looks at the measuring chain, a few at the engine, then work by likelihood.
        Human = "human",
        /// Every remedy that applies, the cheapest first.
        Cheapest = "cheapest",
        /// What this program advises.
        Plan = "plan",
        /// Knows what is the matter.
        Oracle = "oracle",
    }
}

impl Policy {
    /// What the way is, in a few words.
    #[must_use]
    pub fn what(self) -> &'static str {
        match self {
            Self::PartsFirst => "parts first, fixed list",
            Self::Human => "a sensible mechanic",
            Self::Cheapest => "cheapest remedy first",
            Self::Plan => "this program",
            Self::Oracle => "knows the cause",
        }
    }

    /// Acts after which a job counts as never ending: lists end by themselves, the program must.
    #[must_use]
    pub fn patience(self) -> usize {
        match self {
            Self::Plan => 45,
            _ => 250,
        }
    }
}

/// What somebody without the program remembers from act to act.
#[derive(Debug, Clone, Default)]
pub(super) struct Memory {
    /// Acts of a list that are left, last first.
    list: Option<Vec<Act>>,
    human: Human,
    /// Work was done and not yet read.
    unread: bool,
    /// It was read once more before anything was touched.
    looked: bool,
    /// Readings that looked normal, one after the other.
    normal: u32,
}

/// Readings that must look normal, one after the other, before a job is closed: what comes and goes may rest.
const NORMAL: u32 = 2;

impl Memory {
    /// What is done next.
    pub(super) fn next(&mut self, policy: Policy, world: &World<'_>) -> Act {
        let read = Act::Read { at: world.known.points.of(world.job.said.at) };
        if std::mem::take(&mut self.unread) {
            return read;
        }
        if policy == Policy::Oracle {
            return self.oracle(world);
        }
        // Anyone reads twice before reaching for a spanner.
        if !std::mem::replace(&mut self.looked, true) {
            return read;
        }
        if looks_normal(world) {
            self.normal += 1;
            if self.normal < NORMAL {
                return read;
            }
            return Act::Stop(if world.remedied() { Verdict::Unproven } else { Verdict::Normal });
        }
        self.normal = 0;
        let next = if policy == Policy::Human {
            self.human.next(world)
        } else {
            let list = self.list.get_or_insert_with(|| match policy {
                Policy::Cheapest => cheapest_first(world),
                _ => parts_first(world),
            });
            list.pop().unwrap_or(Act::Search)
        };
        self.unread = matches!(next, Act::Remedy { .. });
        next
    }

    /// Takes note of what an act showed.
    pub(super) fn note(&mut self, world: &World<'_>, act: Act, shown: &Shown) {
        self.human.note(act, shown);
        if let Some(list) = &mut self.list {
            list.extend(after_compression(world, act, shown));
        }
    }

    fn oracle(&mut self, world: &World<'_>) -> Act {
        let left = world.job.faults.iter().zip(&world.gone).find(|(_, gone)| gone.is_none());
        match left {
            None if world.remedied() => Act::Stop(Verdict::Proven),
            None => Act::Stop(Verdict::Normal),
            Some((fault, _)) => {
                self.unread = true;
                match fault.trouble.cause {
                    Some(cause) => Act::Remedy { cause, place: fault.trouble.place },
                    None => Act::Search,
                }
            }
        }
    }
}
