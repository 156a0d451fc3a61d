//! The likelihood of many readings by structure, without a matrix of all readings by all readings.
//!
//! A reading is a level of its set, offsets of the groups that it belongs to (its cylinder, the fit of
//! its probe, its bank), what a fault adds, and noise:
//!
//! ```text
//! y = M level + B b + Z x + e      cov(b) = σ²·1,  cov(e) = ρ²·D,  D diagonal, B b persistent
//! ```
//!
//! At some scales `P` and the determinant come of [`super::arrow`], so that the work grows with the number of
//! readings, not with its cube.
//!
//! It knows numbers only. Dense and obvious, it stands in [`super::Base`], which the tests hold
//! against this.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use super::super::linalg::Matrix;
use super::arrow::{At, Block, Factored, Layout, Row, Trunk, Turned};
use super::stock::{Stock, Stocked};
use super::together::Crossed;
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

/// Readings with what they have in common.
#[derive(Debug)]
pub struct Field {
    pub(super) kinds: usize,
    pub(super) numbers: Rc<[Number]>,
    groups: Vec<Group>,
    reach: Reach,
    pub(super) layout: Rc<Layout>,
    /// What it has in common with other fields, if anything.
    stocked: Option<Stocked>,
    /// Values less the middle of their set.
    centred: Rc<[f64]>,
    /// Log determinant of `MᵀM`.
    log_levels: f64,
    /// Readings less levels.
    freedom: usize,
    /// Working space.
    pub(super) sums: RefCell<Matrix>,
    known: RefCell<BTreeMap<(usize, u128, u128), Rc<Touched>>>,
    /// Sums of known readings that are kept.
    summed: std::cell::Cell<usize>,
    /// What two sets of known readings have in common, by their numbers.
    crossed: RefCell<BTreeMap<(u32, u32), Rc<Crossed>>>,
    /// The number of the next readings that become known.
    next: std::cell::Cell<u32>,
}

/// Twos of which is kept what they have in common, at the most.
const MOST_CROSSED: usize = 1024;

/// Sums of readings that are kept, at the most: so much and no more of the memory, however long the job.
const MOST_SUMMED: usize = 8192;

/// Sets of readings that are kept, at the most; who asks in an order in which those of one place come together
/// asks for few at a time.
const MOST_KNOWN: usize = 1024;

impl Field {
    /// Prepares readings of some kinds.
    #[must_use]
    pub fn new(kinds: usize, numbers: Vec<Number>, groups: Vec<Group>, reach: Reach) -> Self {
        let sets = numbers.iter().map(|n| n.set + 1).max().unwrap_or(0);
        let mut sums = vec![0.0; sets];
        let mut count = vec![0.0_f64; sets];
        for number in &numbers {
            sums[number.set] += number.value;
            count[number.set] += 1.0;
        }
        let centred = numbers.iter().map(|n| n.value - sums[n.set] / count[n.set]).collect();
        let read: Vec<f64> = count.iter().copied().filter(|count| *count > 0.0).collect();
        Self {
            kinds,
            freedom: numbers.len() - read.len(),
            layout: Rc::new(Layout::new(kinds, &numbers, &groups, &count)),
            stocked: None,
            numbers: numbers.into(),
            groups,
            reach,
            centred,
            log_levels: read.iter().map(|count| count.ln()).sum(),
            sums: RefCell::default(),
            known: RefCell::default(),
            summed: std::cell::Cell::default(),
            crossed: RefCell::default(),
            next: std::cell::Cell::new(1),
        }
    }

    /// What two sets of readings have in common: kept where both are known.
    pub(super) fn crossed(&self, one: &Touched, other: &Touched) -> Rc<Crossed> {
        let (Some(one), Some(other)) = (one.number(), other.number()) else { return Rc::default() };
        let mut crossed = self.crossed.borrow_mut();
        if crossed.len() == MOST_CROSSED {
            crossed.clear();
        }
        Rc::clone(crossed.entry((one, other)).or_default())
    }

    /// Number of readings less number of sets.
    #[must_use]
    pub fn freedom(&self) -> usize {
        self.freedom
    }

    /// The same with nothing kept that belongs to cells.
    #[must_use]
    pub(super) fn forget_cells(self) -> Self {
        self.forget();
        self
    }

    /// Forgets which readings were met.
    pub(super) fn forget(&self) {
        self.known.borrow_mut().clear();
        self.crossed.borrow_mut().clear();
        self.summed.set(0);
    }

    /// Makes room for the sums of some readings at a cell.
    pub(super) fn one_sum_more(&self) {
        if self.summed.get() == MOST_SUMMED {
            self.known.borrow().values().for_each(|touched| touched.forget_sums());
            self.summed.set(0);
        }
        self.summed.set(self.summed.get() + 1);
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
            if known.len() == MOST_KNOWN {
                known.clear();
            }
            let number = self.next.get();
            self.next.set(number.wrapping_add(1));
            let touched = Rc::new(self.touched_anew(which()).numbered(number));
            known.insert(key, Rc::clone(&touched));
            touched
        })
    }

    /// The same for readings that are not met again.
    #[must_use]
    pub fn touched_anew(&self, which: Vec<(usize, usize)>) -> Touched {
        let weighted = which.into_iter().map(|(row, kind)| (row, kind, 1.0)).collect();
        Touched::new(self.kinds, weighted)
    }

    /// The factor at some scales.
    pub(super) fn factored(&self, variant: &Variant, spread: f64, noise: f64) -> Factored {
        let at = At { variant, spread, noise, reach: self.reach };
        let trunk = || Trunk::new(&self.layout, &self.numbers, &self.centred, &at);
        let block =
            |trunk: &Trunk, n: usize| Block::new(&self.layout, &self.centred, &at, trunk, n);
        if let Some(stocked) = &self.stocked {
            let (trunk, blocks) = stocked.at(&self.layout, (variant, spread, noise), trunk, block);
            return Factored::new(trunk, blocks);
        }
        let trunk = Rc::new(trunk());
        let blocks = (0..self.layout.blocks()).map(|n| Rc::new(block(&trunk, n))).collect();
        Factored::new(trunk, blocks)
    }

    /// The same where what it has in common with another field is worked out once for it and all others that are
    /// stocked so.
    #[must_use]
    pub fn beside(mut self, first: &Self, stock: &Rc<Stock>) -> Self {
        let of = |number: &Number| {
            let Number { value, noise, jump, .. } = number;
            [value, noise, jump].map(|figure| figure.to_bits())
        };
        let same = self.layout.same_trunk(&first.layout)
            && self.numbers.iter().map(of).eq(first.numbers.iter().map(of))
            && self.reach == first.reach;
        if same {
            if let Some(layout) = Rc::get_mut(&mut self.layout) {
                layout.share_trunk(&first.layout);
            }
            self.numbers = Rc::clone(&first.numbers);
            self.centred = Rc::clone(&first.centred);
            let first = Rc::clone(&first.layout);
            self.stocked = Some(Stocked { stock: Rc::clone(stock), first });
        }
        self
    }

    /// What belongs to a reading at a factor's scales.
    pub(super) fn row<'t>(&self, turned: &'t Turned, reading: usize) -> &'t Row {
        turned.row(&self.layout, &self.centred, reading)
    }

    /// Log density of the contrasts, given the log determinant of all and but for `−Q/2`.
    pub(super) fn constant(&self, log_determinant: f64) -> f64 {
        let contrasts = log_determinant - self.log_levels;
        -0.5 * (real(self.freedom) * std::f64::consts::TAU.ln() + contrasts)
    }
}
