//! What a single cause comes to at a glance, for all its sides at once.
//!
//! Its sides show on the same displays at the same sets: what these readings come to together is put
//! together once for all of them. It must come to what [`Model::log_readings`] says of each.

use std::rc::Rc;

use super::states::Told;
use super::{Model, Part};
use crate::diagnosis::effect::Moments;
use crate::diagnosis::gaussian::{Sheet, Strip, Touched};
use crate::diagnosis::linalg::{Matrix, log_sum_exp};
use crate::diagnosis::looks::{MOST_LOOKS, Shows};

impl Model<'_> {
    /// Log likelihood of the readings at the scales that are glanced at, side by side; `part` is the first, and
    /// `on` are its [`Model::readings_of`].
    pub(crate) fn glance_at_sides(
        &self,
        part: Part,
        sides: usize,
        on: Option<&Rc<Touched>>,
    ) -> Vec<f64> {
        let side = |side: usize| Part { side, ..part };
        let Some(on) = on else {
            return (0..sides).map(|n| self.log_readings(&[side(n)], false)).collect();
        };
        let base = &self.bases[0];
        let (cells, rest) = &self.glance;
        let own = self.states_know_sides(part.candidate);
        let shared = if own { 0.0 } else { self.log_states(&[part]) };
        let moments: Vec<&Moments> = (0..sides).map(|n| self.moments_of(&side(n))).collect();
        let effects: Vec<(&[f64], &Matrix)> =
            moments.iter().map(|moments| (&moments.mean[..], &moments.factor)).collect();
        let mut logs = vec![0.0; sides * cells.len()];
        for (at, &cell) in cells.iter().enumerate() {
            base.log_each_at(cell, on, &effects, |n, log| logs[n * cells.len() + at] = log);
        }
        let of = |n: usize| {
            let states = if own { self.log_states(&[side(n)]) } else { shared };
            states + (log_sum_exp(&logs[n * cells.len()..(n + 1) * cells.len()]) + rest)
        };
        (0..sides).map(of).collect()
    }

    /// What no side of a candidate comes to more than, where that is known sooner than what each comes to; the
    /// same as [`Model::glance_at_sides`] says where it is not.
    pub(crate) fn most_at_a_glance(
        &self,
        part: Part,
        sides: usize,
        on: Option<&Rc<Touched>>,
    ) -> f64 {
        let Some(on) = on else { return self.log_readings(&[part], false) };
        let base = &self.bases[0];
        let (cells, rest) = &self.glance;
        let own = self.states_know_sides(part.candidate);
        let states = (0..if own { sides } else { 1 })
            .map(|side| self.log_states(&[Part { side, ..part }]))
            .fold(f64::NEG_INFINITY, f64::max);
        let logs: Vec<f64> = cells.iter().map(|&cell| base.most_at(cell, on)).collect();
        states + (log_sum_exp(&logs) + rest)
    }

    /// Whether what readings know of a candidate is at which looks it shows, and no more.
    pub(crate) fn by_looks(&self, candidate: usize) -> bool {
        !self.told_by_presence(candidate) && self.has_sheets(candidate)
    }

    /// Whether choices of looks can be put together for a candidate.
    pub(super) fn has_sheets(&self, candidate: usize) -> bool {
        self.candidates[candidate].renaming.is_none()
            && !self.data.rows.is_empty()
            && self.data.sets.len() <= MOST_LOOKS
    }

    /// The scales at which is glanced now.
    pub(crate) fn glance(&self) -> Glance {
        let (cells, rest) = self.glance.clone();
        Glance { cells, rest }
    }

    /// What some choices of looks come to for the candidates that show on the same displays as one, at some scales;
    /// `None` where there are no such choices.
    pub(crate) fn sheet(
        &self,
        candidate: usize,
        glance: &Glance,
        choices: &[Shows],
    ) -> Option<Sheet> {
        self.has_sheets(candidate)
            .then(|| self.bases[0].sheet(&self.strip(candidate), &glance.cells, choices))
    }

    /// The readings of a candidate's displays, look by look.
    pub(super) fn strip(&self, candidate: usize) -> Strip {
        let passes = self.candidates[candidate].passes;
        let of = |set: &crate::diagnosis::data::Set| {
            let shown = self.shown[candidate][set.index].iter();
            let rows = shown.filter_map(|&display| set.row_of[usize::from(display) - 1]);
            // What passes with time has passed at the second look.
            (set.kind, if passes && set.again { Vec::new() } else { rows.collect() })
        };
        Strip::new(self.data.kinds.len(), self.data.sets.iter().map(of).collect())
    }

    /// Log likelihood of the readings at each choice of a sheet with a side of a candidate, but for the states shown.
    pub(crate) fn logs_of_choices(&self, sheet: &Sheet, glance: &Glance, part: &Part) -> Vec<f64> {
        let moments = self.moments_of(part);
        let mut logs = sheet.logs(&(&moments.mean, &moments.factor));
        for log in &mut logs {
            *log += glance.rest;
        }
        logs
    }

    /// Log chance of the states shown, by choice of the looks at which a candidate shows; `None` where they know
    /// more than that.
    pub(crate) fn states_of_choices(&self, candidate: usize, choices: &[Shows]) -> Option<States> {
        match self.told_by_states[candidate] {
            Told::Nothing => Some(States::Same(self.usual_states)),
            Told::Shows => {
                let each = choices.iter().map(|&choice| self.states_at_choice(candidate, choice));
                each.collect::<Option<Vec<f64>>>().map(States::ByChoice)
            }
            Told::Sides => None,
        }
    }

    /// No more than this is the log chance of the states shown, however a candidate shows; `None` where that is not
    /// known.
    pub(crate) fn most_of_states(&self, candidate: usize) -> Option<f64> {
        match self.told_by_states[candidate] {
            Told::Nothing => Some(self.usual_states),
            Told::Shows => self.most_by_chain(candidate),
            Told::Sides => None,
        }
    }
}

/// The scales at which something is glanced at, and the log of what all others add.
#[derive(Debug, Clone)]
pub(crate) struct Glance {
    cells: Vec<usize>,
    /// See [`Model::glance_as`].
    pub(crate) rest: f64,
}

/// Log chance of the states shown.
pub(crate) enum States {
    /// The same at all choices of looks.
    Same(f64),
    /// By choice.
    ByChoice(Vec<f64>),
}

impl States {
    /// At a choice.
    pub(crate) fn at(&self, choice: usize) -> f64 {
        match self {
            Self::Same(log) => *log,
            Self::ByChoice(logs) => logs[choice],
        }
    }
}
