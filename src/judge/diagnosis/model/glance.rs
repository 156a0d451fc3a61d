//! What a single cause comes to at a glance, for all its sides at once.
//!
//! Its sides show on the same displays at the same sets: what these readings come to together is put
//! together once for all of them. It must come to what [`Model::log_readings`] says of each.

use std::rc::Rc;

use super::{Model, Part};
use crate::diagnosis::effect::Moments;
use crate::diagnosis::gaussian::Touched;
use crate::diagnosis::linalg::{Matrix, log_sum_exp};

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
}
