//! Which readings something shows on, and what every hypothesis about the same readings shares.
//!
//! It must not know what moves them, nor why.

use std::cell::{OnceCell, RefCell};
use std::rc::Rc;

use super::super::linalg::{Matrix, add, dot};
use super::arrow::Turned;
use super::field::Field;

/// Readings that something shows on, gathered by kind (`Z`).
#[derive(Debug)]
pub struct Touched {
    kinds: usize,
    /// Reading, kind, weight; in order of reading.
    rows: Vec<(usize, usize, f64)>,
    /// By cell.
    tables: RefCell<Vec<Option<Rc<Table>>>>,
    sums: RefCell<Vec<Option<Rc<Sums>>>>,
    /// The number under which they are known.
    number: Option<u32>,
}

/// The rows of `v` at some readings summed by kind: from two of them follows `ZᵀP Z'`.
#[derive(Debug)]
struct Sums {
    /// Columns that all have in common, and how many there are of all.
    common: usize,
    width: usize,
    /// Kinds that are met.
    seen: u64,
    /// First column of each block that is met, where it stands here, and how many columns it has.
    blocks: Vec<Place>,
    /// A row for each kind.
    figures: Box<[f64]>,
}

/// First column of a block, where it stands in sums, and how many columns it has.
type Place = (usize, usize, usize);

impl Sums {
    fn row(&self, kind: usize) -> &[f64] {
        &self.figures[kind * self.width..(kind + 1) * self.width]
    }
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
pub(super) const UNTOLD: f64 = 1e-9;

impl Touched {
    pub(super) fn new(kinds: usize, mut rows: Vec<(usize, usize, f64)>) -> Self {
        rows.sort_by_key(|(row, kind, _)| (*row, *kind));
        let (tables, sums) = (RefCell::default(), RefCell::default());
        Self { kinds, rows, tables, sums, number: None }
    }

    /// The same readings, known under a number.
    pub(super) fn numbered(self, number: u32) -> Self {
        Self { number: Some(number), ..self }
    }

    /// The number under which they are known.
    pub(super) fn number(&self) -> Option<u32> {
        self.number
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
            weighted[kind] += weight * field.row(turned, row).weighted;
            let share = weight * turned.precision(row);
            within[kind * kinds + kind] += weight * share;
            for &(_, other, more) in self.rows[nth + 1..].iter().take_while(|(r, _, _)| *r == row) {
                within[kind * kinds + other] += share * more;
                within[other * kinds + kind] += share * more;
            }
        }
        let sums = &mut *field.sums.borrow_mut();
        let (width, seen, _) = self.compactly(field, turned, sums);
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
    /// other. How many columns that are, the kinds and the blocks that are met.
    fn compactly(
        &self,
        field: &Field,
        turned: &Turned,
        sums: &mut Matrix,
    ) -> (usize, u64, Vec<Place>) {
        let layout = &field.layout;
        let common = layout.common();
        sums.reset(self.kinds, common + layout.owned());
        let mut width = common;
        let mut seen = 0;
        let mut met: Vec<Place> = Vec::new();
        for &(row, kind, weight) in &self.rows {
            let block = layout.block_of(row);
            let known = met.iter().find(|(start, _, _)| *start == block.start);
            let at = known.map_or(width, |(_, at, _)| *at);
            if known.is_none() {
                met.push((block.start, width, block.len()));
                width += block.len();
            }
            seen |= 1 << kind.min(63);
            let sum = sums.row_mut(kind);
            let turned = field.row(turned, row);
            add(&mut sum[..common], weight, turned.far());
            add(&mut sum[at..at + block.len()], weight, turned.own());
        }
        (width, seen, met)
    }

    /// The same kept, for it is asked for with many others.
    fn sums(&self, field: &Field, number: usize, turned: &Turned) -> Rc<Sums> {
        if let Some(known) = self.sums.borrow().get(number).and_then(Clone::clone) {
            return known;
        }
        field.one_sum_more();
        let room = &mut *field.sums.borrow_mut();
        let (width, seen, blocks) = self.compactly(field, turned, room);
        let mut figures = Vec::with_capacity(self.kinds * width);
        (0..self.kinds).for_each(|kind| figures.extend_from_slice(&room.row(kind)[..width]));
        let figures = figures.into_boxed_slice();
        let common = field.layout.common();
        let made = Rc::new(Sums { common, width, seen, blocks, figures });
        let mut sums = self.sums.borrow_mut();
        if sums.len() <= number {
            sums.resize(number + 1, None);
        }
        sums[number] = Some(Rc::clone(&made));
        made
    }

    /// Forgets its sums, which are large.
    pub(super) fn forget_sums(&self) {
        *self.sums.borrow_mut() = Vec::new();
    }

    /// `ZᵀP Z'` with other readings at a cell, where it is not nought: by kind of either. Of blocks that only one of
    /// the two meets nothing is left.
    pub(super) fn across(
        &self,
        other: &Self,
        field: &Field,
        number: usize,
        turned: &Turned,
        mut put: impl FnMut(usize, usize, f64),
    ) {
        let (mine, theirs) = (self.sums(field, number, turned), other.sums(field, number, turned));
        let common = mine.common;
        let kinds = |sums: &Sums, all: usize| {
            let seen = sums.seen;
            (0..all).filter(move |kind| seen >> kind & 1 == 1)
        };
        let mut meet = false;
        for a in kinds(&mine, self.kinds) {
            for b in kinds(&theirs, other.kinds) {
                let (row, their) = (mine.row(a), theirs.row(b));
                let mut less = dot(&row[..common], &their[..common]);
                for &(start, at, len) in &mine.blocks {
                    let same = theirs.blocks.iter().find(|(block, _, _)| *block == start);
                    if let Some(&(_, there, _)) = same {
                        less += dot(&row[at..at + len], &their[there..there + len]);
                        meet = true;
                    }
                }
                put(a, b, -less);
            }
        }
        // Readings of which both are made are in a block that both meet.
        let mut from = 0;
        for &(row, kind, weight) in self.rows.iter().filter(|_| meet) {
            while from < other.rows.len() && other.rows[from].0 < row {
                from += 1;
            }
            for &(_, k, w) in other.rows[from..].iter().take_while(|(r, _, _)| *r == row) {
                put(kind, k, weight * w * turned.precision(row));
            }
        }
    }
}
