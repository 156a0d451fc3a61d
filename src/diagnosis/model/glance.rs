//! A likelihood at a glance: at few scales that stand for all.
//!
//! Estimates which explanations are worth a close look, and stands for those that are not. It must not
//! favour those: an explanation that is only glanced at must not come out likelier than on a close look.

use crate::diagnosis::gaussian::{Cells, Moved};
use crate::diagnosis::linalg::log_sum_exp;

use super::{Model, Part};

/// Cells that stand for all of them, each with the log of what it stands for beyond itself.
pub(super) type Glance = Vec<(usize, f64)>;

/// Log density of the readings at the cells of a glance.
pub(super) fn log_at(glance: &Glance, base: &Cells, effects: &[Moved<'_>]) -> f64 {
    match *glance.as_slice() {
        [(cell, gain)] => base.log_at(cell, effects) + gain,
        _ => {
            let logs: Vec<f64> =
                glance.iter().map(|(cell, gain)| base.log_at(*cell, effects) + gain).collect();
            log_sum_exp(&logs)
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
        let mut glance = vec![(usual, gain)];
        let other = base.best(&[]);
        let left = -(so_far - nothing).exp_m1();
        if other != usual && left > 0.0 {
            glance.push((other, nothing + left.ln() - base.log_at(other, &[])));
        }
        self.glance = glance;
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
