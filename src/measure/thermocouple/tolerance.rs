//! How far a new probe may be off, and so how far two good ones may be apart.
//!
//! The limits are those of IEC 60584-1:2013 and ASTM E230, cross-checked on secondary tables. They
//! hold for new wire only: both standards expressly exclude drift in use. It must not judge a
//! probe.

use crate::named_enum;

use super::Standard;

named_enum! {
    /// Which limit a probe was bought to.
    Class, "tolerance class" {
        /// IEC 60584-1 class 1, the closest.
        One = "class-1",
        /// IEC 60584-1 class 2, the usual one.
        Two = "class-2",
        /// IEC 60584-1 class 3, for cold work.
        Three = "class-3",
        /// ASTM E230 standard limits.
        Standard = "astm-standard",
        /// ASTM E230 special limits.
        Special = "astm-special",
    }
}

/// A limit of error: the larger of a fixed part and one that grows with temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Fixed part, ± °C.
    pub fixed: f64,
    /// Part that grows, as a share of the temperature in °C.
    pub share: f64,
    /// Temperature at which the growing part begins to count, °C: 0, but 1100 for class 1 of
    /// types R and S, where it is then added to the fixed part.
    pub beyond: f64,
    /// Lower end of the range it holds for, °C.
    pub from: f64,
    /// Upper end, °C.
    pub to: f64,
}

impl Limit {
    const fn new(fixed: f64, share: f64, from: f64, to: f64) -> Self {
        Self { fixed, share, beyond: 0.0, from, to }
    }

    /// Largest error allowed at `t` °C, ± °C, or nothing where the class gives no limit.
    #[must_use]
    pub fn at(&self, t: f64) -> Option<f64> {
        if !(self.from <= t && t <= self.to) {
            return None;
        }
        Some(if self.beyond > 0.0 {
            self.fixed + self.share * (t - self.beyond).max(0.0)
        } else {
            self.fixed.max(self.share * t.abs())
        })
    }
}

/// The limit of a class for a type, or nothing where the standard has none.
#[must_use]
pub fn limit(standard: Standard, class: Class) -> Option<Limit> {
    use Standard::{B, E, J, K, N, R, S, T};
    let limit = Limit::new;
    Some(match (class, standard) {
        (Class::One, K | N) => limit(1.5, 0.004, -40.0, 1000.0),
        (Class::One, J) => limit(1.5, 0.004, -40.0, 750.0),
        (Class::One, E) => limit(1.5, 0.004, -40.0, 800.0),
        (Class::One, T) => limit(0.5, 0.004, -40.0, 350.0),
        (Class::One, R | S) => Limit { beyond: 1100.0, ..limit(1.0, 0.003, 0.0, 1600.0) },
        (Class::Two, K | N) => limit(2.5, 0.0075, -40.0, 1200.0),
        (Class::Two, J) => limit(2.5, 0.0075, -40.0, 750.0),
        (Class::Two, E) => limit(2.5, 0.0075, -40.0, 900.0),
        (Class::Two, T) => limit(1.0, 0.0075, -40.0, 350.0),
        (Class::Two, R | S) => limit(1.5, 0.0025, 0.0, 1600.0),
        (Class::Two, B) => limit(0.0, 0.0025, 600.0, 1700.0),
        (Class::Three, K | N | E) => limit(2.5, 0.015, -200.0, 40.0),
        (Class::Three, T) => limit(1.0, 0.015, -200.0, 40.0),
        (Class::Three, B) => limit(4.0, 0.005, 600.0, 1700.0),
        (Class::Standard, K | N) => limit(2.2, 0.0075, 0.0, 1260.0),
        (Class::Standard, J) => limit(2.2, 0.0075, 0.0, 760.0),
        (Class::Standard, T) => limit(1.0, 0.0075, 0.0, 370.0),
        (Class::Standard, E) => limit(1.7, 0.005, 0.0, 870.0),
        (Class::Standard, R | S) => limit(1.5, 0.0025, 0.0, 1480.0),
        (Class::Standard, B) => limit(0.0, 0.005, 870.0, 1700.0),
        (Class::Special, K | N) => limit(1.1, 0.004, 0.0, 1260.0),
        (Class::Special, J) => limit(1.1, 0.004, 0.0, 760.0),
        (Class::Special, T) => limit(0.5, 0.004, 0.0, 370.0),
        (Class::Special, E) => limit(1.0, 0.004, 0.0, 870.0),
        (Class::Special, R | S) => limit(0.6, 0.001, 0.0, 1480.0),
        (Class::Special, B) => limit(0.0, 0.0025, 870.0, 1700.0),
        (Class::One, B) | (Class::Three, J | R | S) => return None,
    })
}

/// How far two good probes may differ, both new.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apart {
    /// Largest difference both limits allow, °C: one probe at its upper, one at its lower limit.
    pub limit: f64,
    /// Standard deviation of the difference, °C, if a limit is taken as two standard deviations of
    /// one probe. That is an assumption: neither standard says how errors spread within the limit.
    pub sd: f64,
}

/// How far apart two good probes of one class may be at `t` °C, or nothing where the class gives no
/// limit.
#[must_use]
pub fn apart(standard: Standard, class: Class, t: f64) -> Option<Apart> {
    let each = limit(standard, class)?.at(t)?;
    Some(Apart { limit: 2.0 * each, sd: each / std::f64::consts::SQRT_2 })
}

/// Largest error that extension cable of the probe's own kind may add, ± °C, for IEC class 1 and
/// class 2 (IEC 60584-3, from a secondary table), or nothing where the table has no such cable.
#[must_use]
pub fn extension_limit(standard: Standard, class: Class) -> Option<f64> {
    match (standard, class) {
        (Standard::K | Standard::N | Standard::J | Standard::E, Class::One) => Some(1.5),
        (Standard::K | Standard::N | Standard::J | Standard::E, Class::Two) => Some(2.5),
        (Standard::T, Class::One) => Some(0.5),
        (Standard::T, Class::Two) => Some(1.0),
        _ => None,
    }
}

/// What a class allows a probe and its lead at a temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowed {
    /// The class.
    pub class: Class,
    /// Largest error of one new probe, ± °C; nothing outside the class's range.
    pub probe: Option<f64>,
    /// Largest error its extension lead may add, ± °C; nothing where no table has one.
    pub lead: Option<f64>,
}

impl Allowed {
    /// How far apart two good ones may be, leads counted in, or nothing where there is no limit.
    #[must_use]
    pub fn apart(&self) -> Option<Apart> {
        let (probe, lead) = (self.probe?, self.lead.unwrap_or(0.0));
        Some(Apart {
            limit: 2.0 * (probe + lead),
            sd: probe.hypot(lead) / std::f64::consts::SQRT_2,
        })
    }
}

/// What every class of a type allows at `t` °C; classes that the standards do not have are left out.
#[must_use]
pub fn allowed(standard: Standard, t: f64) -> Vec<Allowed> {
    let class = |&class: &Class| {
        let probe = limit(standard, class)?.at(t);
        Some(Allowed { class, probe, lead: extension_limit(standard, class) })
    };
    Class::ALL.iter().filter_map(class).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(class: Class, t: f64, each: f64, two: f64) {
        let limit = limit(Standard::K, class).expect("type K has all classes").at(t);
        let apart = apart(Standard::K, class, t).expect("in range");
        assert!((limit.expect("in range") - each).abs() < 0.05, "{class} at {t}: {limit:?}");
        assert!((apart.limit - two).abs() < 0.05, "{class} at {t}: {apart:?}");
    }

    #[test]
    fn two_good_type_k_probes_may_be_this_far_apart() {
        check(Class::Two, 850.0, 6.4, 12.75);
        check(Class::One, 850.0, 3.4, 6.8);
        check(Class::Two, 400.0, 3.0, 6.0);
        check(Class::One, 400.0, 1.6, 3.2);
        check(Class::Two, 20.0, 2.5, 5.0);
        check(Class::Standard, 850.0, 6.4, 12.75);
        let sd = apart(Standard::K, Class::Two, 850.0).expect("in range").sd;
        assert!((sd - 4.5).abs() < 0.05);
    }

    #[test]
    fn leads_add_their_own_limit() {
        let all = allowed(Standard::K, 850.0);
        let names: Vec<Class> = all.iter().map(|a| a.class).collect();
        assert_eq!(names, Class::ALL);
        // 2 · (6.375 + 2.5); sd of a difference: √(6.375² + 2.5²)/√2.
        let two = all[1].apart().expect("in range");
        assert!((two.limit - 17.75).abs() < 1e-9 && (two.sd - 4.842).abs() < 1e-3, "{two:?}");
        assert_eq!((all[2].probe, all[2].apart()), (None, None));
        // No table here has leads by the American code.
        let bare = all[3].apart();
        assert_eq!(bare, apart(Standard::K, Class::Standard, 850.0));
        assert_eq!(allowed(Standard::B, 1000.0).len(), 4);
    }

    #[test]
    fn class_one_of_platinum_grows_from_1100_on() {
        let limit = limit(Standard::S, Class::One).expect("has one");
        assert_eq!(limit.at(1100.0), Some(1.0));
        assert!((limit.at(1600.0).expect("in range") - 2.5).abs() < 1e-12);
        assert_eq!(limit.at(1601.0), None);
    }

    #[test]
    fn outside_a_class_there_is_no_limit() {
        assert_eq!(apart(Standard::K, Class::One, 1001.0), None);
        assert_eq!(apart(Standard::K, Class::Three, 41.0), None);
        assert_eq!(limit(Standard::B, Class::One), None);
        assert_eq!(limit(Standard::J, Class::Three), None);
        assert_eq!(apart(Standard::K, Class::Two, f64::NAN), None);
    }
}
