//! What displays show at a moment, as somebody would type it.
//!
//! From each display back along channel, lead and probe to its cylinder. It must not change anything.

use facts::job::entry::Reading;
use measure::engine::{Cylinder, Regime};
use measure::units::Celsius;

use super::chance::Chance;
use super::engine::{TrueFault, VirtualEngine};
use super::parts::Parts;
use super::size::Silence;

/// Share of numbers that are typed wrongly (assumed).
pub(super) const MISTYPED: f64 = 0.004;

/// A look at all displays.
#[derive(Debug, Clone, Copy)]
pub(super) struct Look<'a> {
    pub(super) job: &'a VirtualEngine,
    pub(super) parts: &'a Parts,
    /// Which faults show at this moment.
    pub(super) there: &'a [bool],
    pub(super) at: Regime,
    /// How often the probe of each cylinder was out.
    pub(super) refitted: &'a [u32],
    /// It is not settled yet.
    pub(super) early: bool,
}

impl Look<'_> {
    /// All displays.
    pub(super) fn readings(&self, chance: Chance) -> Vec<Reading> {
        self.job.engine.all().map(|display| self.display(display, chance.nth(display))).collect()
    }

    fn showing(&self) -> impl Iterator<Item = &TrueFault> {
        self.job.faults.iter().zip(self.there).filter(|(_, there)| **there).map(|(fault, _)| fault)
    }

    fn path(&self, display: Cylinder) -> super::parts::Path {
        let crossed: Vec<&TrueFault> = self.showing().filter(|fault| fault.effect.names).collect();
        self.parts.path(display, &crossed)
    }

    /// Whether a fault acts on a display.
    pub(super) fn acts_on(&self, fault: &TrueFault, display: Cylinder) -> bool {
        if fault.effect.names {
            return fault.numbers.contains(&display);
        }
        self.parts.hangs_on(&self.job.engine, self.path(display), fault)
    }

    fn display(&self, display: Cylinder, chance: Chance) -> Reading {
        let k = self.at as usize;
        let nature = &self.job.nature;
        let path = self.path(display);
        let own = usize::from(path.cylinder) - 1;
        let mut value = nature.level[k] + nature.offset[own][k];
        let refits = self.refitted.get(own).copied().unwrap_or(0);
        if refits > 0 {
            let fit = self.job.chance.of("refit").nth(path.cylinder).nth(refits);
            value += nature.refitted[k] * fit.normal();
        }
        if let Some((late, by)) = self.job.early.filter(|_| self.early && k > 0)
            && late == display
        {
            value += by;
        }
        let mut jumps = 0.0_f64;
        for fault in
            self.showing().filter(|fault| !fault.effect.names && self.acts_on(fault, display))
        {
            match fault.effect.silence {
                Some(Silence::Open) => return Reading::Open,
                Some(Silence::Stuck) => return Reading::Stuck,
                // Cold, the wrong way round is as good as the right one.
                Some(Silence::Falling) if k > 0 => return Reading::Falling,
                _ => {}
            }
            value += fault.effect.shift[k];
            jumps = jumps.max(fault.effect.jumps);
        }
        value += nature.noise[k] * chance.of("noise").normal();
        if k > 0 && chance.of("jumps").happens(jumps) {
            let half = 8.0 + 20.0 * chance.of("jump").normal().abs();
            if let (Ok(lo), Ok(hi)) = (celsius(value - half), celsius(value + half))
                && lo.value() < hi.value()
            {
                return Reading::Erratic { lo, hi };
            }
        }
        if chance.of("mistyped").happens(MISTYPED) {
            value = mistyped(value.round(), chance.of("slip"));
        }
        celsius(value).map_or(Reading::Open, Reading::Degrees)
    }
}

fn celsius(value: f64) -> Result<Celsius, measure::units::UnitError> {
    Celsius::new(value.round().clamp(-50.0, 1290.0))
}

/// A whole number with two digits changed about, or one digit hit wrongly.
fn mistyped(value: f64, chance: Chance) -> f64 {
    let mut digits: Vec<char> = format!("{:.0}", value.abs()).chars().collect();
    let at = chance.of("where").below(digits.len());
    if at + 1 < digits.len() && chance.of("which").happens(0.5) {
        digits.swap(at, at + 1);
    } else if let Some(digit) = digits.get_mut(at) {
        let other = u32::try_from(chance.of("digit").below(10)).unwrap_or(0);
        *digit = char::from_digit(other, 10).unwrap_or('0');
    }
    let text: String = digits.into_iter().collect();
    text.parse::<f64>().unwrap_or(value).copysign(value)
}

/// How far a display stands off the median of the others, °C; nothing where it shows no number.
#[must_use]
pub(super) fn off_its_mates(readings: &[Reading], display: Cylinder) -> Option<f64> {
    let own = readings.get(usize::from(display) - 1)?.middle()?;
    let others = (1..).zip(readings).filter(|(d, _): &(Cylinder, _)| *d != display);
    let mut others: Vec<f64> = others.filter_map(|(_, reading)| reading.middle()).collect();
    others.sort_by(f64::total_cmp);
    let (low, high) =
        (others.get(others.len().checked_sub(1)? / 2)?, others.get(others.len() / 2)?);
    Some(own - f64::midpoint(*low, *high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_keeps_to_as_many_digits() {
        for k in 0..200_u32 {
            let slipped = mistyped(417.0, Chance::seeded(1).nth(k));
            assert!((0.0..=999.0).contains(&slipped), "{slipped}");
        }
    }

    #[test]
    fn a_display_is_held_against_the_median_of_the_others() {
        let set =
            [400.0, 410.0, 500.0, 420.0].map(|t| Reading::Degrees(Celsius::new(t).expect("fits")));
        assert_eq!(off_its_mates(&set, 3).map(f64::to_bits), Some(90.0_f64.to_bits()));
        assert_eq!(off_its_mates(&set[..1], 1), None);
        assert_eq!(off_its_mates(&[set[0], Reading::Open], 2), None);
    }
}
