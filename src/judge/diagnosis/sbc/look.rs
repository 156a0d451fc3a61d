//! Looks: what there is to be seen at a place, and what is reported of it.

use std::collections::BTreeMap;

use facts::job::entry::What;
use facts::knowledge::{Charge, Knowledge, Scope, Seat, Test};
use measure::engine::{Cylinder, Engine, Place};
use measure::number::real;

use super::dice::Dice;
use crate::diagnosis::prior::{Prior, Single};
use crate::diagnosis::result::{CauseRef, Fault};

/// A fault as a look finds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Found {
    pub(super) fault: Fault,
    pub(super) charge: Charge,
    /// Chance that it shows while somebody looks, by how it showed in the sets read before and after.
    pub(super) shows: f64,
}

/// Tests that only look, at nothing that the numbers say, and name no other cylinder.
pub(super) fn mere_looks(knowledge: &Knowledge, engine: &Engine) -> Vec<usize> {
    let touches = |t: &Test| !t.moves.is_empty() || !t.replaces.is_empty() || !t.reseats.is_empty();
    let mere = |t: &&Test| {
        t.applies.holds(engine)
            && !touches(t)
            && t.access.is_empty()
            && !(t.at_point || t.from_readings || t.kind.follows_seats())
            && t.outcomes.iter().all(|o| !o.partner)
            && !t.given.is_empty()
    };
    (0..knowledge.tests.len()).filter(|&t| mere(&&knowledge.tests[t])).collect()
}

/// What tests show of faults on the average: of listed ones, by how common they are at their places.
pub(super) struct Average(Vec<Vec<f64>>);

impl Average {
    pub(super) fn of(knowledge: &Knowledge, engine: &Engine, prior: &Prior) -> Self {
        let mut weight: BTreeMap<usize, f64> = BTreeMap::new();
        for Single { fault, prior, .. } in &prior.singles {
            let CauseRef::Listed(cause) = fault.cause else { continue };
            if knowledge.causes[cause].seat == Seat::Nothing {
                continue;
            }
            let places = match fault.place {
                Place::Nowhere => usize::from(engine.cylinders),
                place => place.cylinders(engine).len(),
            };
            *weight.entry(cause).or_default() += prior * real(places);
        }
        let all: f64 = weight.values().sum();
        let row = |test: &Test| {
            let chance = |outcome: usize| {
                let each = weight.iter().map(|(cause, weight)| {
                    weight * test.given.get(cause).unwrap_or(&test.default)[outcome]
                });
                each.sum::<f64>() / all
            };
            (0..test.outcomes.len()).map(chance).collect()
        };
        Self(knowledge.tests.iter().map(row).collect())
    }
}

/// Draws looks of one test at one place.
pub(super) struct Looker<'a> {
    pub(super) knowledge: &'a Knowledge,
    pub(super) engine: &'a Engine,
    pub(super) average: &'a Average,
    pub(super) test: usize,
    pub(super) cylinder: Option<Cylinder>,
    /// What there was to be seen, and with which faults.
    seen: Option<(Vec<Found>, usize)>,
}

impl<'a> Looker<'a> {
    pub(super) fn new(
        knowledge: &'a Knowledge,
        engine: &'a Engine,
        average: &'a Average,
        test: usize,
        cylinder: Cylinder,
    ) -> Self {
        let of_one = knowledge.tests[test].scope == Scope::Cylinder;
        let cylinder = of_one.then_some(cylinder);
        Self { knowledge, engine, average, test, cylinder, seen: None }
    }

    /// One look, at an engine with these faults.
    pub(super) fn look(&mut self, there: &[Found], dice: &mut Dice) -> What {
        let test = &self.knowledge.tests[self.test];
        let concerned: Vec<Found> = there.iter().copied().filter(|f| self.concerns(*f)).collect();
        let known = self.seen.as_ref().filter(|(faults, _)| *faults == concerned);
        let seen = match known {
            Some((_, seen)) => *seen,
            None => self.to_be_seen(&concerned, dice),
        };
        self.seen = Some((concerned, seen));
        let others = test.outcomes.len() - 1;
        let reported = if others > 0 && dice.chance(test.slip) {
            let other = dice.one_of(others);
            if other < seen { other } else { other + 1 }
        } else {
            seen
        };
        What::Found {
            test: test.id.clone(),
            outcome: test.outcomes[reported].id.clone(),
            cylinder: self.cylinder,
            partner: None,
        }
    }

    /// Whether the test speaks to a fault and is done where it is.
    fn concerns(&self, found: Found) -> bool {
        let test = &self.knowledge.tests[self.test];
        let spoken = match found.fault.cause {
            CauseRef::Listed(cause) => test.given.contains_key(&cause),
            CauseRef::Unlisted => true,
        };
        let here = match (self.cylinder, found.fault.place) {
            (None, _) | (_, Place::Nowhere) => true,
            (Some(cylinder), place) => place.cylinders(self.engine).contains(&cylinder),
        };
        here && (spoken || test.by_charge.contains_key(&found.charge))
    }

    /// What there is to be seen, drawn from the rows of the faults.
    fn to_be_seen(&self, concerned: &[Found], dice: &mut Dice) -> usize {
        let test = &self.knowledge.tests[self.test];
        let rows: Vec<Vec<f64>> = concerned.iter().map(|found| self.row(*found)).collect();
        let row = match rows.as_slice() {
            [] => test.default.clone(),
            [one] => one.clone(),
            several => noisy_or(&test.default, several),
        };
        dice.weighted(&row)
    }

    /// The row of a fault: doubted, and at rest mostly that of a sound engine.
    fn row(&self, found: Found) -> Vec<f64> {
        let constants = &self.knowledge.constants;
        let test = &self.knowledge.tests[self.test];
        let average = &self.average.0[self.test];
        let own = match (test.by_charge.get(&found.charge), found.fault.cause) {
            (Some(row), _) => row,
            (None, CauseRef::Listed(cause)) => &test.given[&cause],
            (None, CauseRef::Unlisted) => average,
        };
        let told = if test.sees_the_moment() { found.shows } else { 1.0 };
        let doubt = constants.row_doubt;
        let mix = |o: usize| {
            let believed = (1.0 - doubt) * own[o] + doubt * average[o];
            told * believed + (1.0 - told) * test.default[o]
        };
        (0..test.default.len()).map(mix).collect()
    }
}

/// Several faults in one table: silent where each and the leak are, else loud as the loudest of them.
fn noisy_or(default: &[f64], rows: &[Vec<f64>]) -> Vec<f64> {
    let mut silent = 0;
    for (outcome, chance) in default.iter().enumerate() {
        if *chance > default[silent] {
            silent = outcome;
        }
    }
    let broken: f64 = rows.iter().map(|row| row[silent] / default[silent]).product();
    let quiet = (default[silent] * broken).min(1.0 - 1e-9);
    let loud =
        |o: usize| default[o] + rows.iter().map(|r| (r[o] - default[o]).max(0.0)).sum::<f64>();
    let all: f64 = (0..default.len()).filter(|o| *o != silent).map(loud).sum();
    let chance = |o: usize| if o == silent { quiet } else { (1.0 - quiet) * loud(o) / all };
    (0..default.len()).map(chance).collect()
}
