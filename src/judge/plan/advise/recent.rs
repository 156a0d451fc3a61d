//! The look that recent work asks for.
//!
//! Who complains of a display since something was worked on wants to hear of that work. While the display stands as
//! it did, no job is left before something spoke for or against each cause that the work made likelier there. It
//! must not say how likely that is.

use crate::diagnosis::{CauseRef, Fault};
use crate::plan::actions::Cure;
use crate::plan::advice::Step;

use super::Desk;

/// Share of a row that must lie elsewhere than in a sound engine's for the test to speak to a cause (common
/// practice, no source).
const SPEAKS: f64 = 0.3;
/// Factor by which work makes a cause likelier from which it is asked after (common practice, no source).
const LIKELIER: f64 = 2.0;

impl Desk<'_, '_> {
    /// The look that tells most for its time about what recent work made likelier on the display complained of, of
    /// which nothing spoke yet.
    pub(super) fn look_for_recent_work(&self) -> Option<Step> {
        if !self.ends.complaint_stands {
            return None;
        }
        let problem = &self.choices.problem;
        let unheard: Vec<Vec<Fault>> =
            problem.cures.iter().map(|cures| self.raised_and_unheard(cures)).collect();
        let raised =
            || problem.belief.iter().zip(&unheard).map(|(p, faults)| (p, !faults.is_empty()));
        let some: f64 = raised().filter(|(_, raised)| *raised).map(|(p, _)| p).sum();
        if some <= 0.0 || some >= 1.0 {
            return None;
        }
        let share = |raised| if raised { 0.5 / some } else { 0.5 / (1.0 - some) };
        let even: Vec<f64> = raised().map(|(p, raised)| p * share(raised)).collect();
        self.best_look(|p, doing| {
            let Step::Test { test, cylinder, .. } = self.choices.options[p].step else {
                return None;
            };
            let asked = |fault: &Fault| {
                (cylinder.is_none() || fault.place.cylinder() == cylinder)
                    && self.speaks(test, *fault)
            };
            let speaks = unheard.iter().flatten().any(asked);
            let rate = self.bits(p, &even) / doing.total.max(1.0);
            (speaks && self.is_affordable(doing)).then_some(rate)
        })
    }

    /// What some cures are for that recent work made likelier, and of which nothing spoke yet.
    fn raised_and_unheard(&self, cures: &[usize]) -> Vec<Fault> {
        let faults = cures.iter().flat_map(|&cure| match &self.choices.cures[cure] {
            Cure::Remedy(faults) => &faults[..],
            _ => &[],
        });
        faults.copied().filter(|&fault| self.is_raised(fault) && !self.spoken_to(fault)).collect()
    }

    /// Whether recent work made a cause likelier, on a cylinder that the complaint is about.
    fn is_raised(&self, fault: Fault) -> bool {
        let timeline = self.diagnosis.model.timeline;
        let CauseRef::Listed(cause) = fault.cause else { return false };
        let known = &self.knowledge().causes[cause];
        let mut factors = timeline.recent.iter().filter_map(|flag| known.recent.get(flag));
        let by_work = factors.any(|factor| *factor >= LIKELIER);
        let concerned = fault.place.cylinders(&timeline.engine);
        by_work && concerned.iter().any(|cylinder| timeline.concerned().contains(cylinder))
    }

    /// Whether a look there spoke for or against a cause.
    fn spoken_to(&self, fault: Fault) -> bool {
        let findings = &self.diagnosis.model.timeline.findings;
        findings.iter().any(|found| {
            let there = found.cylinder.is_none_or(|at| fault.place.cylinder() == Some(at));
            there && self.speaks(found.test, fault)
        })
    }

    /// Whether a test shows a cause otherwise than a sound engine.
    fn speaks(&self, test: usize, fault: Fault) -> bool {
        let CauseRef::Listed(cause) = fault.cause else { return false };
        let test = &self.knowledge().tests[test];
        // What is asked of the past is no look.
        let row = test.given.get(&cause).filter(|_| !test.past);
        row.is_some_and(|row| {
            let apart = row.iter().zip(&test.default).map(|(own, sound)| (own - sound).max(0.0));
            apart.sum::<f64>() >= SPEAKS
        })
    }
}
