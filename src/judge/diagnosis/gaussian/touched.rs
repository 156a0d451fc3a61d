//! Which readings something shows on, and what every hypothesis about the same readings shares.
//!
//! It must not know what moves them, nor why.

use std::cell::RefCell;
use std::rc::Rc;

use super::super::linalg::{Matrix, dot};
use super::cells::Cell;
use super::field::{Decomposed, Field};

/// Readings that something shows on, gathered by kind (`Z`).
#[derive(Debug)]
pub struct Touched {
    /// Number by which the field knows it, where it is met again.
    name: Option<usize>,
    kinds: usize,
    /// Reading, kind, weight; in order of reading.
    rows: Vec<(usize, usize, f64)>,
    /// Set, kind, and the sum of weights over noise.
    by_set: Vec<(usize, usize, f64)>,
    /// `ZᵀA Z`
    within: Matrix,
    /// `ZᵀA y`
    weighted: Vec<f64>,
    /// `U BᵀA Z` by variant.
    turned: RefCell<Vec<Option<Rc<Matrix>>>>,
    /// By cell.
    tables: RefCell<Vec<Option<Rc<Table>>>>,
}

/// What is needed of some readings at one cell.
#[derive(Debug)]
pub(super) struct Table {
    /// `ZᵀP Z`
    pub(super) within: Matrix,
    /// `ZᵀP y`
    pub(super) weighted: Vec<f64>,
}

impl Touched {
    pub(super) fn new(field: &Field, kinds: usize, mut rows: Vec<(usize, usize, f64)>) -> Self {
        rows.sort_by_key(|(row, kind, _)| (*row, *kind));
        let mut by_set: Vec<(usize, usize, f64)> = Vec::new();
        let mut within = Matrix::zeros(kinds, kinds);
        let mut weighted = vec![0.0; kinds];
        for &(row, kind, weight) in &rows {
            let number = &field.numbers[row];
            let share = weight / number.noise;
            within[(kind, kind)] += weight * share;
            weighted[kind] += weight * field.centred[row];
            match by_set.iter_mut().rev().find(|(set, k, _)| (*set, *k) == (number.set, kind)) {
                Some((_, _, sum)) => *sum += share,
                None => by_set.push((number.set, kind, share)),
            }
        }
        for &(set, kind, sum) in &by_set {
            for &(_, other, more) in by_set.iter().filter(|(s, _, _)| *s == set) {
                within[(kind, other)] -= sum * more / field.set_weight[set];
            }
        }
        Self {
            name: None,
            kinds,
            rows,
            by_set,
            within,
            weighted,
            turned: RefCell::default(),
            tables: RefCell::default(),
        }
    }

    /// The same under a number by which it is met again.
    pub(super) fn named(mut self, name: usize) -> Self {
        self.name = Some(name);
        self
    }

    /// Number by which the field knows it.
    pub(super) fn name(&self) -> Option<usize> {
        self.name
    }

    /// Number of kinds.
    #[must_use]
    pub fn kinds(&self) -> usize {
        self.kinds
    }

    /// Reading, kind and weight of each.
    #[must_use]
    pub fn rows(&self) -> &[(usize, usize, f64)] {
        &self.rows
    }

    pub(super) fn by_set(&self) -> &[(usize, usize, f64)] {
        &self.by_set
    }

    /// `U BᵀA Z` under a variant.
    pub(super) fn turned(&self, field: &Field, index: usize, of: &Decomposed) -> Rc<Matrix> {
        if let Some(known) = self.turned.borrow().get(index).and_then(Clone::clone) {
            return known;
        }
        let made = Rc::new(field.turned(of, self));
        let mut turned = self.turned.borrow_mut();
        if turned.len() <= index {
            turned.resize(index + 1, None);
        }
        turned[index] = Some(Rc::clone(&made));
        made
    }

    /// What is needed at a cell.
    pub(super) fn table(&self, field: &Field, number: usize, cell: &Cell) -> Rc<Table> {
        if let Some(known) = self.tables.borrow().get(number).and_then(Clone::clone) {
            return known;
        }
        let made = Rc::new(self.table_at(field, cell));
        let mut tables = self.tables.borrow_mut();
        if tables.len() <= number {
            tables.resize(number + 1, None);
        }
        tables[number] = Some(Rc::clone(&made));
        made
    }

    /// The same, not kept.
    pub(super) fn table_at(&self, field: &Field, cell: &Cell) -> Table {
        let turned = self.turned(field, cell.variant, &cell.of);
        let mut scaled = vec![0.0; cell.damping.len()];
        let mut within = Matrix::zeros(self.kinds, self.kinds);
        let mut weighted = vec![0.0; self.kinds];
        for kind in 0..self.kinds {
            for ((to, t), d) in scaled.iter_mut().zip(turned.row(kind)).zip(&cell.damping) {
                *to = t * d;
            }
            for other in 0..=kind {
                let value =
                    (self.within[(kind, other)] - dot(&scaled, turned.row(other))) * cell.precision;
                within[(kind, other)] = value;
                within[(other, kind)] = value;
            }
            weighted[kind] =
                (self.weighted[kind] - dot(&scaled, &cell.of.weighted)) * cell.precision;
        }
        Table { within, weighted }
    }

    /// `ZᵀP Z'` with other readings at a cell.
    pub(super) fn across(&self, other: &Self, field: &Field, cell: &Cell) -> Matrix {
        let mut sum = Matrix::zeros(self.kinds, other.kinds);
        let mut from = 0;
        for &(row, kind, weight) in &self.rows {
            while from < other.rows.len() && other.rows[from].0 < row {
                from += 1;
            }
            for &(_, k, w) in other.rows[from..].iter().take_while(|(r, _, _)| *r == row) {
                sum[(kind, k)] += weight * w / field.numbers[row].noise;
            }
        }
        let mut from = 0;
        for &(set, kind, share) in &self.by_set {
            while from < other.by_set.len() && other.by_set[from].0 < set {
                from += 1;
            }
            for &(_, k, w) in other.by_set[from..].iter().take_while(|(s, _, _)| *s == set) {
                sum[(kind, k)] -= share * w / field.set_weight[set];
            }
        }
        let mine = self.turned(field, cell.variant, &cell.of);
        let theirs = other.turned(field, cell.variant, &cell.of);
        let mut scaled = vec![0.0; cell.damping.len()];
        for kind in 0..self.kinds {
            for ((to, t), d) in scaled.iter_mut().zip(mine.row(kind)).zip(&cell.damping) {
                *to = t * d;
            }
            for k in 0..other.kinds {
                sum[(kind, k)] = (sum[(kind, k)] - dot(&scaled, theirs.row(k))) * cell.precision;
            }
        }
        sum
    }
}
