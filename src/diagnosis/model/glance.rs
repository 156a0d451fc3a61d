//! A likelihood at a glance: at few scales that stand for all.
//!
//! Estimates which explanations are worth a close look, and stands for those that are not. It must not
//! favour those: an explanation that is only glanced at must not come out likelier than on a close look.

use crate::diagnosis::gaussian::{Cells, Moved};
use crate::diagnosis::linalg::log_sum_exp;

use super::{Model, Part};

/// What stands for all cells.
#[derive(Debug, Clone)]
pub(super) struct Glance {
    /// Cells, the usual one first, each with the log of what it stands for beyond itself.
    cells: Vec<(usize, f64)>,
    /// Log of what nothing wrong gains beyond the usual cell.
    nothing: f64,
}

impl Glance {
    /// A single cell, which stands for itself.
    pub(super) fn single() -> Self {
        Self { cells: vec![(0, 0.0)], nothing: 0.0 }
    }

    /// Log density of the readings.
    pub(super) fn log_at(&self, base: &Cells, effects: &[Moved<'_>], renamed: bool) -> f64 {
        match *self.cells.as_slice() {
            // Who is wide there goes by another name: no cell of nothing wrong stands for that.
            [(usual, _), ..] if renamed && effects.is_empty() => {
                base.log_at(usual, effects) + self.nothing
            }
            [(usual, gain), (other, left)] if !renamed => log_sum_exp(&[
                base.log_at(usual, effects) + gain,
                base.log_at(other, effects) + left,
            ]),
            [(usual, gain), ..] => base.log_at(usual, effects) + gain,
            [] => 0.0,
        }
    }
}

impl Model<'_> {
    /// Two cells: the usual one, which stands for all as far as the cause that fits best has it, and the
    /// one that nothing wrong fits best at, so that nothing wrong comes out as on a close look. One cell
    /// would not do: what nothing wrong gains by a wide cylinder, a cause that fits never gains.
    pub(super) fn prepare_glance(&mut self) {
        let Some(base) = self.bases.first() else { return };
        let usual = base.usual(&[]);
        let nothing = base.log_density(&[], |_| true);
        let fits = self.fits_best(base, usual);
        let effects = self.effects(base, fits.as_slice(), &[]);
        let gain = base.log_density(&effects, |_| true) - base.log_at(usual, &effects);
        // Never more than it stands for with nothing wrong.
        let so_far = (base.log_at(usual, &[]) + gain).min(nothing);
        let gain = so_far - base.log_at(usual, &[]);
        let mut cells = vec![(usual, gain)];
        let other = base.best(&[]);
        let left = -(so_far - nothing).exp_m1();
        if other != usual && left > 0.0 {
            cells.push((other, nothing + left.ln() - base.log_at(other, &[])));
        }
        let nothing = nothing - base.log_at(usual, &[]);
        self.glance = Glance { cells, nothing };
    }

    /// The cause that explains the readings best at a cell, its rarity counted; none where nothing wrong
    /// does.
    fn fits_best(&self, base: &Cells, cell: usize) -> Option<Part> {
        let mut best = (None, base.log_at(cell, &[]) + self.prior.healthy.ln());
        for (index, candidate) in self.candidates.iter().enumerate() {
            if candidate.renaming.is_some() {
                continue;
            }
            for (side, moments) in self.sides(index).iter().enumerate() {
                for path in &candidate.paths {
                    let part = Part::always(index, side, path.presence);
                    let chance = candidate.prior * moments.share * path.probability;
                    let log = base.log_at(cell, &self.effects(base, &[part], &[])) + chance.ln();
                    if log > best.1 {
                        best = (Some(part), log);
                    }
                }
            }
        }
        best.0
    }
}
