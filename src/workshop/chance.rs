//! Chance by name: every random number of a virtual job has a key of its own.
//!
//! The same seed and the same key give the same number, whoever asks and in whatever order, so
//! that two mechanics who do the same to the same engine see the same. It must not know what it is
//! drawn for.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// A place in a tree of random numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Chance(u64);

impl Chance {
    /// The root for a seed.
    #[must_use]
    pub fn seeded(seed: u64) -> Self {
        Self(mixed(seed))
    }

    /// The branch of this name.
    #[must_use]
    pub fn of(self, name: &str) -> Self {
        let mut hash = self.0;
        for byte in name.bytes() {
            hash = mixed(hash ^ u64::from(byte));
        }
        // So that "ab" then "c" is not "a" then "bc".
        Self(mixed(hash ^ 0x100))
    }

    /// The branch of this number.
    #[must_use]
    pub fn nth(self, number: impl TryInto<u64>) -> Self {
        Self(mixed(
            self.0 ^ number.try_into().unwrap_or(u64::MAX).wrapping_mul(0x9e37_79b9_7f4a_7c15),
        ))
    }

    fn random(self) -> Pcg64Mcg {
        Pcg64Mcg::seed_from_u64(self.0)
    }

    /// Evenly from 0 to 1.
    #[must_use]
    pub fn uniform(self) -> f64 {
        self.random().random()
    }

    /// Whether something of this probability happens.
    #[must_use]
    pub fn happens(self, probability: f64) -> bool {
        self.uniform() < probability
    }

    /// Standard normal, by Box and Muller.
    #[must_use]
    pub fn normal(self) -> f64 {
        let mut random = self.random();
        let (a, b): (f64, f64) = (random.random(), random.random());
        (-2.0 * (1.0 - a).ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }

    /// Evenly between two numbers.
    #[must_use]
    pub fn between(self, [low, high]: [f64; 2]) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Between two numbers above nought, as often in each doubling.
    #[must_use]
    pub fn over(self, [low, high]: [f64; 2]) -> f64 {
        low * (high / low).powf(self.uniform())
    }

    /// One of two signs.
    #[must_use]
    pub fn sign(self) -> f64 {
        if self.happens(0.5) { 1.0 } else { -1.0 }
    }

    /// Student's t with four degrees of freedom.
    #[must_use]
    pub fn heavy(self) -> f64 {
        let squares: f64 = (0..4_u8).map(|k| self.of("square").nth(k).normal().powi(2)).sum();
        self.of("top").normal() / (squares / 4.0).sqrt()
    }

    /// Evenly one of the first `n` whole numbers; nought where there is none.
    #[must_use]
    pub fn below(self, n: usize) -> usize {
        self.weighted((0..n).map(|_| 1.0))
    }

    /// Many numbers in a row, for one who does not ask by name.
    pub(super) fn stream(self) -> Pcg64Mcg {
        self.random()
    }

    /// Index drawn in proportion to weights; the last where they are all nil.
    #[must_use]
    pub fn weighted(self, weights: impl IntoIterator<Item = f64> + Clone) -> usize {
        let total: f64 = weights.clone().into_iter().sum();
        let mut left = self.uniform() * total;
        let mut last = 0;
        for (index, weight) in weights.into_iter().enumerate() {
            last = index;
            if left < weight {
                break;
            }
            left -= weight;
        }
        last
    }
}

/// A well-spread number from a plain one (the finaliser of splitmix64; Steele, Lea & Flood 2014,
/// memory).
fn mixed(number: u64) -> u64 {
    let mut z = number.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_key_gives_the_same_number_and_another_gives_another() {
        let root = Chance::seeded(7);
        assert_eq!(root.of("a").nth(3_u8), root.of("a").nth(3_u64));
        assert_ne!(root.of("ab").of("c"), root.of("a").of("bc"));
        assert_ne!(root.nth(1_u8), root.nth(2_u8));
        assert_ne!(Chance::seeded(1), Chance::seeded(2));
    }

    #[test]
    fn numbers_of_neighbouring_keys_are_spread_as_they_should_be() {
        let root = Chance::seeded(1);
        let n = 20_000_u32;
        let (mut sum, mut squares, mut low) = (0.0, 0.0, 0_u32);
        for k in 0..n {
            let z = root.nth(k).normal();
            sum += z;
            squares += z * z;
            low += u32::from(root.nth(k).of("low").happens(0.3));
        }
        let n = f64::from(n);
        // Four standard errors.
        assert!((sum / n).abs() < 4.0 / n.sqrt());
        assert!((squares / n - 1.0).abs() < 4.0 * (2.0 / n).sqrt());
        assert!((f64::from(low) / n - 0.3).abs() < 4.0 * (0.21 / n).sqrt());
    }

    #[test]
    fn heavy_tails_are_those_of_four_degrees_of_freedom() {
        // 5 % lie beyond 2.776 and 1 % beyond 4.604 (any table of Student's t).
        let root = Chance::seeded(2);
        let sizes: Vec<f64> = (0..20_000_u32).map(|k| root.nth(k).heavy().abs()).collect();
        for (beyond, share) in [(2.776, 0.05), (4.604, 0.01)] {
            let seen = sizes.iter().filter(|size| **size > beyond).map(|_| 1.0).sum::<f64>() / 2e4;
            assert!((seen - share).abs() < 4.0 * (share / 2e4_f64).sqrt(), "{beyond}: {seen}");
        }
    }

    #[test]
    fn an_index_is_drawn_in_proportion() {
        let root = Chance::seeded(5);
        let mut counts = [0_u32; 3];
        for k in 0..6000_u32 {
            counts[root.nth(k).weighted([1.0, 0.0, 2.0])] += 1;
        }
        assert_eq!(counts[1], 0);
        assert!((f64::from(counts[2]) / 6000.0 - 2.0 / 3.0).abs() < 0.025);
    }
}
