//! `oddpot probe`: questions about a probe, without a job.
//!
//! One file per question. Documents of `--json` are in °C whatever `--units` says, like those of
//! the other commands.

mod apart;
mod cable;
mod convert;
mod depth;
mod explain;
mod fit_plan;
mod measures;
mod shows;
mod values;

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use measure::probe::{CaseError, FittingError};
use measure::thermocouple::RangeError;
use measure::units::Scale;

/// Ask about a probe: wiring, pairs, depth, where to fit, colours
///
/// No job is needed. What would I see if the legs were swapped? Which fault explains these
/// displays? How far apart may two good probes be? What is a millimetre of depth worth? Where do I
/// drill, before anything is drilled?
#[derive(Debug, clap::Subcommand)]
#[command(after_long_help = "\
Examples:
  oddpot probe shows copper-lead --true 400 700 --joint 60 --box 25
  oddpot probe depth --bore 42 --depth 20
  oddpot probe fit-plan --cylinders 4 --bore 42 --straight 110
  oddpot probe cable green")]
pub(super) enum Args {
    Shows(shows::Args),
    Explain(explain::Args),
    Apart(apart::Args),
    Depth(depth::Args),
    FitPlan(Box<fit_plan::Args>),
    Cable(cable::Args),
    Millivolts(convert::Millivolts),
    Degrees(convert::Degrees),
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    match args {
        Args::Shows(args) => shows::run(context, args),
        Args::Explain(args) => explain::run(context, args),
        Args::Apart(args) => apart::run(context, args),
        Args::Depth(args) => depth::run(context, args),
        Args::FitPlan(args) => fit_plan::run(context, args),
        Args::Cable(args) => cable::run(context, args),
        Args::Millivolts(args) => convert::millivolts(context, args),
        Args::Degrees(args) => convert::degrees(context, args),
    }
}

/// A value outside a type's function, told on the reader's scale.
fn out_of_range(error: RangeError, scale: Scale) -> Failure {
    match error {
        RangeError::Temperature { standard, given, lowest, highest } => {
            let shown = |t: f64| format!("{:.0}", scale.from_celsius(t));
            let failure = Failure::usage(format!(
                "{} {sign} is outside type {standard}: it goes from {} to {} {sign}",
                shown(given),
                shown(lowest),
                shown(highest),
                sign = scale.sign(),
            ));
            let failure = failure.hint("check the temperature, and the type with `--type`");
            if scale == Scale::Celsius && given > highest {
                failure.hint("for °F add `--units f`, or write `1205F`")
            } else {
                failure
            }
        }
        RangeError::Emf { .. } => Failure::usage(error.to_string()),
    }
}

impl From<FittingError> for Failure {
    fn from(error: FittingError) -> Self {
        Self::usage(error.to_string())
    }
}

/// A display that no runner gives, told on the reader's scale.
fn no_such_case(error: CaseError, scale: Scale) -> Failure {
    let shown = |t: f64| format!("{:.0}", scale.from_celsius(t));
    Failure::usage(format!(
        "a display of {} {sign} does not go with this fitting and running point: expected {} to {} \
         {sign}",
        shown(error.given),
        shown(error.lowest),
        shown(error.highest),
        sign = scale.sign(),
    ))
    .hint("check the display and the measures")
}
