//! The odd one of a set of readings, by the known spread and by the tests that know none.
//!
//! The known spread decides; the others are there for a reader who has heard of them, each with the
//! chance that it would see anything. It must not weigh causes.

use super::others::{self, Healthy};
use super::{dixon, grubbs};

/// The furthest reading of a set, with what the usual tests say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OddOne {
    /// Which reading, counted from 0.
    pub index: usize,
    /// Reading less the median of the others, in the readings' unit.
    pub amount: f64,
    /// The same in natural standard deviations.
    pub in_sd: f64,
    /// What the furthest of as many healthy readings does, in natural standard deviations.
    pub healthy: Healthy,
    /// Grubbs' test, two-sided at 5 %; nothing where all readings are alike.
    pub grubbs: Option<SelfScaled>,
    /// Dixon's r10, two-sided at 5 %; nothing beyond ten readings or where all are alike.
    pub dixon: Option<SelfScaled>,
    /// How far off, in natural sd, a reading is that the powers are for.
    pub power_at: f64,
}

/// A test whose yardstick is the very readings it judges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SelfScaled {
    /// Which reading it would flag, counted from 0.
    pub index: usize,
    /// Its figure.
    pub statistic: f64,
    /// What that stays below in 95 % of healthy sets.
    pub limit: f64,
    /// Chance that it flags the right one if that is [`OddOne::power_at`] off.
    pub power: f64,
}

impl OddOne {
    /// The furthest is further than that of 19 in 20 healthy sets.
    #[must_use]
    pub fn is_odd(&self) -> bool {
        self.in_sd.abs() > self.healthy.p95
    }
}

impl SelfScaled {
    /// The test calls its reading odd.
    #[must_use]
    pub fn flags(&self) -> bool {
        self.statistic > self.limit
    }
}

/// Smallest distance that a power is quoted for, natural sd: nearer, nobody would call it odd.
const LEAST: f64 = 3.0;

/// The furthest of 3 to 16 readings, or nothing for other counts, a value that is not a number, or
/// a natural sd that is not above zero.
#[must_use]
pub fn odd_one(values: &[f64], natural_sd: f64) -> Option<OddOne> {
    let n = u8::try_from(values.len()).ok()?;
    let healthy = others::healthy(n)?;
    let deviations = others::from_others(values, natural_sd)?;
    let index = others::furthest(&deviations)?;
    let power_at = deviations[index].in_sd.abs().max(LEAST);
    let grubbs = grubbs::grubbs(values).and_then(|found| {
        Some(SelfScaled {
            index: found.index,
            statistic: found.statistic,
            limit: grubbs::limit(n, 0.05, grubbs::Sides::Two)?,
            power: grubbs::power(n, power_at)?,
        })
    });
    let dixon = dixon::dixon(values).and_then(|found| {
        Some(SelfScaled {
            index: found.index,
            statistic: found.ratio,
            limit: dixon::limit(n, dixon::Level::Five)?,
            power: dixon::power(n, power_at)?,
        })
    });
    let deviation = deviations[index];
    let (amount, in_sd) = (deviation.amount, deviation.in_sd);
    Some(OddOne { index, amount, in_sd, healthy, grubbs, dixon, power_at })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_known_spread_sees_what_the_others_miss() {
        let found = odd_one(&[612.0, 540.0, 606.0, 618.0], 15.0).expect("four readings");
        assert_eq!(found.index, 1);
        assert!(found.is_odd());
        assert!((found.in_sd + 4.8).abs() < 1e-9);
        // (72 − 6)/78 = 0.846 of at most 1, limit 0.829; G 1.49 of at most 1.5.
        let (grubbs, dixon) = (found.grubbs.expect("G"), found.dixon.expect("r10"));
        assert!((dixon.statistic - 66.0 / 78.0).abs() < 1e-9 && dixon.flags());
        assert!((grubbs.limit - 1.4812).abs() < 1e-3, "{grubbs:?}");
        // Between 4 and 5 sd of the simulated tables.
        assert!((0.149..0.218).contains(&grubbs.power) && (0.151..0.219).contains(&dixon.power));
    }

    #[test]
    fn healthy_readings_have_a_furthest_that_is_not_odd() {
        let found = odd_one(&[600.0, 610.0, 604.0, 607.0, 601.0], 12.0).expect("five readings");
        assert!(!found.is_odd());
        assert!((found.power_at - LEAST).abs() < 1e-12);
        assert!(!found.grubbs.expect("G").flags() && !found.dixon.expect("r10").flags());
    }

    #[test]
    fn too_few_too_many_or_alike() {
        assert_eq!(odd_one(&[600.0, 610.0], 12.0), None);
        assert_eq!(odd_one(&[600.0; 17], 12.0), None);
        assert_eq!(odd_one(&[600.0, f64::NAN, 610.0], 12.0), None);
        let alike = odd_one(&[600.0; 4], 12.0).expect("a furthest all the same");
        assert_eq!((alike.grubbs, alike.dixon), (None, None));
        let twelve: Vec<f64> = (0..12).map(f64::from).collect();
        let twelve = odd_one(&twelve, 5.0).expect("twelve readings");
        assert!(twelve.grubbs.is_some() && twelve.dixon.is_none());
    }
}
