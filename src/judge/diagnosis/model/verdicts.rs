//! Verdicts in words on an exchange, a re-seat or a substitution.
//!
//! Their chances follow from where the parts were before and after. It must not look at numbers:
//! words that numbers supersede are left out.

use facts::job::arrangement::Arrangement;
use facts::job::timeline::Verdict;
use facts::knowledge::{Item, Test};
use measure::engine::{Cylinder, Engine};

use super::display::active;
use super::{Model, Part};
use crate::diagnosis::path::MOST;

impl Model<'_> {
    /// Log chance of all verdicts that no number supersedes.
    pub(super) fn log_verdicts(&self, parts: &[Part]) -> f64 {
        self.timeline
            .disturbances
            .iter()
            .enumerate()
            .filter_map(|(index, disturbance)| Some((index, disturbance.verdict.as_ref()?)))
            .filter(|(_, verdict)| !verdict.superseded)
            .map(|(index, verdict)| self.verdict_row(parts, index, verdict)[verdict.outcome].ln())
            .sum()
    }

    /// Chances of the verdicts on the disturbance with this index.
    pub(crate) fn verdict_row(
        &self,
        parts: &[Part],
        disturbance: usize,
        verdict: &Verdict,
    ) -> Vec<f64> {
        let slot = disturbance.min(MOST - 1);
        let test = &self.knowledge.tests[verdict.test];
        let engine = &self.timeline.engine;
        let after = arranged(&verdict.before, engine, test, verdict.cylinder, verdict.partner);
        let shows = |arrangement: &Arrangement, slot: usize| -> Vec<Cylinder> {
            let renamings = active(&self.renamings(parts), slot);
            parts
                .iter()
                .filter(|part| part.presence >> slot & 1 == 1)
                .flat_map(|part| {
                    self.displays(&self.candidates[part.candidate], arrangement, &renamings)
                })
                .collect()
        };
        let here = match test.item {
            Some(Item::LeadAtBox) => verdict.cylinder,
            _ => verdict.before.display_of(verdict.cylinder),
        };
        let before = shows(&verdict.before, slot);
        let now = shows(&after, slot + 1);
        let seen = if before.contains(&here) {
            Some((now.contains(&here), now.iter().any(|d| *d != here && !before.contains(d))))
        } else {
            None
        };
        verdict_row(seen, test)
    }
}

/// Chances of the verdicts in words on an exchange, re-seat or substitution.
///
/// `seen` says whether the oddness is afterwards still on its display, and whether it is on
/// another; `None` when there was none to begin with. A right eye nineteen times out of twenty
/// (common practice, no source).
pub(crate) fn verdict_row(seen: Option<(bool, bool)>, test: &Test) -> Vec<f64> {
    let (right, wrong) = (0.94, 0.02);
    let row: Vec<f64> = test
        .outcomes
        .iter()
        .map(|outcome| match (seen, outcome.id.as_str()) {
            (None, "stays") => 0.93,
            (None, "gone") => 0.03,
            (None, _) => 0.02,
            (Some((false, true)), "moved")
            | (Some((true, false)), "stays")
            | (Some((false, false)), "gone")
            | (Some((true, true)), "other") => right,
            (Some(_), _) => wrong,
        })
        .collect();
    // Where there is no other display to move to there are fewer outcomes.
    let sum: f64 = row.iter().sum();
    row.into_iter().map(|chance| chance / sum).collect()
}

/// Who is where after a test's exchange.
pub(crate) fn arranged(
    before: &Arrangement,
    engine: &Engine,
    test: &Test,
    cylinder: Cylinder,
    partner: Option<Cylinder>,
) -> Arrangement {
    let mut after = before.clone();
    if let (Some(item), false, Some(partner)) = (test.item, test.moves.is_empty(), partner) {
        after.exchange(engine, item, cylinder, partner);
    }
    after
}
