//! A display beside its mates, or beside itself at another speed: slower, and more scattered.
//!
//! Ratios with their doubt. It must not say what makes a probe slow or a lead noisy.

use statrs::distribution::{ContinuousCDF, FisherSnedecor};

use super::{Fit, median};

/// A display's time constant over that of its mates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Own time constant over the median of the mates': above 1 is slow.
    pub ratio: f64,
    /// Standard error of its natural logarithm, from the fit and from how far the mates differ
    /// among themselves.
    pub ln_se: f64,
}

/// How a display's pace compares with its mates', or nothing for fewer than two mates.
///
/// In logarithms, since a time constant is off by a factor. A thicker probe, soot or a shallow fit
/// is slow, an exposed or thinner one fast.
#[must_use]
pub fn pace(own: &Fit, mates: &[Fit]) -> Option<Pace> {
    if mates.len() < 2 {
        return None;
    }
    let logs: Vec<f64> = mates.iter().map(|fit| fit.time_constant.ln()).collect();
    let middle = median(&logs)?;
    #[expect(clippy::cast_precision_loss, reason = "counts of displays are small")]
    let n = logs.len() as f64;
    let mean = logs.iter().sum::<f64>() / n;
    let variance = logs.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let fit = own.time_constant_se / own.time_constant;
    // One more probe of the same kind differs from the mates' middle by their own spread, and a
    // little for the middle being of so few.
    let ln_se = (fit * fit + variance * (1.0 + 1.0 / n)).sqrt();
    Some(Pace { ratio: (own.time_constant.ln() - middle).exp(), ln_se })
}

/// Scatter of a display in one stretch: what it strays about its own course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Standard deviation, °C.
    pub sd: f64,
    /// Samples it was taken from, less the numbers fitted (3 for [`super::Settling::noise`]).
    pub freedom: u32,
}

/// Chance that scatter would grow this much or more from one stretch to another by accident:
/// `P(F ≥ s₂²/s₁²)`, F with the two degrees of freedom.
///
/// Near 0 from idle to 3000 rpm is a sign of ignition pick-up. Nothing for a stretch without
/// scatter or freedom. Samples are taken as independent; a channel that filters makes the chance
/// too small.
#[must_use]
pub fn chance_of_growth(slow: Scatter, fast: Scatter) -> Option<f64> {
    let fine = |s: Scatter| s.sd > 0.0 && s.sd.is_finite() && s.freedom > 0;
    if !(fine(slow) && fine(fast)) {
        return None;
    }
    let f = FisherSnedecor::new(f64::from(fast.freedom), f64::from(slow.freedom)).ok()?;
    Some(f.sf((fast.sd / slow.sd).powi(2)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with(time_constant: f64) -> Fit {
        Fit {
            final_value: 600.0,
            final_se: 0.1,
            time_constant,
            time_constant_se: 0.05 * time_constant,
            gap: -1.0,
            first_gap: -200.0,
            first_gap_se: 0.5,
            noise: 0.5,
        }
    }

    #[test]
    fn a_thick_probe_is_slow_beside_its_mates() {
        let found = pace(&with(24.0), &[10.0, 11.0, 12.0].map(with)).expect("three mates");
        assert!((found.ratio - 24.0 / 11.0).abs() < 1e-9);
        assert!(found.ratio.ln() > 3.0 * found.ln_se, "{found:?}");
        let alike = pace(&with(11.5), &[10.0, 11.0, 12.0].map(with)).expect("three mates");
        assert!(alike.ratio.ln() < alike.ln_se, "{alike:?}");
        assert_eq!(pace(&with(24.0), &[with(10.0)]), None);
    }

    #[test]
    fn growth_of_scatter_has_the_chance_of_the_printed_f_table() {
        // Upper 5 % points of F: 2.978 for 10 and 10, 1.841 for 30 and 30 degrees of freedom.
        for (freedom, point) in [(10, 2.978_f64), (30, 1.841)] {
            let slow = Scatter { sd: 2.0, freedom };
            let fast = Scatter { sd: 2.0 * point.sqrt(), freedom };
            let chance = chance_of_growth(slow, fast).expect("both have scatter");
            assert!((chance - 0.05).abs() < 1e-4, "{chance}");
        }
        let none = Scatter { sd: 0.0, freedom: 10 };
        assert_eq!(chance_of_growth(none, none), None);
    }
}
