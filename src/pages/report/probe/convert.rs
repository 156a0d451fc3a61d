//! Millivolts of a temperature and back.

use measure::thermocouple::Standard;
use measure::units::Scale;

use super::{number, temperature};
use crate::report::doc::{Align, Doc, Table};

/// A temperature with its emf.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Converted {
    /// The tip, °C.
    pub tip: f64,
    /// What a meter at the terminals shows, mV.
    pub millivolts: f64,
    /// Sensitivity at the tip, mV/°C.
    pub sensitivity: f64,
}

/// Millivolts of temperatures.
#[must_use]
pub fn millivolts(standard: Standard, terminals: f64, rows: &[Converted], scale: Scale) -> Doc {
    page("Millivolts of", standard, terminals, rows, scale, false)
}

/// Temperatures of millivolts.
#[must_use]
pub fn degrees(standard: Standard, terminals: f64, rows: &[Converted], scale: Scale) -> Doc {
    page("Degrees of", standard, terminals, rows, scale, true)
}

fn page(
    what: &str,
    standard: Standard,
    terminals: f64,
    rows: &[Converted],
    scale: Scale,
    emf_first: bool,
) -> Doc {
    let sign = scale.sign();
    let mut doc =
        Doc::new(format!("{what} type {standard}, terminals at {}", temperature(terminals, scale)));
    let (degrees, per) = (sign.to_owned(), format!("µV per {sign}"));
    let (tip, emf) = ((degrees.as_str(), Align::Right), ("mV", Align::Right));
    let heads = if emf_first { [emf, tip] } else { [tip, emf] };
    let mut table = Table::new(heads.into_iter().chain([(per.as_str(), Align::Right)]));
    for row in rows {
        let tip = number(scale.from_celsius(row.tip), 1);
        let emf = number(row.millivolts, 3);
        let step = match scale {
            Scale::Celsius => 1.0,
            Scale::Fahrenheit => 1.0 / 1.8,
        };
        let per = number(row.sensitivity * 1e3 * step, 1);
        table.rows.push(if emf_first { vec![emf, tip, per] } else { vec![tip, emf, per] });
    }
    doc.table(table);
    doc
}
