//! `oddpot probe depth`: what depth, thickness and touch are worth.

use serde::Serialize;

use super::{no_such_case, values};
use crate::cli::answer::Answer;
use crate::cli::context::Context;
use crate::cli::failure::Failure;
use measure::probe::Fitting;
use measure::probe::outlook::{Change, Outlook, outlook};
use measure::probe::shift::Shift;
use pages::report;
use pages::report::probe::DepthInput;

/// Show what depth, thickness and touch are worth, and how fast the probe follows
///
/// `oddpot probe depth --bore 42 --depth 20`, `oddpot probe depth --bore 42 --depth 12 --deeper 5
/// --cruise 620`. Depth counts from the inner wall of the runner.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// Bore of the runner, mm
    #[arg(long, value_name = "MM")]
    bore: String,
    /// How far the mates' tips stand past the inner wall, mm
    #[arg(long, value_name = "MM")]
    depth: String,
    /// Thickness of the probes, mm
    #[arg(long, value_name = "MM", default_value = "3")]
    diameter: String,
    /// The odd one stands this much deeper, mm; below zero less deep [default: 5 either way]
    #[arg(long, value_name = "MM")]
    deeper: Option<String>,
    /// The odd one is this thick, mm [default: half and one and a half times as thick]
    #[arg(long, value_name = "MM")]
    thick: Option<String>,
    /// What the healthy ones show at warm idle
    #[arg(long, value_name = "T")]
    idle: Option<String>,
    /// What the healthy ones show at steady cruise
    #[arg(long, value_name = "T")]
    cruise: Option<String>,
    /// What the healthy ones show at full load
    #[arg(long, value_name = "T")]
    full: Option<String>,
}

/// Difference of depth that is shown when none is asked for, mm.
const DEEPER: f64 = 5.0;

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let length = |typed: &str| values::above_zero(typed, "a length in mm");
    let mates = Fitting {
        diameter: length(&args.diameter)?,
        bore: length(&args.bore)?,
        depth: length(&args.depth)?,
    };
    let mates = mates.check()?;
    let reading = |typed: &Option<String>| {
        typed.as_deref().map(|typed| values::celsius(typed, context.scale())).transpose()
    };
    let readings = [reading(&args.idle)?, reading(&args.cruise)?, reading(&args.full)?];
    let changes = changes(args, mates)?;
    let points =
        outlook(mates, readings, &changes).map_err(|error| no_such_case(error, context.scale()))?;
    let input = DepthInput { mates, outlook: &points, changes: &changes };
    Ok(Answer::new(
        context.page(&report::probe::depth(input, context.scale())),
        DepthDocument::of(input),
    ))
}

/// What the odd one is compared with; depths that leave the runner are left out unless asked for.
fn changes(args: &Args, mates: Fitting) -> Result<Vec<Change>, Failure> {
    let mut changes = Vec::new();
    if let Some(typed) = &args.deeper {
        let deeper = values::number(typed, "a length in mm")?;
        Fitting { depth: mates.depth + deeper, ..mates }.check()?;
        changes.push(Change::Deeper(deeper));
    } else {
        let inside = |mm: &f64| Fitting { depth: mates.depth + mm, ..mates }.check().is_ok();
        changes.extend([DEEPER, -DEEPER].into_iter().filter(inside).map(Change::Deeper));
    }
    if let Some(typed) = &args.thick {
        let diameter = values::above_zero(typed, "a length in mm")?;
        Fitting { diameter, ..mates }.check()?;
        changes.push(Change::Diameter(diameter));
    } else {
        let made = |mm: &f64| Fitting { diameter: *mm, ..mates }.check().is_ok();
        let thick = [0.5 * mates.diameter, 1.5 * mates.diameter];
        changes.extend(thick.into_iter().filter(made).map(Change::Diameter));
    }
    changes.extend([Change::TouchesLightly, Change::TouchesFirmly]);
    Ok(changes)
}

/// `probe depth`.
#[derive(Debug, Serialize)]
struct DepthDocument {
    diameter_mm: f64,
    bore_mm: f64,
    depth_mm: f64,
    points: Vec<PointDocument>,
}

#[derive(Debug, Serialize)]
struct PointDocument {
    at: &'static str,
    shows: f64,
    matched: bool,
    per_mm: ShiftDocument,
    time_constant_s: f64,
    settled_s: f64,
    changes: Vec<ChangeDocument>,
}

#[derive(Debug, Serialize)]
struct ChangeDocument {
    change: &'static str,
    mm: Option<f64>,
    shift: ShiftDocument,
}

#[derive(Debug, Serialize)]
struct ShiftDocument {
    mean: f64,
    sd: f64,
}

impl From<Shift> for ShiftDocument {
    fn from(shift: Shift) -> Self {
        Self { mean: shift.mean, sd: shift.sd }
    }
}

impl DepthDocument {
    fn of(input: DepthInput<'_>) -> Self {
        let Fitting { diameter, bore, depth } = input.mates;
        let points = input.outlook.iter().map(|one| PointDocument::of(one, input.changes));
        Self { diameter_mm: diameter, bore_mm: bore, depth_mm: depth, points: points.collect() }
    }
}

impl PointDocument {
    fn of(one: &Outlook, changes: &[Change]) -> Self {
        let change = |(change, &shift): (&Change, &Shift)| {
            let (change, mm) = match *change {
                Change::Deeper(mm) => ("deeper", Some(mm)),
                Change::Diameter(mm) => ("thick", Some(mm)),
                Change::TouchesLightly => ("touches-lightly", None),
                Change::TouchesFirmly => ("touches-firmly", None),
            };
            ChangeDocument { change, mm, shift: shift.into() }
        };
        Self {
            at: one.point.as_str(),
            shows: one.shows,
            matched: one.matched,
            per_mm: one.per_mm.into(),
            time_constant_s: one.time_constant,
            settled_s: one.settled,
            changes: changes.iter().zip(&one.changes).map(change).collect(),
        }
    }
}
