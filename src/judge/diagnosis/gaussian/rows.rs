//! Which readings a fault shows on, and what every hypothesis about the same readings shares.
//!
//! It must not know the tail of the likelihood, nor what the readings are of.

use std::rc::Rc;

use super::super::linalg::{Matrix, add, dot};

/// The readings that a fault shows on, gathered by kind (`Z`).
#[derive(Debug)]
pub struct Rows {
    /// Each reading with its kind.
    touched: Vec<(usize, usize)>,
    /// `P0 Z`, a row for each reading there is.
    toward: Matrix,
    /// `ZᵀP0Z`
    within: Matrix,
    /// `ZᵀP0 y`
    weighted: Vec<f64>,
}

impl Rows {
    pub(super) fn new(
        touched: Vec<(usize, usize)>,
        kinds: usize,
        p0: &Matrix,
        weighted: &[f64],
    ) -> Self {
        let n = weighted.len();
        let mut toward = Matrix::zeros(n, kinds);
        for &(row, kind) in &touched {
            for (j, p) in p0.row(row).iter().enumerate() {
                toward[(j, kind)] += p;
            }
        }
        let mut within = Matrix::zeros(kinds, kinds);
        let mut sums = vec![0.0; kinds];
        for &(row, kind) in &touched {
            add(within.row_mut(kind), 1.0, toward.row(row));
            sums[kind] += weighted[row];
        }
        Self { touched, toward, within, weighted: sums }
    }

    /// Each reading with its kind.
    #[must_use]
    pub fn touched(&self) -> &[(usize, usize)] {
        &self.touched
    }
}

/// What a fault does to the readings that it shows on.
#[derive(Debug, Clone)]
pub struct Effect<'a> {
    /// Which they are.
    pub on: Rc<Rows>,
    /// How far it moves those of each kind, on average (`m`).
    pub mean: &'a [f64],
    /// Factor of the covariance of these shifts, a row for each kind, lower (`F`).
    pub factor: &'a Matrix,
}

/// Some effects at once, independent of each other, their kinds one after the other. Kept and filled
/// again, because it is needed very often.
#[derive(Debug, Clone, Default)]
pub(super) struct Joint {
    /// `Q`
    pub(super) quadratic: f64,
    /// What the effects add to the log determinant.
    pub(super) log_determinant: f64,
    /// `m + F G⁻¹ Fᵀ u`: shifts as they are thought to be after the readings.
    shifts: Vec<f64>,
    /// `L_G⁻¹ Fᵀ`, its columns as rows.
    known: Matrix,
    /// `ZᵀP0Z`, then that times `F`, then `G`.
    within: Matrix,
    carried: Matrix,
    g: Matrix,
    /// `u`, and `Fᵀu`.
    left: Vec<f64>,
    v: Vec<f64>,
    /// `P0 Z` at the readings looked at, and what is made of it.
    toward: Vec<f64>,
    told: Vec<f64>,
}

impl Joint {
    /// Works out some effects, `quadratic` being `yᵀP0y`.
    pub(super) fn solve(&mut self, effects: &[Effect<'_>], quadratic: f64) {
        let size: usize = effects.iter().map(|effect| effect.mean.len()).sum();
        self.gather(effects, size);
        self.quadratic = quadratic - dot(&self.shifts, &self.left);
        for (kind, left) in self.left.iter_mut().enumerate() {
            *left -= dot(self.within.row(kind), &self.shifts);
        }
        self.quadratic -= dot(&self.shifts, &self.left);

        // G and Fᵀu. F is made of blocks along the diagonal.
        self.carried.reset(size, size);
        for (kind, from, factor) in factors(effects) {
            for row in 0..size {
                let weight = self.within[(row, kind)];
                add(&mut self.carried.row_mut(row)[from..from + factor.len()], weight, factor);
            }
        }
        self.g.reset(size, size);
        self.v.clear();
        self.v.resize(size, 0.0);
        for (kind, from, factor) in factors(effects) {
            for (column, &f) in (from..).zip(factor).filter(|(_, f)| **f != 0.0) {
                let carried = &self.carried.row(kind)[..=column];
                add(&mut self.g.row_mut(column)[..=column], f, carried);
                self.v[column] += f * self.left[kind];
            }
        }
        for column in 0..size {
            self.g[(column, column)] += 1.0;
        }
        self.g.cholesky();
        self.g.forward(&mut self.v);
        self.quadratic = (self.quadratic - dot(&self.v, &self.v)).max(0.0);
        self.log_determinant = self.g.log_determinant();
    }

    /// Makes ready for [`Joint::explained`], which not every question needs.
    pub(super) fn look_back(&mut self, effects: &[Effect<'_>]) {
        let size = self.shifts.len();
        self.g.backward(&mut self.v);
        self.known.reset(size, size);
        for (kind, from, factor) in factors(effects) {
            let to = from..from + factor.len();
            self.shifts[kind] += dot(factor, &self.v[to.clone()]);
            let row = self.known.row_mut(kind);
            row[to].copy_from_slice(factor);
            self.g.forward(row);
        }
    }

    /// Puts `ZᵀP0Z`, `m` and `ZᵀP0y` together.
    fn gather(&mut self, effects: &[Effect<'_>], size: usize) {
        self.within.reset(size, size);
        self.shifts.clear();
        self.left.clear();
        let mut at = 0;
        for (number, effect) in effects.iter().enumerate() {
            let mut across = 0;
            for other in &effects[..number] {
                let kinds = other.mean.len();
                for &(row, kind) in &effect.on.touched {
                    let to = &mut self.within.row_mut(at + kind)[across..across + kinds];
                    add(to, 1.0, other.on.toward.row(row));
                }
                across += kinds;
            }
            let kinds = effect.mean.len();
            for kind in 0..kinds {
                self.within.row_mut(at + kind)[at..at + kinds]
                    .copy_from_slice(effect.on.within.row(kind));
            }
            self.shifts.extend_from_slice(effect.mean);
            self.left.extend_from_slice(&effect.on.weighted);
            at += kinds;
        }
        self.within.mirror();
    }

    /// What the effects explain of a combination of readings, each with its weight, and how much they
    /// take off its precision.
    pub(super) fn explained(
        &mut self,
        effects: &[Effect<'_>],
        combination: impl Iterator<Item = (usize, f64)>,
    ) -> (f64, f64) {
        let size = self.shifts.len();
        self.toward.clear();
        self.toward.resize(size, 0.0);
        for (row, weight) in combination {
            let mut at = 0;
            for effect in effects {
                let toward = effect.on.toward.row(row);
                add(&mut self.toward[at..at + toward.len()], weight, toward);
                at += toward.len();
            }
        }
        self.told.clear();
        self.told.resize(size, 0.0);
        for (kind, &weight) in self.toward.iter().enumerate() {
            add(&mut self.told, weight, self.known.row(kind));
        }
        (dot(&self.toward, &self.shifts), dot(&self.told, &self.told))
    }
}

/// Rows of the factors with the place of each and that of its block.
fn factors<'a>(effects: &'a [Effect<'_>]) -> impl Iterator<Item = (usize, usize, &'a [f64])> {
    let blocks = effects.iter().scan(0, |at, effect| {
        let from = *at;
        *at += effect.mean.len();
        Some((from, effect.factor))
    });
    blocks.flat_map(|(from, factor)| {
        (0..factor.rows()).map(move |kind| (from + kind, from, factor.row(kind)))
    })
}
