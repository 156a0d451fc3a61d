//! `oddpot probe millivolts` and `degrees`: reference functions both ways.

use serde::Serialize;

use super::{out_of_range, values};
use crate::cli::answer::Answer;
use crate::cli::context::Context;
use crate::cli::failure::Failure;
use crate::cli::named;
use measure::thermocouple::{RangeError, Standard};
use pages::report::probe::{self, Converted};

/// Turn temperatures into millivolts
///
/// `oddpot probe millivolts 100 400 --box 25`: what a meter at terminals of 25 °C shows.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Millivolts {
    /// Temperatures of the tip
    #[arg(value_name = "T", required = true)]
    tips: Vec<String>,
    #[command(flatten)]
    chain: Chain,
}

/// Turn millivolts into temperatures
///
/// `oddpot probe degrees 15.4 --box 25`: a meter at terminals of 25 °C shows 15.4 mV.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Degrees {
    /// Millivolts at the terminals
    #[arg(value_name = "MV", required = true)]
    millivolts: Vec<String>,
    #[command(flatten)]
    chain: Chain,
}

#[derive(Debug, clap::Args)]
struct Chain {
    /// Type
    #[arg(long = "type", value_name = "TYPE", default_value = "K",
          value_parser = named::<Standard>(Standard::NAMES))]
    standard: Standard,
    /// Temperature of the terminals the meter is at [default: 0 °C, as in the tables]
    #[arg(long = "box", value_name = "T")]
    terminals: Option<String>,
}

impl Chain {
    /// Temperature of the terminals, °C.
    fn terminals(&self, context: &Context) -> Result<f64, Failure> {
        self.terminals.as_deref().map_or(Ok(0.0), |typed| values::celsius(typed, context.scale()))
    }

    fn at(&self, tip: f64, terminals: f64) -> Result<Converted, RangeError> {
        Ok(Converted {
            tip,
            millivolts: self.standard.emf(tip)? - self.standard.emf(terminals)?,
            sensitivity: self.standard.sensitivity(tip)?,
        })
    }
}

pub(super) fn millivolts(context: &Context, args: &Millivolts) -> Result<Answer, Failure> {
    let (chain, scale) = (&args.chain, context.scale());
    let terminals = chain.terminals(context)?;
    let rows: Result<Vec<Converted>, RangeError> = values::all_celsius(&args.tips, scale)?
        .into_iter()
        .map(|tip| chain.at(tip, terminals))
        .collect();
    let rows = rows.map_err(|error| out_of_range(error, scale))?;
    let doc = probe::millivolts(chain.standard, terminals, &rows, scale);
    Ok(Answer::new(context.page(&doc), ConvertedDocument::of(chain.standard, terminals, &rows)))
}

pub(super) fn degrees(context: &Context, args: &Degrees) -> Result<Answer, Failure> {
    let (chain, scale) = (&args.chain, context.scale());
    let terminals = chain.terminals(context)?;
    let mut rows = Vec::new();
    for typed in &args.millivolts {
        let emf = values::number(typed, "a voltage in mV")?;
        let row = chain.standard.emf(terminals).and_then(|own| {
            let tip = chain.standard.temperature(emf + own)?;
            Ok(Converted { millivolts: emf, ..chain.at(tip, terminals)? })
        });
        rows.push(row.map_err(|error| too_far(error, emf, context))?);
    }
    let doc = probe::degrees(chain.standard, terminals, &rows, scale);
    Ok(Answer::new(context.page(&doc), ConvertedDocument::of(chain.standard, terminals, &rows)))
}

/// The range of what a meter can show is told from its own terminals.
fn too_far(error: RangeError, given: f64, context: &Context) -> Failure {
    let RangeError::Emf { standard, given: total, lowest, highest } = error else {
        return out_of_range(error, context.scale());
    };
    let own = total - given;
    Failure::usage(format!(
        "{given} mV is outside type {standard}: with these terminals it goes from {:.3} to {:.3} mV",
        lowest - own,
        highest - own
    ))
    .hint("check the polarity, the type with `--type`, and that the meter is set to millivolts")
}

/// `probe millivolts` and `probe degrees`.
#[derive(Debug, Serialize)]
struct ConvertedDocument {
    r#type: &'static str,
    r#box: f64,
    values: Vec<ValueDocument>,
}

#[derive(Debug, Serialize)]
struct ValueDocument {
    celsius: f64,
    millivolts: f64,
    microvolts_per_celsius: f64,
}

impl ConvertedDocument {
    fn of(standard: Standard, terminals: f64, rows: &[Converted]) -> Self {
        let values = rows.iter().map(|row| ValueDocument {
            celsius: row.tip,
            millivolts: row.millivolts,
            microvolts_per_celsius: row.sensitivity * 1e3,
        });
        Self { r#type: standard.as_str(), r#box: terminals, values: values.collect() }
    }
}
