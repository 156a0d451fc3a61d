//! `oddpot fit`: the probe-fit sheet.

use serde::Serialize;

use super::answer::Answer;
use super::card::{Form, put};
use super::context::{Context, View, quote};
use super::engine_args::FittingArgs;
use super::failure::Failure;
use facts::job::entry::What;
use facts::job::fit::FitLine;
use facts::job::timeline::Timeline;
use facts::job::typed::millimetres;
use judge::diagnosis::depth_worth;
use measure::engine::{Cylinder, Engine, Fitting};
use pages::report;

/// Enter how the probes sit, or show the probe-fit sheet
///
/// Lists have one figure per cylinder, in order: `oddpot fit van --depths 20 20 26 20` when the
/// tips were measured past the inner wall, `--stems 38 38 32 38` when only what shows outside
/// was. With --cylinder, one probe is described. Without anything to enter, the sheet is shown,
/// with what each difference is worth in degrees and what is still to check.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot fit van --depths 20 20 26 20
  oddpot fit van --format pdf -o fit.pdf")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Depth of each tip past the inner wall, mm, one per cylinder
    #[arg(long, value_name = "MM", num_args = 1.., value_parser = millimetres)]
    depths: Vec<f64>,
    /// Stem that shows outside each fitting, mm, one per cylinder
    #[arg(long, value_name = "MM", num_args = 1.., value_parser = millimetres)]
    stems: Vec<f64>,
    /// Distance of each boss from the port, mm, one per cylinder
    #[arg(long, value_name = "MM", num_args = 1.., value_parser = millimetres)]
    from_port: Vec<f64>,
    #[command(flatten)]
    fitting: FittingArgs,
    /// The one probe that the following describe
    #[arg(long, value_name = "N", conflicts_with_all = ["depths", "stems", "from_port"])]
    cylinder: Option<Cylinder>,
    #[command(flatten)]
    one: One,
    #[command(flatten)]
    form: Form,
}

/// What can be said of one probe.
#[derive(Debug, Clone, clap::Args)]
struct One {
    /// Depth of its tip past the inner wall, mm
    #[arg(long, value_name = "MM", requires = "cylinder", value_parser = millimetres)]
    depth: Option<f64>,
    /// Stem that shows outside its fitting, mm
    #[arg(long, value_name = "MM", requires = "cylinder", value_parser = millimetres)]
    stem: Option<f64>,
    /// Distance of its boss from the port, mm
    #[arg(long, value_name = "MM", requires = "cylinder", value_parser = millimetres)]
    port: Option<f64>,
    /// Where it sits around the runner, as on a clock seen along the flow
    #[arg(long, value_name = "HOUR", requires = "cylinder")]
    clock: Option<u8>,
    /// Part number or description
    #[arg(long, value_name = "TEXT", requires = "cylinder")]
    probe: Option<String>,
    /// Serial number
    #[arg(long, value_name = "TEXT", requires = "cylinder")]
    serial: Option<String>,
    /// What its lead is marked with
    #[arg(long, value_name = "TEXT", requires = "cylinder")]
    lead: Option<String>,
    /// The channel it goes to
    #[arg(long, value_name = "TEXT", requires = "cylinder")]
    channel: Option<String>,
}

impl One {
    fn line(&self) -> FitLine {
        FitLine {
            depth: self.depth,
            stem: self.stem,
            from_port: self.port,
            clock: self.clock,
            probe: self.probe.clone(),
            serial: self.serial.clone(),
            lead: self.lead.clone(),
            channel: self.channel.clone(),
        }
    }

    fn typed(&self) -> Vec<(&'static str, Option<String>)> {
        let mm = |value: Option<f64>| value.map(|mm| mm.to_string());
        vec![
            ("--depth", mm(self.depth)),
            ("--stem", mm(self.stem)),
            ("--port", mm(self.port)),
            ("--clock", self.clock.map(|hour| hour.to_string())),
            ("--probe", self.probe.clone()),
            ("--serial", self.serial.clone()),
            ("--lead", self.lead.clone()),
            ("--channel", self.channel.clone()),
        ]
    }
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let entries = entries(args)?;
    if entries.is_empty() && !args.form.is_plain() {
        let view = context.view(&args.job)?;
        let doc = report::fit(&view.knowledge, &view.timeline, context.scale());
        return put(context, &doc, &args.form);
    }
    if !args.form.is_plain() {
        return Err(Failure::usage("the sheet is written out without anything to enter")
            .hint("enter first, then give `--format` or `-o` alone"));
    }
    if entries.is_empty() {
        return Ok(show(context, &context.view(&args.job)?));
    }
    let mut work = context.work(&args.job)?;
    for lists in [&args.depths, &args.stems, &args.from_port] {
        count(&work.timeline.engine, lists)?;
    }
    let mut notes = Vec::new();
    let mut last = None;
    for (typed, what, said) in entries {
        last = Some(work.enter(typed, what, &said)?);
    }
    for (cylinder, mm) in report::differences(&work.timeline) {
        if mm.abs() >= report::EQUAL_DEPTH {
            let way = if mm > 0.0 { "deeper" } else { "less deep" };
            notes.push(format!(
                "the probe of cylinder {cylinder} sits {:.1} mm {way} than the others: `oddpot fit {}` shows what \
                 that is worth",
                mm.abs(),
                quote(&args.job)
            ));
        }
    }
    last.map(|answer| answer.notes(notes)).ok_or_else(|| Failure::usage("nothing was entered"))
}

/// Puts a figure into a line.
type Put = fn(&mut FitLine, f64);

/// What is to be entered: as typed, as an entry, as said back.
fn entries(args: &Args) -> Result<Vec<(String, What, String)>, Failure> {
    let mut list = Vec::new();
    if let Some(fitting) = args.fitting.given() {
        let typed: Vec<String> = flags(args.fitting.typed());
        let said = format!(
            "sheath {} mm, runner {} mm, tip {} mm past the inner wall",
            fitting.diameter, fitting.bore, fitting.depth
        );
        list.push((format!("fit {}", typed.join(" ")), What::Fitting(fitting), said));
    }
    let one = args.one.line();
    if let Some(cylinder) = args.cylinder {
        if one.is_empty() {
            return Err(Failure::usage(format!("nothing is said of the probe of cylinder {cylinder}"))
                .hint("add --depth MM, --stem MM, --port MM, --clock HOUR, --probe, --serial, --lead or --channel"));
        }
        let typed = format!("fit --cylinder {cylinder} {}", flags(args.one.typed()).join(" "));
        let what = What::Fitted { lines: vec![(cylinder, one)] };
        list.push((typed, what, format!("the probe of cylinder {cylinder} was described")));
    }
    let rows: [(&str, &str, &[f64], Put); 3] = [
        ("--depths", "depths past the inner wall", &args.depths, |l, mm| l.depth = Some(mm)),
        ("--stems", "stems outside", &args.stems, |l, mm| l.stem = Some(mm)),
        ("--from-port", "bosses from the port", &args.from_port, |l, mm| l.from_port = Some(mm)),
    ];
    for (flag, name, values, put) in rows {
        if values.is_empty() {
            continue;
        }
        let mut lines = Vec::new();
        for (cylinder, &mm) in (1..).zip(values) {
            let mut line = FitLine::default();
            put(&mut line, mm);
            lines.push((cylinder, line));
        }
        let figures: Vec<String> = values.iter().map(f64::to_string).collect();
        list.push((
            format!("fit {flag} {}", figures.join(" ")),
            What::Fitted { lines },
            format!("{name}: {} mm", figures.join(", ")),
        ));
    }
    Ok(list)
}

fn flags(flags: impl IntoIterator<Item = (&'static str, Option<String>)>) -> Vec<String> {
    let said = flags.into_iter().filter_map(|(flag, value)| Some((flag, value?)));
    said.flat_map(|(flag, value)| [flag.to_owned(), quote(&value)]).collect()
}

fn count(engine: &Engine, values: &[f64]) -> Result<(), Failure> {
    let cylinders = usize::from(engine.cylinders);
    if values.is_empty() || values.len() == cylinders {
        return Ok(());
    }
    Err(Failure::usage(format!(
        "{} given, this engine has {cylinders} cylinders: one figure per cylinder, in order",
        report::words::count(values.len(), "figure", "figures")
    ))
    .hint("for one probe alone use --cylinder N --depth MM"))
}

fn show(context: &Context, view: &View) -> Answer {
    let doc = report::fit(&view.knowledge, &view.timeline, context.scale());
    Answer::new(context.page(&doc), SheetDocument::of(&view.timeline))
}

/// The probe-fit sheet.
#[derive(Debug, Serialize)]
struct SheetDocument {
    lines: Vec<LineDocument>,
    fitting: Option<FittingDocument>,
}

#[derive(Debug, Serialize)]
struct LineDocument {
    cylinder: Cylinder,
    line: FitLine,
    difference_mm: Option<f64>,
    worth: Vec<WorthDocument>,
}

/// What the difference is worth at a running point, °C.
#[derive(Debug, Serialize)]
struct WorthDocument {
    at: &'static str,
    mean: f64,
    sd: f64,
}

/// How probes sit that were not measured, mm.
#[derive(Debug, Serialize)]
struct FittingDocument {
    diameter: f64,
    bore: f64,
    depth: f64,
    assumed: bool,
}

impl SheetDocument {
    fn of(timeline: &Timeline) -> Self {
        let differences = report::differences(timeline);
        let lines = timeline.sheet.lines();
        let lines = lines.iter().map(|(cylinder, line)| {
            let difference = differences.iter().find(|(c, _)| c == cylinder).map(|(_, mm)| *mm);
            let worth = difference.map_or_else(Vec::new, |mm| depth_worth(timeline, mm));
            let worth = worth.iter().map(|worth| WorthDocument {
                at: worth.at.as_str(),
                mean: worth.mean,
                sd: worth.sd,
            });
            LineDocument {
                cylinder: *cylinder,
                line: line.clone(),
                difference_mm: difference,
                worth: worth.collect(),
            }
        });
        let assumed = timeline.fitting_assumed;
        let fitting = timeline.engine.fitting;
        let fitting = fitting.map(|Fitting { diameter, bore, depth }| FittingDocument {
            diameter,
            bore,
            depth,
            assumed,
        });
        Self { lines: lines.collect(), fitting }
    }
}
