//! In which state the engine is, what is open on it, and what it costs to bring it to another.
//!
//! It must not look at readings or findings.

use super::Walk;
use crate::knowledge::{RunningPoint, Test, Thermal};
use measure::units::Cost;

impl Walk<'_> {
    /// Does a test as far as the engine's state is concerned, at a running point where that matters, and says
    /// what it cost.
    pub(super) fn perform(&mut self, test: &Test, at: Option<RunningPoint>) -> Cost {
        let there = at.map(|at| [at.thermal]);
        let setup = self
            .prepare(there.as_ref().map_or(&test.states, <[Thermal; 1]>::as_slice), &test.access);
        if let Some(state) = test.leaves {
            // The test's own time covers how it leaves the engine.
            let _ = self.arrive(state);
        }
        setup + test.cost
    }

    /// Brings the engine to one of the states, opens what must be open.
    pub(super) fn prepare(&mut self, states: &[Thermal], access: &[usize]) -> Cost {
        let now = self.timeline.thermal;
        let rates = self.knowledge.constants.rates;
        let way = |to: Thermal| self.knowledge.changes.between(now, to).total(rates);
        let to = if states.contains(&now) {
            now
        } else {
            let cheapest = states.iter().copied().min_by(|a, b| way(*a).total_cmp(&way(*b)));
            cheapest.unwrap_or(now)
        };
        let mut cost = self.arrive(to);
        for &index in access {
            if !self.timeline.open_access.contains(&index) {
                cost = cost + self.knowledge.access[index].cost;
                self.timeline.open_access.push(index);
            }
        }
        self.timeline.open_access.sort_unstable();
        cost
    }

    /// Changes the engine's state; what blocks running is closed before it runs.
    pub(super) fn arrive(&mut self, to: Thermal) -> Cost {
        let cost = self.knowledge.changes.between(self.timeline.thermal, to);
        if matches!(to, Thermal::Idle | Thermal::Cruise | Thermal::Full) {
            let access = &self.knowledge.access;
            self.timeline.open_access.retain(|&index| !access[index].blocks_running);
        }
        self.timeline.thermal = to;
        cost
    }
}
