//! `oddpot probe explain`: which fault explains these displays.

use serde::Serialize;

use super::shows::DisplayDocument;
use super::{out_of_range, values};
use crate::cli::answer::Answer;
use crate::cli::context::Context;
use crate::cli::failure::Failure;
use crate::cli::named;
use measure::thermocouple::Standard;
use measure::thermocouple::circuit::Display;
use measure::thermocouple::explain::{Explanation, Observation, explain};
use measure::thermocouple::wiring::Wiring;
use measure::units::Scale;
use pages::report;
use pages::report::probe::{ExplainInput, free_words};

/// Find the wiring faults that explain displays at known temperatures
///
/// `oddpot probe explain --cold 18=18 100=83 400=306`: cold soaked at 18 it showed 18, in boiling
/// water 83, beside a good probe at 400 it showed 306. A display without a number is `open`, `under`
/// or `over`. Exit status 1 when no single fault explains them.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// True temperature of the tip, and what the display showed
    #[arg(value_name = "TRUE=SHOWN", required_unless_present = "cold")]
    seen: Vec<String>,
    /// The same at cold soak, everything at one temperature
    #[arg(long, value_name = "TRUE=SHOWN")]
    cold: Vec<String>,
    /// Type of the probe
    #[arg(long = "type", value_name = "TYPE", default_value = "K",
          value_parser = named::<Standard>(Standard::NAMES))]
    probe: Standard,
    /// Type the box is set to, if it is known to be another
    #[arg(long, value_name = "TYPE", value_parser = named::<Standard>(Standard::NAMES))]
    channel: Option<Standard>,
    /// Temperature of the box, at its terminals [default: 25 °C]
    #[arg(long = "box", value_name = "T")]
    terminals: Option<String>,
    /// Temperature of the joint between probe and lead, if it was measured
    #[arg(long, value_name = "T")]
    joint: Option<String>,
    /// How far a sound display may be off: one standard deviation [default: 4 °C]
    #[arg(long, value_name = "DEGREES")]
    sd: Option<String>,
}

/// A box inside the car, °C (assumed).
const BOX: f64 = 25.0;
/// About what new class 2 wire, its lead and the thermometer beside it leave open, °C (judgement).
const SD: f64 = 4.0;

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let scale = context.scale();
    let terminals = args.terminals.as_deref().map_or(Ok(BOX), |t| values::celsius(t, scale))?;
    let joint = args.joint.as_deref().map(|t| values::celsius(t, scale)).transpose()?;
    let sd = match &args.sd {
        Some(typed) => values::above_zero(typed, "a difference in degrees")
            .and_then(|_| values::kelvin(typed, scale))?,
        None => SD,
    };
    let mut seen = Vec::new();
    for typed in &args.cold {
        let (tip, display) = pair(typed, scale)?;
        seen.push(Observation::cold_soak(tip, display));
    }
    for typed in &args.seen {
        let (tip, display) = pair(typed, scale)?;
        seen.push(Observation { tip, display, terminals, joint });
    }
    let channel = args.channel.unwrap_or(args.probe);
    let mut ranked =
        explain(args.probe, channel, &seen, sd).map_err(|error| out_of_range(error, scale))?;
    if !args.probe.is_platinum() && !channel.is_platinum() {
        ranked.retain(|one| !one.fault.is_of_platinum());
    }
    let input = ExplainInput { probe: args.probe, channel, seen: &seen, sd, ranked: &ranked };
    let doc = report::probe::explain(input, scale);
    let explained = ranked.iter().any(|one| one.fits);
    Ok(Answer::new(context.page(&doc), ExplainDocument::of(input)).yes_if(explained))
}

/// A true temperature and what was shown, as `400=371`.
fn pair(typed: &str, scale: Scale) -> Result<(f64, Display), Failure> {
    let (tip, shown) = typed.split_once('=').ok_or_else(|| {
        Failure::usage(format!("`{typed}`: expected TRUE=SHOWN"))
            .hint("true 400, shown 371 is written 400=371")
    })?;
    let tip = values::celsius(tip, scale)?;
    // A minus after the sign is not changed by the command line as one in front is.
    let display = match shown.trim().to_lowercase().as_str() {
        "open" => Display::Open,
        "under" => Display::UnderRange,
        "over" => Display::OverRange,
        _ => Display::Shows(values::celsius(shown, scale).map_err(|failure| {
            failure.hint("a display without a number is `open`, `under` or `over`")
        })?),
    };
    Ok((tip, display))
}

/// `probe explain`.
#[derive(Debug, Serialize)]
struct ExplainDocument {
    r#type: &'static str,
    channel: &'static str,
    sd: f64,
    explained: bool,
    faults: Vec<FaultDocument>,
}

#[derive(Debug, Serialize)]
struct FaultDocument {
    fault: &'static str,
    other: Option<&'static str>,
    fits: bool,
    tested: bool,
    score: f64,
    rms: f64,
    value: Option<f64>,
    with: Option<String>,
    displays: Vec<DisplayDocument>,
}

impl ExplainDocument {
    fn of(input: ExplainInput<'_>) -> Self {
        Self {
            r#type: input.probe.as_str(),
            channel: input.channel.as_str(),
            sd: input.sd,
            explained: input.ranked.iter().any(|one| one.fits),
            faults: input.ranked.iter().map(FaultDocument::of).collect(),
        }
    }
}

impl FaultDocument {
    fn of(one: &Explanation) -> Self {
        let (fault, other) = Wiring::of(one.fault);
        Self {
            fault: fault.as_str(),
            other: other.map(Standard::as_str),
            fits: one.fits,
            tested: one.tested,
            score: one.score,
            rms: one.rms,
            value: one.value,
            with: free_words(one, Scale::Celsius),
            displays: one.displays.iter().map(|&d| DisplayDocument::of(Some(d))).collect(),
        }
    }
}
