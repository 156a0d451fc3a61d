//! Median and median absolute deviation.
//!
//! A spread that one odd value cannot blow up. It must not be trusted below five readings, where it
//! rests on two or three numbers.

use super::{median, testable};

/// Score beyond which Iglewicz & Hoaglin (1993) flag a value.
pub const FLAG: f64 = 3.5;

/// Median absolute deviation from the median: nothing for no values.
#[must_use]
pub fn mad(values: &[f64]) -> Option<f64> {
    let middle = median(values)?;
    median(&values.iter().map(|x| (x - middle).abs()).collect::<Vec<_>>())
}

/// Modified scores `0.6745·(x − median)/MAD`, or nothing for fewer than three values, a value that
/// is not a number, or a MAD of zero (more than half of the values alike).
#[must_use]
pub fn modified_scores(values: &[f64]) -> Option<Vec<f64>> {
    if !testable(values) {
        return None;
    }
    let (middle, mad) = (median(values)?, mad(values)?);
    (mad > 0.0).then(|| values.iter().map(|x| 0.6745 * (x - middle) / mad).collect())
}

/// Factors that take away the small-sample bias of `1.4826·MAD`, n = 2 to 9: Croux & Rousseeuw
/// 1992 (from memory; a simulation of 4·10⁵ samples gives the same within 0.011).
const FACTORS: [f64; 8] = [1.196, 1.495, 1.363, 1.206, 1.200, 1.140, 1.129, 1.107];

/// Factor on `1.4826·MAD` for `n` values: a table to 9, `n/(n − 0.8)` above. Nothing below 2.
#[must_use]
pub fn small_sample_factor(n: usize) -> Option<f64> {
    match n {
        0 | 1 => None,
        2..=9 => Some(FACTORS[n - 2]),
        #[expect(clippy::cast_precision_loss, reason = "counts of readings are small")]
        _ => Some(n as f64 / (n as f64 - 0.8)),
    }
}

/// Standard deviation estimated from the MAD, free of bias for normal values. Nothing below two
/// values.
#[must_use]
pub fn robust_sd(values: &[f64]) -> Option<f64> {
    Some(1.4826 * small_sample_factor(values.len())? * mad(values)?)
}
