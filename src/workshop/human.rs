//! A sensible mechanic without a program: cheap looks at the measuring chain, a few at the engine, then work
//! by likelihood.
//!
//! He knows how common causes are, to which side they move a display and what a look means, as the
//! knowledge base has it, and weighs by rules of thumb. He must not know what is the matter.

use std::collections::BTreeSet;

use facts::knowledge::{Cause, PlaceKind, Scope, Test};
use measure::engine::{Cylinder, Place, ProbeSite};

use super::act::{Act, places};
use super::mechanic::{odd, oddest};
use super::world::{Shown, World};

/// Minutes of labour up to which a look is cheap, and how many are done at the chain and at the engine
/// (assumed).
const CHEAP: f64 = 8.0;
const CHAIN_LOOKS: usize = 6;
const ENGINE_LOOKS: usize = 4;
/// Minutes from which work waits until a look has spoken for it (assumed).
const DEAR: f64 = 120.0;
/// Work that is tried before the long search (assumed).
const TRIES: usize = 8;
/// What a look is worth that speaks for a cause, that speaks for others, and that is silent where the
/// cause would speak (assumed).
const FOR: f64 = 5.0;
const AGAINST: f64 = 0.5;
const SILENT: f64 = 0.3;
/// What the side of the difference is worth: as the cause moves it, and not (assumed).
const SIDE: [f64; 2] = [1.5, 0.3];
/// What a display without a number is worth for causes that take the number away, and for others.
const NUMBER: [f64; 2] = [20.0, 0.1];

/// What he remembers.
#[derive(Debug, Clone, Default)]
pub(super) struct Human {
    looks: Option<Vec<Act>>,
    seen: Vec<(usize, usize)>,
    tried: BTreeSet<(String, Place)>,
}

impl Human {
    /// What he does next, given readings that do not look normal.
    pub(super) fn next(&mut self, world: &World<'_>) -> Act {
        let cylinder = odd(world);
        let looks = self.looks.get_or_insert_with(|| looks(world, cylinder));
        if let Some(look) = looks.pop() {
            return look;
        }
        if self.tried.len() >= TRIES {
            return Act::Search;
        }
        let best = self.ranked(world, cylinder);
        let Some((cause, place)) = best else { return Act::Search };
        let work =
            world.known.causes[cause].remedy.as_ref().map_or("", |remedy| remedy.id.as_str());
        self.tried.insert((work.to_owned(), place));
        Act::Remedy { cause, place }
    }

    /// Takes note of what a look showed.
    pub(super) fn note(&mut self, act: Act, shown: &Shown) {
        if let (Act::Test { test, .. }, Shown::Outcome(outcome)) = (act, shown) {
            self.seen.push((test, *outcome));
        }
    }

    /// The likeliest cause whose work was not tried.
    fn ranked(&self, world: &World<'_>, cylinder: Cylinder) -> Option<(usize, Place)> {
        let engine = &world.job.engine;
        let mut best: Option<(f64, usize, Place)> = None;
        for (index, cause) in world.known.causes.iter().enumerate() {
            let Some(remedy) = cause.remedy.as_ref().filter(|_| cause.applies.holds(engine)) else {
                continue;
            };
            let at =
                places(cause, engine).into_iter().find(|p| p.cylinders(engine).contains(&cylinder));
            let Some(place) = at else { continue };
            if self.tried.contains(&(remedy.id.clone(), place)) {
                continue;
            }
            let (signs, spoken) = self.signs(world, index);
            if remedy.cost.total(world.known.constants.rates) > DEAR && !spoken {
                continue;
            }
            let work: f64 =
                world.job.recent.iter().filter_map(|flag| cause.recent.get(flag)).product();
            // Of crossed pairs he does not know which, unless there is one only.
            let crossed = cause.place == PlaceKind::Pair && engine.cylinders > 2 && !spoken;
            let score =
                cause.weight * work * signs * side(world, cause) * if crossed { 0.2 } else { 1.0 };
            if best.is_none_or(|(most, ..)| score > most) {
                best = Some((score, index, place));
            }
        }
        best.map(|(_, cause, place)| (cause, place))
    }

    /// What the looks say of a cause, and whether any spoke for it.
    fn signs(&self, world: &World<'_>, cause: usize) -> (f64, bool) {
        let mut worth = 1.0;
        let mut spoken = false;
        for &(test, outcome) in &self.seen {
            let test = &world.known.tests[test];
            let row = test.given.get(&cause);
            let chance = row.map_or(test.default[outcome], |row| row[outcome]);
            if outcome == test.usual() {
                worth *= if chance < 0.3 { SILENT } else { 1.0 };
            } else if chance >= 0.3 {
                worth *= FOR;
                spoken = true;
            } else {
                worth *= AGAINST;
            }
        }
        (worth, spoken)
    }
}

/// What the odd display's own look says of a cause.
fn side(world: &World<'_>, cause: &Cause) -> f64 {
    let Some((_, off, _)) = oddest(world) else { return 1.0 };
    let none =
        cause.states_running.map_or(0.0, |states| states.open + states.stuck + states.falling);
    let Some(off) = off else { return NUMBER[usize::from(none < 0.5)] };
    let Some((at, _)) = world.last.as_ref() else { return 1.0 };
    let engine = &world.job.engine;
    let moves = |effect: &facts::knowledge::Effect| {
        let spread = match engine.probes {
            ProbeSite::Head => effect.head,
            ProbeSite::Exhaust => effect.exhaust.as_ref().and_then(|shifts| shifts.at(*at)),
        };
        spread.map_or(0.0, |spread| spread.mean)
    };
    let ways: Vec<f64> =
        cause.effects_on(engine).iter().map(moves).filter(|m| m.abs() >= 1.0).collect();
    if ways.is_empty() {
        return 1.0;
    }
    SIDE[usize::from(ways.iter().all(|way| way * off < 0.0))]
}

/// Cheap looks at the chain, then at the engine, the cheapest first; last in the list comes first.
fn looks(world: &World<'_>, cylinder: Cylinder) -> Vec<Act> {
    let known = world.known;
    let rates = known.constants.rates;
    let price = |test: &Test| {
        let open: f64 = test.access.iter().map(|&a| known.access[a].cost.total(rates)).sum();
        test.cost.total(rates) + open
    };
    let speaks = |test: &Test, chain: bool| {
        let usual = test.usual();
        test.given.iter().any(|(&cause, row)| {
            known.is_measuring(cause) == chain
                && row[usual] < 0.5
                && known.causes[cause].applies.holds(&world.job.engine)
        })
    };
    let mut cheap: Vec<(f64, usize)> = known
        .tests
        .iter()
        .enumerate()
        .filter(|(_, test)| {
            let look = test.item.is_none() && !test.from_readings && !test.past;
            look && !test.default.is_empty() && test.applies.holds(&world.job.engine)
        })
        .map(|(index, test)| (price(test), index))
        .filter(|(price, _)| *price <= CHEAP)
        .collect();
    cheap.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let of = |chain: bool| {
        cheap.iter().map(|(_, t)| *t).filter(move |&t| speaks(&known.tests[t], chain))
    };
    let mut list: Vec<usize> = of(true).take(CHAIN_LOOKS).collect();
    let engine: Vec<usize> = of(false).filter(|t| !list.contains(t)).take(ENGINE_LOOKS).collect();
    list.extend(engine);
    let act = |test: usize| {
        let cylinder = (known.tests[test].scope == Scope::Cylinder).then_some(cylinder);
        Act::Test { test, cylinder, partner: None, at: None }
    };
    list.into_iter().rev().map(act).collect()
}
