//! Pages that answer a question about a probe, without a job.
//!
//! All wording about wiring, cable and fitting is here. Nothing here computes an emf or a shift.

mod apart;
mod cable;
mod convert;
mod depth;
mod explain;
mod faults;
mod fit_plan;
mod fit_plan_sheet;
#[cfg(test)]
mod fit_plan_snapshots;
mod shows;
#[cfg(test)]
mod snapshots;
mod template;

pub use apart::{ApartInput, DepthScatter, apart};
pub use cable::{cable, every_cable, meanings, trap_words};
pub use convert::{Converted, degrees, millivolts};
pub use depth::{DepthInput, depth};
pub use explain::{ExplainInput, explain, free_words};
pub use faults::fault_name;
pub use fit_plan::{FitPlanInput, fit_plan, fit_plan_at_a_glance};
pub use shows::{ShowsInput, every_fault, one_fault};
pub use template::{RULER, TEMPLATE, template, template_in_one};

use measure::thermocouple::circuit::Display;
use measure::units::{Scale, TempDelta};

/// What all pages of the fin model say of themselves.
const TYPICAL: &str = "Gas, flow and wall are typical values, nobody measured yours: differences \
     and signs are to be trusted, levels are not.";

/// A number without "-0".
fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

/// A temperature for a column that names the unit.
fn bare(celsius: f64, scale: Scale) -> String {
    number(scale.from_celsius(celsius), 0)
}

/// A temperature with its sign.
fn temperature(celsius: f64, scale: Scale) -> String {
    format!("{} {}", bare(celsius, scale), scale.sign())
}

/// The size of a difference for a column that names the unit, one decimal below ten.
fn size(kelvin: f64, scale: Scale) -> String {
    let shown = scale.show_delta(TempDelta(kelvin)).abs();
    number(shown, usize::from(shown < 9.95))
}

/// A signed difference for a column that names the unit, one decimal below ten.
fn signed(kelvin: f64, scale: Scale) -> String {
    let size = size(kelvin, scale);
    match size.as_str() {
        "0.0" | "0" => "0".to_owned(),
        _ if kelvin < 0.0 => format!("-{size}"),
        _ => format!("+{size}"),
    }
}

/// A signed difference with the sign of its unit.
fn difference(kelvin: f64, scale: Scale) -> String {
    format!("{} {}", signed(kelvin, scale), scale.sign())
}

/// What a display shows; nothing where the wire cannot be at such a temperature.
fn display(display: Option<Display>, scale: Scale) -> String {
    match display {
        Some(Display::Shows(t)) => bare(t, scale),
        Some(Display::UnderRange) => "under".to_owned(),
        Some(Display::OverRange) => "over".to_owned(),
        Some(Display::Open) => "open".to_owned(),
        None => "-".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_have_no_offset_and_no_minus_nought() {
        assert_eq!(signed(10.0, Scale::Fahrenheit), "+18");
        assert_eq!(signed(-0.04, Scale::Celsius), "0");
        assert_eq!(signed(-2.04, Scale::Celsius), "-2.0");
        assert_eq!(size(9.96, Scale::Celsius), "10");
        assert_eq!(temperature(-0.2, Scale::Celsius), "0 °C");
        assert_eq!(temperature(100.0, Scale::Fahrenheit), "212 °F");
        assert_eq!(number(-0.0004, 3), "0.000");
    }
}
