//! What kind of thing each display showed: a number, a jumping one, an open circuit, one that does not
//! move, the box's own temperature.
//!
//! A sound display does none of these but by a slip of whoever reads it, and jumps by no more than
//! readings repeat. A bad contact jumps by anything, an engine by no more than a probe can follow. What a
//! fault does at one running point it mostly does there again while it shows: two looks are not two
//! witnesses. Two causes on one display act independently. It must not look at the numbers themselves.

use std::rc::Rc;

use statrs::distribution::{ContinuousCDF, Normal};

use facts::job::entry::Reading;
use facts::knowledge::{Seat, StateChances};
use measure::engine::{Cylinder, Place};
use measure::readings::outlier::median;

use super::display::active;
use super::{Candidate, Model, Part};
use crate::diagnosis::data::{Kind, OWN_TEMPERATURE, Set, repeatability};
use crate::diagnosis::result::CauseRef;

/// Chance that a state was typed or seen wrongly, so that one misjudged state does not rule a cause
/// out (common practice, no source).
const SLIP: f64 = 2e-5;

/// Share of broken loops that show the box's own temperature, where the box drives no current through
/// them that would send the display to the end of its scale (common practice, no source).
const FLOATS: f64 = 0.4;

/// Half ranges that a bad contact or pickup jumps by, °C: anything between, evenly in the logarithm.
const BROAD: (f64, f64) = (3.0, 700.0);

/// Half range that an engine makes a probe jump by, one sd, °C: a sheathed probe of a second or more
/// follows no single firing (common practice; the time constants are the probe's own).
const FOLLOWED: f64 = 25.0;

/// Repeatabilities beyond which nothing sound jumps.
const BEYOND: f64 = 6.0;

/// What something in no list does to a display.
const UNLISTED: StateChances =
    StateChances { open: 0.02, stuck: 0.02, falling: 0.01, erratic: 0.1 };

/// What a display showed, as far as that is no matter of degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Shown {
    Number,
    Open,
    Stuck,
    Falling,
    /// By this half range, °C.
    Jumping(f64),
    /// The box's own temperature.
    Floating,
}

/// What a fault makes a display show.
#[derive(Debug, Clone, Copy)]
struct Own {
    chances: StateChances,
    /// It jumps by anything.
    broad: bool,
    /// Chance that a number lies at the box's own temperature.
    cool: f64,
}

/// What the states shown know of a candidate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Told {
    /// Nothing: it makes displays do nothing but show numbers, at any point that was read.
    Nothing,
    /// At which sets it shows.
    Shows,
    /// That, and how far off its numbers are.
    Sides,
}

impl Model<'_> {
    /// What the states shown know of each candidate.
    pub(super) fn what_states_tell(&self) -> Rc<[Told]> {
        let floats = self.data.sets.iter().any(|set| set.floating.contains(&true));
        let of = |candidate: &Candidate| {
            let common = candidate.fault.place == Place::Nowhere;
            let acts = match candidate.fault.cause {
                CauseRef::Unlisted => true,
                CauseRef::Listed(index) => {
                    let cause = &self.knowledge.causes[index];
                    let at = |set: &Set| self.timeline.sets[set.index].at;
                    self.data.sets.iter().any(|set| cause.states_at(at(set)).is_some())
                }
            };
            match (floats, acts || common) {
                (true, _) => Told::Sides,
                (false, true) => Told::Shows,
                (false, false) => Told::Nothing,
            }
        };
        self.candidates.iter().map(of).collect()
    }

    /// Log chance of what kind of thing each display showed.
    pub(crate) fn log_states(&self, parts: &[Part]) -> f64 {
        let silent = |part: &Part| self.told_by_states[part.candidate] == Told::Nothing;
        if parts.iter().all(silent) {
            return self.usual_states;
        }
        // What does nothing to displays is not seen beside what does, unless it misnames them.
        let renames = |part: &Part| self.candidates[part.candidate].renaming.is_some();
        let mut telling = parts.iter().filter(|part| !silent(part) || renames(part));
        let log = match (telling.next(), telling.next(), telling.next()) {
            (Some(part), None, _) => self.log_states_by_chain(part),
            (Some(one), Some(other), None) => self.log_states_by_chains(one, other),
            _ => None,
        };
        log.unwrap_or_else(|| self.log_states_of(parts))
    }

    /// Whether the states shown know of the sides of a candidate.
    pub(super) fn states_know_sides(&self, candidate: usize) -> bool {
        self.told_by_states[candidate] == Told::Sides
    }

    /// The same set by set: slow and obvious.
    pub(crate) fn log_states_of(&self, parts: &[Part]) -> f64 {
        let renamings = self.renamings(parts);
        let mut log = self.usual_states;
        let again = self.knowledge.constants.state_again;
        let mut changed: Vec<(Cylinder, f64, f64)> = Vec::new();
        let mut last: Vec<((usize, usize, usize), Shown)> = Vec::new();
        for (index, set) in self.data.sets.iter().enumerate() {
            // What passes with time has passed when the same point is read again.
            let passed = |part: &&Part| set.again && self.candidates[part.candidate].passes;
            let acting = parts.iter().filter(|part| part.shows_in(set.slot, index));
            for part in acting.filter(|part| !passed(part)) {
                let active = active(&renamings, set.slot);
                let displays = self.displays_in(part.candidate, set.index, &active);
                for (place, &display) in displays.iter().enumerate() {
                    let shown = self.shown_by(index, display);
                    let Some(own) = self.own(part, index, display, shown) else { continue };
                    let key = (part.candidate, place, set.kind);
                    let known = last.iter_mut().find(|(k, _)| *k == key);
                    let before = known.map(|(_, last)| std::mem::replace(last, shown));
                    if before.is_none() {
                        last.push((key, shown));
                    }
                    let by = chance_after(before, shown, own, again);
                    match changed.iter_mut().find(|(d, _, _)| *d == display) {
                        Some((_, either, neither)) => {
                            *either = 1.0 - (1.0 - *either) * (1.0 - by.min(1.0));
                            *neither *= by;
                        }
                        None => changed.push((display, by, by)),
                    }
                }
            }
            for (display, either, neither) in changed.drain(..) {
                if self.hidden != Some(display) {
                    log += self.log_ratio(index, display, either, neither);
                }
            }
        }
        log + self.log_level(parts)
    }

    /// Log of how much likelier what a display showed is with the faults on it: `either` is the chance that one of
    /// them made it show that, `neither` that all of them left it a number.
    pub(super) fn log_ratio(
        &self,
        set: usize,
        display: Cylinder,
        either: f64,
        neither: f64,
    ) -> f64 {
        let shown = self.shown_by(set, display);
        let usual = self.usual_chance(set, shown);
        let chance = match shown {
            Shown::Number => usual * neither,
            _ => usual + either,
        };
        let slip = match shown {
            Shown::Jumping(half) => SLIP * broad(half),
            _ => SLIP,
        };
        (chance.max(slip) / usual).ln()
    }

    /// Log of how much likelier what a candidate's displays showed in a set is with it, after what it made them
    /// show in the set before at that point, if any; nothing where it does nothing to them.
    pub(super) fn log_states_after(&self, part: &Part, before: Option<usize>, set: usize) -> f64 {
        let displays = |set: usize| &self.shown[part.candidate][self.data.sets[set].index];
        let again = self.knowledge.constants.state_again;
        let mut log = 0.0;
        for (place, &display) in displays(set).iter().enumerate() {
            let shown = self.shown_by(set, display);
            let Some(own) = self.own(part, set, display, shown) else { continue };
            let before = before.map(|before| self.shown_by(before, displays(before)[place]));
            let by = chance_after(before, shown, own, again);
            if self.hidden != Some(display) {
                log += self.log_ratio(set, display, by, by);
            }
        }
        log
    }

    /// The chance that a candidate that shows on one display made it show what it did in a set, after what it made it
    /// show in the set before at that point, if any; `None` where it does nothing to it.
    pub(super) fn chance_after(
        &self,
        part: &Part,
        before: Option<usize>,
        set: usize,
    ) -> Option<f64> {
        let display = |set: usize| self.shown[part.candidate][self.data.sets[set].index][0];
        let shown = self.shown_by(set, display(set));
        let own = self.own(part, set, display(set), shown)?;
        let before = before.map(|before| self.shown_by(before, display(before)));
        Some(chance_after(before, shown, own, self.knowledge.constants.state_again))
    }

    /// Chance that a part, should it show, leaves its display without a number at the next look at a running
    /// point.
    pub(crate) fn silent_next(&self, part: &Part, kind: Kind) -> f64 {
        let CauseRef::Listed(index) = self.candidates[part.candidate].fault.cause else {
            return 0.0;
        };
        let cause = &self.knowledge.causes[index];
        let Some(states) = cause.states_at(kind.at) else { return 0.0 };
        let anew = states.open + states.stuck + states.falling;
        let again = self.knowledge.constants.state_again;
        let renamings = self.renamings(std::slice::from_ref(part));
        let mut looks = self.data.sets.iter().enumerate().rev().filter(|(look, set)| {
            self.data.kinds[set.kind] == kind && part.shows_in(set.slot, *look)
        });
        let last = looks.find_map(|(look, set)| {
            let active = active(&renamings, set.slot);
            let displays = self.displays_in(part.candidate, set.index, &active);
            displays.first().map(|&display| self.shown_by(look, display))
        });
        match last {
            None => anew,
            Some(Shown::Number | Shown::Jumping(_)) => (1.0 - again) * anew,
            Some(_) => again + (1.0 - again) * anew,
        }
    }

    /// Log chance of the states shown when no display is at fault.
    pub(super) fn prepare_states(&mut self) {
        let mut log = 0.0;
        for index in 0..self.data.sets.len() {
            for display in self.timeline.engine.all() {
                if self.hidden != Some(display) {
                    log += self.usual_chance(index, self.shown_by(index, display)).ln();
                }
            }
        }
        self.usual_states = log;
    }

    fn shown_by(&self, set: usize, display: Cylinder) -> Shown {
        let at = usize::from(display) - 1;
        let set = &self.data.sets[set];
        match self.timeline.sets[set.index].readings[at] {
            Reading::Open => Shown::Open,
            Reading::Stuck => Shown::Stuck,
            Reading::Falling => Shown::Falling,
            Reading::Erratic { lo, hi } => Shown::Jumping((hi.value() - lo.value()) / 2.0),
            Reading::Degrees(_) if set.floating[at] => Shown::Floating,
            Reading::Degrees(_) => Shown::Number,
        }
    }

    /// Chance of what a sound display shows; of a jump the density of its half range.
    fn usual_chance(&self, set: usize, shown: Shown) -> f64 {
        let usual = self.knowledge.constants.usual_states;
        let by = repeatability(self.knowledge, self.data.kinds[self.data.sets[set].kind]);
        let chance = match shown {
            Shown::Number => 1.0 - usual.open - usual.stuck - usual.falling - usual.erratic,
            Shown::Open | Shown::Floating => usual.open,
            Shown::Stuck => usual.stuck,
            Shown::Falling => usual.falling,
            Shown::Jumping(half) if half > BEYOND * by => SLIP * broad(half),
            Shown::Jumping(half) => usual.erratic * half_normal(half, by) + SLIP * broad(half),
        };
        chance.max(1e-12)
    }

    /// What a part does to a display's state in a set, if that differs from the usual.
    fn own(&self, part: &Part, set: usize, display: Cylinder, shown: Shown) -> Option<Own> {
        let candidate: &Candidate = &self.candidates[part.candidate];
        let CauseRef::Listed(index) = candidate.fault.cause else {
            return Some(Own { chances: UNLISTED, broad: true, cool: SLIP });
        };
        let data = &self.data.sets[set];
        let timeline_set = &self.timeline.sets[data.index];
        let measuring = candidate.fault.cause.is_measuring(self.knowledge);
        if measuring && timeline_set.site != self.timeline.engine.probes {
            return None;
        }
        let cause = &self.knowledge.causes[index];
        let chances = cause.states_at(timeline_set.at);
        if chances.is_none() && shown != Shown::Floating {
            return None;
        }
        let none = StateChances { open: 0.0, stuck: 0.0, falling: 0.0, erratic: 0.0 };
        let broad = matches!(candidate.seat, Seat::Probe | Seat::Lead | Seat::Channel);
        let cool = if shown == Shown::Floating { self.cool(part, set, display) } else { 0.0 };
        Some(Own { chances: chances.unwrap_or(none), broad, cool })
    }

    /// Chance that the number a part leads to lies at the box's own temperature.
    fn cool(&self, part: &Part, set: usize, display: Cylinder) -> f64 {
        let data = &self.data.sets[set];
        let moments = self.moments_of(part);
        if !moments.meaningful[data.kind] {
            return SLIP;
        }
        let others = data.row_of.iter().zip(1..).filter(|(_, d)| *d != display);
        let values: Vec<f64> =
            others.filter_map(|(row, _)| row.map(|row| self.data.rows[row].value)).collect();
        let Some(level) = median(&values) else { return SLIP };
        let sd = moments.factor.row(data.kind).iter().map(|f| f * f).sum::<f64>().sqrt();
        let Ok(normal) = Normal::new(level + moments.mean[data.kind], sd.max(5.0)) else {
            return SLIP;
        };
        normal.cdf(*OWN_TEMPERATURE.end()) - normal.cdf(*OWN_TEMPERATURE.start())
    }
}

/// Chance that a fault makes a display show this; for a plain number, that it leaves it one; of a jump
/// the density of its half range.
fn chance_by(shown: Shown, own: Own) -> f64 {
    let Own { chances, broad: any, cool } = own;
    match shown {
        Shown::Number => 1.0 - chances.open - chances.stuck - chances.falling - chances.erratic,
        Shown::Open => (1.0 - FLOATS) * chances.open,
        Shown::Floating => (FLOATS * chances.open + (1.0 - chances.open) * cool).max(SLIP),
        Shown::Stuck => chances.stuck,
        Shown::Falling => chances.falling,
        Shown::Jumping(half) if any => chances.erratic * broad(half),
        Shown::Jumping(half) => chances.erratic * half_normal(half, FOLLOWED),
    }
}

/// The same after what it made the display show at the look before, at the same running point.
fn chance_after(before: Option<Shown>, shown: Shown, own: Own, again: f64) -> f64 {
    let anew = chance_by(shown, own);
    let same = |before: &Shown| std::mem::discriminant(before) == std::mem::discriminant(&shown);
    let kept = match shown {
        Shown::Jumping(half) if own.broad => broad(half),
        Shown::Jumping(half) => half_normal(half, FOLLOWED),
        _ => 1.0,
    };
    match before {
        None => anew,
        Some(before) if same(&before) => again * kept + (1.0 - again) * anew,
        Some(_) => (1.0 - again) * anew,
    }
}

/// Density of the half range of a bad contact's jumps, 1/°C.
fn broad(half: f64) -> f64 {
    let (least, most) = BROAD;
    1.0 / (half.clamp(least, most) * (most / least).ln())
}

/// Density of a half range that has a largest size, 1/°C.
fn half_normal(half: f64, sd: f64) -> f64 {
    let sd = sd.max(0.1);
    let z = half / sd;
    (2.0 / std::f64::consts::PI).sqrt() / sd * (-0.5 * z * z).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_engine_makes_a_probe_jump_by_hundreds_and_a_contact_may() {
        let chances = StateChances { open: 0.0, stuck: 0.0, falling: 0.0, erratic: 0.2 };
        let of = |broad, half| chance_by(Shown::Jumping(half), Own { chances, broad, cool: 0.0 });
        assert!(of(true, 240.0) > 1e6 * of(false, 240.0));
        assert!(of(false, 20.0) > 0.5 * of(true, 20.0));
    }

    /// The chances of a chain add up, whatever came before; and what was seen once is expected again.
    #[test]
    fn what_a_fault_does_at_a_point_it_mostly_does_there_again() {
        let chances = StateChances { open: 0.1, stuck: 0.05, falling: 0.05, erratic: 0.35 };
        let own = Own { chances, broad: true, cool: 0.0 };
        let half = 10.0;
        let after = |before, shown| chance_after(before, shown, own, 0.9);
        let plain = [Shown::Number, Shown::Open, Shown::Floating, Shown::Stuck, Shown::Falling];
        for before in plain.map(Some).into_iter().chain([None, Some(Shown::Jumping(half))]) {
            let jumps = after(before, Shown::Jumping(half)) / broad(half);
            let sum = plain.map(|shown| after(before, shown)).iter().sum::<f64>() + jumps;
            assert!((sum - 1.0).abs() < 1e-4, "{before:?}: {sum}");
        }
        let twice = after(Some(Shown::Jumping(30.0)), Shown::Jumping(half)) / broad(half);
        assert!(twice > 0.9 && after(Some(Shown::Jumping(half)), Shown::Number) < 0.05);
    }
}
