//! Whether the best explanation explains what was entered.
//!
//! A check of the answer against the entries. It must not change the answer.

use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};

use super::Weighed;
use crate::diagnosis::model::Model;
use crate::diagnosis::result::{CauseRef, Surprise};
use measure::number::real;

/// Chance below which the best explanation is said to explain nothing.
const UNEXPLAINED: f64 = 1e-3;

/// How well the best explanation fits: its misfit at its own best scales against χ², its findings against their own
/// expected log chance (normal approximation); the smaller of the two, doubled.
pub(super) fn surprise(model: &Model<'_>, best: &Weighed) -> Surprise {
    let parts = best.parts.first().map_or(&[][..], |(parts, _)| parts);
    let (misfit, freedom) = model.misfit(parts);
    let mut p_value = 1.0_f64;
    if freedom > 0
        && let Ok(square) = ChiSquared::new(real(freedom))
    {
        p_value = p_value.min(1.0 - square.cdf(misfit));
    }
    let (mut shown, mut expected, mut variance) = (0.0, 0.0, 0.0);
    for sight in model.looks.iter().flat_map(|looks| model.sights(parts, looks)) {
        let row = &sight.row;
        let mean: f64 = row.iter().map(|p| p * p.ln()).sum();
        shown += row[model.timeline.findings[sight.finding].outcome].ln();
        expected += mean;
        variance += row.iter().map(|p| p * (p.ln() - mean).powi(2)).sum::<f64>();
    }
    if variance > 0.0
        && let Ok(normal) = Normal::new(0.0, 1.0)
    {
        p_value = p_value.min(normal.cdf((shown - expected) / variance.sqrt()));
    }
    let p_value = (2.0 * p_value).min(1.0);
    let in_no_list =
        best.candidates.iter().any(|&c| model.candidates[c].fault.cause == CauseRef::Unlisted);
    Surprise { p_value, unexplained: p_value < UNEXPLAINED || in_no_list }
}
