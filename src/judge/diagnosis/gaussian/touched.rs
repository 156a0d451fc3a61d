//! Which readings something shows on, and what every hypothesis about the same readings shares.
//!
//! It must not know what moves them, nor why.

use std::cell::{OnceCell, RefCell};
use std::rc::Rc;

use super::super::linalg::{Matrix, add, dot};
use super::arrow::{Layout, Turned};
use super::field::Field;

/// Readings that something shows on, gathered by kind (`Z`).
#[derive(Debug)]
pub struct Touched {
    /// Number by which the field knows it, where it is met again.
    name: Option<usize>,
    kinds: usize,
    /// Reading, kind, weight; in order of reading.
    rows: Vec<(usize, usize, f64)>,
    /// By cell.
    tables: RefCell<Vec<Option<Rc<Table>>>>,
}

/// What is needed of some readings at one cell; there are many of them, so all figures are in one place.
#[derive(Debug)]
pub(super) struct Table {
    kinds: usize,
    /// `ZᵀP Z`, row by row, and then `ZᵀP y`.
    figures: Box<[f64]>,
    gain: OnceCell<f64>,
}

impl Table {
    /// A row of `ZᵀP Z`.
    pub(super) fn row(&self, kind: usize) -> &[f64] {
        &self.figures[kind * self.kinds..(kind + 1) * self.kinds]
    }

    /// `ZᵀP y`
    pub(super) fn weighted(&self) -> &[f64] {
        &self.figures[self.kinds * self.kinds..]
    }

    /// By how much shifts of these readings can lower the quadratic form at the most: `yᵀPZ (ZᵀPZ)⁻¹ ZᵀPy`.
    pub(super) fn gain(&self) -> f64 {
        *self.gain.get_or_init(|| {
            let mut factor = Matrix::from_fn(self.kinds, self.kinds, |kind, other| {
                self.row(kind)[other] + if kind == other { UNTOLD } else { 0.0 }
            });
            factor.cholesky();
            let mut left = self.weighted().to_vec();
            factor.forward(&mut left);
            dot(&left, &left)
        })
    }
}

/// Precision of a shift, 1/°C², that counts as none: of a kind that is not touched, or of all displays at once.
const UNTOLD: f64 = 1e-9;

impl Touched {
    pub(super) fn new(kinds: usize, mut rows: Vec<(usize, usize, f64)>) -> Self {
        rows.sort_by_key(|(row, kind, _)| (*row, *kind));
        Self { name: None, kinds, rows, tables: RefCell::default() }
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

    /// What is needed at a cell.
    pub(super) fn table(&self, field: &Field, number: usize, turned: &Turned) -> Rc<Table> {
        if let Some(known) = self.tables.borrow().get(number).and_then(Clone::clone) {
            return known;
        }
        let made = Rc::new(self.table_at(field, turned));
        let mut tables = self.tables.borrow_mut();
        if tables.len() <= number {
            tables.resize(number + 1, None);
        }
        tables[number] = Some(Rc::clone(&made));
        made
    }

    /// The same, not kept.
    pub(super) fn table_at(&self, field: &Field, turned: &Turned) -> Table {
        let kinds = self.kinds;
        let mut figures = vec![0.0; kinds * (kinds + 1)].into_boxed_slice();
        let (within, weighted) = figures.split_at_mut(kinds * kinds);
        for (nth, &(row, kind, weight)) in self.rows.iter().enumerate() {
            weighted[kind] += weight * turned.weighted[row];
            let share = weight * turned.precision[row];
            within[kind * kinds + kind] += weight * share;
            for &(_, other, more) in self.rows[nth + 1..].iter().take_while(|(r, _, _)| *r == row) {
                within[kind * kinds + other] += share * more;
                within[other * kinds + kind] += share * more;
            }
        }
        let sums = &mut *field.sums.borrow_mut();
        let (width, seen) = self.compactly(&field.layout, turned, sums);
        for kind in (0..kinds).filter(|kind| seen >> kind & 1 == 1) {
            for other in (0..=kind).filter(|kind| seen >> kind & 1 == 1) {
                let less = dot(&sums.row(kind)[..width], &sums.row(other)[..width]);
                within[kind * kinds + other] -= less;
                if other != kind {
                    within[other * kinds + kind] -= less;
                }
            }
        }
        Table { kinds, figures, gain: OnceCell::new() }
    }

    /// The rows of `v` summed by kind, what is common first and then the blocks that are met, one after the
    /// other. How many columns that are, and the kinds that are met.
    fn compactly(&self, layout: &Layout, turned: &Turned, sums: &mut Matrix) -> (usize, u64) {
        let common = layout.common();
        sums.reset(self.kinds, common + layout.owned());
        let mut width = common;
        let mut seen = 0;
        let mut met: Vec<(usize, usize)> = Vec::new();
        for &(row, kind, weight) in &self.rows {
            let block = layout.block_of(row);
            let known = met.iter().find(|(start, _)| *start == block.start).map(|(_, at)| *at);
            let at = known.unwrap_or_else(|| {
                met.push((block.start, width));
                width += block.len();
                width - block.len()
            });
            seen |= 1 << kind.min(63);
            let sum = sums.row_mut(kind);
            add(&mut sum[..common], weight, turned.far.row(row));
            add(&mut sum[at..at + block.len()], weight, turned.own.row(row));
        }
        (width, seen)
    }

    /// First columns of the blocks that are met, and how many each has.
    fn blocks(&self, layout: &Layout) -> Vec<(usize, usize)> {
        let of = |row: usize| (layout.block_of(row).start, layout.block_of(row).len());
        let mut met: Vec<(usize, usize)> = self.rows.iter().map(|(row, _, _)| of(*row)).collect();
        met.sort_unstable();
        met.dedup();
        met
    }

    /// The rows of `v` summed by kind, what is common first and then these blocks, each with its place.
    fn summed(
        &self,
        layout: &Layout,
        turned: &Turned,
        blocks: &[(usize, usize)],
        width: usize,
    ) -> Matrix {
        let common = layout.common();
        let mut sums = Matrix::zeros(self.kinds, width);
        for &(row, kind, weight) in &self.rows {
            let block = layout.block_of(row);
            let sum = sums.row_mut(kind);
            add(&mut sum[..common], weight, turned.far.row(row));
            if let Some((_, at)) = blocks.iter().find(|(start, _)| *start == block.start) {
                add(&mut sum[*at..at + block.len()], weight, turned.own.row(row));
            }
        }
        sums
    }

    /// `ZᵀP Z'` with other readings at a cell. Of blocks that only one of the two meets nothing is left.
    pub(super) fn across(&self, other: &Self, field: &Field, turned: &Turned) -> Matrix {
        let layout = &field.layout;
        let theirs = other.blocks(layout);
        let mut width = layout.common();
        let mut shared = Vec::new();
        for block in self.blocks(layout).into_iter().filter(|block| theirs.contains(block)) {
            shared.push((block.0, width));
            width += block.1;
        }
        let mine = self.summed(layout, turned, &shared, width);
        let theirs = other.summed(layout, turned, &shared, width);
        let mut sum =
            Matrix::from_fn(self.kinds, other.kinds, |a, b| -dot(mine.row(a), theirs.row(b)));
        let mut from = 0;
        for &(row, kind, weight) in &self.rows {
            while from < other.rows.len() && other.rows[from].0 < row {
                from += 1;
            }
            for &(_, k, w) in other.rows[from..].iter().take_while(|(r, _, _)| *r == row) {
                sum[(kind, k)] += weight * w * turned.precision[row];
            }
        }
        sum
    }
}
