//! Quantities with a unit, so that a temperature is never taken for a difference.
//!
//! Holds plain values and their lawful operations. It must not format for a
//! reader (that is `pages::report`) nor know where a number came from.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::named_enum;

/// A number that cannot be the quantity it was given for.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum UnitError {
    /// Not a finite number.
    #[error("`{0}` is not a finite number")]
    NotFinite(f64),
    /// A temperature no exhaust, head or workshop can have.
    #[error("{given:.0} °C cannot be right here: expected −60 to 1820 °C (is it in °F?)")]
    Impossible {
        /// The value in degrees Celsius.
        given: f64,
    },
}

/// A temperature in degrees Celsius, finite and between −60 and 1820, where the tables of IEC 60584 end (type B): what
/// a box that is set wrong may show.
///
/// The lower end is a cold yard in winter, the upper one the melting of a type K sheath.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Celsius(f64);

impl Celsius {
    /// Checks a value in degrees Celsius.
    ///
    /// # Errors
    /// When it is not finite or outside −60..1820.
    pub fn new(value: f64) -> Result<Self, UnitError> {
        if !value.is_finite() {
            return Err(UnitError::NotFinite(value));
        }
        if !(-60.0..=1820.0).contains(&value) {
            return Err(UnitError::Impossible { given: value });
        }
        Ok(Self(value))
    }

    /// The number of degrees Celsius.
    #[must_use]
    pub fn value(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for Celsius {
    type Error = UnitError;
    fn try_from(value: f64) -> Result<Self, UnitError> {
        Self::new(value)
    }
}

impl From<Celsius> for f64 {
    fn from(value: Celsius) -> f64 {
        value.0
    }
}

impl std::ops::Sub for Celsius {
    type Output = TempDelta;
    fn sub(self, other: Self) -> TempDelta {
        TempDelta(self.0 - other.0)
    }
}

/// A difference of two temperatures, in kelvin (the size of a degree Celsius).
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct TempDelta(pub f64);

named_enum! {
    /// The scale a person reads and types.
    Scale, "temperature scale" {
        /// Degrees Celsius.
        Celsius = "c",
        /// Degrees Fahrenheit.
        Fahrenheit = "f",
    }
}

impl Scale {
    /// Reads a temperature typed on this scale.
    ///
    /// # Errors
    /// As [`Celsius::new`].
    pub fn read(self, typed: f64) -> Result<Celsius, UnitError> {
        Celsius::new(self.to_celsius(typed))
    }

    /// Degrees Celsius of a number on this scale, whatever it is a temperature of.
    #[must_use]
    pub fn to_celsius(self, typed: f64) -> f64 {
        match self {
            Self::Celsius => typed,
            Self::Fahrenheit => (typed - 32.0) / 1.8,
        }
    }

    /// The number on this scale for degrees Celsius, whatever they are a temperature of.
    #[must_use]
    pub fn from_celsius(self, celsius: f64) -> f64 {
        match self {
            Self::Celsius => celsius,
            Self::Fahrenheit => celsius * 1.8 + 32.0,
        }
    }

    /// The number to show for a temperature.
    #[must_use]
    pub fn show(self, temperature: Celsius) -> f64 {
        self.from_celsius(temperature.value())
    }

    /// The number to show for a difference: a factor, never an offset.
    #[must_use]
    pub fn show_delta(self, delta: TempDelta) -> f64 {
        match self {
            Self::Celsius => delta.0,
            Self::Fahrenheit => delta.0 * 1.8,
        }
    }

    /// The sign after a number, "°C" or "°F".
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self {
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
        }
    }
}

/// What something costs before it is turned into one figure.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Cost {
    /// Minutes of hands-on work.
    pub hands_on: f64,
    /// Minutes of waiting: cooling, warming, settling.
    pub wait: f64,
    /// Money for parts, in the workshop's currency.
    pub parts: f64,
}

impl Cost {
    /// Minutes of labour that the whole is worth.
    #[must_use]
    pub fn total(self, rates: Rates) -> f64 {
        self.hands_on + rates.wait_weight * self.wait + self.parts / rates.labour_per_minute
    }
}

impl std::ops::Add for Cost {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            hands_on: self.hands_on + other.hands_on,
            wait: self.wait + other.wait,
            parts: self.parts + other.parts,
        }
    }
}

impl std::iter::Sum for Cost {
    fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
        iter.fold(Self::default(), std::ops::Add::add)
    }
}

/// How the parts of a [`Cost`] are weighed against each other.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Rates {
    /// Money a minute of labour costs.
    pub labour_per_minute: f64,
    /// Minutes of labour that one minute of waiting is worth (other work can be done).
    pub wait_weight: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fahrenheit_has_an_offset_for_temperatures_and_none_for_differences() {
        let boiling = Scale::Fahrenheit.read(212.0).expect("in range");
        assert!((boiling.value() - 100.0).abs() < 1e-12);
        assert!((Scale::Fahrenheit.show(boiling) - 212.0).abs() < 1e-12);
        assert!((Scale::Fahrenheit.show_delta(TempDelta(100.0)) - 180.0).abs() < 1e-12);
    }

    #[test]
    fn impossible_temperatures_are_refused() {
        assert_eq!(Celsius::new(1821.0), Err(UnitError::Impossible { given: 1821.0 }));
        assert!(matches!(Celsius::new(f64::NAN), Err(UnitError::NotFinite(_))));
        assert!(Celsius::new(-61.0).is_err());
        assert!(Celsius::new(20.0).is_ok());
    }

    #[test]
    fn cost_is_minutes_of_labour() {
        let rates = Rates { labour_per_minute: 2.0, wait_weight: 0.25 };
        let cost = Cost { hands_on: 10.0, wait: 20.0, parts: 30.0 };
        assert!((cost.total(rates) - 30.0).abs() < 1e-12);
    }
}
