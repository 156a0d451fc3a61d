//! Whether a number drifts, how fast, and when it will leave a band.
//!
//! A straight line by least squares with errors, a test that asks only whether later is mostly higher,
//! and a correction for looking at many displays. It must not know what drifts.

use crate::number::real;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// How far single points stray from the line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scatter {
    /// By what is left over: n − 2 degrees of freedom.
    Own,
    /// Known beforehand, with the degrees of freedom that knowledge is worth.
    Known {
        /// Standard deviation of a point.
        sd: f64,
        /// Degrees of freedom; infinite where it is certain.
        freedom: f64,
    },
}

/// A straight line through points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Mean of x.
    pub centre: f64,
    /// The line there: the mean of y.
    pub level: f64,
    /// Standard error of that.
    pub level_se: f64,
    /// Rise per unit of x.
    pub slope: f64,
    /// Standard error of that.
    pub slope_se: f64,
    /// Degrees of freedom of both errors.
    pub freedom: f64,
    /// Sum of the squares left over.
    pub squares: f64,
    /// Chance of a slope this far from nought, either way, where there is none.
    pub p_value: f64,
}

/// Fits a line by least squares; nothing for fewer than two different x, or for three points or fewer
/// than that where the scatter is their own.
///
/// `slope = Sxy/Sxx`, `se² = σ²/Sxx`, tested by Student's t (any text on regression).
#[must_use]
pub fn line(points: &[(f64, f64)], scatter: Scatter) -> Option<Line> {
    let n = real(points.len());
    if points.len() < 2 || points.iter().any(|(x, y)| !(x.is_finite() && y.is_finite())) {
        return None;
    }
    let centre = points.iter().map(|p| p.0).sum::<f64>() / n;
    let level = points.iter().map(|p| p.1).sum::<f64>() / n;
    let sxx: f64 = points.iter().map(|p| (p.0 - centre).powi(2)).sum();
    let sxy: f64 = points.iter().map(|p| (p.0 - centre) * (p.1 - level)).sum();
    if sxx <= 0.0 {
        return None;
    }
    let slope = sxy / sxx;
    let squares: f64 = points.iter().map(|p| (p.1 - level - slope * (p.0 - centre)).powi(2)).sum();
    let (sd, freedom) = match scatter {
        Scatter::Own if points.len() < 3 => return None,
        Scatter::Own => ((squares / (n - 2.0)).sqrt(), n - 2.0),
        Scatter::Known { sd, freedom } => (sd, freedom),
    };
    let slope_se = sd / sxx.sqrt();
    let p_value = if slope_se > 0.0 { two_sided(slope / slope_se, freedom)? } else { 0.0 };
    let level_se = sd / n.sqrt();
    Some(Line { centre, level, level_se, slope, slope_se, freedom, squares, p_value })
}

/// Chance of a t this far from nought, either way.
fn two_sided(t: f64, freedom: f64) -> Option<f64> {
    let upper = if freedom.is_finite() {
        StudentsT::new(0.0, 1.0, freedom).ok()?.sf(t.abs())
    } else {
        Normal::standard().sf(t.abs())
    };
    Some((2.0 * upper).min(1.0))
}

/// When a line leaves a band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leaves {
    /// Where the line itself crosses.
    pub expected: f64,
    /// The earliest that the errors of the line allow, at one chance in twenty.
    pub earliest: f64,
}

impl Line {
    /// Value and standard error at a place.
    #[must_use]
    pub fn at(&self, x: f64) -> (f64, f64) {
        let away = x - self.centre;
        (self.level + self.slope * away, self.level_se.hypot(self.slope_se * away))
    }

    /// When the line leaves a band, from `now` on and within `horizon`; nothing where it does not. A line
    /// that is outside already leaves now.
    ///
    /// The earliest is where the nearer bound of the line, one-sided 95 %, first crosses; found by
    /// halving, since bound and line part ever more the further on.
    #[must_use]
    pub fn leaves(&self, band: (f64, f64), now: f64, horizon: f64) -> Option<Leaves> {
        let edge = if self.slope > 0.0 { band.1 } else { band.0 };
        if self.slope == 0.0 || horizon < now {
            return None;
        }
        let expected = (self.centre + (edge - self.level) / self.slope).max(now);
        if expected > horizon {
            return None;
        }
        let factor = if self.freedom.is_finite() {
            StudentsT::new(0.0, 1.0, self.freedom).ok()?.inverse_cdf(0.95)
        } else {
            Normal::standard().inverse_cdf(0.95)
        };
        let outside = |x: f64| {
            let (value, se) = self.at(x);
            (value - edge) * self.slope.signum() + factor * se >= 0.0
        };
        let (mut low, mut high) = (now, expected);
        if outside(low) {
            return Some(Leaves { expected, earliest: now });
        }
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if outside(middle) { high = middle } else { low = middle }
        }
        Some(Leaves { expected, earliest: high })
    }
}

/// Whether later is mostly higher or lower.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannKendall {
    /// Pairs that rise less pairs that fall.
    pub s: i64,
    /// Chance of an s this far from nought, either way, in any order of the same values.
    pub p_value: f64,
}

/// Longest series whose chances are counted out; the normal approximation stands beyond.
const COUNTED: usize = 40;

/// The test of Mann (1945) and Kendall for a trend: no shape, no scatter is assumed.
///
/// Exact for up to forty different values, by counting the orders with each number of inversions;
/// with equal ones the normal approximation with the correction for ties and for continuity. Nothing
/// for fewer than three. Of four values the least chance is 0.083, so that few visits never prove a
/// trend this way.
#[must_use]
pub fn mann_kendall(values: &[f64]) -> Option<MannKendall> {
    let n = values.len();
    if n < 3 || values.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let mut s = 0_i64;
    let mut equal = false;
    for (i, a) in values.iter().enumerate() {
        for b in &values[i + 1..] {
            s += i64::from(b > a) - i64::from(b < a);
            equal |= b.total_cmp(a).is_eq();
        }
    }
    let p_value = if equal || n > COUNTED { by_normal(values, s)? } else { counted(n, s) };
    Some(MannKendall { s, p_value })
}

/// Share of all orders of n different values that are as far from even as s.
fn counted(n: usize, s: i64) -> f64 {
    // Shares of orders by number of pairs that fall: one more value falls before 0 to k others.
    let mut shares = vec![1.0];
    for k in 1..n {
        let mut next = vec![0.0; shares.len() + k];
        for (falls, share) in shares.iter().enumerate() {
            for slot in &mut next[falls..=falls + k] {
                *slot += share / real(k + 1);
            }
        }
        shares = next;
    }
    let pairs = i64::try_from(n * (n - 1) / 2).unwrap_or(i64::MAX);
    let far = |falls: usize| {
        let s_of = pairs - 2 * i64::try_from(falls).unwrap_or(i64::MAX);
        s_of.abs() >= s.abs()
    };
    let sum: f64 = shares.iter().enumerate().filter(|(falls, _)| far(*falls)).map(|(_, p)| p).sum();
    sum.min(1.0)
}

fn by_normal(values: &[f64], s: i64) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let term = |n: f64| n * (n - 1.0) * (2.0 * n + 5.0);
    let ties: f64 =
        sorted.chunk_by(|a, b| a.total_cmp(b).is_eq()).map(|run| term(real(run.len()))).sum();
    let variance = (term(real(values.len())) - ties) / 18.0;
    if variance <= 0.0 {
        return Some(1.0);
    }
    let away = (real(usize::try_from(s.unsigned_abs()).ok()?) - 1.0).max(0.0);
    Some((2.0 * Normal::standard().sf(away / variance.sqrt())).min(1.0))
}

/// Chances corrected for having looked at all of them, by the method of Holm (1979), in the order
/// given.
#[must_use]
pub fn holm(chances: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..chances.len()).collect();
    order.sort_by(|&a, &b| chances[a].total_cmp(&chances[b]));
    let mut corrected = vec![1.0; chances.len()];
    let mut least = 0.0_f64;
    for (rank, &index) in order.iter().enumerate() {
        least = least.max(chances[index] * real(chances.len() - rank)).min(1.0);
        corrected[index] = least;
    }
    corrected
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const CERTAIN: Scatter = Scatter::Known { sd: 2.0, freedom: f64::INFINITY };

    #[test]
    fn a_line_leaves_its_band_where_it_crosses() {
        let points = [(0.0, 0.0), (100.0, 5.0), (200.0, 10.0), (300.0, 15.0)];
        let line = line(&points, CERTAIN).expect("a line");
        let leaves = line.leaves((-30.0, 30.0), 300.0, 4000.0).expect("it rises");
        assert!((leaves.expected - 600.0).abs() < 1e-9, "{leaves:?}");
        assert!((300.0..600.0).contains(&leaves.earliest), "{leaves:?}");
        let (value, se) = line.at(leaves.earliest);
        assert!((value + 1.644_853_627 * se - 30.0).abs() < 1e-6, "{leaves:?}");
        assert_eq!(line.leaves((-30.0, 30.0), 300.0, 500.0), None, "beyond what was asked");
        let out = line.leaves((-30.0, 10.0), 300.0, 4000.0).expect("out already");
        assert!((out.expected - 300.0).abs() < 1e-9 && (out.earliest - 300.0).abs() < 1e-9);
    }

    #[test]
    fn no_line_no_answer() {
        assert_eq!(line(&[(1.0, 2.0)], CERTAIN), None);
        assert_eq!(line(&[(1.0, 2.0), (1.0, 3.0)], CERTAIN), None);
        assert_eq!(line(&[(1.0, 2.0), (2.0, 3.0)], Scatter::Own), None);
        assert_eq!(line(&[(1.0, f64::NAN), (2.0, 3.0)], CERTAIN), None);
        let flat = line(&[(0.0, 1.0), (1.0, 1.0)], CERTAIN).expect("flat");
        assert_eq!(flat.leaves((0.0, 2.0), 1.0, 100.0), None);
        assert_eq!(mann_kendall(&[1.0, 2.0]), None);
        assert!(holm(&[]).is_empty());
    }

    #[test]
    fn four_in_a_row_are_one_order_in_twelve() {
        let found = mann_kendall(&[1.0, 2.0, 3.0, 4.0]).expect("four");
        assert_eq!(found.s, 6);
        assert!((found.p_value - 2.0 / 24.0).abs() < 1e-12);
    }

    /// Every order of the values.
    fn orders(values: &[f64]) -> Vec<Vec<f64>> {
        if values.is_empty() {
            return vec![Vec::new()];
        }
        (0..values.len())
            .flat_map(|first| {
                let mut rest = values.to_vec();
                let head = rest.remove(first);
                orders(&rest).into_iter().map(move |tail| [vec![head], tail].concat())
            })
            .collect()
    }

    proptest! {
        #[test]
        fn counting_agrees_with_writing_every_order_down(
            mut values in proptest::collection::vec(-50.0..50.0f64, 3..7),
        ) {
            values.dedup();
            prop_assume!(values.len() >= 3);
            let found = mann_kendall(&values).expect("three or more");
            let all = orders(&values);
            let as_far = all.iter().filter(|order| {
                mann_kendall(order).is_some_and(|m| m.s.abs() >= found.s.abs())
            });
            let share = real(as_far.count()) / real(all.len());
            prop_assert!((share - found.p_value).abs() < 1e-9, "{share} against {found:?}");
        }

        #[test]
        fn correction_never_makes_a_chance_smaller(
            chances in proptest::collection::vec(0.0..1.0f64, 1..9),
        ) {
            for (before, after) in chances.iter().zip(holm(&chances)) {
                prop_assert!(after >= *before && after <= 1.0);
            }
        }
    }
}
