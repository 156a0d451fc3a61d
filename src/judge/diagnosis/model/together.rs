//! What the readings come to under two causes, for all sides of both at once.
//!
//! What the sides of a cause share is worked out once for all of them. It must come to what
//! [`Model::log_readings`] says of each two.

use super::{Model, Part};
use crate::diagnosis::gaussian::Each;
use crate::diagnosis::linalg::{Matrix, log_sum_exp};

impl Model<'_> {
    /// Log likelihood of the readings under each of some parts with each of some others, row by row. Parts of
    /// either are alike but for their sides. Without `guarded` only at the scales that are glanced at.
    pub(crate) fn log_readings_of_both(
        &self,
        firsts: &[Part],
        seconds: &[Part],
        guarded: bool,
    ) -> Vec<f64> {
        let (Some(one), Some(other)) = (firsts.first(), seconds.first()) else {
            return Vec::new();
        };
        let mut logs = self.log_numbers_of_both(firsts, seconds, guarded);
        let own = [one, other].into_iter().any(|part| self.states_know_sides(part.candidate));
        let shared = if own { 0.0 } else { self.log_states(&[*one, *other]) };
        for (a, first) in firsts.iter().enumerate() {
            for (b, second) in seconds.iter().enumerate() {
                let states = if own { self.log_states(&[*first, *second]) } else { shared };
                logs[a * seconds.len() + b] += states;
            }
        }
        logs
    }

    fn log_numbers_of_both(&self, firsts: &[Part], seconds: &[Part], guarded: bool) -> Vec<f64> {
        let count = firsts.len() * seconds.len();
        if self.data.rows.is_empty() {
            return vec![0.0; count];
        }
        let renamings = self.renamings(&[firsts[0], seconds[0]]);
        let base = self.base_for(&renamings);
        let (cells, rest) =
            if guarded { ((0..base.weights().len()).collect(), 0.0) } else { self.glance.clone() };
        let moved = |part: &Part| -> (&[f64], &Matrix) {
            let moments = self.moments_of(part);
            (&moments.mean, &moments.factor)
        };
        // What misnames displays moves none of them: every side of it is the same.
        let each = |parts: &[Part]| {
            let misnames = self.candidates[parts[0].candidate].renaming.is_some();
            (!misnames).then(|| Each {
                on: self.touched_by(base, &parts[0], &renamings),
                effects: parts.iter().map(moved).collect(),
            })
        };
        let (one, other) = (each(firsts), each(seconds));
        let mut logs = vec![0.0; count * cells.len()];
        if let (Some(one), Some(other)) = (&one, &other) {
            base.log_both(&cells, one, other, &mut |a, b, at, log| {
                logs[(a * seconds.len() + b) * cells.len() + at] = log;
            });
            return logs.chunks(cells.len()).map(|logs| log_sum_exp(logs) + rest).collect();
        }
        for (at, &cell) in cells.iter().enumerate() {
            let mut take = |a: usize, b: usize, log: f64| {
                logs[(a * seconds.len() + b) * cells.len() + at] = log;
            };
            match (&one, &other) {
                (Some(one), _) => base.log_each_at(cell, &one.on, &one.effects, |a, log| {
                    (0..seconds.len()).for_each(|b| take(a, b, log));
                }),
                (None, Some(other)) => {
                    base.log_each_at(cell, &other.on, &other.effects, |b, log| {
                        (0..firsts.len()).for_each(|a| take(a, b, log));
                    });
                }
                (None, None) => {
                    let log = base.log_at(cell, &[]);
                    (0..firsts.len())
                        .for_each(|a| (0..seconds.len()).for_each(|b| take(a, b, log)));
                }
            }
        }
        logs.chunks(cells.len()).map(|logs| log_sum_exp(logs) + rest).collect()
    }
}
