//! Heat from moving exhaust gas to a cylinder across it.
//!
//! Air-like properties and one published correlation. It must not know of probes or running points.

/// Prandtl number of combustion gas, taken as constant.
pub(super) const PRANDTL: f64 = 0.70;

/// Gas constant of air, J/(kg·K).
pub(super) const GAS_CONSTANT: f64 = 287.0;

/// Viscosity in Pa·s at a temperature in kelvin, by Sutherland's law for air.
pub(super) fn viscosity(kelvin: f64) -> f64 {
    1.716e-5 * (kelvin / 273.15).powf(1.5) * (273.15 + 110.4) / (kelvin + 110.4)
}

/// Conductivity in W/(m·K): from viscosity, a linear heat capacity and the Prandtl number.
fn conductivity(kelvin: f64) -> f64 {
    viscosity(kelvin) * (1000.0 + 0.19 * (kelvin - 300.0)) / PRANDTL
}

/// Nusselt number of a cylinder across a flow: Churchill and Bernstein 1977, any Reynolds number
/// with Re·Pr above 0.2.
///
/// `Nu = 0.3 + 0.62·Re^½·Pr^⅓ / [1 + (0.4/Pr)^⅔]^¼ · [1 + (Re/282000)^⅝]^⅘`
#[must_use]
pub fn cylinder_film(reynolds: f64, prandtl: f64) -> f64 {
    let shape = (1.0 + (0.4 / prandtl).powf(2.0 / 3.0)).powf(0.25);
    let fast = (1.0 + (reynolds / 282_000.0).powf(5.0 / 8.0)).powf(0.8);
    0.3 + 0.62 * reynolds.sqrt() * prandtl.cbrt() / shape * fast
}

/// Film coefficient in W/(m²·K) of a cylinder `diameter` metres thick across air-like gas at a
/// temperature in kelvin, a speed in m/s and a pressure in bar.
#[must_use]
pub fn film_coefficient(kelvin: f64, speed: f64, diameter: f64, bar: f64) -> f64 {
    let density = bar * 1e5 / (GAS_CONSTANT * kelvin);
    // Below this the correlation is outside its range; still gas keeps a little conduction.
    let reynolds = (density * speed * diameter / viscosity(kelvin)).max(0.2);
    cylinder_film(reynolds, PRANDTL) * conductivity(kelvin) / diameter
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn air_at_room_temperature_has_its_textbook_properties() {
        // Incropera & DeWitt, table of air at 300 K: 184.6e-7 Pa·s, 26.3e-3 W/(m·K).
        assert!((viscosity(300.0) - 184.6e-7).abs() < 1e-7);
        assert!((conductivity(300.0) - 26.3e-3).abs() < 4e-4);
    }

    #[test]
    fn film_grows_with_speed_and_falls_with_diameter() {
        let film = film_coefficient(600.0, 20.0, 3e-3, 1.0);
        assert!(film_coefficient(600.0, 40.0, 3e-3, 1.0) > 1.3 * film);
        assert!(film_coefficient(600.0, 20.0, 6e-3, 1.0) < 0.8 * film);
    }
}
