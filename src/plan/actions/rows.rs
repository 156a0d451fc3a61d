//! How probable each outcome of a test is under each hypothesis.
//!
//! Outcome tables come from the diagnosis as they are; exchanges, re-seats and substitutions
//! follow from the seats. It must not price anything.

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::model::{arranged, chances, verdict_row};
use crate::engine::Cylinder;
use crate::job::read::would_touch;
use crate::job::timeline::Disturbance;
use crate::knowledge::{Item, Test};
use crate::plan::cases::Case;

/// Chances of the outcomes under each kept hypothesis: `[outcome][hypothesis]`.
pub(super) fn rows(
    diagnosis: &Diagnosis<'_>,
    cases: &[Case],
    index: usize,
    test: &Test,
    cylinder: Option<Cylinder>,
    partner: Option<Cylinder>,
) -> Vec<Vec<f64>> {
    let of = |case: &Case| {
        if test.kind.follows_seats() {
            let at = cylinder.unwrap_or(1);
            handling_row(diagnosis, case, index, at, partner)
        } else {
            let timeline = diagnosis.model.timeline;
            let there = case.candidates.iter().zip(&case.present).filter(|(_, p)| **p >= 0.5);
            let candidates = there.map(|(c, _)| *c);
            diagnosis.model.outcome_row(candidates, test, cylinder, &timeline.arrangement)
        }
    };
    transpose(&cases.iter().map(of).collect::<Vec<_>>(), test.outcomes.len())
}

/// Turns `[hypothesis][outcome]` into `[outcome][hypothesis]`.
pub(crate) fn transpose(by_hypothesis: &[Vec<f64>], outcomes: usize) -> Vec<Vec<f64>> {
    (0..outcomes).map(|o| by_hypothesis.iter().map(|row| row[o]).collect()).collect()
}

/// An exchange, re-seat or substitution: what would be said of it, from the seats.
fn handling_row(
    diagnosis: &Diagnosis<'_>,
    case: &Case,
    index: usize,
    cylinder: Cylinder,
    partner: Option<Cylinder>,
) -> Vec<f64> {
    let model = &diagnosis.model;
    let (knowledge, timeline) = (model.knowledge, model.timeline);
    let test = &knowledge.tests[index];
    let before = &timeline.arrangement;
    let after = arranged(before, &timeline.engine, test, cylinder, partner);
    let disturbance = Disturbance {
        entry: 0,
        touched: would_touch(knowledge, timeline, index, cylinder, partner),
        remedied: None,
        verdict: None,
        work: None,
    };
    let here = match test.item {
        Some(Item::LeadAtBox) => cylinder,
        _ => before.display_of(cylinder),
    };
    // Each fault stays or is cured, independently.
    let mut cases: Vec<(f64, bool, bool, bool)> = vec![(1.0, false, false, false)];
    for (&c, &there) in case.candidates.iter().zip(&case.present) {
        if there < 0.5 {
            continue;
        }
        let candidate = &model.candidates[c];
        let cure = chances(
            knowledge,
            timeline,
            candidate.fault,
            candidate.seat,
            &candidate.numbers,
            &disturbance,
        )
        .cure;
        let shown = model.displays(candidate, before, &[]);
        let then = model.displays(candidate, &after, &[]);
        cases = cases
            .into_iter()
            .flat_map(|(p, had, stays, elsewhere)| {
                let had = had || shown.contains(&here);
                let now = (
                    p * (1.0 - cure),
                    had,
                    stays || then.contains(&here),
                    elsewhere || then.iter().any(|d| *d != here && !shown.contains(d)),
                );
                [(p * cure, had, stays, elsewhere), now]
            })
            .collect();
    }
    let mut row = vec![0.0; test.outcomes.len()];
    for (p, had, stays, elsewhere) in cases {
        let seen = had.then_some((stays, elsewhere));
        for (to, from) in row.iter_mut().zip(verdict_row(seen, test)) {
            *to += p * from;
        }
    }
    row
}

/// Whether all hypotheses give every outcome the same chance.
pub(super) fn tells_nothing(rows: &[Vec<f64>]) -> bool {
    rows.iter().all(|row| {
        let (low, high) = row.iter().fold((1.0_f64, 0.0_f64), |(l, h), p| (l.min(*p), h.max(*p)));
        high - low < 1e-6
    })
}
