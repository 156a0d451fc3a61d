//! Which scales, wide cylinders and misread numbers are summed over.
//!
//! All of them are looked at under some *references*: nothing wrong, and each display free to show
//! anything. What carries less than a share of each is left out. It must not look at a cause.

use std::rc::Rc;

use super::super::linalg::{Matrix, log_sum_exp};
use super::cells::{Cells, Moved, Weight};
use super::field::{Field, Variant};
use measure::number::real;

/// Factors on a scale with the logs of their weights.
pub type Scale = Vec<(f64, f64)>;

/// What may be out of the ordinary, and how closely that is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ordinary {
    /// Chance that a cylinder is wide.
    pub wide: f64,
    /// Chance that a number is misread.
    pub wrong: f64,
    /// Share of a reference below which a case is left out.
    pub share: f64,
    /// Pairs of wide or misread ones looked at, at the most.
    pub pairs: usize,
}

/// A lognormal scale by Gauss and Hermite at three points: right for a cubic in the log, twice over.
#[must_use]
pub fn three_points(sd: f64) -> Scale {
    let far = 3.0_f64.sqrt() * sd;
    [(-far, 1.0 / 6.0), (0.0, 2.0 / 3.0), (far, 1.0 / 6.0)]
        .map(|(log, weight): (f64, f64)| (log.exp(), weight.ln()))
        .to_vec()
}

/// A lognormal scale at `2 half + 1` evenly spaced points within `reach` standard deviations: for a
/// scale that readings may tell closely.
#[must_use]
pub fn even_points(sd: f64, half: i32, reach: f64) -> Scale {
    let at = |i: i32| reach * f64::from(i) / f64::from(half);
    let weight = |t: f64| (-0.5 * t * t).exp();
    let sum: f64 = (-half..=half).map(|i| weight(at(i))).sum();
    (-half..=half).map(|i| ((sd * at(i)).exp(), (weight(at(i)) / sum).ln())).collect()
}

/// Log of the chance that these, and no others, are out of the ordinary.
fn log_chance(variant: &Variant, owners: usize, numbers: usize, ordinary: Ordinary) -> f64 {
    let part = |chance: f64, some: usize, all: usize| {
        let not = real(all - some) * (-chance).ln_1p();
        if some == 0 { not } else { real(some) * chance.ln() + not }
    };
    part(ordinary.wide, variant.wide.len(), owners)
        + part(ordinary.wrong, variant.wrong.len(), numbers)
}

/// A variant at every scale.
#[must_use]
pub fn at_all(variant: &Variant, log: f64, spread: &Scale, noise: &Scale) -> Vec<Weight> {
    let of = |s: &(f64, f64), n: &(f64, f64)| Weight {
        variant: variant.clone(),
        spread: s.0,
        noise: n.0,
        log: log + s.1 + n.1,
    };
    spread.iter().flat_map(|s| noise.iter().map(move |n| of(s, n))).collect()
}

/// What a reference leaves free.
struct Reference<'a> {
    effects: Vec<Moved<'a>>,
    /// Number of the cell at which it is best.
    best: usize,
    /// Log of its sum over the plain cells.
    log: f64,
}

/// The cells that matter. `free` are the numbers that each reference leaves free, by `factor`; `known`
/// the log of the share of each plain scale by other means, which keeps it where it is large enough.
#[must_use]
pub fn choose(
    field: Field,
    spread: &Scale,
    noise: &Scale,
    ordinary: Ordinary,
    free: &[Vec<(usize, usize)>],
    factor: &Matrix,
    known: &[f64],
) -> Cells {
    let (owners, numbers) = (field.owners(), field.count());
    let chance = |variant: &Variant| log_chance(variant, owners.len(), numbers, ordinary);
    let least = ordinary.share.ln();
    let plain = Variant::default();
    let cells = Cells::new(field, at_all(&plain, chance(&plain), spread, noise));
    let also: Vec<Weight> = cells
        .weights()
        .iter()
        .zip(known)
        .filter(|(_, share)| **share > least)
        .map(|(weight, _)| weight.clone())
        .collect();
    let (weights, variants) = {
        let zeros = vec![0.0; factor.rows()];
        let references = references(&cells, free, factor, &zeros);
        let nodes: Vec<Weight> = cells
            .weights()
            .iter()
            .enumerate()
            .filter(|(n, _)| {
                // What else tells the scales keeps them for what is out of the ordinary too: beside a
                // misread number that was read again only a gross unrest explains both without it.
                known.get(*n).is_some_and(|share| *share > least)
                    || references.iter().any(|r| cells.log_at(*n, &r.effects) - r.log > least)
            })
            .map(|(_, weight)| weight.clone())
            .collect();
        let mut singles: Vec<(Variant, f64)> = Vec::new();
        for wrong in 0..numbers {
            let variant = Variant { wide: Vec::new(), wrong: vec![wrong] };
            let prior = chance(&variant) - chance(&plain);
            let gain = gain_of_wrong(&cells, &references, wrong, factor.rows());
            if ordinary.wrong > 0.0 && prior + gain > least {
                singles.push((variant, prior + gain));
            }
        }
        singles.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        singles.truncate(MOST_WRONG);
        if ordinary.wide > 0.0 {
            singles.extend(
                owners.iter().map(|&o| (Variant { wide: vec![o], wrong: Vec::new() }, 0.0)),
            );
        }
        (nodes, singles)
    };
    // Each alone, at the scales left.
    let mut list = weights.clone();
    for (variant, _) in &variants {
        let prior = chance(variant) - chance(&plain);
        list.extend(weights.iter().map(|w| Weight {
            variant: variant.clone(),
            log: w.log + prior,
            ..w.clone()
        }));
    }
    // With nothing out of the ordinary a cause may explain all, however little any reference makes of that.
    let also = with_all(weights.iter().map(|w| (w.clone(), 0.0)).collect(), also);
    let (list, cells) = narrowed(cells, list, free, factor, least);
    // Two at once.
    let pairs = pairs(&list, ordinary.pairs);
    if pairs.is_empty() {
        return cells.at(with_all(list, also));
    }
    let mut list: Vec<Weight> = list.into_iter().map(|(weight, _)| weight).collect();
    for pair in pairs {
        let prior = chance(&pair) - chance(&plain);
        list.extend(weights.iter().map(|w| Weight {
            variant: pair.clone(),
            log: w.log + prior,
            ..w.clone()
        }));
    }
    let (list, cells) = narrowed(cells, list, free, factor, least);
    cells.at(with_all(list, also))
}

/// Weights kept, and those that are to be kept anyhow.
fn with_all(list: Vec<(Weight, f64)>, also: Vec<Weight>) -> Vec<Weight> {
    let mut list: Vec<Weight> = list.into_iter().map(|(weight, _)| weight).collect();
    for weight in also {
        if !list.contains(&weight) {
            list.push(weight);
        }
    }
    list
}

/// Numbers that may have been misread, at the most: the likeliest ones.
const MOST_WRONG: usize = 6;

fn references<'a>(
    cells: &Cells,
    free: &[Vec<(usize, usize)>],
    factor: &'a Matrix,
    zeros: &'a [f64],
) -> Vec<Reference<'a>> {
    let mut all = vec![Vec::new()];
    all.extend(free.iter().filter(|rows| !rows.is_empty()).map(|rows| {
        let on = Rc::new(cells.field.touched_anew(rows.clone()));
        vec![Moved { on, mean: zeros, factor }]
    }));
    all.into_iter()
        .map(|effects| {
            let logs: Vec<f64> =
                (0..cells.weights().len()).map(|n| cells.log_at(n, &effects)).collect();
            let best = (0..logs.len()).max_by(|a, b| logs[*a].total_cmp(&logs[*b])).unwrap_or(0);
            Reference { effects, best, log: log_sum_exp(&logs) }
        })
        .collect()
}

/// Log of the factor by which a reference gains, at the most, from one number being misread.
fn gain_of_wrong(cells: &Cells, references: &[Reference<'_>], wrong: usize, kinds: usize) -> f64 {
    let zeros = vec![0.0; kinds];
    let kind = cells.field.kind_of(wrong);
    let on = Rc::new(cells.field.touched_anew(vec![(wrong, kind)]));
    let mut most = f64::NEG_INFINITY;
    // Nothing wrong, and the number's own display free.
    let own = |r: &&Reference<'_>| {
        let has = |m: &Moved<'_>| m.on.rows().iter().any(|(row, _, _)| *row == wrong);
        r.effects.is_empty() || r.effects.iter().any(has)
    };
    for reference in references.iter().filter(own) {
        let sd = cells.field.wrong_sd() * cells.weights()[reference.best].spread;
        let factor =
            Matrix::from_fn(kinds, kinds, |i, j| if i == j && i == kind { sd } else { 0.0 });
        let mut effects = reference.effects.clone();
        let before = cells.log_at(reference.best, &effects);
        effects.push(Moved { on: Rc::clone(&on), mean: &zeros, factor: &factor });
        most = most.max(cells.log_at(reference.best, &effects) - before);
    }
    most
}

/// The cells that carry a share of some reference, each with its largest share.
fn narrowed(
    cells: Cells,
    list: Vec<Weight>,
    free: &[Vec<(usize, usize)>],
    factor: &Matrix,
    least: f64,
) -> (Vec<(Weight, f64)>, Cells) {
    let cells = cells.at(list);
    let zeros = vec![0.0; factor.rows()];
    let mut shares = vec![f64::NEG_INFINITY; cells.weights().len()];
    for reference in references(&cells, free, factor, &zeros) {
        for (n, share) in shares.iter_mut().enumerate() {
            *share = share.max(cells.log_at(n, &reference.effects) - reference.log);
        }
    }
    let kept = cells
        .weights()
        .iter()
        .zip(shares)
        .filter(|(_, share)| *share > least)
        .map(|(weight, share)| (weight.clone(), share))
        .collect();
    (kept, cells)
}

/// Pairs of what is out of the ordinary alone, the likeliest first.
fn pairs(list: &[(Weight, f64)], most: usize) -> Vec<Variant> {
    let mut singles: Vec<(&Variant, f64)> = Vec::new();
    for (weight, share) in list {
        if weight.variant == Variant::default() {
            continue;
        }
        match singles.iter_mut().find(|(v, _)| *v == &weight.variant) {
            Some((_, most)) => *most = most.max(*share),
            None => singles.push((&weight.variant, *share)),
        }
    }
    let mut pairs: Vec<(Variant, f64)> = Vec::new();
    for (i, (a, x)) in singles.iter().enumerate() {
        for (b, y) in &singles[..i] {
            if x + y > NOTICED {
                let both = |a: &[usize], b: &[usize]| {
                    let mut both = [a, b].concat();
                    both.sort_unstable();
                    both
                };
                let pair =
                    Variant { wide: both(&a.wide, &b.wide), wrong: both(&a.wrong, &b.wrong) };
                pairs.push((pair, x + y));
            }
        }
    }
    pairs.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    pairs.into_iter().take(most).map(|(pair, _)| pair).collect()
}

/// Log of the product of two shares from which the two are looked at together.
const NOTICED: f64 = -5.0;
