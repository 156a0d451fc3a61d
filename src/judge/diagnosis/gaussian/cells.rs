//! The density at each of some scales and variants, and the sum over them.
//!
//! A *cell* is a factor on the natural spread, one on the repeatability, and what is out of the
//! ordinary; it has a weight. All is Gaussian in a cell. It must not choose the cells.

use std::cell::{OnceCell, RefCell};
use std::rc::Rc;

use super::super::linalg::{Matrix, add, dot, log_sum_exp};
use super::Forecast;
use super::arrow::{Factored, Turned};
use super::field::{Field, Variant};
use super::small::{alone, settled};
use super::strip::ALLOWED;
use super::touched::{Table, Touched};

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
#[derive(Debug, Clone)]
struct Cell {
    /// `yᵀP y`
    quadratic: f64,
    /// Log density of nothing but `−Q/2`, without the weight.
    constant: f64,
    /// What effects are put together from, once there is one.
    turned: RefCell<Option<Rc<Turned>>>,
}

/// Kinds of all effects together up to which they are worked out in place: two effects on four.
const FEW: usize = 8;

/// Kinds of readings there can be: five points, two sites.
pub(super) const MANY: usize = 10;

/// A field at its cells.
#[derive(Debug)]
pub struct Cells {
    /// The readings.
    pub field: Field,
    weights: Vec<Weight>,
    made: Vec<OnceCell<Cell>>,
    /// See [`Cells::ordinary`].
    ordinary: OnceCell<Vec<usize>>,
    joint: RefCell<Joint>,
}

impl Cells {
    /// Some readings at some scales.
    #[must_use]
    pub fn new(field: Field, weights: Vec<Weight>) -> Self {
        let made = weights.iter().map(|_| OnceCell::new()).collect();
        Self { field, weights, made, ordinary: OnceCell::new(), joint: RefCell::default() }
    }

    /// The scales.
    #[must_use]
    pub fn weights(&self) -> &[Weight] {
        &self.weights
    }

    /// The same readings at other scales; those that were worked out and are wanted again are kept.
    #[must_use]
    pub fn at(self, weights: Vec<Weight>) -> Self {
        let Self { field, weights: old, made: mut before, joint, .. } = self;
        let same = |a: &Weight, b: &Weight| {
            (&a.variant, a.spread.to_bits(), a.noise.to_bits())
                == (&b.variant, b.spread.to_bits(), b.noise.to_bits())
        };
        let made = weights
            .iter()
            .map(|weight| {
                let known = old.iter().position(|other| same(weight, other));
                known.map(|at| std::mem::take(&mut before[at])).unwrap_or_default()
            })
            .collect();
        // What was worked out for a cell's number no longer holds.
        let ordinary = OnceCell::new();
        Self { field: field.forget_cells(), weights, made, ordinary, joint }
    }

    /// Quadratic form and log of weight times density but for it, with no effect at a cell.
    pub(super) fn plain(&self, number: usize) -> (f64, f64) {
        let cell = self.cell(number);
        (cell.quadratic, self.weights[number].log + cell.constant)
    }

    fn cell(&self, number: usize) -> &Cell {
        self.made[number].get_or_init(|| {
            let factored = self.factored(number);
            Cell {
                quadratic: factored.quadratic,
                constant: self.field.constant(factored.log_determinant),
                turned: RefCell::default(),
            }
        })
    }

    fn factored(&self, number: usize) -> Factored {
        let Weight { variant, spread, noise, .. } = &self.weights[number];
        self.field.factored(variant, spread * spread, noise * noise)
    }

    /// What effects at a cell are put together from. Most fields with misnamed displays are never asked.
    pub(super) fn turned(&self, number: usize) -> Rc<Turned> {
        let turned = &self.cell(number).turned;
        let known = turned.borrow().clone();
        known.unwrap_or_else(|| {
            let made = Rc::new(Turned::new(self.factored(number)));
            *turned.borrow_mut() = Some(Rc::clone(&made));
            made
        })
    }

    /// Forgets what effects are put together from, by far the most of what is kept; asked again, it is worked
    /// out again.
    pub fn forget(&self) {
        for cell in self.made.iter().filter_map(OnceCell::get) {
            *cell.turned.borrow_mut() = None;
        }
        self.field.forget();
    }

    /// Log of weight times density at one cell.
    #[must_use]
    pub fn log_at(&self, number: usize, effects: &[Moved<'_>]) -> f64 {
        let cell = self.cell(number);
        let kinds: usize = effects.iter().map(|effect| effect.mean.len()).sum();
        let (quadratic, log_determinant) = match kinds {
            0 => (cell.quadratic, 0.0),
            1 => self.in_place::<1>(number, cell.quadratic, effects),
            2 => self.in_place::<2>(number, cell.quadratic, effects),
            3 => self.in_place::<3>(number, cell.quadratic, effects),
            4 => self.in_place::<4>(number, cell.quadratic, effects),
            5..=6 => self.in_place::<6>(number, cell.quadratic, effects),
            7..=FEW => self.in_place::<FEW>(number, cell.quadratic, effects),
            _ => {
                let joint = &mut *self.joint.borrow_mut();
                self.solve(joint, number, effects);
                (joint.quadratic, joint.log_determinant)
            }
        };
        self.weights[number].log + cell.constant - 0.5 * (quadratic + log_determinant)
    }

    /// Quadratic form and log determinant of effects on few kinds together: as [`Joint`], in place.
    fn in_place<const N: usize>(
        &self,
        number: usize,
        nothing: f64,
        effects: &[Moved<'_>],
    ) -> (f64, f64) {
        let turned = self.turned(number);
        let (mut within, mut factor) = ([[0.0; N]; N], [[0.0; N]; N]);
        let (mut mean, mut told) = ([0.0; N], [0.0; N]);
        let mut k = 0;
        for (nth, effect) in effects.iter().enumerate() {
            let table = effect.on.table(&self.field, number, &turned);
            let (from, to) = (k, k + effect.mean.len());
            mean[from..to].copy_from_slice(effect.mean);
            told[from..to].copy_from_slice(table.weighted());
            for kind in from..to {
                within[kind][from..to].copy_from_slice(table.row(kind - from));
                factor[kind][from..to].copy_from_slice(effect.factor.row(kind - from));
            }
            k = 0;
            for other in &effects[..nth] {
                effect.on.across(&other.on, &self.field, number, &turned, |a, b, value| {
                    within[from + a][k + b] += value;
                    within[k + b][from + a] += value;
                });
                k += other.mean.len();
            }
            k = to;
        }
        settled(nothing, &within, &told, &mean, &factor)
    }

    /// Log of weight times density at one cell, for each of some effects on the same readings by itself.
    pub fn log_each_at(
        &self,
        number: usize,
        on: &Touched,
        effects: &[(&[f64], &Matrix)],
        mut take: impl FnMut(usize, f64),
    ) {
        let cell = self.cell(number);
        let table = on.table(&self.field, number, &self.turned(number));
        let each = |effect: &(&[f64], &Matrix)| match on.kinds() {
            1 => alone::<1>(cell.quadratic, &table, effect),
            2 => alone::<2>(cell.quadratic, &table, effect),
            3 => alone::<3>(cell.quadratic, &table, effect),
            4 => alone::<4>(cell.quadratic, &table, effect),
            5..=6 => alone::<6>(cell.quadratic, &table, effect),
            // More kinds than there are points and sites.
            _ => alone::<MANY>(cell.quadratic, &table, effect),
        };
        for (nth, effect) in effects.iter().enumerate() {
            let (quadratic, log_determinant) = each(effect);
            let log = self.weights[number].log + cell.constant;
            take(nth, log - 0.5 * (quadratic + log_determinant));
        }
    }

    /// No effect on these readings, of whatever size, makes the log of weight times density at a cell larger
    /// than this: it may shift them as fits best, and its own spread costs it something. Of shifts that
    /// nothing but a level tells, which hardly matter, a hundredth is allowed for.
    #[must_use]
    pub fn most_at(&self, number: usize, on: &Touched) -> f64 {
        let cell = self.cell(number);
        let table = on.table(&self.field, number, &self.turned(number));
        let quadratic = (cell.quadratic - table.gain()).max(0.0);
        self.weights[number].log + cell.constant - 0.5 * quadratic + ALLOWED
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

    /// Cells with nothing out of the ordinary and the natural spread as near to what it usually is as any such
    /// cell has it.
    #[must_use]
    pub fn ordinary(&self) -> &[usize] {
        self.ordinary.get_or_init(|| {
            let plain = Variant::default();
            let off = |n: usize| self.weights[n].spread.ln().abs();
            let all: Vec<usize> =
                (0..self.weights.len()).filter(|&n| self.weights[n].variant == plain).collect();
            let least = all.iter().map(|&n| off(n)).fold(f64::INFINITY, f64::min);
            all.into_iter().filter(|&n| off(n) < least + 1e-9).collect()
        })
    }

    /// The ordinary cell that weighs most.
    #[must_use]
    pub fn usual(&self, effects: &[Moved<'_>]) -> usize {
        let logs = self.ordinary().iter().map(|&n| (n, self.log_at(n, effects)));
        logs.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(n, _)| n)
    }

    /// Log density summed over the ordinary cells.
    #[must_use]
    pub fn log_ordinary(&self, effects: &[Moved<'_>]) -> f64 {
        let logs: Vec<f64> = self.ordinary().iter().map(|&n| self.log_at(n, effects)).collect();
        log_sum_exp(&logs)
    }

    /// Quadratic form of the residuals at a cell, to judge how well a hypothesis fits.
    #[must_use]
    pub fn misfit(&self, number: usize, effects: &[Moved<'_>]) -> f64 {
        let joint = &mut *self.joint.borrow_mut();
        self.solve(joint, number, effects);
        joint.quadratic
    }

    /// Log density at a cell without its weight.
    #[must_use]
    pub fn log_density_at(&self, number: usize, effects: &[Moved<'_>]) -> f64 {
        self.log_at(number, effects) - self.weights[number].log
    }

    /// Forecasts one more quantity at a cell, given its covariance with each reading under a
    /// hypothesis.
    #[must_use]
    pub fn forecast(&self, number: usize, effects: &[Moved<'_>], with: &[f64]) -> Forecast {
        let joint = &mut *self.joint.borrow_mut();
        self.solve(joint, number, effects);
        joint.look_back(effects);
        let all = with.iter().copied().enumerate().filter(|(_, own)| *own != 0.0);
        let turned = self.turned(number);
        let combination = Touched::new(1, all.map(|(row, weight)| (row, 0, weight)).collect());
        let own = combination.table_at(&self.field, &turned);
        let mut across = Vec::new();
        for effect in effects {
            let from = across.len();
            across.resize(from + effect.mean.len(), 0.0);
            let put = |_, kind: usize, value: f64| across[from + kind] += value;
            combination.across(&effect.on, &self.field, number, &turned, put);
        }
        let less = dot(&across, &joint.shifts);
        let mut told = vec![0.0; across.len()];
        for (kind, &weight) in across.iter().enumerate() {
            add(&mut told, weight, joint.known.row(kind));
        }
        let known = dot(&told, &told);
        Forecast { mean: own.weighted()[0] - less, reduction: own.row(0)[0] - known, scale: 1.0 }
    }
}

impl Cells {
    fn solve(&self, joint: &mut Joint, number: usize, effects: &[Moved<'_>]) {
        let turned = (!effects.is_empty()).then(|| self.turned(number));
        joint.solve(&self.field, number, self.cell(number).quadratic, turned.as_deref(), effects);
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
    fn solve(
        &mut self,
        field: &Field,
        number: usize,
        nothing: f64,
        turned: Option<&Turned>,
        effects: &[Moved<'_>],
    ) {
        let size: usize = effects.iter().map(|effect| effect.mean.len()).sum();
        self.gather(field, number, turned, effects, size);
        self.quadratic = nothing - dot(&self.shifts, &self.left);
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
        turned: Option<&Turned>,
        effects: &[Moved<'_>],
        size: usize,
    ) {
        self.within.reset(size, size);
        self.shifts.clear();
        self.left.clear();
        let Some(turned) = turned else { return };
        let mut at = 0;
        for (nth, effect) in effects.iter().enumerate() {
            let mut to = 0;
            for other in &effects[..nth] {
                effect.on.across(&other.on, field, number, turned, |kind, their, value| {
                    self.within[(at + kind, to + their)] += value;
                });
                to += other.mean.len();
            }
            let table: Rc<Table> = effect.on.table(field, number, turned);
            let kinds = effect.mean.len();
            for kind in 0..kinds {
                self.within.row_mut(at + kind)[at..at + kinds].copy_from_slice(table.row(kind));
            }
            self.shifts.extend_from_slice(effect.mean);
            self.left.extend_from_slice(table.weighted());
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
