//! `oddpot probe shows`: what a wiring fault would show.

use serde::Serialize;

use super::{out_of_range, values};
use crate::cli::answer::Answer;
use crate::cli::context::Context;
use crate::cli::failure::Failure;
use crate::cli::named;
use measure::names::nearest;
use measure::thermocouple::Standard;
use measure::thermocouple::circuit::{Display, Temperatures};
use measure::thermocouple::wiring::{Shown, Sizes, Wiring, shown};
use pages::report::probe::{ShowsInput, every_fault, one_fault};

/// Show what a wiring fault would show, or all of them
///
/// `oddpot probe shows copper-lead --true 400 700 --joint 60 --box 25`. Without a fault all stand
/// side by side. Temperatures are °C unless `--units f`; `752F` is °F.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// Fault; all of them if none is named
    #[arg(value_parser = named::<Wiring>(Wiring::NAMES))]
    fault: Option<Wiring>,
    /// True temperatures of the tip [default: 100, 400, 620, 860 °C as far as the type goes]
    #[arg(long = "true", value_name = "T", num_args = 1..)]
    tip: Vec<String>,
    /// Type that was meant, of probe, lead and box
    #[arg(long = "type", value_name = "TYPE", default_value = "K",
          value_parser = named::<Standard>(Standard::NAMES))]
    meant: Standard,
    /// The wrong type, for wrong-lead, wrong-setting and wrong-probe
    #[arg(long, value_name = "TYPE", value_parser = named::<Standard>(Standard::NAMES))]
    other: Option<Standard>,
    /// Temperature of the joint between probe and lead [default: 60 °C]
    #[arg(long, value_name = "T")]
    joint: Option<String>,
    /// Temperature of the box, at its terminals [default: 25 °C]
    #[arg(long = "box", value_name = "T")]
    terminals: Option<String>,
    /// For cold-junction: how much too hot the box believes itself [default: 10 °C]
    #[arg(long, value_name = "DEGREES")]
    believes: Option<String>,
    /// For leak: ohms between the legs [default: 100]
    #[arg(long, value_name = "OHMS")]
    leak: Option<String>,
    /// For bias: microamperes the box sends [default: 1]
    #[arg(long, value_name = "MICROAMPERES")]
    current: Option<String>,
    /// For leak and bias: ohms of the whole loop [default: 10, with bias 1000]
    #[arg(long = "loop", value_name = "OHMS")]
    loop_ohms: Option<String>,
    /// For a short: temperature where the legs touch [default: half-way]
    #[arg(long, value_name = "T")]
    touch: Option<String>,
}

/// Tips shown when none are asked for, °C: boiling water, and usual idle, cruise and full load.
const TIPS: [f64; 4] = [100.0, 400.0, 620.0, 860.0];
/// A joint under a warm bonnet and a box inside the car, °C (assumed).
const JOINT: f64 = 60.0;
const BOX: f64 = 25.0;
/// Types that get a row of their own in the table of all faults: those that get mixed up most
/// (common practice, no source).
const MIXED_UP: [Standard; 3] = [Standard::K, Standard::N, Standard::J];

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let scale = context.scale();
    let read = |typed: &Option<String>, usual: f64| {
        typed.as_deref().map_or(Ok(usual), |typed| values::celsius(typed, scale))
    };
    let (joint, terminals) = (read(&args.joint, JOINT)?, read(&args.terminals, BOX)?);
    let mut at = vec![Temperatures { tip: terminals, joint: terminals, terminals }];
    at.extend(tips(context, args)?.into_iter().map(|tip| Temperatures { tip, joint, terminals }));
    let sizes = sizes(context, args)?;
    let (faults, others) = match (args.fault, args.other) {
        (Some(fault), Some(other)) if fault.takes_another() && other == args.meant => {
            return Err(Failure::usage(format!("type {other} is the type that was meant"))
                .hint("name another with `--other`, or the right one with `--type`"));
        }
        (Some(fault), Some(_)) if !fault.takes_another() => {
            return Err(Failure::usage(format!(
                "`{fault}` is no matter of types, `--other` was given"
            ))
            .hint("`--other` goes with wrong-lead, wrong-setting and wrong-probe"));
        }
        (Some(fault), Some(other)) => (vec![fault], vec![other]),
        (Some(fault), None) => (vec![fault], MIXED_UP.to_vec()),
        (None, Some(other)) => (Wiring::ALL.to_vec(), vec![other]),
        (None, None) => (Wiring::ALL.to_vec(), MIXED_UP.to_vec()),
    };
    let rows = shown(&faults, args.meant, &others, &sizes, &at)
        .map_err(|error| out_of_range(error, scale))?;
    let input = ShowsInput { meant: args.meant, at: &at, sizes: &sizes, shown: &rows };
    let doc = match args.fault {
        Some(fault) => one_fault(input, fault, scale),
        None => every_fault(input, scale),
    };
    Ok(Answer::new(context.page(&doc), ShowsDocument::of(args.meant, &at, &rows)))
}

/// The temperatures asked for, or the usual ones that the type can meet.
fn tips(context: &Context, args: &Args) -> Result<Vec<f64>, Failure> {
    if args.tip.is_empty() {
        let (_, highest) = args.meant.range();
        return Ok(TIPS.into_iter().filter(|&tip| tip <= highest).collect());
    }
    values::all_celsius(&args.tip, context.scale()).map_err(|failure| {
        let fault = args.tip.iter().find_map(|word| nearest(word, Wiring::NAMES.iter().copied()));
        failure.hints(
            fault
                .map(|fault| format!("a fault stands before `--true`: `shows {fault} --true ...`")),
        )
    })
}

fn sizes(context: &Context, args: &Args) -> Result<Sizes, Failure> {
    let usual = Sizes::default();
    let ohms = |typed: &String| values::above_zero(typed, "a resistance in ohms");
    Ok(Sizes {
        cold_junction: match &args.believes {
            Some(typed) => values::kelvin(typed, context.scale())?,
            None => usual.cold_junction,
        },
        loop_ohms: args.loop_ohms.as_ref().map(ohms).transpose()?,
        leak_ohms: args.leak.as_ref().map_or(Ok(usual.leak_ohms), ohms)?,
        bias_microamps: match &args.current {
            Some(typed) => values::number(typed, "a current in microamperes")?,
            None => usual.bias_microamps,
        },
        short: args.touch.as_ref().map(|t| values::celsius(t, context.scale())).transpose()?,
    })
}

/// What a display shows, °C or null, and in which state it is.
#[derive(Debug, Serialize)]
pub(super) struct DisplayDocument {
    shows: Option<f64>,
    state: &'static str,
}

impl DisplayDocument {
    pub(super) fn of(display: Option<Display>) -> Self {
        let (shows, state) = match display {
            Some(Display::Shows(t)) => (Some(t), "shows"),
            Some(Display::UnderRange) => (None, "under"),
            Some(Display::OverRange) => (None, "over"),
            Some(Display::Open) => (None, "open"),
            None => (None, "impossible"),
        };
        Self { shows, state }
    }
}

/// `probe shows`.
#[derive(Debug, Serialize)]
struct ShowsDocument {
    r#type: &'static str,
    faults: Vec<FaultDocument>,
}

#[derive(Debug, Serialize)]
struct FaultDocument {
    fault: &'static str,
    other: Option<&'static str>,
    displays: Vec<AtDocument>,
}

/// A display at the temperatures of tip, joint and box, °C.
#[derive(Debug, Serialize)]
struct AtDocument {
    #[serde(flatten)]
    display: DisplayDocument,
    r#true: f64,
    joint: f64,
    r#box: f64,
}

impl ShowsDocument {
    fn of(meant: Standard, at: &[Temperatures], rows: &[Shown]) -> Self {
        let faults = rows.iter().map(|row| {
            let displays = at.iter().zip(&row.displays).map(|(at, &display)| AtDocument {
                display: DisplayDocument::of(display),
                r#true: at.tip,
                joint: at.joint,
                r#box: at.terminals,
            });
            FaultDocument {
                fault: row.fault.as_str(),
                other: row.other.map(Standard::as_str),
                displays: displays.collect(),
            }
        });
        Self { r#type: meant.as_str(), faults: faults.collect() }
    }
}
