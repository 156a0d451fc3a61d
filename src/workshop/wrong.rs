//! Knowledge that is wrong on purpose.
//!
//! The world is made by a distorted knowledge base while the planner goes by the plain one. One
//! distortion holds for a whole run: drawn anew for each job it would average out, and nothing
//! would be wrong on the whole. It must not look at what a policy makes of it.

use crate::knowledge::{Knowledge, NaturalSpread};
use crate::named_enum;

use super::chance::Chance;

named_enum! {
    /// In what the world differs from the knowledge base.
    Wrong, "way of being wrong" {
        /// In nothing.
        Nothing = "nothing",
        /// Each cause is twice or half as frequent.
        Priors = "priors",
        /// The odds that a test speaks up are twice or half, row by row.
        Sensitivity = "sensitivity",
        /// Healthy cylinders differ by half as much again.
        Spread = "spread",
        /// Each cause shifts readings by 40 % more or less.
        Effects = "effects",
        /// Three in ten faulty engines have two faults.
        TwoFaults = "two-faults",
        /// One fault in five is in no list.
        Unknown = "unknown",
        /// Priors, sensitivities, effects and spread at once.
        All = "all",
    }
}

/// Factor on weights and on odds.
const FACTOR: f64 = 2.0;
/// Factor on natural spread.
const WIDER: f64 = 1.5;
/// Share by which effects are off.
const OFF: f64 = 0.4;
/// Share of faulty engines with two faults, where that is what is wrong.
const TWO: f64 = 0.3;
/// Share of faults in no list, where that is what is wrong.
const STRANGE: f64 = 0.2;

/// What the world goes by.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// Knowledge base of the world; its lists are those of the plain one, index by index.
    pub knowledge: Knowledge,
    /// Factor on the effect of each cause.
    pub effect: Vec<f64>,
    /// Faults in no list take after causes that are in it, a piece from each.
    pub strange: bool,
}

impl Truth {
    /// The world of a seed, distorted in some way.
    #[must_use]
    pub fn of(plain: &Knowledge, wrong: Wrong, seed: u64) -> Self {
        let mut truth = Self {
            knowledge: plain.clone(),
            effect: vec![1.0; plain.causes.len()],
            strange: wrong == Wrong::Unknown,
        };
        let chance = Chance::seeded(seed).of("world");
        match wrong {
            Wrong::Nothing => {}
            Wrong::Priors => truth.priors(chance),
            Wrong::Sensitivity => truth.sensitivity(chance),
            Wrong::Spread => truth.spread(),
            Wrong::Effects => truth.effects(chance),
            Wrong::TwoFaults => truth.knowledge.constants.two_faults = TWO,
            Wrong::Unknown => {
                let listed: f64 = plain.causes.iter().map(|c| c.weight).sum();
                truth.knowledge.constants.unlisted_weight = listed * STRANGE / (1.0 - STRANGE);
            }
            Wrong::All => {
                truth.priors(chance);
                truth.sensitivity(chance);
                truth.spread();
                truth.effects(chance);
            }
        }
        truth
    }

    fn priors(&mut self, chance: Chance) {
        for cause in &mut self.knowledge.causes {
            cause.weight *= either(chance.of("weight").of(&cause.id), FACTOR, 1.0 / FACTOR);
        }
    }

    fn sensitivity(&mut self, chance: Chance) {
        let causes: Vec<String> = self.knowledge.causes.iter().map(|c| c.id.clone()).collect();
        for test in &mut self.knowledge.tests {
            let own = chance.of("row").of(&test.id);
            let silent = test.usual();
            test.default = louder(&test.default, silent, either(own, FACTOR, 1.0 / FACTOR));
            for (cause, row) in &mut test.given {
                let factor = either(own.of(&causes[*cause]), FACTOR, 1.0 / FACTOR);
                *row = louder(row, silent, factor);
            }
        }
    }

    fn spread(&mut self) {
        for NaturalSpread { sd, .. } in &mut self.knowledge.spreads {
            for value in sd {
                *value *= WIDER;
            }
        }
    }

    fn effects(&mut self, chance: Chance) {
        for (factor, cause) in self.effect.iter_mut().zip(&self.knowledge.causes) {
            *factor = either(chance.of("effect").of(&cause.id), 1.0 + OFF, 1.0 - OFF);
        }
    }
}

fn either(chance: Chance, heads: f64, tails: f64) -> f64 {
    if chance.happens(0.5) { heads } else { tails }
}

/// A row with the odds of anything but silence multiplied.
fn louder(row: &[f64], silent: usize, factor: f64) -> Vec<f64> {
    let weighed = |(o, p): (usize, &f64)| if o == silent { *p } else { p * factor };
    let sum: f64 = row.iter().enumerate().map(weighed).sum();
    row.iter().enumerate().map(|entry| weighed(entry) / sum).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::{embedded::embedded, load};

    #[test]
    fn every_way_of_being_wrong_leaves_sound_tables() {
        let plain = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        for &wrong in Wrong::ALL {
            let truth = Truth::of(&plain, wrong, 3);
            assert_eq!(truth, Truth::of(&plain, wrong, 3), "{wrong}: the same again");
            assert_eq!(
                wrong == Wrong::Nothing,
                truth.knowledge == plain && truth.effect.iter().all(|f| (f - 1.0).abs() < 1e-12)
            );
            for test in &truth.knowledge.tests {
                for row in test.given.values().chain([&test.default]).filter(|r| !r.is_empty()) {
                    assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{wrong} {}", test.id);
                }
            }
        }
    }

    #[test]
    fn about_half_of_the_weights_go_up() {
        let plain = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        let truth = Truth::of(&plain, Wrong::Priors, 1).knowledge;
        let up = truth.causes.iter().zip(&plain.causes).filter(|(a, b)| a.weight > b.weight);
        let (up, all) = (up.count(), plain.causes.len());
        assert!(up > all / 4 && up < all * 3 / 4, "{up} of {all}");
    }
}
