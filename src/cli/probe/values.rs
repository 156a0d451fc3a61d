//! Temperatures and differences as they are typed here: any a thermocouple may meet.

use crate::cli::failure::Failure;
use measure::units::Scale;

/// A plain number, decimal point or comma, minus as typed or as typography has it.
pub(super) fn number(typed: &str, what: &str) -> Result<f64, Failure> {
    let plain = typed.trim().replace('−', "-");
    let plain = match plain.split_once(',') {
        Some((whole, part)) if !part.contains([',', '.']) && part.len() < 3 => {
            format!("{whole}.{part}")
        }
        Some(_) => {
            return Err(Failure::usage(format!(
                "`{typed}`: separate values with spaces; a comma stands for a decimal point only"
            )));
        }
        None => plain,
    };
    // Rust would also take `inf`, `nan` and `1e3`, which nobody reads off a display.
    let clean = plain.chars().all(|c| c.is_ascii_digit() || "+-.".contains(c));
    plain
        .parse()
        .ok()
        .filter(|_| clean)
        .ok_or_else(|| Failure::usage(format!("`{typed}` is not {what}")))
}

/// A temperature in °C from a number on a scale, or with its own sign as in `212F`.
pub(super) fn celsius(typed: &str, scale: Scale) -> Result<f64, Failure> {
    let text = typed.trim().to_lowercase();
    let (number_text, own) = match (text.strip_suffix('c'), text.strip_suffix('f')) {
        (Some(rest), _) => (rest, Scale::Celsius),
        (_, Some(rest)) => (rest, Scale::Fahrenheit),
        _ => (text.as_str(), scale),
    };
    let value = number(number_text.trim_end_matches(['°', 'º', ' ']), "a temperature")
        .map_err(|_| Failure::usage(format!("`{typed}` is not a temperature")).hint(EXAMPLES))?;
    let celsius = own.to_celsius(value);
    if (-273.15..=3000.0).contains(&celsius) {
        Ok(celsius)
    } else {
        Err(Failure::usage(format!("`{typed}`: no probe meets {celsius:.0} °C")).hint(EXAMPLES))
    }
}

const EXAMPLES: &str = "write temperatures as 620, 620,5, 1150F or 620C";

/// Several temperatures.
pub(super) fn all_celsius(typed: &[String], scale: Scale) -> Result<Vec<f64>, Failure> {
    typed.iter().map(|one| celsius(one, scale)).collect()
}

/// A difference in °C steps from a number on a scale.
pub(super) fn kelvin(typed: &str, scale: Scale) -> Result<f64, Failure> {
    Ok(match scale {
        Scale::Celsius => number(typed, "a difference in degrees")?,
        Scale::Fahrenheit => number(typed, "a difference in degrees")? / 1.8,
    })
}

/// A number above zero.
pub(super) fn above_zero(typed: &str, what: &str) -> Result<f64, Failure> {
    match number(typed, what)? {
        value if value > 0.0 => Ok(value),
        _ => Err(Failure::usage(format!("`{typed}` is not {what} above zero"))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperatures_are_read_as_the_trade_writes_them() {
        for (typed, scale, expected) in [
            ("620", Scale::Celsius, 620.0),
            ("620,5", Scale::Celsius, 620.5),
            ("−40", Scale::Celsius, -40.0),
            ("212F", Scale::Celsius, 100.0),
            ("212 °f", Scale::Celsius, 100.0),
            ("212", Scale::Fahrenheit, 100.0),
            ("100C", Scale::Fahrenheit, 100.0),
        ] {
            let found = celsius(typed, scale).expect(typed);
            assert!((found - expected).abs() < 1e-9, "{typed}: {found}");
        }
        for typed in ["hot", "", "nan", "1e3", "--5", "-300", "9999", "1,205,0"] {
            assert!(celsius(typed, Scale::Celsius).is_err(), "{typed}");
        }
    }

    #[test]
    fn a_difference_has_no_offset() {
        let found = kelvin("18", Scale::Fahrenheit).expect("a number");
        assert!((found - 10.0).abs() < 1e-9);
        assert!(above_zero("0", "a length").is_err() && above_zero("0,5", "a length").is_ok());
    }
}
