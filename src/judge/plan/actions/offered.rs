//! A test as steps that can be chosen, each with what it would show and what it costs.
//!
//! A look at the running engine is a step of its own wherever it shows something else: what misses at full load is
//! not seen at idle. It must not say which of them is worth doing, nor whether it may be done.

use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, RunningPoint, Test, TestKind};
use measure::engine::Cylinder;
use measure::units::Cost;

use super::chain;
use super::readings::cautions_at;
use super::rows::{Now, Numbers, by_handling, by_table, tells_nothing};
use super::setups::needs;
use super::{Choosable, price};
use crate::plan::advice::Step;
use crate::plan::cases::Case;
use crate::plan::guard;
use crate::plan::problem::{Price, Probe};

/// The steps that a test by index is on a cylinder, with another one; none where it tells nothing.
pub(super) fn offered(
    now: &Now<'_, '_>,
    cases: &[Case],
    (index, cylinder, partner): (usize, Option<Cylinder>, Option<Cylinder>),
    numbers: Option<&Numbers>,
) -> Vec<(Choosable, Probe)> {
    let model = &now.diagnosis.model;
    let knowledge = model.knowledge;
    let test = &knowledge.tests[index];
    let by_hand = test.kind.follows_seats();
    let mut list: Vec<(Choosable, Probe)> = Vec::new();
    for at in places_to_run(model.timeline, test) {
        let looks = model.looks_of(index, cylinder, at.filter(|_| test.at_point));
        let rows = if by_hand {
            by_handling(now, cases, index, cylinder.unwrap_or(1), partner, numbers)
        } else {
            by_table(now, cases, &looks)
        };
        // At a point where it shows no more than at a gentler one it is not done.
        if tells_nothing(&rows) || list.iter().any(|(_, probe)| probe.rows == rows) {
            continue;
        }
        let outcomes = test.outcomes.iter().map(|o| (o.id.clone(), o.text.clone()));
        let there = at.map(|at| [at.thermal]);
        let states = there.as_ref().map_or(&test.states[..], |there| &there[..]);
        let option = Choosable {
            step: Step::Test { test: index, cylinder, partner, at },
            outcomes: outcomes.collect(),
            own: test.cost,
            cautions: cautions(knowledge, test, at),
            again: !by_hand && looks.seen_before(),
        };
        let probe = Probe {
            price: price(knowledge, test.cost)
                + price(knowledge, follows(knowledge, test))
                + Price { total: knowledge.constants.by_the_way, hands_on: 0.0 },
            needs: needs(states, &test.access, &knowledge.access, partner.is_some()),
            leaves: test.leaves.map(|state| state as usize),
            opens: 0,
            rows,
            held_back: guard::waits_for_the_chain(test).then(|| chain::place(cylinder)),
        };
        list.push((option, probe));
    }
    list
}

/// Where the engine runs during a test: each point where it can be done, if what it shows belongs to one, and
/// the one point that it must be done at; else it makes no difference.
fn places_to_run(timeline: &Timeline, test: &Test) -> Vec<Option<RunningPoint>> {
    let points = timeline.points_of(test);
    let at_one = points.len() == 1 && test.states.len() == 1;
    if !test.kind.follows_seats() && !points.is_empty() && (test.at_point || at_one) {
        points.into_iter().map(Some).collect()
    } else {
        vec![None]
    }
}

/// Cautions of a test, and of running where it is done.
fn cautions(knowledge: &Knowledge, test: &Test, at: Option<RunningPoint>) -> Vec<usize> {
    let mut list = test.cautions.clone();
    for caution in at.map(|at| cautions_at(knowledge, at)).unwrap_or_default() {
        if !list.contains(&caution) {
            list.push(caution);
        }
    }
    list
}

/// What comes after work on seats before it has told anything: the readings, and of an exchange the
/// way home, which undoes what was done (half its own time: nothing has to be found out).
fn follows(knowledge: &Knowledge, test: &Test) -> Cost {
    let mut cost = Cost::default();
    if test.kind.follows_seats() {
        cost = cost + knowledge.constants.readings;
    }
    if test.kind == TestKind::Exchange {
        cost.hands_on += test.cost.hands_on / 2.0;
    }
    cost
}
