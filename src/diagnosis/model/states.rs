//! What kind of thing each display showed: a number, an open circuit, one that does not move.
//!
//! Two causes on one display act independently. It must not look at the numbers themselves.

use crate::engine::{Cylinder, RunningPoint};
use crate::job::entry::Reading;
use crate::knowledge::StateChances;

use super::display::active;
use super::{Candidate, Model, Part};
use crate::diagnosis::path::MOST;
use crate::diagnosis::result::CauseRef;

impl Model<'_> {
    /// Log chance of what kind of thing each display showed.
    pub(crate) fn log_states(&self, parts: &[Part]) -> f64 {
        let renamings = self.renamings(parts);
        let mut log = self.usual_states;
        let mut changed: Vec<(Cylinder, StateChances)> = Vec::new();
        for (index, set) in self.timeline.sets.iter().enumerate() {
            let slot = set.after.min(MOST);
            for part in parts.iter().filter(|part| part.presence >> slot & 1 == 1) {
                let candidate = &self.candidates[part.candidate];
                let Some(own) = self.own_states(candidate, index) else {
                    continue;
                };
                let active = active(&renamings, slot);
                for &display in self.displays_in(part.candidate, index, &active).iter() {
                    match changed.iter_mut().find(|(d, _)| *d == display) {
                        Some((_, chances)) => *chances = either(*chances, own),
                        None => changed.push((display, either(self.usual(), own))),
                    }
                }
            }
            for (display, chances) in changed.drain(..).filter(|(d, _)| self.hidden != Some(*d)) {
                let reading = set.readings[usize::from(display) - 1];
                log += (chance_of(reading, chances) / chance_of(reading, self.usual())).ln();
            }
        }
        log
    }

    fn usual(&self) -> StateChances {
        self.knowledge.constants.usual_states
    }

    /// Log chance of the states shown when no display is at fault.
    pub(super) fn prepare_states(&mut self) {
        let shown = self.timeline.sets.iter().flat_map(|set| (1..).zip(&set.readings));
        self.usual_states = shown
            .filter(|(display, _)| self.hidden != Some(*display))
            .map(|(_, reading)| chance_of(*reading, self.usual()).ln())
            .sum();
    }

    /// A candidate's own chances of display states in a set, if they differ from the usual.
    fn own_states(&self, candidate: &Candidate, set: usize) -> Option<StateChances> {
        let set = &self.timeline.sets[set];
        if candidate.fault.cause.is_measuring(self.knowledge)
            && set.site != self.timeline.engine.probes
        {
            return None;
        }
        let CauseRef::Listed(index) = candidate.fault.cause else {
            return None;
        };
        let cause = &self.knowledge.causes[index];
        match set.at {
            RunningPoint::ColdSoak => cause.states_cold,
            _ => cause.states_running,
        }
    }
}

/// Chances where two causes act on one display: independent.
fn either(a: StateChances, b: StateChances) -> StateChances {
    let or = |a: f64, b: f64| 1.0 - (1.0 - a) * (1.0 - b);
    let sum = StateChances {
        open: or(a.open, b.open),
        stuck: or(a.stuck, b.stuck),
        falling: or(a.falling, b.falling),
        erratic: or(a.erratic, b.erratic),
    };
    let total = sum.open + sum.stuck + sum.falling + sum.erratic;
    let most = 0.99;
    let scale = if total > most { most / total } else { 1.0 };
    StateChances {
        open: scale * sum.open,
        stuck: scale * sum.stuck,
        falling: scale * sum.falling,
        erratic: scale * sum.erratic,
    }
}

/// Chance of what a display showed.
fn chance_of(reading: Reading, chances: StateChances) -> f64 {
    let chance = match reading {
        Reading::Open => chances.open,
        Reading::Stuck => chances.stuck,
        Reading::Falling => chances.falling,
        Reading::Erratic { .. } => chances.erratic,
        Reading::Degrees(_) => {
            1.0 - chances.open - chances.stuck - chances.falling - chances.erratic
        }
    };
    // One misjudged state must not rule a cause out.
    chance.max(5e-4)
}
