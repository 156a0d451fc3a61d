//! The density at each of some scales and variants, and the sum over them.
//!
//! A *cell* is a factor on the natural spread, one on the repeatability, and what is out of the
//! ordinary; it has a weight. All is Gaussian in a cell. It must not choose the cells.

use std::cell::RefCell;
use std::rc::Rc;

use super::super::linalg::{Matrix, add, dot, log_sum_exp};
use super::Forecast;
use super::field::{Decomposed, Field, Variant};
use super::touched::{Table, Touched};
use measure::number::real;

/// What a fault does to the readings that it shows on.
#[derive(Debug, Clone)]
pub struct Moved<'a> {
    /// Which they are.
    pub on: Rc<Touched>,
    /// How far it moves those of each kind, on average (`m`).
    pub mean: &'a [f64],
    /// Factor of the covariance of these shifts, a row for each kind, lower (`F`).
    pub factor: &'a Matrix,
}

/// Scales, what is out of the ordinary, and how likely that is.
#[derive(Debug, Clone, PartialEq)]
pub struct Weight {
    /// Which.
    pub variant: Variant,
    /// Factor on the natural spread.
    pub spread: f64,
    /// Factor on the repeatability.
    pub noise: f64,
    /// Log of its weight.
    pub log: f64,
}

/// A weight, worked out for a field.
#[derive(Debug)]
pub(super) struct Cell {
    pub(super) variant: usize,
    pub(super) of: Rc<Decomposed>,
    /// `1/(τ + Λ)`
    pub(super) damping: Vec<f64>,
    /// `1/ρ²`
    pub(super) precision: f64,
    /// `yᵀP y`
    quadratic: f64,
    /// Log density of nothing but `−Q/2`, weight included.
    constant: f64,
    log: f64,
}

/// Kinds of all effects together up to which they are worked out in place: two effects on three.
const FEW: usize = 6;

/// A field at its cells.
#[derive(Debug)]
pub struct Cells {
    /// The readings.
    pub field: Field,
    weights: Vec<Weight>,
    made: Vec<RefCell<Option<Rc<Cell>>>>,
    joint: RefCell<Joint>,
}

impl Cells {
    /// Some readings at some scales.
    #[must_use]
    pub fn new(field: Field, weights: Vec<Weight>) -> Self {
        let made = weights.iter().map(|_| RefCell::default()).collect();
        Self { field, weights, made, joint: RefCell::default() }
    }

    /// The scales.
    #[must_use]
    pub fn weights(&self) -> &[Weight] {
        &self.weights
    }

    /// The same readings at other scales.
    #[must_use]
    pub fn at(self, weights: Vec<Weight>) -> Self {
        // What was worked out for a cell's number no longer holds.
        Self::new(self.field.forget_cells(), weights)
    }

    fn cell(&self, number: usize) -> Rc<Cell> {
        if let Some(cell) = &*self.made[number].borrow() {
            return Rc::clone(cell);
        }
        let Weight { variant, spread, noise, log } = &self.weights[number];
        let (variant, of) = self.field.decomposed(variant);
        let (spread, noise) = (spread * spread, noise * noise);
        let tau = noise / spread;
        let damping: Vec<f64> = of.values.iter().map(|v| 1.0 / (tau + v)).collect();
        let told: f64 = of.weighted.iter().zip(&damping).map(|(w, d)| w * w * d).sum();
        let grown: f64 = of.values.iter().map(|v| (v / tau).ln_1p()).sum();
        let constant =
            self.field.constant() - 0.5 * (real(self.field.freedom()) * noise.ln() + grown) + log;
        let cell = Rc::new(Cell {
            variant,
            of,
            damping,
            precision: 1.0 / noise,
            quadratic: ((self.field.quadratic - told) / noise).max(0.0),
            constant,
            log: *log,
        });
        *self.made[number].borrow_mut() = Some(Rc::clone(&cell));
        cell
    }

    /// Log of weight times density at one cell.
    #[must_use]
    pub fn log_at(&self, number: usize, effects: &[Moved<'_>]) -> f64 {
        let cell = self.cell(number);
        let kinds: usize = effects.iter().map(|effect| effect.mean.len()).sum();
        let (quadratic, log_determinant) = match kinds {
            0 => (cell.quadratic, 0.0),
            1..=2 => self.in_place::<2>(number, &cell, effects),
            3..=FEW => self.in_place::<FEW>(number, &cell, effects),
            _ => {
                let joint = &mut *self.joint.borrow_mut();
                joint.solve(&self.field, number, &cell, effects);
                (joint.quadratic, joint.log_determinant)
            }
        };
        cell.constant - 0.5 * (quadratic + log_determinant)
    }

    /// Quadratic form and log determinant of effects on few kinds together: as [`Joint`], in place.
    fn in_place<const N: usize>(
        &self,
        number: usize,
        cell: &Cell,
        effects: &[Moved<'_>],
    ) -> (f64, f64) {
        let (mut within, mut factor) = ([[0.0; N]; N], [[0.0; N]; N]);
        let (mut mean, mut told) = ([0.0; N], [0.0; N]);
        let mut k = 0;
        for (nth, effect) in effects.iter().enumerate() {
            let table = effect.on.table(&self.field, number, cell);
            let (from, to) = (k, k + effect.mean.len());
            mean[from..to].copy_from_slice(effect.mean);
            told[from..to].copy_from_slice(&table.weighted);
            for kind in from..to {
                within[kind][from..to].copy_from_slice(table.within.row(kind - from));
                factor[kind][from..to].copy_from_slice(effect.factor.row(kind - from));
            }
            k = 0;
            for other in &effects[..nth] {
                let across = self.field.across(&effect.on, &other.on, number, cell);
                for a in 0..effect.mean.len() {
                    for (b, &value) in across.row(a).iter().enumerate() {
                        within[from + a][k + b] = value;
                        within[k + b][from + a] = value;
                    }
                }
                k += other.mean.len();
            }
            k = to;
        }
        let mut quadratic = cell.quadratic;
        let mut left = [0.0; N];
        for (a, left) in left.iter_mut().enumerate().take(k) {
            let moved = dot(&within[a][..k], &mean[..k]);
            *left = told[a] - moved;
            quadratic -= mean[a] * (told[a] + *left);
        }
        // W F, then I + FᵀWF and Fᵀ left.
        let mut carried = [[0.0; N]; N];
        for (to, within) in carried.iter_mut().zip(&within).take(k) {
            for (&weight, factor) in within.iter().zip(&factor).take(k) {
                for (to, f) in to.iter_mut().zip(factor).take(k) {
                    *to += weight * f;
                }
            }
        }
        let mut g = [[0.0; N]; N];
        let mut v = [0.0; N];
        for a in 0..k {
            for (c, &f) in factor[a].iter().enumerate().take(k).filter(|(_, f)| **f != 0.0) {
                v[c] += f * left[a];
                for d in 0..=c {
                    g[c][d] += f * carried[a][d];
                }
            }
        }
        let mut determinant = 1.0;
        for j in 0..k {
            for i in j..k {
                let mut rest = g[i][j] + f64::from(u8::from(i == j));
                rest -= dot(&g[i][..j], &g[j][..j]);
                g[i][j] = if i == j { rest.max(1e-12).sqrt() } else { rest / g[j][j] };
            }
            determinant *= g[j][j];
            let mut rest = v[j];
            for c in 0..j {
                rest -= g[j][c] * v[c];
            }
            v[j] = rest / g[j][j];
            quadratic -= v[j] * v[j];
        }
        (quadratic.max(0.0), 2.0 * determinant.ln())
    }

    /// Log density of the contrasts under a hypothesis: the sum over the cells that are asked for.
    #[must_use]
    pub fn log_density(&self, effects: &[Moved<'_>], which: impl Fn(&Weight) -> bool) -> f64 {
        let logs: Vec<f64> = (0..self.weights.len())
            .filter(|&number| which(&self.weights[number]))
            .map(|number| self.log_at(number, effects))
            .collect();
        log_sum_exp(&logs)
    }

    /// The cell that weighs most under a hypothesis.
    #[must_use]
    pub fn best(&self, effects: &[Moved<'_>]) -> usize {
        let mut best = (0, f64::NEG_INFINITY);
        for number in 0..self.weights.len() {
            let log = self.log_at(number, effects);
            if log > best.1 {
                best = (number, log);
            }
        }
        best.0
    }

    /// The cell that weighs most of those with nothing out of the ordinary and the natural spread as
    /// it usually is.
    #[must_use]
    pub fn usual(&self, effects: &[Moved<'_>]) -> usize {
        let plain = Variant::default();
        let usual = |w: &Weight| w.variant == plain && (w.spread - 1.0).abs() < 1e-9;
        let cells = (0..self.weights.len()).filter(|&n| usual(&self.weights[n]));
        let logs = cells.map(|n| (n, self.log_at(n, effects)));
        logs.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(n, _)| n)
    }

    /// Quadratic form of the residuals at a cell, to judge how well a hypothesis fits.
    #[must_use]
    pub fn misfit(&self, number: usize, effects: &[Moved<'_>]) -> f64 {
        let cell = self.cell(number);
        let joint = &mut *self.joint.borrow_mut();
        joint.solve(&self.field, number, &cell, effects);
        joint.quadratic
    }

    /// Log density at a cell without its weight.
    #[must_use]
    pub fn log_density_at(&self, number: usize, effects: &[Moved<'_>]) -> f64 {
        self.log_at(number, effects) - self.cell(number).log
    }

    /// Forecasts one more quantity at a cell, given its covariance with each reading under a
    /// hypothesis.
    #[must_use]
    pub fn forecast(&self, number: usize, effects: &[Moved<'_>], with: &[f64]) -> Forecast {
        let cell = self.cell(number);
        let joint = &mut *self.joint.borrow_mut();
        joint.solve(&self.field, number, &cell, effects);
        joint.look_back(effects);
        let all = with.iter().copied().enumerate().filter(|(_, own)| *own != 0.0);
        let combination = self.field.combination(all.collect());
        let own = combination.table_at(&self.field, &cell);
        let mut across = Vec::new();
        for effect in effects {
            let one = combination.across(&effect.on, &self.field, &cell);
            across.extend_from_slice(one.row(0));
        }
        let less = dot(&across, &joint.shifts);
        let mut told = vec![0.0; across.len()];
        for (kind, &weight) in across.iter().enumerate() {
            add(&mut told, weight, joint.known.row(kind));
        }
        let known = dot(&told, &told);
        Forecast { mean: own.weighted[0] - less, reduction: own.within[(0, 0)] - known, scale: 1.0 }
    }
}

/// Some effects at once, independent of each other, their kinds one after the other. Kept and filled
/// again, because it is needed very often.
#[derive(Debug, Default)]
struct Joint {
    /// `Q`
    quadratic: f64,
    /// What the effects add to the log determinant.
    log_determinant: f64,
    /// `m + F G⁻¹ Fᵀ u`: shifts as they are thought to be after the readings.
    shifts: Vec<f64>,
    /// `L_G⁻¹ Fᵀ`, its columns as rows.
    known: Matrix,
    within: Matrix,
    carried: Matrix,
    g: Matrix,
    left: Vec<f64>,
    v: Vec<f64>,
}

impl Joint {
    fn solve(&mut self, field: &Field, number: usize, cell: &Cell, effects: &[Moved<'_>]) {
        let size: usize = effects.iter().map(|effect| effect.mean.len()).sum();
        self.gather(field, number, cell, effects, size);
        self.quadratic = cell.quadratic - dot(&self.shifts, &self.left);
        for (kind, left) in self.left.iter_mut().enumerate() {
            *left -= dot(self.within.row(kind), &self.shifts);
        }
        self.quadratic -= dot(&self.shifts, &self.left);
        // G = I + FᵀZᵀPZF and Fᵀu. F is made of blocks along the diagonal.
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
        let mut determinant = 1.0;
        for column in 0..size {
            self.g[(column, column)] += 1.0;
        }
        self.g.cholesky();
        for column in 0..size {
            determinant *= self.g[(column, column)];
        }
        self.g.forward(&mut self.v);
        self.quadratic = (self.quadratic - dot(&self.v, &self.v)).max(0.0);
        self.log_determinant = 2.0 * determinant.ln();
    }

    /// Makes ready for a forecast.
    fn look_back(&mut self, effects: &[Moved<'_>]) {
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

    /// Puts `ZᵀPZ`, `m` and `ZᵀPy` together.
    fn gather(
        &mut self,
        field: &Field,
        number: usize,
        cell: &Cell,
        effects: &[Moved<'_>],
        size: usize,
    ) {
        self.within.reset(size, size);
        self.shifts.clear();
        self.left.clear();
        let mut at = 0;
        for (nth, effect) in effects.iter().enumerate() {
            let mut to = 0;
            for other in &effects[..nth] {
                let across = field.across(&effect.on, &other.on, number, cell);
                let kinds = other.mean.len();
                for kind in 0..effect.mean.len() {
                    self.within.row_mut(at + kind)[to..to + kinds]
                        .copy_from_slice(&across.row(kind)[..kinds]);
                }
                to += kinds;
            }
            let table: Rc<Table> = effect.on.table(field, number, cell);
            let kinds = effect.mean.len();
            for kind in 0..kinds {
                self.within.row_mut(at + kind)[at..at + kinds]
                    .copy_from_slice(table.within.row(kind));
            }
            self.shifts.extend_from_slice(effect.mean);
            self.left.extend_from_slice(&table.weighted);
            at += kinds;
        }
        if effects.len() > 1 {
            self.within.mirror();
        }
    }
}

/// Rows of the factors with the place of each and that of its block.
fn factors<'a>(effects: &'a [Moved<'_>]) -> impl Iterator<Item = (usize, usize, &'a [f64])> {
    let blocks = effects.iter().scan(0, |at, effect| {
        let from = *at;
        *at += effect.mean.len();
        Some((from, effect.factor))
    });
    blocks.flat_map(|(from, factor)| {
        (0..factor.rows()).map(move |kind| (from + kind, from, factor.row(kind)))
    })
}
