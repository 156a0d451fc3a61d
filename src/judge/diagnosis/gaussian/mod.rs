//! The likelihood of all readings together.
//!
//! Readings `y` have an unknown common level in each reading set (flat, integrated out), a
//! covariance `V0` that is the same for all hypotheses (natural offsets that persist from set to
//! set, and noise), and for a hypothesis a mean `Z m` and a low-rank extra covariance `U Uᵀ`, `U = Z F`.
//! `Z` says which readings are touched, and of which kind each is; all readings of a kind are moved
//! alike:
//!
//! ```text
//! P0 = V0⁻¹ − V0⁻¹M(MᵀV0⁻¹M)⁻¹MᵀV0⁻¹          M: one column of ones per set
//! u  = ZᵀP0(y − Z m)
//! G  = I + Fᵀ ZᵀP0Z F = L_G L_Gᵀ,   z = L_G⁻¹ Fᵀ u
//! Q  = (y − Z m)ᵀP0(y − Z m) − zᵀz             log|V| = log|V0| + 2 Σ log diag L_G
//! ```
//!
//! What depends on `Z` alone ([`Rows`]) is worked out once for all causes that show on the same
//! readings. This is the residual (restricted) likelihood of a mixed model; Woodbury's identity in place
//! of a factorisation per hypothesis. With Student's t in place of the normal the unknown overall
//! scale is integrated out, which guards against over-confidence. One reading may be grossly
//! wrong: the sum over "none" and "exactly one" has a rank-one term per reading.
//!
//! It knows numbers only: which rows a cause touches is decided by the caller.

mod arrow;
mod beam;
mod cells;
mod field;
#[cfg(test)]
mod field_tests;
mod lanes;
mod rows;
mod small;
mod stock;
mod strip;
#[cfg(test)]
mod strip_tests;
#[cfg(test)]
mod tests;
mod together;
mod touched;

use measure::number::real;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use statrs::function::gamma::ln_gamma;

use super::linalg::{Matrix, dot, log_sum_exp};
pub use beam::{Ordinary, Scale, at_all, choose, even_points, three_points};
pub use cells::{Cells, Moved, Weight};
pub use field::{Field, Group, Number, Reach, Variant};
use rows::Joint;
pub use rows::{Effect, Rows};
pub use stock::Stock;
pub use strip::{Sheet, Strip};
pub use together::Each;
pub use touched::Touched;

/// The tail of the likelihood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tail {
    /// Normal.
    Normal,
    /// Student's t on the contrasts with these degrees of freedom.
    Student(f64),
}

/// What readings say about a further quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// What they add to its mean.
    pub mean: f64,
    /// What they take off its variance.
    pub reduction: f64,
    /// Factor on the variance for how well the readings fit (Student's t).
    pub scale: f64,
}

/// Everything about the readings that does not depend on the hypothesis.
#[derive(Debug, Clone)]
pub struct Base {
    p0: Matrix,
    /// `P0 y`
    weighted: Vec<f64>,
    /// `yᵀ P0 y`
    quadratic: f64,
    /// log determinant of the covariance of orthonormal contrasts
    log_determinant: f64,
    /// log determinant of `MᵀM`
    log_levels: f64,
    /// readings less levels
    freedom: usize,
    tail: Tail,
    /// the part of the log density that no hypothesis changes
    constant: f64,
    /// What was worked out for the readings that some fault shows on.
    rows: RefCell<BTreeMap<(usize, u128), Rc<Rows>>>,
    /// Working space.
    joint: RefCell<Joint>,
    terms: RefCell<Vec<f64>>,
}

impl Base {
    /// Prepares readings `y`, `set[i]` being the reading set of reading `i`, with covariance `v0`.
    #[must_use]
    pub fn new(y: &[f64], set: &[usize], v0: &Matrix, tail: Tail) -> Self {
        let n = y.len();
        let mut factor = v0.clone();
        factor.cholesky();
        let inverse = factor.inverse_from_factor();
        let mut sets: Vec<usize> = set.to_vec();
        sets.sort_unstable();
        sets.dedup();
        let q = sets.len();
        // V0⁻¹M, and MᵀV0⁻¹M with its factor.
        let mut im = Matrix::zeros(n, q);
        let mut levels = vec![0.0_f64; q];
        for (k, s) in sets.iter().enumerate() {
            for j in (0..n).filter(|&j| set[j] == *s) {
                levels[k] += 1.0;
                for (i, cell) in inverse.row(j).iter().enumerate() {
                    im[(i, k)] += cell;
                }
            }
        }
        let mut mim = Matrix::from_fn(q, q, |a, b| {
            (0..n).filter(|&i| set[i] == sets[a]).map(|i| im[(i, b)]).sum()
        });
        mim.cholesky();
        let mut solved = im.clone();
        for i in 0..n {
            mim.forward(solved.row_mut(i));
        }
        let mut p0 = inverse;
        for i in 0..n {
            for j in 0..=i {
                p0[(i, j)] -= dot(solved.row(i), solved.row(j));
            }
        }
        p0.mirror();
        let weighted: Vec<f64> = (0..n).map(|i| dot(p0.row(i), y)).collect();
        let log_levels: f64 = levels.iter().map(|l| l.ln()).sum();
        Self {
            quadratic: weighted.iter().zip(y).map(|(w, y)| w * y).sum(),
            weighted,
            p0,
            log_determinant: factor.log_determinant() + mim.log_determinant() - log_levels,
            log_levels,
            freedom: n - q,
            tail,
            constant: constant(tail, n - q),
            rows: RefCell::default(),
            joint: RefCell::default(),
            terms: RefCell::default(),
        }
    }

    /// What hypotheses about some readings share. `key` stands for the readings; which they are,
    /// each with its kind, is asked for where they were not met before.
    #[must_use]
    pub fn rows(
        &self,
        key: (usize, u128),
        kinds: usize,
        touched: impl FnOnce() -> Vec<(usize, usize)>,
    ) -> Rc<Rows> {
        let known = self.rows.borrow().get(&key).cloned();
        known.unwrap_or_else(|| {
            let rows = Rc::new(self.rows_anew(touched(), kinds));
            self.rows.borrow_mut().insert(key, Rc::clone(&rows));
            rows
        })
    }

    /// The same for readings that are not met again.
    #[must_use]
    pub fn rows_anew(&self, touched: Vec<(usize, usize)>, kinds: usize) -> Rows {
        Rows::new(touched, kinds, &self.p0, &self.weighted)
    }

    /// Number of readings less number of sets.
    #[must_use]
    pub fn freedom(&self) -> usize {
        self.freedom
    }

    /// Log density of the contrasts under a hypothesis.
    ///
    /// Both tails refer to orthonormal contrasts of the readings within a set, so that values of
    /// one tail compare.
    #[must_use]
    pub fn log_density(&self, effects: &[Effect<'_>]) -> f64 {
        let mut joint = self.joint.borrow_mut();
        joint.solve(effects, self.quadratic);
        self.tail_density(joint.quadratic, self.log_determinant + joint.log_determinant)
    }

    /// The same in the form of the restricted likelihood with the level integrated over the real
    /// line, which differs from the density of contrasts by ½ log|MᵀM|.
    #[must_use]
    pub fn log_restricted(&self, effects: &[Effect<'_>]) -> f64 {
        self.log_density(effects) - 0.5 * self.log_levels
    }

    /// Quadratic form of the residuals, to judge how well a hypothesis fits.
    #[must_use]
    pub fn misfit(&self, effects: &[Effect<'_>]) -> f64 {
        let mut joint = self.joint.borrow_mut();
        joint.solve(effects, self.quadratic);
        joint.quadratic
    }

    /// Log density where each reading is grossly wrong with probability `chance`, its variance
    /// then larger by `extra[i]`; none or exactly one wrong reading is summed over, which leaves
    /// out terms of order `chance²`.
    #[must_use]
    pub fn log_density_guarded(&self, effects: &[Effect<'_>], chance: f64, extra: &[f64]) -> f64 {
        let joint = &mut *self.joint.borrow_mut();
        joint.solve(effects, self.quadratic);
        joint.look_back(effects);
        let log_determinant = self.log_determinant + joint.log_determinant;
        let terms = &mut *self.terms.borrow_mut();
        terms.clear();
        terms.push(self.tail_density(joint.quadratic, log_determinant));
        let odds = (chance / (1.0 - chance)).ln();
        for (j, &extra) in extra.iter().enumerate() {
            let (less, known) = joint.explained(effects, std::iter::once((j, 1.0)));
            let residual = self.weighted[j] - less;
            let precision = self.p0[(j, j)] - known;
            let grown = 1.0 + extra * precision.max(0.0);
            let quadratic = joint.quadratic - extra * residual * residual / grown;
            terms.push(odds + self.tail_density(quadratic, log_determinant + grown.ln()));
        }
        log_sum_exp(terms) + real(self.weighted.len()) * (-chance).ln_1p()
    }

    /// Forecasts one more quantity, given its covariance with each reading under a hypothesis.
    #[must_use]
    pub fn forecast(&self, effects: &[Effect<'_>], with: &[f64]) -> Forecast {
        let joint = &mut *self.joint.borrow_mut();
        joint.solve(effects, self.quadratic);
        joint.look_back(effects);
        let all = || with.iter().copied().enumerate().filter(|(_, own)| *own != 0.0);
        let (less, known) = joint.explained(effects, all());
        let mean: f64 = all().map(|(i, own)| own * self.weighted[i]).sum();
        let reduction: f64 = all().map(|(i, own)| own * dot(self.p0.row(i), with)).sum();
        let scale = match self.tail {
            Tail::Normal => 1.0,
            Tail::Student(nu) => (nu + joint.quadratic) / (nu + real(self.freedom)),
        };
        Forecast { mean: mean - less, reduction: reduction - known, scale }
    }

    fn tail_density(&self, quadratic: f64, log_determinant: f64) -> f64 {
        let rest = self.constant - 0.5 * log_determinant;
        match self.tail {
            Tail::Normal => rest - 0.5 * quadratic,
            Tail::Student(nu) => {
                rest - f64::midpoint(nu, real(self.freedom)) * (quadratic / nu).ln_1p()
            }
        }
    }
}

fn constant(tail: Tail, freedom: usize) -> f64 {
    let d = real(freedom);
    match tail {
        Tail::Normal => -0.5 * d * std::f64::consts::TAU.ln(),
        Tail::Student(nu) => {
            ln_gamma(f64::midpoint(nu, d))
                - ln_gamma(nu / 2.0)
                - 0.5 * d * (nu * std::f64::consts::PI).ln()
        }
    }
}
