//! Whether the recommendation would be another if the figures it rests on were off.
//!
//! One figure at a time: how common a cause is, and how likely it makes an outcome of the
//! recommended test. One step of look-ahead decides; nothing here may change the recommendation.

use std::collections::BTreeSet;

use crate::diagnosis::CauseRef;
use crate::plan::actions::Cure;
use crate::plan::advice::{Assumption, Choice, Lean};
use crate::plan::problem::{Price, Probe};
use crate::plan::value::{Begin, Planner};

use super::Desk;

/// Causes that are doubted, the likeliest.
const CAUSES: usize = 6;
/// How far off a figure is taken to be: a prior, and the odds of an outcome.
const FACTORS: [f64; 2] = [0.5, 2.0];
/// Share by which another step must have become better, more than it was, to be a change: what
/// one step of look-ahead cannot see.
const CHANGE: f64 = 1.05;

impl Desk<'_, '_> {
    /// What each doubt would do to the recommendation.
    pub(super) fn leans(&self, best: &Choice, others: &[Choice]) -> Vec<Lean> {
        let Some(own) = self.begin_of(best) else { return Vec::new() };
        let rivals: Vec<Begin> = others.iter().filter_map(|c| self.begin_of(c)).collect();
        let base = self.over_the_best(&self.planner, own, &rivals, self.belief()).0.max(1.0);
        let mut leans = Vec::new();
        let causes = self.leading_causes();
        for &cause in &causes {
            for factor in FACTORS {
                let belief: Vec<f64> =
                    self.belief()
                        .iter()
                        .zip(&self.choices.cases)
                        .map(|(p, case)| {
                            if case.faults.iter().any(|f| f.cause == cause) {
                                p * factor
                            } else {
                                *p
                            }
                        })
                        .collect();
                let found = self.over_the_best(&self.planner, own, &rivals, &belief);
                leans.push(self.lean(Assumption::Prior(cause), factor, found, base));
            }
        }
        if let Begin::Probe(probe) = own {
            self.doubt_rows(probe, &rivals, &causes, base, &mut leans);
        }
        leans
    }

    fn doubt_rows(
        &self,
        probe: usize,
        rivals: &[Begin],
        causes: &[CauseRef],
        base: f64,
        leans: &mut Vec<Lean>,
    ) {
        let problem = &self.choices.problem;
        // The rivals do not change with the rows of this test.
        let rival = self.least(&self.planner, rivals, self.belief());
        let mut alone = problem.clone();
        alone.probes = vec![problem.probes[probe].clone()];
        for &cause in causes {
            let concerned: Vec<usize> = (0..self.choices.cases.len())
                .filter(|&c| self.choices.cases[c].faults.iter().any(|f| f.cause == cause))
                .collect();
            for outcome in 0..problem.probes[probe].rows.len() {
                // What a cause does not change is not a figure of its own.
                for factor in FACTORS {
                    doubt(&mut alone.probes[0], outcome, &concerned, factor);
                    let value = Planner::new(&alone).one_step(self.belief(), self.now(), 0).total;
                    alone.probes[0].clone_from(&problem.probes[probe]);
                    let (id, text) = self.choices.options[probe].outcomes[outcome].clone();
                    let assumption = Assumption::Row { cause, id, text };
                    let found = (value / rival.0, rival.1, value - rival.0);
                    leans.push(self.lean(assumption, factor, found, base));
                }
            }
        }
    }

    fn lean(
        &self,
        assumption: Assumption,
        factor: f64,
        (ratio, rival, minutes): (f64, Option<Begin>, f64),
        base: f64,
    ) -> Lean {
        let instead = (ratio > base * CHANGE).then_some(rival).flatten().map(|begin| match begin {
            Begin::Probe(probe) => self.choices.options[probe].step,
            Begin::Repair(repair) => self.repair_step(repair),
        });
        Lean { assumption, factor, instead, minutes }
    }

    /// Price over that of the best rival, which that is, and the difference in minutes.
    fn over_the_best(
        &self,
        planner: &Planner<'_>,
        own: Begin,
        rivals: &[Begin],
        belief: &[f64],
    ) -> (f64, Option<Begin>, f64) {
        let value = self.price_of(planner, own, belief).total;
        let (least, rival) = self.least(planner, rivals, belief);
        (value / least, rival, value - least)
    }

    fn least(
        &self,
        planner: &Planner<'_>,
        rivals: &[Begin],
        belief: &[f64],
    ) -> (f64, Option<Begin>) {
        let mut least = (f64::INFINITY, None);
        for &rival in rivals {
            let price = self.price_of(planner, rival, belief).total;
            if price < least.0 {
                least = (price, Some(rival));
            }
        }
        least
    }

    fn price_of(&self, planner: &Planner<'_>, begin: Begin, belief: &[f64]) -> Price {
        match begin {
            Begin::Probe(probe) => planner.one_step(belief, self.now(), probe),
            Begin::Repair(repair) => {
                let problem = planner.problem();
                let work = &problem.repairs[repair];
                let (ready, at) = problem.world.ready(self.now(), &work.needs);
                let sum: f64 = belief.iter().sum();
                let ended = |cures: &[usize]| cures == [repair];
                let left: Vec<f64> = belief
                    .iter()
                    .zip(&problem.cures)
                    .map(|(p, cures)| if ended(cures) { 0.0 } else { *p })
                    .collect();
                let rest = left.iter().sum::<f64>() / sum;
                let after = planner.stop(&left, problem.world.verified(at));
                ready + work.price + after.times(rest)
            }
        }
    }

    fn begin_of(&self, choice: &Choice) -> Option<Begin> {
        let probe = self.choices.options.iter().position(|o| o.step == choice.step);
        let repair = || {
            (0..self.choices.cures.len()).find(|&r| {
                matches!(self.choices.cures[r], Cure::Remedy(_) | Cure::Record)
                    && self.repair_step(r) == choice.step
            })
        };
        probe.map(Begin::Probe).or_else(|| repair().map(Begin::Repair))
    }

    fn leading_causes(&self) -> Vec<CauseRef> {
        let mut seen = BTreeSet::new();
        let suspects = self.diagnosis.assessment.suspects.iter().map(|s| s.fault.cause);
        suspects.filter(|cause| seen.insert(*cause)).take(CAUSES).collect()
    }
}

/// Multiplies the odds of an outcome in some cases, the others making room.
fn doubt(probe: &mut Probe, outcome: usize, cases: &[usize], factor: f64) {
    for &case in cases {
        let chance = probe.rows[outcome][case];
        let other = chance * factor / (1.0 - chance + chance * factor);
        let room = if chance < 1.0 { (1.0 - other) / (1.0 - chance) } else { 1.0 };
        for (index, row) in probe.rows.iter_mut().enumerate() {
            row[case] = if index == outcome { other } else { row[case] * room };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::doubt;
    use crate::plan::problem::{Needs, Price, Probe};

    #[test]
    fn doubling_the_odds_of_an_outcome_leaves_a_row_of_chances() {
        let mut probe = Probe {
            price: Price::default(),
            needs: Needs::nothing(),
            leaves: None,
            opens: 0,
            rows: vec![vec![0.5, 0.2], vec![0.3, 0.2], vec![0.2, 0.6]],
            held_back: None,
        };
        doubt(&mut probe, 0, &[0], 2.0);
        let column: Vec<f64> = probe.rows.iter().map(|row| row[0]).collect();
        assert!((column[0] - 2.0 / 3.0).abs() < 1e-12);
        assert!((column.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!((column[1] / column[2] - 1.5).abs() < 1e-12);
        assert!((probe.rows[0][1] - 0.2).abs() < 1e-12);
    }
}
