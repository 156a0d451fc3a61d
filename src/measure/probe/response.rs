//! How fast a probe follows.
//!
//! One time constant: the film around the sheath governs, what is inside is quick beside it. It
//! must not fit traces.

use super::case::{Case, ZERO};
use super::fin::STEFAN_BOLTZMANN;
use super::gas::film_coefficient;
use super::{Build, Fitting};

/// Time constant in seconds of a sheath `diameter` mm thick, under a coefficient of heat transfer in
/// W/(m²·K): `ρc·d/(4h)`.
#[must_use]
pub fn time_constant(diameter: f64, coefficient: f64, build: &Build) -> f64 {
    build.heat_capacity * diameter * 1e-3 / (4.0 * coefficient)
}

/// Time constant in seconds in still-standing probes' usual test, air at 20 °C and 1.013 bar blowing
/// across at `speed` m/s.
#[must_use]
pub fn in_air(diameter: f64, speed: f64, build: &Build) -> f64 {
    let film = film_coefficient(20.0 + ZERO, speed, diameter * 1e-3, 1.013);
    time_constant(diameter, film, build)
}

/// Convection and radiation coefficients in mid-stream of a runner, W/(m²·K), with the sheath taken
/// as 30 °C below the gas.
#[must_use]
pub fn coefficients(fitting: Fitting, case: &Case, build: &Build) -> (f64, f64) {
    let bore = fitting.bore * 1e-3;
    let (convection, gas) = case.local(bore / 2.0, bore, fitting.diameter * 1e-3);
    let (sheath, wall) = (gas - 30.0, case.wall + ZERO);
    let radiation =
        build.emissivity * STEFAN_BOLTZMANN * (sheath * sheath + wall * wall) * (sheath + wall);
    (convection, radiation)
}

/// Time constant in seconds of a probe in mid-stream of a runner.
#[must_use]
pub fn in_runner(fitting: Fitting, case: &Case, build: &Build) -> f64 {
    let (convection, radiation) = coefficients(fitting, case, build);
    time_constant(fitting.diameter, convection + radiation, build)
}

/// Seconds until a first-order probe has made this share of a step: `−τ·ln(1 − share)`.
#[must_use]
pub fn time_to(share: f64, time_constant: f64) -> f64 {
    -time_constant * (1.0 - share).ln()
}
