//! Whether numbers between nought and one are even: a histogram and a chi-square.

use std::fmt::Write as _;

use measure::number::real;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Bins of the test.
pub(super) const BINS: usize = 20;

/// How many fall in each bin.
pub(super) fn histogram(ranks: &[f64]) -> [usize; BINS] {
    let mut bins = [0; BINS];
    for rank in ranks {
        // The bin is the number of its edges below.
        let edges = (1..BINS).filter(|edge| *rank >= real(*edge) / real(BINS)).count();
        bins[edges] += 1;
    }
    bins
}

/// Chi-square of evenness over the bins, and its p-value.
pub(super) fn chi_square(ranks: &[f64]) -> (f64, f64) {
    let expected = real(ranks.len()) / real(BINS);
    let bins = histogram(ranks);
    let square = bins.iter().map(|n| (real(*n) - expected).powi(2) / expected).sum();
    let law = ChiSquared::new(real(BINS - 1)).expect("there are bins");
    (square, law.sf(square))
}

/// A line: name, chi-square, p-value, histogram.
pub(super) fn line(name: &str, ranks: &[f64]) -> String {
    let (square, p) = chi_square(ranks);
    let mut text = format!("{name:<24} {:>5}  chi2 {square:>6.1}  p {p:<8.2e} ", ranks.len());
    for n in histogram(ranks) {
        let _ = write!(text, " {n}");
    }
    text
}

#[test]
fn even_numbers_pass_and_uneven_ones_do_not() {
    let even: Vec<f64> = (0..2000_u32).map(|i| (f64::from(i) * 0.618_033_988_7).fract()).collect();
    assert!(chi_square(&even).1 > 0.5);
    let sure: Vec<f64> = even.iter().map(|u| u.powf(1.2)).collect();
    assert!(chi_square(&sure).1 < 1e-3);
}
