//! Two effects together: each of some on the same readings, with each of some on other readings.
//!
//! The sides of a fault show on the same readings. So what two sets of readings have in common is worked out once
//! for all sides of both, and each side of the one is taken in once for all sides of the other. It must come to what
//! [`Cells::log_at`] comes to for each two.

use std::cell::RefCell;
use std::rc::Rc;

use super::super::linalg::Matrix;
use super::arrow::Turned;
use super::cells::{Cells, MANY};
use super::lanes::{LANES, Lanes, Taken, gone_through, weighed};
use super::small::effect;
use super::touched::{Table, Touched};

/// Effects on the same readings, each with its mean and its factor.
#[derive(Debug)]
pub struct Each<'a> {
    /// Which they are.
    pub on: Rc<Touched>,
    /// The effects.
    pub effects: Vec<(&'a [f64], &'a Matrix)>,
}

/// What two sets of readings have in common, by cell, as far as it was asked for: `ZᵀP Z'`.
#[derive(Debug, Default)]
pub(super) struct Crossed(RefCell<Vec<Option<Box<[f64]>>>>);

impl Cells {
    /// Log of weight times density at one cell, for each of some effects with each of some others.
    pub fn log_both_at(
        &self,
        number: usize,
        first: &Each<'_>,
        second: &Each<'_>,
        take: &mut dyn FnMut(usize, usize, f64),
    ) {
        self.log_both(&[number], first, second, &mut |a, b, _, log| take(a, b, log));
    }

    /// The same at some cells; taken are effect, other effect, which of the cells, and the log.
    pub fn log_both(
        &self,
        cells: &[usize],
        first: &Each<'_>,
        second: &Each<'_>,
        take: &mut dyn FnMut(usize, usize, usize, f64),
    ) {
        // Taking one in is dearer than one more beside it.
        if first.effects.len() > second.effects.len() {
            return self.log_both(cells, second, first, &mut |b, a, nth, log| take(a, b, nth, log));
        }
        match first.on.kinds() {
            1 => self.both_in_place::<1>(cells, first, second, take),
            2 => self.both_in_place::<2>(cells, first, second, take),
            3 => self.both_in_place::<3>(cells, first, second, take),
            4 => self.both_in_place::<4>(cells, first, second, take),
            _ => self.both_in_place::<MANY>(cells, first, second, take),
        }
    }

    fn both_in_place<const N: usize>(
        &self,
        cells: &[usize],
        first: &Each<'_>,
        second: &Each<'_>,
        take: &mut dyn FnMut(usize, usize, usize, f64),
    ) {
        let kinds = gone_through::<N>(first.on.kinds());
        let ones: Vec<_> = first.effects.iter().map(effect::<N>).collect();
        let others: Vec<_> = second.effects.iter().map(effect::<N>).collect();
        let crossed = self.field.crossed(&first.on, &second.on);
        for (nth, some) in cells.chunks(LANES).enumerate() {
            let mut both = Both::<N>::nothing();
            for (lane, &number) in some.iter().enumerate() {
                let turned = self.turned(number);
                (both.nothing[lane], both.logs[lane]) = self.plain(number);
                let table = |each: &Each<'_>| each.on.table(&self.field, number, &turned);
                put(&mut both.first, lane, &table(first));
                put(&mut both.second, lane, &table(second));
                self.across(&crossed, first, second, number, &turned, |a, b, value| {
                    both.across[a][b][lane] = value;
                });
            }
            let Both { nothing, logs, across, first: (own, own_told), second: other } = &both;
            for (a, (mean, factor)) in ones.iter().enumerate() {
                let taken = Taken::new(kinds, nothing, own, own_told, mean, factor);
                let (within, told) = taken.leave(kinds, across, &other.0, &other.1);
                for (b, (mean, factor)) in others.iter().enumerate() {
                    let (quadratic, more) =
                        weighed(kinds, &taken.quadratic, &within, &told, mean, factor);
                    for lane in 0..some.len() {
                        let determinant = taken.determinant[lane] * more[lane];
                        let form = quadratic[lane].max(0.0) + determinant.ln();
                        take(a, b, nth * LANES + lane, logs[lane] - 0.5 * form);
                    }
                }
            }
        }
    }

    /// `ZᵀP Z'` of two sets of readings at a cell.
    fn across(
        &self,
        crossed: &Crossed,
        first: &Each<'_>,
        second: &Each<'_>,
        number: usize,
        turned: &Turned,
        mut take: impl FnMut(usize, usize, f64),
    ) {
        let kinds = second.on.kinds();
        let mut known = crossed.0.borrow_mut();
        if known.len() <= number {
            known.resize(number + 1, None);
        }
        let figures = known[number].get_or_insert_with(|| {
            let mut figures = vec![0.0; first.on.kinds() * kinds].into_boxed_slice();
            let put = |a: usize, b: usize, value: f64| figures[a * kinds + b] += value;
            first.on.across(&second.on, &self.field, number, turned, put);
            figures
        });
        for (a, figures) in figures.chunks_exact(kinds).enumerate() {
            figures.iter().enumerate().for_each(|(b, &value)| take(a, b, value));
        }
    }
}

/// `ZᵀP Z` and `ZᵀP y` of some readings at some cells side by side.
type Figures<const N: usize> = ([[Lanes; N]; N], [Lanes; N]);

/// What is needed of two sets of readings at some cells, side by side.
struct Both<const N: usize> {
    nothing: Lanes,
    logs: Lanes,
    across: [[Lanes; N]; N],
    first: Figures<N>,
    second: Figures<N>,
}

impl<const N: usize> Both<N> {
    fn nothing() -> Self {
        let (square, row) = ([[[0.0; LANES]; N]; N], [[0.0; LANES]; N]);
        let (nothing, logs) = ([0.0; LANES], [0.0; LANES]);
        Self { nothing, logs, across: square, first: (square, row), second: (square, row) }
    }
}

/// Puts the figures of some readings in their place.
fn put<const N: usize>(to: &mut Figures<N>, lane: usize, table: &Table) {
    for (kind, &told) in table.weighted().iter().enumerate() {
        to.1[kind][lane] = told;
        for (to, figure) in to.0[kind].iter_mut().zip(table.row(kind)) {
            to[lane] = *figure;
        }
    }
}
