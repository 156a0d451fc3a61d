//! A first-order course through a trace: `v(t) = final + gap·exp(−(t − t_first)/τ)`.
//!
//! Nonlinear least squares in τ alone: for each τ the other two are linear and solved outright
//! (variable projection), so that the search cannot go astray.

use super::Sample;

/// A first-order course, with standard errors from the curvature at the best fit. These take the
/// scatter as independent from sample to sample; a slow wobble makes them too small.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Where it ends, °C.
    pub final_value: f64,
    /// Standard error of that, °C.
    pub final_se: f64,
    /// Time constant, s.
    pub time_constant: f64,
    /// Standard error of that, s.
    pub time_constant_se: f64,
    /// Distance still to go at the last sample, °C: last course value less final value.
    pub gap: f64,
    /// Distance at the first sample, °C.
    pub first_gap: f64,
    /// Standard error of the distance at the first sample, °C.
    pub first_gap_se: f64,
    /// Scatter about the course, °C (one sd).
    pub noise: f64,
}

impl Fit {
    /// Whether there is a course at all: the distance covered is over three standard errors.
    #[must_use]
    pub fn stands_out(&self) -> bool {
        self.first_gap.abs() > 3.0 * self.first_gap_se
    }

    /// Seconds after the last sample until the course is within `distance` °C of its end: 0 if it
    /// is.
    #[must_use]
    pub fn seconds_until_within(&self, distance: f64) -> f64 {
        (self.time_constant * (self.gap.abs() / distance).ln()).max(0.0)
    }
}

/// Steps of the first search over τ, even in its logarithm.
const STEPS: u16 = 96;

/// Fits a first-order course to a trace in order of time. Nothing for fewer than six samples, all
/// at one time, or a course that is not first order: a straight line (τ beyond ten times the trace)
/// or a mere jump (τ under a two-hundredth of it).
#[must_use]
pub fn fit_first_order(trace: &[Sample]) -> Option<Fit> {
    let (first, last) = (trace.first()?.seconds, trace.last()?.seconds);
    let span = last - first;
    if trace.len() < 6 || span.is_nan() || span <= 0.0 {
        return None;
    }
    let squares = |ln_tau: f64| linear(trace, first, ln_tau.exp()).squares;
    let (from, to) = ((span / 200.0).ln(), (span * 10.0).ln());
    let step = (to - from) / f64::from(STEPS);
    let best = (0..=STEPS)
        .map(|i| from + step * f64::from(i))
        .map(|x| (squares(x), x))
        .min_by(|a, b| a.0.total_cmp(&b.0))?
        .1;
    if best <= from + 0.5 * step || to - 0.5 * step <= best {
        return None;
    }
    let (mut low, mut high) = (best - step, best + step);
    let ratio = (5.0_f64.sqrt() - 1.0) / 2.0;
    for _ in 0..40 {
        let (left, right) = (high - ratio * (high - low), low + ratio * (high - low));
        if squares(left) <= squares(right) {
            high = right;
        } else {
            low = left;
        }
    }
    errors(trace, first, f64::midpoint(low, high).exp())
}

/// The linear part of the fit at one τ.
struct Linear {
    end: f64,
    gap: f64,
    squares: f64,
}

fn linear(trace: &[Sample], first: f64, tau: f64) -> Linear {
    #[expect(clippy::cast_precision_loss, reason = "counts are far below 2^52")]
    let n = trace.len() as f64;
    let left = |s: &Sample| (-(s.seconds - first) / tau).exp();
    let mean = trace.iter().map(left).sum::<f64>() / n;
    let level = trace.iter().map(|s| s.value).sum::<f64>() / n;
    let (mut xx, mut xy) = (0.0, 0.0);
    for sample in trace {
        let x = left(sample) - mean;
        xx += x * x;
        xy += x * (sample.value - level);
    }
    let gap = if xx > 0.0 { xy / xx } else { 0.0 };
    let end = level - gap * mean;
    let squares = trace.iter().map(|s| (s.value - end - gap * left(s)).powi(2)).sum();
    Linear { end, gap, squares }
}

/// The fit at the best τ, with standard errors: `s²·(JᵀJ)⁻¹`, J the derivatives by end, gap, τ.
fn errors(trace: &[Sample], first: f64, tau: f64) -> Option<Fit> {
    let Linear { end, gap, squares } = linear(trace, first, tau);
    let mut normal = [[0.0; 3]; 3];
    let mut last = 1.0;
    for sample in trace {
        let age = (sample.seconds - first) / tau;
        last = (-age).exp();
        // The derivative by ln τ: of the size of the others.
        let row = [1.0, last, gap * last * age];
        for (i, a) in row.iter().enumerate() {
            for (j, b) in row.iter().enumerate() {
                normal[i][j] += a * b;
            }
        }
    }
    #[expect(clippy::cast_precision_loss, reason = "counts are far below 2^52")]
    let freedom = trace.len() as f64 - 3.0;
    let noise = (squares / freedom).sqrt();
    let inverse = inverse_diagonal(&normal)?;
    let se = inverse.map(|own| noise * own.sqrt());
    Some(Fit {
        final_value: end,
        final_se: se[0],
        time_constant: tau,
        time_constant_se: se[2] * tau,
        gap: gap * last,
        first_gap: gap,
        first_gap_se: se[1],
        noise,
    })
}

/// Diagonal of the inverse of a symmetric positive matrix, by cofactors; nothing if it is singular.
fn inverse_diagonal(m: &[[f64; 3]; 3]) -> Option<[f64; 3]> {
    let minor = |i: usize, j: usize| m[i][i] * m[j][j] - m[i][j] * m[j][i];
    let determinant = m[0][0] * minor(1, 2) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
        + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
    let diagonal = [minor(1, 2), minor(0, 2), minor(0, 1)].map(|own| own / determinant);
    diagonal.iter().all(|own| own.is_finite() && *own >= 0.0).then_some(diagonal)
}
