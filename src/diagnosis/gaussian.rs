//! The likelihood of all readings together.
//!
//! Readings `y` have an unknown common level in each reading set (flat, integrated out), a
//! covariance `V0` that is the same for all hypotheses (natural offsets that persist from set to
//! set, and noise), and for a hypothesis a mean `m` and a low-rank extra covariance `U Uᵀ`:
//!
//! ```text
//! P0 = V0⁻¹ − V0⁻¹M(MᵀV0⁻¹M)⁻¹MᵀV0⁻¹          M: one column of ones per set
//! G  = I + UᵀP0U = L_G L_Gᵀ,   z = L_G⁻¹UᵀP0(y − m)
//! Q  = (y − m)ᵀP0(y − m) − zᵀz                 log|V| = log|V0| + 2 Σ log diag L_G
//! ```
//!
//! This is the residual (restricted) likelihood of a mixed model; Woodbury's identity in place
//! of a factorisation per hypothesis. With Student's t in place of the normal the unknown overall
//! scale is integrated out, which guards against over-confidence. One reading may be grossly
//! wrong: the sum over "none" and "exactly one" has a rank-one term per reading.
//!
//! It knows numbers only: which rows a cause touches is decided by the caller.

use statrs::function::gamma::ln_gamma;

use super::linalg::{Matrix, add, dot, log_sum_exp};

/// The tail of the likelihood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tail {
    /// Normal.
    Normal,
    /// Student's t on the contrasts with these degrees of freedom.
    Student(f64),
}

/// A hypothesis' effect on the readings: a mean, and columns whose coefficients are standard
/// normal.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shift {
    /// Rows that are touched, each with its mean shift.
    pub rows: Vec<(usize, f64)>,
    /// For each touched row, its entries in the columns of `U`.
    pub factors: Vec<Vec<f64>>,
    /// Number of columns.
    pub columns: usize,
}

impl Shift {
    /// Two effects at once: shifts add, coefficients are independent.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        let columns = self.columns + other.columns;
        let mut sum = Self { rows: self.rows.clone(), factors: Vec::new(), columns };
        for factor in &self.factors {
            let mut wide = factor.clone();
            wide.resize(columns, 0.0);
            sum.factors.push(wide);
        }
        for (&(row, mean), factor) in other.rows.iter().zip(&other.factors) {
            let at = sum.rows.iter().position(|&(r, _)| r == row).unwrap_or_else(|| {
                sum.rows.push((row, 0.0));
                sum.factors.push(vec![0.0; columns]);
                sum.rows.len() - 1
            });
            sum.rows[at].1 += mean;
            sum.factors[at][self.columns..].copy_from_slice(factor);
        }
        sum
    }
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
}

/// The pieces of a likelihood that the gross-error terms are built on.
struct Solved {
    quadratic: f64,
    log_determinant: f64,
    factor: Matrix,
    /// `G⁻¹ UᵀP0(y − m)`
    weights: Vec<f64>,
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
        }
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
    pub fn log_density(&self, shift: &Shift) -> f64 {
        let solved = self.solve(shift);
        self.tail_density(solved.quadratic, solved.log_determinant)
    }

    /// The same in the form of the restricted likelihood with the level integrated over the real
    /// line, which differs from the density of contrasts by ½ log|MᵀM|.
    #[must_use]
    pub fn log_restricted(&self, shift: &Shift) -> f64 {
        self.log_density(shift) - 0.5 * self.log_levels
    }

    /// Quadratic form of the residuals, to judge how well a hypothesis fits.
    #[must_use]
    pub fn misfit(&self, shift: &Shift) -> f64 {
        self.solve(shift).quadratic
    }

    /// Log density where each reading is grossly wrong with probability `chance`, its variance
    /// then larger by `extra[i]`; none or exactly one wrong reading is summed over, which leaves
    /// out terms of order `chance²`.
    #[must_use]
    pub fn log_density_guarded(&self, shift: &Shift, chance: f64, extra: &[f64]) -> f64 {
        let solved = self.solve(shift);
        let n = self.weighted.len();
        let right = self.tail_density(solved.quadratic, solved.log_determinant);
        let mut terms = Vec::with_capacity(n + 1);
        terms.push(right);
        let odds = (chance / (1.0 - chance)).ln();
        let mut column = vec![0.0; shift.columns];
        for (j, &extra) in extra.iter().enumerate() {
            let p_row = self.p0.row(j);
            column.fill(0.0);
            let mut residual = self.weighted[j];
            for (&(row, mean), factor) in shift.rows.iter().zip(&shift.factors) {
                let p = p_row[row];
                residual -= p * mean;
                add(&mut column, p, factor);
            }
            residual -= column.iter().zip(&solved.weights).map(|(c, w)| c * w).sum::<f64>();
            solved.factor.forward(&mut column);
            let precision = p_row[j] - column.iter().map(|c| c * c).sum::<f64>();
            let grown = 1.0 + extra * precision.max(0.0);
            let quadratic = solved.quadratic - extra * residual * residual / grown;
            let log_determinant = solved.log_determinant + grown.ln();
            terms.push(odds + self.tail_density(quadratic, log_determinant));
        }
        log_sum_exp(&terms) + count(n) * (-chance).ln_1p()
    }

    /// Forecasts one more quantity, given its covariance with each reading under a hypothesis.
    #[must_use]
    pub fn forecast(&self, shift: &Shift, with: &[f64]) -> Forecast {
        let solved = self.solve(shift);
        let n = with.len();
        let mut mean = 0.0;
        let mut reduction = 0.0;
        let mut column = vec![0.0; shift.columns];
        for i in (0..n).filter(|&i| with[i] != 0.0) {
            let p_row = self.p0.row(i);
            let mut residual = self.weighted[i];
            for (&(row, row_mean), factor) in shift.rows.iter().zip(&shift.factors) {
                let p = p_row[row];
                residual -= p * row_mean;
                for (c, f) in column.iter_mut().zip(factor) {
                    *c += with[i] * p * f;
                }
            }
            mean += with[i] * residual;
            reduction += with[i] * p_row.iter().zip(with).map(|(p, w)| p * w).sum::<f64>();
        }
        mean -= column.iter().zip(&solved.weights).map(|(c, w)| c * w).sum::<f64>();
        solved.factor.forward(&mut column);
        reduction -= column.iter().map(|c| c * c).sum::<f64>();
        let scale = match self.tail {
            Tail::Normal => 1.0,
            Tail::Student(nu) => (nu + solved.quadratic) / (nu + count(self.freedom)),
        };
        Forecast { mean, reduction, scale }
    }

    fn solve(&self, shift: &Shift) -> Solved {
        let r = shift.columns;
        let mut quadratic = self.quadratic;
        let mut g = Matrix::zeros(r, r);
        let mut v = vec![0.0; r];
        let mut column = vec![0.0; r];
        for (&(i, mean_i), factor_i) in shift.rows.iter().zip(&shift.factors) {
            let p_row = self.p0.row(i);
            // P0(y − m) at row i, and P0 U at it.
            let mut residual = self.weighted[i];
            quadratic -= mean_i * self.weighted[i];
            column.fill(0.0);
            for (&(j, mean_j), factor_j) in shift.rows.iter().zip(&shift.factors) {
                let p = p_row[j];
                residual -= p * mean_j;
                add(&mut column, p, factor_j);
            }
            for (c, &f) in factor_i.iter().enumerate().filter(|(_, f)| **f != 0.0) {
                add(&mut g.row_mut(c)[..=c], f, &column[..=c]);
            }
            quadratic -= mean_i * residual;
            add(&mut v, residual, factor_i);
        }
        for c in 0..r {
            g[(c, c)] += 1.0;
        }
        g.cholesky();
        g.forward(&mut v);
        quadratic -= v.iter().map(|z| z * z).sum::<f64>();
        g.backward(&mut v);
        Solved {
            quadratic: quadratic.max(0.0),
            log_determinant: self.log_determinant + g.log_determinant(),
            factor: g,
            weights: v,
        }
    }

    fn tail_density(&self, quadratic: f64, log_determinant: f64) -> f64 {
        let rest = self.constant - 0.5 * log_determinant;
        match self.tail {
            Tail::Normal => rest - 0.5 * quadratic,
            Tail::Student(nu) => {
                rest - f64::midpoint(nu, count(self.freedom)) * (quadratic / nu).ln_1p()
            }
        }
    }
}

fn constant(tail: Tail, freedom: usize) -> f64 {
    let d = count(freedom);
    match tail {
        Tail::Normal => -0.5 * d * std::f64::consts::TAU.ln(),
        Tail::Student(nu) => {
            ln_gamma(f64::midpoint(nu, d))
                - ln_gamma(nu / 2.0)
                - 0.5 * d * (nu * std::f64::consts::PI).ln()
        }
    }
}

/// A count as a number to reckon with.
fn count(n: usize) -> f64 {
    u32::try_from(n).map_or(f64::MAX, f64::from)
}

#[cfg(test)]
mod tests {
    //! Fixture F15: four cylinders, the parts of 2 and 3 exchanged between two sets. Expected
    //! values: `tests/reference/swap_fixture.py`, three independent routes with numpy and scipy
    //! that agree to 1e-9.

    use super::*;

    const Y: [f64; 8] = [652.0, 691.0, 648.0, 657.0, 655.0, 660.0, 688.0, 652.0];
    const SET: [usize; 8] = [0, 0, 0, 0, 1, 1, 1, 1];

    fn base(tail: Tail) -> Base {
        let v0 = Matrix::from_fn(8, 8, |i, j| {
            let offset = if i % 4 == j % 4 { 100.0 } else { 0.0 };
            if i == j { offset + 16.0 } else { offset }
        });
        Base::new(&Y, &SET, &v0, tail)
    }

    fn at(rows: &[usize]) -> Shift {
        Shift {
            rows: rows.iter().map(|&r| (r, 35.0)).collect(),
            factors: rows.iter().map(|_| vec![12.0]).collect(),
            columns: 1,
        }
    }

    const CASES: [(&str, &[usize], f64, f64); 7] = [
        ("none", &[], -61.068_340_839, -32.085_962),
        ("part from 2 follows", &[1, 6], -21.395_377_161, -20.005_391),
        ("stays at 2", &[1, 5], -61.003_986_574, -32.385_562),
        ("joint at 2 cured", &[1], -38.759_127_771, -29.128_784),
        ("new fault at 3 after", &[6], -32.808_427_070, -27.450_657),
        ("part from 3", &[2, 5], -41.507_272_323, -30.063_380),
        ("stays at 3", &[2, 6], -62.630_143_981, -32.568_920),
    ];

    #[test]
    fn the_swap_fixture_comes_out_to_a_millionth() {
        let (normal, student_t) = (base(Tail::Normal), base(Tail::Student(4.0)));
        for (name, rows, restricted, student) in CASES {
            let shift = if rows.is_empty() { Shift::default() } else { at(rows) };
            let got = normal.log_restricted(&shift);
            assert!((got - restricted).abs() < 1e-6, "{name}: {got} against {restricted}");
            let got = student_t.log_density(&shift);
            assert!((got - student).abs() < 1e-6, "{name}: t {got} against {student}");
        }
    }

    #[test]
    fn one_set_gives_the_closed_form() {
        // log BF = log N(d; a, τ² + s²) − log N(d; 0, s²), d = 38.666667, s² = 154.666667
        let v0 = Matrix::from_fn(4, 4, |i, j| if i == j { 116.0 } else { 0.0 });
        let base = Base::new(&Y[..4], &SET[..4], &v0, Tail::Normal);
        let factor = base.log_density(&at(&[1])) - base.log_density(&Shift::default());
        assert!((factor - 4.481_797_962).abs() < 1e-6, "{factor}");
    }

    #[test]
    fn the_guard_is_the_sum_of_the_plain_terms() {
        // Slow and obvious: rebuild the base with one variance enlarged at a time.
        let chance = 0.01;
        let extra = [9900.0; 8];
        let shift = at(&[1, 6]);
        let fast = base(Tail::Student(6.0)).log_density_guarded(&shift, chance, &extra);
        let mut terms = vec![base(Tail::Student(6.0)).log_density(&shift) + 8.0 * 0.99_f64.ln()];
        for wrong in 0..8 {
            let v0 = Matrix::from_fn(8, 8, |i, j| {
                let offset = if i % 4 == j % 4 { 100.0 } else { 0.0 };
                let noise = if i == wrong { 9916.0 } else { 16.0 };
                if i == j { offset + noise } else { offset }
            });
            terms.push(
                Base::new(&Y, &SET, &v0, Tail::Student(6.0)).log_density(&shift)
                    + 7.0 * 0.99_f64.ln()
                    + chance.ln(),
            );
        }
        assert!((fast - log_sum_exp(&terms)).abs() < 1e-9);
    }

    #[test]
    fn two_effects_on_one_row_add() {
        let sum = at(&[1, 5]).plus(&at(&[1]));
        assert_eq!(sum.rows, [(1, 70.0), (5, 35.0)]);
        assert_eq!(sum.factors, [vec![12.0, 12.0], vec![12.0, 0.0]]);
    }
}
