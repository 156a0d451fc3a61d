//! What was seen: findings, and verdicts on work in words, which count only where no numbers were taken.
//!
//! It must not judge what an outcome means.

use super::Walk;
use crate::job::read::touch::{Handling, Touched};
use crate::job::timeline::{Disturbance, Finding, ReadingSet, Touch, Verdict};
use crate::knowledge::{CANNOT, RunningPoint, Scope, Test};
use measure::engine::Cylinder;
use measure::units::Cost;

impl Walk<'_> {
    /// A finding that came with a log: nothing was done for it, and nothing disturbed.
    pub(super) fn logged(
        &mut self,
        number: usize,
        test_id: &str,
        outcome_id: &str,
        cylinder: Cylinder,
    ) {
        let known = self.knowledge.test(test_id).and_then(|test| {
            let outcomes = &self.knowledge.tests[test].outcomes;
            Some((test, outcomes.iter().position(|outcome| outcome.id == outcome_id)?))
        });
        let Some((test, outcome)) = known else {
            self.timeline.unknown.push((number, format!("{test_id} {outcome_id}")));
            return;
        };
        self.note(number, (test, outcome), (Some(cylinder), None), None);
    }

    /// Keeps what was seen, with who was where just then.
    fn note(
        &mut self,
        entry: usize,
        (test, outcome): (usize, usize),
        (cylinder, partner): (Option<Cylinder>, Option<Cylinder>),
        at: Option<RunningPoint>,
    ) {
        self.timeline.findings.push(Finding {
            entry,
            test,
            outcome,
            cylinder,
            partner,
            at,
            arrangement: self.timeline.arrangement.clone(),
            after: self.timeline.disturbances.len(),
        });
    }

    /// An outcome of a test that somebody did, or that it cannot be done here.
    pub(super) fn found(
        &mut self,
        number: usize,
        test_id: &str,
        outcome_id: &str,
        (cylinder, partner): (Option<Cylinder>, Option<Cylinder>),
        at: Option<RunningPoint>,
    ) -> Cost {
        let knowledge = self.knowledge;
        let Some(test) = knowledge.test(test_id) else {
            self.timeline.unknown.push((number, test_id.to_owned()));
            return Cost::default();
        };
        let known = &knowledge.tests[test];
        let cannot = outcome_id == CANNOT;
        if cannot && !self.timeline.barred.contains(&test) {
            self.timeline.barred.push(test);
        }
        if cannot && known.outcomes.iter().all(|o| o.id != CANNOT) {
            return Cost::default();
        }
        let Some(outcome) = known.outcomes.iter().position(|o| o.id == outcome_id) else {
            let id = format!("{test_id} {outcome_id}");
            self.timeline.unknown.push((number, id));
            return Cost::default();
        };
        if known.kind.follows_seats() {
            return self.verdict(number, test, outcome, cylinder, partner);
        }
        let cost = self.perform(known, at.filter(|_| known.at_point));
        self.note(number, (test, outcome), (cylinder, partner), at);
        // The finding is what was seen on the way in, so the disturbance comes after it.
        self.disturbed_by_looking(number, known, cylinder);
        cost
    }

    /// Seats that a test other than an exchange undoes and remakes.
    fn disturbed_by_looking(&mut self, number: usize, test: &Test, cylinder: Option<Cylinder>) {
        if test.reseats.is_empty() {
            return;
        }
        let positions: Vec<Cylinder> = match (cylinder, test.scope) {
            (Some(cylinder), _) => vec![cylinder],
            (None, Scope::Engine) => self.timeline.engine.all().collect(),
            (None, Scope::Cylinder) => return,
        };
        let mut touched = Touched::default();
        for &position in &positions {
            for &(seat, share) in &test.reseats {
                let seat_number = self.number(test.item, seat, position);
                touched.add(seat, seat_number, Touch::Reseated(share));
            }
        }
        let before = self.timeline.arrangement.clone();
        self.note_disturbance(before, Disturbance::new(number, touched.0));
    }

    /// A verdict in words: on the work it speaks of, or, when none was entered, as that work.
    fn verdict(
        &mut self,
        number: usize,
        test: usize,
        outcome: usize,
        cylinder: Option<Cylinder>,
        partner: Option<Cylinder>,
    ) -> Cost {
        let known = &self.knowledge.tests[test];
        let disturbances = &mut self.timeline.disturbances;
        let count = disturbances.len();
        let meant = disturbances.iter().enumerate().rev().find_map(|(at, d)| {
            let work = d.work.filter(|work| {
                let places = [Some(work.a), work.b];
                work.test == test
                    && cylinder.is_none_or(|c| places.contains(&Some(c)))
                    && partner.is_none_or(|p| places.contains(&Some(p)))
            })?;
            Some((at, work))
        });
        // Words already given are corrected only while nothing else has happened since.
        let meant = meant.filter(|&(at, _)| disturbances[at].verdict.is_none() || at + 1 == count);
        if let Some((at, work)) = meant {
            let odd = cylinder.unwrap_or(work.a);
            let other = [Some(work.a), work.b].into_iter().flatten().find(|&c| c != odd);
            disturbances[at].verdict = Some(Verdict {
                entry: number,
                test,
                outcome,
                cylinder: odd,
                partner: other,
                before: self.before[at].clone(),
                superseded: false,
            });
            return Cost::default();
        }
        let (Some(cylinder), Some(item)) = (cylinder, known.item) else {
            let id = format!("{} without a cylinder", known.id);
            self.timeline.unknown.push((number, id));
            return Cost::default();
        };
        let cost = self.perform(known, None);
        let before = self.timeline.arrangement.clone();
        let handling = Handling::of(known);
        // Only an exchange with a named partner changes who is where; one without is taken as
        // put back when it had been read.
        let with = partner.filter(|_| !known.moves.is_empty());
        self.disturb(number, Some(test), item, handling, cylinder, with);
        if let Some(disturbance) = self.timeline.disturbances.last_mut() {
            disturbance.verdict = Some(Verdict {
                entry: number,
                test,
                outcome,
                cylinder,
                partner,
                before,
                superseded: false,
            });
        }
        cost
    }

    /// Words are not used where numbers were taken on both sides: before the work, and after it
    /// before anything else was touched.
    pub(super) fn mark_superseded(&mut self) {
        let sets = &self.timeline.sets;
        for (index, disturbance) in self.timeline.disturbances.iter_mut().enumerate() {
            let Some(verdict) = &mut disturbance.verdict else {
                continue;
            };
            verdict.superseded = sets.iter().any(|before| {
                before.after <= index
                    && sets.iter().any(|after| {
                        after.after == index + 1 && after.site == before.site && {
                            // A cold set answers nothing about an oddness seen running.
                            let cold = |set: &ReadingSet| set.at.is_cold();
                            cold(before) == cold(after) && numbers(before) && numbers(after)
                        }
                    })
            });
        }
    }
}

/// Whether a set has numbers to compare.
fn numbers(set: &ReadingSet) -> bool {
    set.readings.iter().any(|r| r.middle().is_some())
}
