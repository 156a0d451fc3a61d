//! The ITS-90 reference functions: emf and sensitivity at a temperature, and back.
//!
//! Evaluates the published polynomials as they stand. It must not fit, smooth or extrapolate:
//! outside the published range there is no answer.

use thiserror::Error;

use super::coefficients::{self, Function, Piece};
use super::{Standard, inverse};

/// A value outside a type's reference function.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum RangeError {
    /// A temperature that the function does not cover, or not a number.
    #[error(
        "{given} °C is outside the type {standard} function, {lowest} to {highest} °C: check the \
         temperature and the type"
    )]
    Temperature {
        /// The type.
        standard: Standard,
        /// What was given, °C.
        given: f64,
        /// Lower end, °C.
        lowest: f64,
        /// Upper end, °C.
        highest: f64,
    },
    /// An emf that no temperature of the function gives, or not a number.
    #[error(
        "{given} mV is outside the type {standard} function, {lowest:.3} to {highest:.3} mV: check \
         the polarity and the type"
    )]
    Emf {
        /// The type.
        standard: Standard,
        /// What was given, mV.
        given: f64,
        /// Lowest emf, mV.
        lowest: f64,
        /// Highest emf, mV.
        highest: f64,
    },
}

impl Piece {
    /// Emf in mV, and its slope in mV/°C, by Horner's rule.
    fn value_and_slope(&self, t: f64) -> (f64, f64) {
        let mut value = 0.0;
        let mut slope = 0.0;
        for &power in self.powers.iter().rev() {
            slope = slope * t + value;
            value = value * t + power;
        }
        if let Some([a0, a1, a2]) = self.bump {
            let bump = a0 * (a1 * (t - a2) * (t - a2)).exp();
            value += bump;
            slope += bump * 2.0 * a1 * (t - a2);
        }
        (value, slope)
    }

    /// Emf in mV.
    fn value(&self, t: f64) -> f64 {
        let sum = self.powers.iter().rev().fold(0.0, |sum, power| sum * t + power);
        match self.bump {
            None => sum,
            Some([a0, a1, a2]) => sum + a0 * (a1 * (t - a2) * (t - a2)).exp(),
        }
    }
}

impl Function {
    /// Upper end of the range, °C.
    pub(super) fn highest(&self) -> f64 {
        self.pieces[self.pieces.len() - 1].upto
    }

    fn piece(&self, t: f64) -> &'static Piece {
        let last = self.pieces.len() - 1;
        self.pieces[..last].iter().find(|piece| t <= piece.upto).unwrap_or(&self.pieces[last])
    }

    pub(super) fn value(&self, t: f64) -> f64 {
        self.piece(t).value(t)
    }

    pub(super) fn value_and_slope(&self, t: f64) -> (f64, f64) {
        self.piece(t).value_and_slope(t)
    }
}

impl Standard {
    pub(super) fn function(self) -> &'static Function {
        match self {
            Self::K => &coefficients::K,
            Self::N => &coefficients::N,
            Self::J => &coefficients::J,
            Self::E => &coefficients::E,
            Self::T => &coefficients::T,
            Self::R => &coefficients::R,
            Self::S => &coefficients::S,
            Self::B => &coefficients::B,
        }
    }

    /// Lowest and highest temperature of the reference function, °C (NIST Monograph 175; note that
    /// IEC 60584-1:2013 stops type K at 1300 °C where this function goes on to 1372 °C).
    #[must_use]
    pub fn range(self) -> (f64, f64) {
        (self.function().lowest, self.function().highest())
    }

    /// Lowest temperature that an emf can be turned back into, °C.
    ///
    /// The lower end of the range for every type but B, whose emf falls from 0 °C to a minimum at
    /// 21.0 °C and only then rises: below it two temperatures share an emf, and the warmer is
    /// meant. A type B probe tells nothing below about 50 °C anyway (under 1 µV/°C).
    #[must_use]
    pub fn invertible_from(self) -> f64 {
        match self {
            Self::B => coefficients::B_TURNS_AT,
            _ => self.function().lowest,
        }
    }

    /// Emf in mV of a junction at `t` °C against 0 °C.
    ///
    /// `E(t) = Σ cᵢ tⁱ`, and for type K above 0 °C `+ a0·exp(a1·(t − a2)²)`; NIST Monograph 175.
    ///
    /// # Errors
    /// When `t` is outside [`Standard::range`] or not a number.
    #[inline]
    pub fn emf(self, t: f64) -> Result<f64, RangeError> {
        self.covered(t).map(|function| function.value(t))
    }

    /// Sensitivity in mV/°C at `t` °C: the derivative of [`Standard::emf`].
    ///
    /// Where two pieces of the function meet it is that of the colder piece; the slopes of the two
    /// differ little, most for type N at 0 °C (26.2 and 25.9 µV/°C).
    ///
    /// # Errors
    /// As [`Standard::emf`].
    pub fn sensitivity(self, t: f64) -> Result<f64, RangeError> {
        self.covered(t).map(|function| function.value_and_slope(t).1)
    }

    /// Temperature in °C of a junction that gives `emf` mV against 0 °C.
    ///
    /// Solves the reference function itself (Newton within a bracket from a table of 2048 cells),
    /// not a published inverse polynomial, so that going there and back is exact to 0.001 °C; in
    /// fact to about 1e-8 °C except within a degree of the type B minimum.
    ///
    /// # Errors
    /// When no temperature between [`Standard::invertible_from`] and the top of the range gives
    /// this emf, or it is not a number.
    #[inline]
    pub fn temperature(self, emf: f64) -> Result<f64, RangeError> {
        let table = inverse::table(self);
        table.find(self.function(), emf).ok_or_else(|| {
            let (lowest, highest) = table.ends();
            RangeError::Emf { standard: self, given: emf, lowest, highest }
        })
    }

    #[inline]
    fn covered(self, t: f64) -> Result<&'static Function, RangeError> {
        let function = self.function();
        let (lowest, highest) = (function.lowest, function.highest());
        if lowest <= t && t <= highest {
            Ok(function)
        } else {
            Err(RangeError::Temperature { standard: self, given: t, lowest, highest })
        }
    }
}
