//! Two effects together: each of some on the same readings, with each of some on other readings.
//!
//! The sides of a fault show on the same readings. So what two sets of readings have in common is worked out once
//! for all sides of both, and each side of the one is taken in once for all sides of the other. It must come to what
//! [`Cells::log_at`] comes to for each two.

use std::rc::Rc;

use super::super::linalg::Matrix;
use super::cells::{Cells, MANY};
use super::small::{Taken, effect, figures};
use super::touched::Touched;

/// Effects on the same readings, each with its mean and its factor.
#[derive(Debug)]
pub struct Each<'a> {
    /// Which they are.
    pub on: Rc<Touched>,
    /// The effects.
    pub effects: Vec<(&'a [f64], &'a Matrix)>,
}

impl Cells {
    /// Log of weight times density at one cell, for each of some effects with each of some others.
    pub fn log_both_at(
        &self,
        number: usize,
        first: &Each<'_>,
        second: &Each<'_>,
        take: &mut dyn FnMut(usize, usize, f64),
    ) {
        // Taking one in is dearer than one more beside it.
        if first.effects.len() > second.effects.len() {
            return self.log_both_at(number, second, first, &mut |b, a, log| take(a, b, log));
        }
        match first.on.kinds() {
            1 => self.both_in_place::<1>(number, first, second, take),
            2 => self.both_in_place::<2>(number, first, second, take),
            3 => self.both_in_place::<3>(number, first, second, take),
            4 => self.both_in_place::<4>(number, first, second, take),
            5..=6 => self.both_in_place::<6>(number, first, second, take),
            _ => self.both_in_place::<MANY>(number, first, second, take),
        }
    }

    fn both_in_place<const N: usize>(
        &self,
        number: usize,
        first: &Each<'_>,
        second: &Each<'_>,
        take: &mut dyn FnMut(usize, usize, f64),
    ) {
        let turned = self.turned(number);
        let (nothing, log) = self.plain(number);
        let table = |each: &Each<'_>| figures::<N>(&each.on.table(&self.field, number, &turned));
        let (own, other) = (table(first), table(second));
        let mut across = [[0.0; N]; N];
        let put = |a: usize, b: usize, value: f64| across[a][b] += value;
        first.on.across(&second.on, &self.field, number, &turned, put);
        let others: Vec<_> = second.effects.iter().map(effect::<N>).collect();
        for (a, one) in first.effects.iter().enumerate() {
            let (mean, factor) = effect(one);
            let taken = Taken::new(nothing, &own.0, &own.1, &mean, &factor);
            let left = taken.leave(&across, &other.0, &other.1);
            for (b, (mean, factor)) in others.iter().enumerate() {
                let (quadratic, log_determinant) = taken.beside(&left, mean, factor);
                take(a, b, log - 0.5 * (quadratic + log_determinant));
            }
        }
    }
}
