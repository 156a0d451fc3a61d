//! Random draws that the distributions of the model are made of.
//!
//! It must not know what is drawn.

use std::f64::consts::TAU;

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// A stream of draws that is the same for the same seed.
pub(super) struct Dice(Pcg64Mcg);

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        Self(Pcg64Mcg::seed_from_u64(seed))
    }

    /// Evenly between nought and one.
    pub(super) fn even(&mut self) -> f64 {
        self.0.random()
    }

    pub(super) fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.even()
    }

    pub(super) fn chance(&mut self, chance: f64) -> bool {
        self.even() < chance
    }

    /// One of so many, each as likely.
    pub(super) fn one_of(&mut self, count: usize) -> usize {
        self.0.random_range(0..count)
    }

    /// An index, by weights that need not sum to one.
    pub(super) fn weighted(&mut self, weights: &[f64]) -> usize {
        let mut left = self.even() * weights.iter().sum::<f64>();
        for (index, weight) in weights.iter().enumerate() {
            left -= weight;
            if left < 0.0 {
                return index;
            }
        }
        weights.len() - 1
    }

    /// A standard normal (Box and Muller).
    pub(super) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.even()).ln()).sqrt();
        radius * (TAU * self.even()).cos()
    }

    pub(super) fn normals(&mut self, count: usize) -> Vec<f64> {
        (0..count).map(|_| self.normal()).collect()
    }

    /// Student's t of four degrees of freedom.
    pub(super) fn student_of_four(&mut self) -> f64 {
        // A χ² of four is that of the product of two even draws.
        let square = -2.0 * ((1.0 - self.even()) * (1.0 - self.even())).ln();
        self.normal() / (square / 4.0).sqrt()
    }
}
