//! What the world goes by where the knowledge base only says what it believes.
//!
//! How common each cause is and what each test shows start from the knowledge base's tables. In a
//! wrong world they are other ones: weights times a lognormal factor, rows mixed with other rows of
//! the same test. One draw holds for a whole run; drawn anew for each job it would average out. It
//! must not look at what comes of it.

use std::collections::BTreeMap;

use facts::knowledge::{Knowledge, Test};
use measure::named_enum;

use super::chance::Chance;

named_enum! {
    /// How wrong the knowledge base is about the world.
    Wrong, "way of being wrong" {
        /// Frequencies and rows are right; sizes, spreads, cures and slips are the world's own.
        Nothing = "nothing",
        /// Frequencies off by a lognormal factor of two, rows mixed.
        Twice = "twice",
        /// Frequencies off by a lognormal factor of three, rows and healthy engines' rows mixed.
        Thrice = "thrice",
    }
}

impl Wrong {
    /// Sd of the log of the factor on each weight.
    fn weights(self) -> f64 {
        match self {
            Self::Nothing => 0.0,
            Self::Twice => std::f64::consts::LN_2,
            Self::Thrice => 3.0_f64.ln(),
        }
    }
}

/// Share of another row in a row, from and to, and of another row in that of a healthy engine (assumed).
const MIXED: [f64; 2] = [0.15, 0.25];
const MIXED_HEALTHY: f64 = 0.1;

/// Frequencies and rows of one world.
#[derive(Debug, Clone, PartialEq)]
pub struct Tables {
    /// How common each cause is, index by index.
    pub weights: Vec<f64>,
    /// What each test shows, index by index.
    pub rows: Vec<Rows>,
}

/// What one test shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Rows {
    /// Where nothing it speaks to is the matter.
    pub healthy: Vec<f64>,
    /// Where this cause is, by index.
    pub given: BTreeMap<usize, Vec<f64>>,
}

impl Tables {
    /// The tables of a seed.
    #[must_use]
    pub fn of(known: &Knowledge, wrong: Wrong, seed: u64) -> Self {
        let chance = Chance::seeded(seed).of("tables").of(wrong.as_str());
        let weights = known.causes.iter().map(|cause| {
            cause.weight * (wrong.weights() * chance.of("weight").of(&cause.id).normal()).exp()
        });
        let rows = known.tests.iter().map(|test| {
            let own = Rows { healthy: test.default.clone(), given: test.given.clone() };
            if wrong == Wrong::Nothing {
                own
            } else {
                mixed(known, test, wrong, chance.of(&test.id))
            }
        });
        Self { weights: weights.collect(), rows: rows.collect() }
    }
}

fn mixed(known: &Knowledge, test: &Test, wrong: Wrong, chance: Chance) -> Rows {
    let all: Vec<&Vec<f64>> = test.given.values().chain([&test.default]).collect();
    let other = |chance: Chance| all[chance.below(all.len())];
    let given = test.given.iter().map(|(&cause, row)| {
        let own = chance.of(&known.causes[cause].id);
        (cause, blended(row, other(own), own.of("share").between(MIXED)))
    });
    let given = given.collect();
    let share = if wrong == Wrong::Thrice { MIXED_HEALTHY } else { 0.0 };
    Rows { healthy: blended(&test.default, other(chance.of("healthy")), share), given }
}

fn blended(row: &[f64], other: &[f64], share: f64) -> Vec<f64> {
    row.iter().zip(other).map(|(a, b)| (1.0 - share) * a + share * b).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use facts::knowledge::{embedded::embedded, load};
    use measure::number::real;

    #[test]
    fn every_world_has_sound_tables_and_only_the_right_one_those_of_the_knowledge_base() {
        let known = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        for &wrong in Wrong::ALL {
            let tables = Tables::of(&known, wrong, 3);
            assert_eq!(tables, Tables::of(&known, wrong, 3), "{wrong}: the same again");
            for (rows, test) in tables.rows.iter().zip(&known.tests) {
                for row in rows.given.values().chain([&rows.healthy]).filter(|r| !r.is_empty()) {
                    assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{wrong} {}", test.id);
                }
                let same = rows.given == test.given && rows.healthy == test.default;
                assert!(wrong != Wrong::Nothing || same, "{}", test.id);
            }
        }
    }

    #[test]
    fn weights_are_off_by_as_much_as_is_said() {
        let known = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        for (wrong, factor) in
            [(Wrong::Nothing, 1.0_f64), (Wrong::Twice, 2.0), (Wrong::Thrice, 3.0)]
        {
            let mut squares = 0.0;
            let mut all = 0.0;
            for seed in 0..20 {
                let tables = Tables::of(&known, wrong, seed);
                for (weight, cause) in tables.weights.iter().zip(&known.causes) {
                    squares += (weight / cause.weight).ln().powi(2);
                    all += 1.0;
                }
            }
            // Four standard errors of a standard deviation, and no less than nought.
            let (sd, want) = (f64::sqrt(squares / all), factor.ln());
            assert!((sd - want).abs() <= 4.0 * want / f64::sqrt(2.0 * all) + 1e-12, "{sd} {want}");
        }
        assert!(real(known.causes.len()) > 50.0);
    }
}
