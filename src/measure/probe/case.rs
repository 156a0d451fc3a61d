//! What goes on in a runner at a running point: gas, wall, boss, flow.
//!
//! Assumed typical values, and their adjustment to a display that was read. It must not hold a
//! solver.

use std::f64::consts::PI;

use thiserror::Error;

use super::fin::display_with;
use super::gas::{GAS_CONSTANT, film_coefficient};
use super::{Build, Contact, Fitting};
use crate::engine::Regime;

/// Kelvin at 0 °C.
pub(super) const ZERO: f64 = 273.15;

/// Temperature of a workshop, °C, that gas and walls are taken to rise from.
const AMBIENT: f64 = 25.0;

/// Conditions around a probe, °C and SI units unless said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Case {
    /// Gas in mid-stream, °C.
    pub gas: f64,
    /// Inner wall of the runner, °C.
    pub wall: f64,
    /// Boss, and so the probe where it enters, °C.
    pub boss: f64,
    /// Mean flow of one cylinder, g/s.
    pub flow: f64,
    /// Pressure, bar absolute.
    pub bar: f64,
    /// Share of the cycle with flow; the rest is nearly still.
    pub duty: f64,
}

/// A display that no scaling of the case gives.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error(
    "a display of {given:.0} °C does not go with this running point: expected {lowest:.0} to \
     {highest:.0} °C"
)]
pub struct CaseError {
    /// The display, °C.
    pub given: f64,
    /// Lowest that the case can be brought to, °C.
    pub lowest: f64,
    /// Highest, °C.
    pub highest: f64,
}

impl Case {
    /// The typical case of a steady running point, or nothing where no gas flows steadily (cold
    /// soak, warming). Assumed values of a half-litre petrol cylinder (computed elsewhere in this
    /// project's domain notes; no measurement behind them).
    #[must_use]
    pub fn typical(point: Regime) -> Option<Self> {
        Some(match point {
            Regime::ColdSoak | Regime::Warming => return None,
            Regime::Idle => {
                Self { gas: 420.0, wall: 170.0, boss: 150.0, flow: 1.2, bar: 1.02, duty: 0.45 }
            }
            Regime::Cruise => {
                Self { gas: 650.0, wall: 400.0, boss: 350.0, flow: 5.5, bar: 1.05, duty: 0.40 }
            }
            Regime::Full => {
                Self { gas: 900.0, wall: 650.0, boss: 550.0, flow: 24.0, bar: 1.25, duty: 0.35 }
            }
        })
    }

    /// The same case with gas, wall and boss brought up or down in proportion, counted from 25 °C,
    /// until the probe shows `reading` °C: the median of the healthy displays makes the case fit
    /// the engine in hand.
    ///
    /// # Errors
    /// When that needs less than a third or more than double the typical rise.
    pub fn matched(self, fitting: Fitting, build: &Build, reading: f64) -> Result<Self, CaseError> {
        let shown = |factor: f64| display_with(fitting, &self.scaled(factor), build, Contact::Free);
        let (mut low, mut high) = (1.0 / 3.0, 2.0);
        let (lowest, highest) = (shown(low), shown(high));
        if !(lowest <= reading && reading <= highest) {
            return Err(CaseError { given: reading, lowest, highest });
        }
        // The display rises steadily with the factor: halving always closes in.
        while high - low > 1e-5 {
            let middle = f64::midpoint(low, high);
            if shown(middle) < reading {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok(self.scaled(f64::midpoint(low, high)))
    }

    /// Gas, wall and boss with their rise over 25 °C multiplied.
    #[must_use]
    fn scaled(self, factor: f64) -> Self {
        let scale = |t: f64| AMBIENT + factor * (t - AMBIENT);
        Self { gas: scale(self.gas), wall: scale(self.wall), boss: scale(self.boss), ..self }
    }

    /// Mean speed in a bore of `bore` metres, m/s.
    #[must_use]
    pub fn mean_speed(&self, bore: f64) -> f64 {
        let density = self.bar * 1e5 / (GAS_CONSTANT * (self.gas + ZERO));
        self.flow * 1e-3 / (density * PI * bore * bore / 4.0)
    }

    /// Film coefficient and gas temperature (K) at a place `x` metres from the inner wall.
    ///
    /// Speed and temperature follow a one-seventh-power law from either wall, the centre at 1.22
    /// times the mean speed. Flow comes in pulses: the mean speed over the duty for that share of
    /// the cycle, a twentieth of the centre speed for the rest.
    pub(super) fn local(&self, x: f64, bore: f64, diameter: f64) -> (f64, f64) {
        let share = (x.min(bore - x) / (bore / 2.0)).clamp(1e-4, 1.0).powf(1.0 / 7.0);
        let kelvin = self.wall + (self.gas - self.wall) * share + ZERO;
        let speed = 1.22 * self.mean_speed(bore) * share;
        let film = |speed| film_coefficient(kelvin, speed, diameter, self.bar);
        let pulse = self.duty * film(speed / self.duty);
        (pulse + (1.0 - self.duty) * film(0.05 * speed), kelvin)
    }
}
