//! How far a fault accounts for a display that stands off.
//!
//! A fault may act on a display that stands off and yet do next to nothing to it: an input that reads two
//! degrees off beside a cylinder that is twenty hotter by nature. That is no reason to go on looking. The
//! shift is that of the diagnosis, given all readings; nothing is judged anew.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::diagnosis::Oddness;
use crate::diagnosis::assess::{Diagnosis, Weighed};
use crate::diagnosis::model::Part;
use measure::engine::Cylinder;

use super::sound::acts_on;

/// Natural standard deviations that a fault moves a display by at least, where it has a part in what it stands off
/// by (common practice, no source): with less the display would stand off all the same.
const PART: f64 = 0.5;
/// Share of an explanation below which one way of it is passed over.
const WAYS: f64 = 0.02;
/// Displays and sets looked at for one fault, the farthest first.
const MOST: usize = 4;

/// Probability that a fault, by position in its explanation, accounts for one of the displays that stand
/// `off`, each in a set. One that shows on several displays or on none that shows a number is taken to.
pub(super) fn accounts_for(
    diagnosis: &Diagnosis<'_>,
    weighed: &Weighed,
    k: usize,
    off: &[(usize, Cylinder)],
) -> f64 {
    let model = &diagnosis.model;
    let mut wanted: Vec<Wanted> = Vec::new();
    for &(set, display) in off {
        let shown =
            acts_on(diagnosis, weighed.candidates[k], &model.timeline.sets[set].arrangement);
        if !shown.contains(&display) {
            continue;
        }
        match Wanted::of(diagnosis, set, display) {
            Some(here) if shown.len() == 1 => wanted.push(here),
            _ => return 1.0,
        }
    }
    wanted.sort_by(|a, b| b.difference.abs().total_cmp(&a.difference.abs()));
    wanted.truncate(MOST);
    let sum: f64 = weighed.parts.iter().map(|(_, share)| share).sum();
    let mut chances = vec![0.0; wanted.len()];
    for (parts, share) in weighed.parts.iter().filter(|(_, share)| *share > WAYS * sum) {
        for (chance, one) in chances.iter_mut().zip(has_part(diagnosis, parts, k, &wanted)) {
            *chance += share / sum * one;
        }
    }
    chances.into_iter().fold(0.0, f64::max)
}

/// A number that stands off.
struct Wanted {
    /// Index into the readings.
    row: usize,
    /// How far it stands off, °C.
    difference: f64,
    /// A natural standard deviation there, °C.
    natural: f64,
}

impl Wanted {
    /// `None` for a display that shows no number there.
    fn of(diagnosis: &Diagnosis<'_>, set: usize, display: Cylinder) -> Option<Self> {
        let same = |odd: &&Oddness| (odd.set, odd.display) == (set, display);
        let odd = diagnosis.assessment.oddness.iter().find(same)?;
        let (difference, sigmas) = (odd.difference?, odd.sigmas?);
        let known = diagnosis.model.data.sets.iter().find(|known| known.index == set)?;
        let row = known.row_of[usize::from(display) - 1]?;
        let natural = difference / sigmas;
        natural.is_finite().then_some(Self { row, difference, natural })
    }
}

/// For each number the probability that the `k`th of some faults has a part in it.
fn has_part(diagnosis: &Diagnosis<'_>, parts: &[Part], k: usize, wanted: &[Wanted]) -> Vec<f64> {
    let model = &diagnosis.model;
    let misnames = |part: &Part| model.candidates[part.candidate].renaming.is_some();
    let Some(base) = model.base_of(parts).filter(|_| !misnames(&parts[k])) else {
        return vec![1.0; wanted.len()];
    };
    let effects = model.effects_of(base, parts);
    let usual = base.usual(&effects);
    // A misnaming has no effect of its own.
    let own = &effects[parts[..k].iter().filter(|part| !misnames(part)).count()];
    let standard = Normal::standard();
    let touched = own.on.rows();
    let part = |wanted: &Wanted| {
        let Some(&(_, kind, amount)) = touched.iter().find(|(row, ..)| *row == wanted.row) else {
            return 0.0;
        };
        let shift = own.factor.row(kind);
        let mut with = vec![0.0; model.data.rows.len()];
        for &(row, other, weight) in touched {
            let both: f64 = own.factor.row(other).iter().zip(shift).map(|(a, b)| a * b).sum();
            with[row] = amount * weight * both;
        }
        let told = base.forecast(usual, &effects, &with);
        let prior: f64 = shift.iter().map(|f| f * f).sum::<f64>() * amount * amount;
        let mean = amount * own.mean[kind] + told.mean;
        let sd = ((prior - told.reduction).max(0.0) * told.scale).sqrt().max(0.1);
        let there = mean * wanted.difference.signum();
        standard.cdf((there - PART * wanted.natural) / sd)
    };
    wanted.iter().map(part).collect()
}
