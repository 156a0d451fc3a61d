//! Running figures: mean and spread in one pass, and an exact count of values on a fine grid.
//!
//! Bounded whatever is put in. It must not know what the values are.

/// Count, mean and sum of squares about the mean; merges without loss (Chan, Golub & `LeVeque` 1983,
/// memory).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Moments {
    pub(super) count: f64,
    pub(super) mean: f64,
    pub(super) squares: f64,
}

impl Moments {
    #[inline]
    pub(super) fn merge(&mut self, other: &Self) {
        if other.count == 0.0 {
            return;
        }
        let count = self.count + other.count;
        let step = other.mean - self.mean;
        self.mean += step * other.count / count;
        self.squares += other.squares + step * step * self.count * other.count / count;
        self.count = count;
    }

    pub(super) fn push(&mut self, value: f64) {
        self.merge(&Self { count: 1.0, mean: value, squares: 0.0 });
    }

    /// Standard deviation of one value; 0 for fewer than two.
    pub(super) fn sd(&self) -> f64 {
        if self.count > 1.0 { (self.squares / (self.count - 1.0)).sqrt() } else { 0.0 }
    }
}

/// Steps of the grid in a degree: quantiles are off by half a step, 0.005, at most, and exact for
/// values written with up to two decimals.
pub(super) const STEPS: f64 = 100.0;

/// A value on the grid.
#[inline]
#[expect(clippy::cast_possible_truncation, reason = "displays are within −60 to 1300")]
pub(super) fn on_grid(value: f64) -> i32 {
    let scaled = value * STEPS;
    (if scaled < 0.0 { scaled - 0.5 } else { scaled + 0.5 }) as i32
}

/// How often each value of the grid came; nothing is lost but what is finer than the grid.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Counts {
    lowest: i32,
    bins: Vec<u32>,
    total: u64,
}

/// Bins that are added beyond a value out of range.
const MARGIN: i32 = 256;

impl Counts {
    #[inline]
    pub(super) fn add(&mut self, value: i32) {
        self.total += 1;
        let at = value.wrapping_sub(self.lowest);
        match usize::try_from(at).ok().and_then(|at| self.bins.get_mut(at)) {
            Some(bin) => *bin += 1,
            None => self.widen(value),
        }
    }

    #[cold]
    fn widen(&mut self, value: i32) {
        let length = i32::try_from(self.bins.len()).unwrap_or(i32::MAX);
        if length == 0 {
            self.lowest = value - MARGIN;
        }
        let low = self.lowest.min(value - MARGIN);
        let high = (self.lowest + length).max(value + MARGIN);
        let size = |n: i32| usize::try_from(n).unwrap_or(0);
        let mut bins = vec![0; size(high - low)];
        let from = size(self.lowest - low);
        bins[from..from + self.bins.len()].copy_from_slice(&self.bins);
        self.bins = bins;
        self.lowest = low;
        self.bins[size(value - low)] += 1;
    }

    /// The value at a place in order, from 0.
    fn at(&self, place: u64) -> f64 {
        let mut seen = 0;
        for (value, &count) in (self.lowest..).zip(&self.bins) {
            seen += u64::from(count);
            if seen > place {
                return f64::from(value) / STEPS;
            }
        }
        f64::NAN
    }

    /// Median, on the grid: the middle value, or the mean of the middle two.
    pub(super) fn median(&self) -> Option<f64> {
        let last = self.total.checked_sub(1)?;
        Some(f64::midpoint(self.at(last / 2), self.at(self.total / 2)))
    }

    /// The value below which a share of all lies.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a place among counted values"
    )]
    pub(super) fn quantile(&self, share: f64) -> Option<f64> {
        let last = self.total.checked_sub(1)?;
        Some(self.at((share * last as f64).round() as u64))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::readings::outlier::median;

    proptest! {
        #[test]
        fn figures_agree_with_the_obvious(
            values in proptest::collection::vec(-6000..130_000_i32, 1..200), cut in 0..200_usize
        ) {
            let values: Vec<f64> = values.iter().map(|&v| f64::from(v) / STEPS).collect();
            let (mut one, mut two, mut counts) =
                (Moments::default(), Moments::default(), Counts::default());
            for (i, &value) in values.iter().enumerate() {
                if i < cut { one.push(value) } else { two.push(value) }
                counts.add(on_grid(value));
            }
            one.merge(&two);
            let n = f64::from(u16::try_from(values.len()).expect("few"));
            let mean = values.iter().sum::<f64>() / n;
            let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
            prop_assert!((one.mean - mean).abs() < 1e-9);
            prop_assert!((one.squares - squares).abs() < 1e-6 * (1.0 + squares));
            prop_assert_eq!(counts.median(), median(&values));
        }
    }

    #[test]
    fn nothing_has_no_figures() {
        assert_eq!(Counts::default().median(), None);
        assert!(Moments::default().sd().abs() < 1e-12);
    }
}
