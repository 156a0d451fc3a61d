//! The readings of one place, look by look, and what any choice of these looks comes to.
//!
//! A fault shows at some looks and rests or is away at others; a long job has thousands of such choices for each
//! place. Most are a few runs of looks. So what looks have in common is summed once over all that come before two of
//! them, and of a choice nothing is asked but what lies between its edges. It must come to what
//! [`Touched`](super::Touched) comes to for the same readings, and must not know why a fault shows there.

use std::array::from_fn;

use super::super::linalg::{Matrix, add, dot};
use super::super::looks::{Shows, edges};
use super::cells::{Cells, MANY};
use super::lanes::{LANES, Lanes, by_kinds, exponentials, gone_through, told_by, weighed};
use super::small::{effect, rooted};
use super::touched::UNTOLD;

/// The readings of one place by look.
#[derive(Debug)]
pub struct Strip {
    kinds: usize,
    /// By look its kind and its readings, if it has any there.
    looks: Vec<(usize, Vec<usize>)>,
}

/// Sums over looks at a cell.
struct Ruled {
    /// How many looks there are.
    looks: usize,
    kinds: usize,
    /// `ZᵀP Z` of all looks before one and all before another that is no later, for each two kinds.
    within: Vec<f64>,
    /// `ZᵀP y` of all looks before one, by kind.
    told: Vec<f64>,
}

/// Where the sums of two looks stand, the first being no earlier: in rows that become longer.
fn place(look: usize, other: usize) -> usize {
    look * (look + 1) / 2 + other
}

/// How many twos of some kinds there are, a kind with itself included.
fn twos(kinds: usize) -> usize {
    kinds * (kinds + 1) / 2
}

impl Strip {
    /// The readings of each look with its kind.
    #[must_use]
    pub fn new(kinds: usize, looks: Vec<(usize, Vec<usize>)>) -> Self {
        Self { kinds, looks }
    }

    fn ruled(&self, cells: &Cells, number: usize) -> Ruled {
        let turned = cells.turned(number);
        let layout = &cells.field.layout;
        let (common, count, twos) = (layout.common(), self.looks.len(), twos(self.kinds));
        let mut rows = Matrix::zeros(count, common + layout.owned());
        let mut within = vec![0.0; place(count + 1, 0) * twos];
        let mut told = vec![0.0; (count + 1) * self.kinds];
        let mut sum = vec![0.0; twos];
        for (look, (kind, readings)) in self.looks.iter().enumerate() {
            let (before, after) = told.split_at_mut((look + 1) * self.kinds);
            let after = &mut after[..self.kinds];
            after.copy_from_slice(&before[look * self.kinds..]);
            let mut precision = 0.0;
            for &reading in readings {
                let block = layout.block_of(reading);
                let (row, own) = (rows.row_mut(look), cells.field.row(&turned, reading));
                add(&mut row[..common], 1.0, own.far());
                add(&mut row[common + block.start..common + block.end], 1.0, own.own());
                precision += turned.precision(reading);
                after[*kind] += own.weighted;
            }
            sum.fill(0.0);
            for other in 0..=look {
                // Of two looks of unlike kinds each stands for a half: they are met in either order.
                let (their, _) = self.looks[other];
                let less = dot(rows.row(look), rows.row(other));
                if other == look {
                    sum[place(*kind, *kind)] += precision - less;
                } else if their == *kind {
                    sum[place(*kind, *kind)] -= less;
                } else {
                    sum[place(*kind.max(&their), *kind.min(&their))] -= 0.5 * less;
                }
                // Of the looks before this one those before the other are known; itself with itself by symmetry.
                let above =
                    if other < look { place(look, other + 1) } else { place(look + 1, look) };
                let at = place(look + 1, other + 1) * twos;
                for (two, sum) in sum.iter().enumerate() {
                    within[at + two] = within[above * twos + two] + sum;
                }
            }
        }
        Ruled { looks: count, kinds: self.kinds, within, told }
    }
}

impl Ruled {
    /// `ZᵀP Z` for each two kinds and `ZᵀP y` of a choice of looks.
    fn choose(
        &self,
        choice: Shows,
        found: &mut Vec<(usize, f64)>,
        within: &mut [f64],
        told: &mut [f64],
    ) {
        let twos = twos(self.kinds);
        found.clear();
        edges(choice, self.looks, |look, ends| {
            // Before the first look there is nothing.
            if look > 0 {
                found.push((look, if ends { 1.0 } else { -1.0 }));
            }
        });
        for (nth, &(look, sign)) in found.iter().enumerate() {
            for (told, sum) in told.iter_mut().zip(&self.told[look * self.kinds..]) {
                *told += sign * sum;
            }
            for &(other, their) in &found[..nth] {
                let sums = &self.within[place(look, other) * twos..][..twos];
                add(within, 2.0 * sign * their, sums);
            }
            add(within, 1.0, &self.within[place(look, look) * twos..][..twos]);
        }
    }
}

/// What some choices of looks at one place come to, at some cells.
#[derive(Debug)]
pub struct Sheet {
    kinds: usize,
    choices: usize,
    cells: Vec<At>,
    /// By choice the log of what no effect, of whatever size, comes to more than at any one cell; see
    /// [`Cells::most_at`].
    tops: Vec<f64>,
}

/// The choices at one cell, some side by side.
#[derive(Debug)]
struct At {
    /// Quadratic form with nothing there.
    nothing: f64,
    /// Log of weight times density but for it.
    log: f64,
    /// By choices `ZᵀP Z` for each two kinds, then `ZᵀP y` for each kind.
    figures: Vec<Lanes>,
}

impl Cells {
    /// Prepares some choices of the looks of a place at some cells.
    #[must_use]
    pub fn sheet(&self, strip: &Strip, cells: &[usize], choices: &[Shows]) -> Sheet {
        let (kinds, twos) = (strip.kinds, twos(strip.kinds));
        let (mut found, mut room) = (Vec::new(), vec![0.0; twos + kinds]);
        let of = |&number: &usize| {
            let ruled = strip.ruled(self, number);
            let (nothing, log) = self.plain(number);
            let mut figures = vec![[0.0; LANES]; choices.len().div_ceil(LANES) * room.len()];
            for (nth, choice) in choices.iter().enumerate() {
                room.fill(0.0);
                let (within, told) = room.split_at_mut(twos);
                ruled.choose(*choice, &mut found, within, told);
                let to = figures[nth / LANES * room.len()..].iter_mut();
                to.zip(&room).for_each(|(to, figure)| to[nth % LANES] = *figure);
            }
            At { nothing, log, figures }
        };
        let cells = cells.iter().map(of).collect();
        let mut sheet = Sheet { kinds, choices: choices.len(), cells, tops: Vec::new() };
        sheet.tops = sheet.most_at_any();
        sheet
    }
}

impl Sheet {
    /// How many choices there are.
    #[must_use]
    pub fn choices(&self) -> usize {
        self.choices
    }

    /// By choice the log of what no effect, of whatever size, comes to more than at any one cell.
    #[must_use]
    pub fn tops(&self) -> &[f64] {
        &self.tops
    }

    /// Log of what all cells together come to more than at most, beside that of one.
    #[must_use]
    pub fn beside_one(&self) -> f64 {
        measure::number::real(self.cells.len()).ln()
    }

    /// By choice the log of weight times density of an effect, summed over the cells.
    #[must_use]
    pub fn logs(&self, one: &(&[f64], &Matrix)) -> Vec<f64> {
        let mut logs = Vec::with_capacity(self.choices);
        for choice in 0..self.choices {
            let each = by_kinds!(self.kinds, logs_of::<_>(self, choice, one));
            logs.push(log_of_sum(&each));
        }
        logs
    }

    /// Weight times density of an effect at each choice, summed over the cells, as a share of the top; some choices side
    /// by side, none of them where `wanted` says so.
    pub fn shares(
        &self,
        one: &(&[f64], &Matrix),
        wanted: impl Fn(std::ops::Range<usize>) -> bool,
        shares: &mut [f64],
    ) {
        by_kinds!(self.kinds, shares_of::<_>(self, one, &wanted, shares));
    }

    fn most_at_any(&self) -> Vec<f64> {
        let count = twos(self.kinds) + self.kinds;
        let mut tops = vec![f64::NEG_INFINITY; self.choices];
        for at in &self.cells {
            for (figures, tops) in at.figures.chunks_exact(count).zip(tops.chunks_mut(LANES)) {
                let gains = by_kinds!(self.kinds, gains_of::<_>(self.kinds, figures));
                for (top, gain) in tops.iter_mut().zip(gains) {
                    *top = top.max(at.log - 0.5 * (at.nothing - gain).max(0.0) + ALLOWED);
                }
            }
        }
        tops
    }
}

/// At each cell the log of weight times density at a choice but for a root, and the root.
fn logs_of<const N: usize>(
    sheet: &Sheet,
    choice: usize,
    one: &(&[f64], &Matrix),
) -> Vec<(f64, f64)> {
    let (mean, factor) = effect::<N>(one);
    let count = twos(sheet.kinds) + sheet.kinds;
    let of = |at: &At| {
        let figures = &at.figures[choice / LANES * count..][..count];
        let (within, told) = figures_of::<N>(sheet.kinds, figures);
        let within = within.map(|row| row.map(|figure| figure[choice % LANES]));
        let told = told.map(|figure| figure[choice % LANES]);
        let (quadratic, root) = rooted(at.nothing, &within, &told, &mean, &factor);
        (at.log - 0.5 * quadratic, root)
    };
    sheet.cells.iter().map(of).collect()
}

fn shares_of<const N: usize>(
    sheet: &Sheet,
    one: &(&[f64], &Matrix),
    wanted: &dyn Fn(std::ops::Range<usize>) -> bool,
    shares: &mut [f64],
) {
    let kinds = gone_through::<N>(sheet.kinds);
    let (mean, factor) = effect::<N>(one);
    let count = twos(sheet.kinds) + sheet.kinds;
    for (nth, shares) in shares.chunks_mut(LANES).enumerate() {
        let (from, to) = (nth * LANES, nth * LANES + shares.len());
        if !wanted(from..to) {
            continue;
        }
        let mut tops = [0.0; LANES];
        tops[..to - from].copy_from_slice(&sheet.tops[from..to]);
        let mut sums = [0.0; LANES];
        for at in &sheet.cells {
            let (within, told) = figures_of::<N>(sheet.kinds, &at.figures[nth * count..][..count]);
            let (quadratic, determinant) =
                weighed(kinds, &[at.nothing; LANES], &within, &told, &mean, &factor);
            let mut logs = [0.0; LANES];
            for lane in 0..LANES {
                logs[lane] = at.log - 0.5 * quadratic[lane].max(0.0) - tops[lane];
            }
            let densities = exponentials(&logs);
            for lane in 0..LANES {
                sums[lane] += densities[lane] / determinant[lane].sqrt();
            }
        }
        shares.copy_from_slice(&sums[..to - from]);
    }
}

/// The figures of some choices in place, the rest being nought.
#[inline]
fn figures_of<const N: usize>(kinds: usize, figures: &[Lanes]) -> ([[Lanes; N]; N], [Lanes; N]) {
    let (twos, ones) = figures.split_at(twos(kinds));
    let of = |a: usize, b: usize| if a < kinds { twos[place(a, b)] } else { [0.0; LANES] };
    let within = from_fn(|a| from_fn(|b| of(a.max(b), a.min(b))));
    let mut told = [[0.0; LANES]; N];
    told[..kinds].copy_from_slice(ones);
    (within, told)
}

/// By how much shifts can lower the quadratic form at some choices; see [`super::touched`].
fn gains_of<const N: usize>(kinds: usize, figures: &[Lanes]) -> Lanes {
    let (mut within, mut told) = figures_of::<N>(kinds, figures);
    for (kind, row) in within.iter_mut().enumerate() {
        row[kind].iter_mut().for_each(|own| *own += UNTOLD);
    }
    told_by(gone_through::<N>(kinds), &mut within, &mut told).0
}

/// Log of a sum, of each term its log but for a root that it is to be divided by.
fn log_of_sum(logs: &[(f64, f64)]) -> f64 {
    let top = logs.iter().map(|(log, _)| *log).fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY {
        return top;
    }
    top + logs.iter().map(|(log, root)| (log - top).exp() / root).sum::<f64>().ln()
}

/// Log of what is allowed for shifts that nothing but a level tells.
pub(super) const ALLOWED: f64 = 0.01;
