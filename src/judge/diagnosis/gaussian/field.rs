//! The likelihood of many readings by structure, without a matrix of all readings by all readings.
//!
//! A reading is a level of its set, offsets of the groups that it belongs to (its cylinder, the fit of
//! its probe, its bank), what a fault adds, and noise:
//!
//! ```text
//! y = M level + B b + Z x + e      cov(b) = σ²·1,  cov(e) = ρ²·D,  D diagonal, B b persistent
//! A = D⁻¹ − D⁻¹M(MᵀD⁻¹M)⁻¹MᵀD⁻¹,   BᵀAB = UᵀΛU,   τ = ρ²/σ²
//! P = (A − AB(τ1 + BᵀAB)⁻¹BᵀA) / ρ²     log|V| = log|D| + n·log ρ² + Σ log(1 + Λ/τ)
//! ```
//!
//! So one decomposition of the size of the groups serves every scale of the natural spread and of the
//! repeatability, and the work grows with the number of readings, not with its cube. A wide
//! cylinder has its rows in `B` stretched, a misread number has a column of its own there.
//!
//! It knows numbers only. Dense and obvious, it stands in [`super::Base`], which the tests hold
//! against this.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use super::super::linalg::{Matrix, add, dot};
use super::cells::Cell;
use super::eigen::eigen;
use super::touched::Touched;
use measure::number::real;

/// One number that was read.
#[derive(Debug, Clone)]
pub struct Number {
    /// °C, what is expected of a healthy one taken away.
    pub value: f64,
    /// Its reading set, counted from 0.
    pub set: usize,
    /// Its kind.
    pub kind: usize,
    /// Variance of its noise at scale one, °C².
    pub noise: f64,
    /// Standard deviation of what it jumps by besides, °C; nought for a steady number.
    pub jump: f64,
    /// Groups that it shares an offset with.
    pub groups: Vec<usize>,
}

/// Numbers that have an offset in common, one for each kind.
#[derive(Debug, Clone)]
pub struct Group {
    /// Lower factor of the covariance of these offsets between kinds, at scale one, °C.
    pub factor: Rc<Matrix>,
    /// What may be wide as a whole, if anything: groups with the same name are wide together.
    pub owner: Option<usize>,
}

/// Which things are out of the ordinary.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Variant {
    /// Owners of groups that are wide.
    pub wide: Vec<usize>,
    /// Numbers that were misread.
    pub wrong: Vec<usize>,
}

/// How far out of the ordinary things are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Factor on the spread of a wide cylinder.
    pub wide: f64,
    /// Standard deviation of a misread number, °C.
    pub wrong: f64,
}

/// A variant, worked out.
#[derive(Debug)]
pub(super) struct Decomposed {
    /// `Λ`
    pub(super) values: Vec<f64>,
    /// `U`
    vectors: Matrix,
    /// Of each set the weighted sum of its rows of `B`, over its weight.
    middles: Matrix,
    /// `U BᵀA y`
    pub(super) weighted: Vec<f64>,
    columns: usize,
    variant: Variant,
}

/// Readings with what they have in common.
#[derive(Debug)]
pub struct Field {
    pub(super) kinds: usize,
    pub(super) numbers: Vec<Number>,
    groups: Vec<Group>,
    reach: Reach,
    /// Numbers that jump, in order.
    jumping: Vec<usize>,
    /// Weight of each set: `MᵀD⁻¹M`.
    pub(super) set_weight: Vec<f64>,
    /// `A y`
    pub(super) centred: Vec<f64>,
    /// `yᵀA y`
    pub(super) quadratic: f64,
    /// Log determinant of the noise of orthonormal contrasts at scale one.
    pub(super) log_noise: f64,
    /// Readings less levels.
    freedom: usize,
    variants: RefCell<Vec<(Variant, Rc<Decomposed>)>>,
    known: RefCell<BTreeMap<(usize, u128, u128), Rc<Touched>>>,
    /// `ZᵀP Z'` of known readings by their names and by cell.
    crossed: RefCell<BTreeMap<(usize, usize, usize), Rc<Matrix>>>,
}

/// Products of two sets of readings that are kept, at the most: so much and no more of the memory, however
/// long the job.
const MOST_CROSSED: usize = 20_000;

impl Field {
    /// Prepares readings of some kinds.
    #[must_use]
    pub fn new(kinds: usize, numbers: Vec<Number>, groups: Vec<Group>, reach: Reach) -> Self {
        let sets = numbers.iter().map(|n| n.set + 1).max().unwrap_or(0);
        let mut set_weight = vec![0.0; sets];
        let mut sums = vec![0.0; sets];
        let mut count = vec![0.0_f64; sets];
        for number in &numbers {
            set_weight[number.set] += 1.0 / number.noise;
            sums[number.set] += number.value / number.noise;
            count[number.set] += 1.0;
        }
        let centred: Vec<f64> =
            numbers.iter().map(|n| (n.value - sums[n.set] / set_weight[n.set]) / n.noise).collect();
        let quadratic = centred.iter().zip(&numbers).map(|(c, n)| c * n.value).sum();
        let mut log_noise: f64 = numbers.iter().map(|n| n.noise.ln()).sum();
        let mut levels = 0;
        for (weight, count) in set_weight.iter().zip(&count).filter(|(_, c)| **c > 0.0) {
            log_noise += weight.ln() - count.ln();
            levels += 1;
        }
        let jumping = (0..numbers.len()).filter(|&i| numbers[i].jump > 0.0).collect();
        Self {
            kinds,
            freedom: numbers.len() - levels,
            numbers,
            groups,
            reach,
            jumping,
            set_weight,
            centred,
            quadratic,
            log_noise,
            variants: RefCell::default(),
            known: RefCell::default(),
            crossed: RefCell::default(),
        }
    }

    /// Number of readings less number of sets.
    #[must_use]
    pub fn freedom(&self) -> usize {
        self.freedom
    }

    /// The same with nothing kept that belongs to cells.
    #[must_use]
    pub(super) fn forget_cells(mut self) -> Self {
        self.known = RefCell::default();
        self.crossed = RefCell::default();
        self
    }

    #[cfg(test)]
    pub(super) fn groups(&self) -> &[Group] {
        &self.groups
    }

    /// The kind of a number.
    pub(super) fn kind_of(&self, number: usize) -> usize {
        self.numbers[number].kind
    }

    /// Standard deviation of a misread number at scale one, °C.
    pub(super) fn wrong_sd(&self) -> f64 {
        self.reach.wrong
    }

    /// How many numbers there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.numbers.len()
    }

    /// Owners of groups that may be wide.
    #[must_use]
    pub fn owners(&self) -> Vec<usize> {
        let mut owners: Vec<usize> = self.groups.iter().filter_map(|g| g.owner).collect();
        owners.sort_unstable();
        owners.dedup();
        owners
    }

    /// What hypotheses about some readings share. `key` stands for the readings; which they are is
    /// asked for where they were not met before.
    #[must_use]
    pub fn touched(
        &self,
        key: (usize, u128, u128),
        which: impl FnOnce() -> Vec<(usize, usize)>,
    ) -> Rc<Touched> {
        let known = self.known.borrow().get(&key).cloned();
        known.unwrap_or_else(|| {
            let mut known = self.known.borrow_mut();
            let touched = Rc::new(self.touched_anew(which()).named(known.len()));
            known.insert(key, Rc::clone(&touched));
            touched
        })
    }

    /// `ZᵀP Z'` of two sets of readings at a cell.
    pub(super) fn across(
        &self,
        one: &Touched,
        other: &Touched,
        number: usize,
        cell: &Cell,
    ) -> Rc<Matrix> {
        let (Some(a), Some(b)) = (one.name(), other.name()) else {
            return Rc::new(one.across(other, self, cell));
        };
        let key = (a, b, number);
        if let Some(known) = self.crossed.borrow().get(&key) {
            return Rc::clone(known);
        }
        let made = Rc::new(one.across(other, self, cell));
        let mut crossed = self.crossed.borrow_mut();
        if crossed.len() < MOST_CROSSED {
            crossed.insert(key, Rc::clone(&made));
        }
        made
    }

    /// The same for readings that are not met again.
    #[must_use]
    pub fn touched_anew(&self, which: Vec<(usize, usize)>) -> Touched {
        let weighted = which.into_iter().map(|(row, kind)| (row, kind, 1.0)).collect();
        Touched::new(self, self.kinds, weighted)
    }

    /// A single combination of readings, each with its weight.
    #[must_use]
    pub(super) fn combination(&self, rows: Vec<(usize, f64)>) -> Touched {
        Touched::new(self, 1, rows.into_iter().map(|(row, weight)| (row, 0, weight)).collect())
    }

    /// Its index and itself.
    pub(super) fn decomposed(&self, variant: &Variant) -> (usize, Rc<Decomposed>) {
        let known = self.variants.borrow().iter().position(|(v, _)| v == variant);
        if let Some(index) = known {
            return (index, Rc::clone(&self.variants.borrow()[index].1));
        }
        let made = Rc::new(self.decompose(variant));
        let mut variants = self.variants.borrow_mut();
        variants.push((variant.clone(), Rc::clone(&made)));
        (variants.len() - 1, made)
    }

    fn decompose(&self, variant: &Variant) -> Decomposed {
        let columns = self.groups.len() * self.kinds + self.jumping.len() + variant.wrong.len();
        let mut middles = Matrix::zeros(self.set_weight.len(), columns);
        let mut gram = Matrix::zeros(columns, columns);
        let mut weighted = vec![0.0; columns];
        let mut row = vec![0.0; columns];
        let mut spots = Vec::new();
        for (i, number) in self.numbers.iter().enumerate() {
            self.spots(i, variant, &mut spots);
            for &(at, value) in &spots {
                row[at] = value;
                weighted[at] += value * self.centred[i];
                middles[(number.set, at)] += value / number.noise;
            }
            for &(at, value) in &spots {
                for &(to, other) in &spots {
                    gram[(at, to)] += value * other / number.noise;
                }
            }
        }
        for (set, &weight) in self.set_weight.iter().enumerate().filter(|(_, w)| **w > 0.0) {
            row.copy_from_slice(middles.row(set));
            for at in 0..columns {
                if row[at] != 0.0 {
                    add(gram.row_mut(at), -row[at] / weight, &row);
                }
            }
            for cell in middles.row_mut(set) {
                *cell /= weight;
            }
        }
        let (mut values, vectors) = eigen(&gram);
        for value in &mut values {
            *value = value.max(0.0);
        }
        let weighted = (0..columns).map(|k| dot(vectors.row(k), &weighted)).collect();
        Decomposed { values, vectors, middles, weighted, columns, variant: variant.clone() }
    }

    /// The entries of a number's row of `B`.
    fn spots(&self, i: usize, variant: &Variant, spots: &mut Vec<(usize, f64)>) {
        spots.clear();
        let number = &self.numbers[i];
        for &group in &number.groups {
            let Group { factor, owner } = &self.groups[group];
            let wide = owner.is_some_and(|owner| variant.wide.contains(&owner));
            let scale = if wide { self.reach.wide } else { 1.0 };
            let row = factor.row(number.kind);
            spots.extend((0..=number.kind).map(|k| (group * self.kinds + k, scale * row[k])));
        }
        let mut at = self.groups.len() * self.kinds;
        if number.jump > 0.0 {
            let own = self.jumping.iter().position(|&j| j == i).unwrap_or(0);
            spots.push((at + own, number.jump));
        }
        at += self.jumping.len();
        if let Some(own) = variant.wrong.iter().position(|&j| j == i) {
            spots.push((at + own, self.reach.wrong));
        }
    }

    /// `U BᵀA Z` of some readings, a row for each of their kinds.
    pub(super) fn turned(&self, of: &Decomposed, touched: &Touched) -> Matrix {
        let mut sums = Matrix::zeros(touched.kinds(), of.columns);
        let mut spots = Vec::new();
        for &(i, kind, weight) in touched.rows() {
            self.spots(i, &of.variant, &mut spots);
            for &(at, value) in &spots {
                sums[(kind, at)] += weight * value / self.numbers[i].noise;
            }
        }
        for &(set, kind, sum) in touched.by_set() {
            let middle = of.middles.row(set);
            add(sums.row_mut(kind), -sum, middle);
        }
        Matrix::from_fn(touched.kinds(), of.columns, |kind, k| {
            dot(of.vectors.row(k), sums.row(kind))
        })
    }

    /// The constant of the density of the contrasts.
    pub(super) fn constant(&self) -> f64 {
        -0.5 * (real(self.freedom) * std::f64::consts::TAU.ln() + self.log_noise)
    }
}
