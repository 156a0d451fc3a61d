//! `oddpot probe fit-plan`: where to put the probes, before anything is drilled.

use std::path::PathBuf;

use serde::Serialize;
use serde_json::json;

use super::measures::{self, Lists};
use super::values;
use crate::cli::answer::Answer;
use crate::cli::card::on_output;
use crate::cli::context::Context;
use crate::cli::failure::Failure;
use crate::cli::{named, output};
use measure::named_enum;
use measure::probe::fit_plan::trial::{ENGINES, Trial, trial};
use measure::probe::fit_plan::{Plan, PlanError, Runner, USUAL_WITHIN, Wish, plan};
use pages::report::figure::svg;
use pages::report::pdf::{self, Paper};
use pages::report::probe::{
    FitPlanInput, RULER, TEMPLATE, fit_plan, fit_plan_at_a_glance, template, template_in_one,
};
use pages::report::{Doc, Style, html, markdown, text};

named_enum! {
    /// Forms of a plan.
    Format, "format" {
        /// For a terminal.
        Text = "text",
        /// Markdown.
        Md = "md",
        /// A web page in one file.
        Html = "html",
        /// For paper, with the template.
        Pdf = "pdf",
        /// The template alone.
        Svg = "svg",
    }
}

/// Plan where probes go before drilling: distance, depth, tolerances, marks
///
/// One distance from the flange and one depth for all runners, how exactly both must be kept so that
/// fitting alone keeps healthy displays together, and what a runner that cannot have them is off by.
/// A list has one figure for all runners or one per cylinder. Lengths are mm, from the flange at the
/// port along the middle of the runner. The PDF has a template to print at full size; `-o plan.svg` writes the
/// template alone.
///
/// A file of runners has the same words with `_` for `-`: `(all: (bore: 42, boss: 20), runners:
/// [(straight: 90), (straight: 60, bend: 45), (), ()])`; `within` there is °C. What a flag says
/// counts before it.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot probe fit-plan --cylinders 4 --bore 42 --straight 110
  oddpot probe fit-plan --bore 42 42 38 42 --straight 120 90 60 120 --boss 20 --probe-length 60
  oddpot probe fit-plan --cylinders 6 --bore 40 --within 15 -o plan.pdf")]
pub(in crate::cli) struct Args {
    /// Cylinders; not needed where a list has one figure per cylinder
    #[arg(long, value_name = "N")]
    cylinders: Option<usize>,
    #[command(flatten)]
    lists: Lists,
    /// File of the runners, its name ends in .ron
    #[arg(long, value_name = "FILE")]
    runners: Option<PathBuf>,
    /// Spread between healthy displays that fitting alone may cause [default: 10 °C]
    #[arg(long, value_name = "DEGREES")]
    within: Option<String>,
    /// Distance from the flange that is wanted [default: the one nearest to 50 that most can have]
    #[arg(long, value_name = "MM")]
    distance: Option<String>,
    /// Depth that is wanted [default: the middle of the narrowest runner, or what probes reach]
    #[arg(long, value_name = "MM")]
    depth: Option<String>,
    /// Seed of the engines that the plan is tried on
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Form [default: that of the file's ending, else text]
    #[arg(long, value_parser = named::<Format>(Format::NAMES))]
    format: Option<Format>,
    /// Size of paper for PDF and template
    #[arg(long, default_value = "a4", value_parser = named::<Paper>(Paper::NAMES))]
    paper: Paper,
    /// File to write instead of standard output: .txt, .md, .html, .pdf with the template, .svg of
    /// the template alone
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long, requires = "output")]
    force: bool,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let format = output::form(args.format, args.output.as_deref(), &FORMS)?;
    let file = args.runners.as_deref().map(measures::read).transpose()?.unwrap_or_default();
    let runners = measures::runners(&args.lists, &file, args.cylinders)?;
    let wish = wish(context, args, &file.wish)?;
    let plan = plan(&runners, wish).map_err(failed)?;
    // What stands on one screen has no use for it, and it takes a moment.
    let glance = format == Format::Text && args.output.is_none() && !context.detail;
    let tried = (context.json || !glance).then(|| trial(&plan, ENGINES, args.seed));
    let input = FitPlanInput { plan: &plan, trial: tried.as_ref() };
    let document =
        PlanDocument { plan: &plan, holds: plan.holds(), runners: &runners, trial: tried.as_ref() };
    if let Some(path) = &args.output {
        let bytes = written(context, input, format, args.paper);
        if let Some(from) = &args.runners {
            output::write_beside(from, path, &bytes, args.force)?;
        } else {
            output::write(path, &bytes, args.force)?;
        }
        let said = format!("wrote {}", path.display());
        let file = path.display().to_string();
        let document = WrittenDocument { document, ok: true, said: &said, format, file };
        return Ok(Answer::new(said.as_str(), document));
    }
    if format != Format::Text {
        let bytes = written(context, input, format, args.paper);
        return on_output(context, bytes, format == Format::Pdf, |text| {
            json!(PageDocument { document, page: text })
        });
    }
    let page = if glance {
        fit_plan_at_a_glance(input, context.scale(), &context.foot())
    } else {
        fit_plan(input, context.scale())
    };
    Ok(Answer::new(context.whole(&page), document))
}

const FORMS: output::Forms<'static, Format> = output::Forms {
    usual: Format::Text,
    endings: &[("txt", Format::Text)],
    what: "a plan",
    named: ".txt, .md, .html, .pdf or .svg",
};

fn wish(context: &Context, args: &Args, file: &measures::FileWish) -> Result<Wish, Failure> {
    let mm = |typed: &Option<String>, file: Option<f64>| match typed {
        Some(typed) => values::above_zero(typed, "a length in mm").map(Some),
        None => Ok(file),
    };
    let within = match &args.within {
        Some(typed) => values::kelvin(typed, context.scale())?,
        None => file.within.unwrap_or(USUAL_WITHIN),
    };
    Ok(Wish {
        within,
        distance_mm: mm(&args.distance, file.distance)?,
        depth_mm: mm(&args.depth, file.depth)?,
    })
}

/// The plan as the content of a file.
fn written(context: &Context, input: FitPlanInput<'_>, format: Format, paper: Paper) -> Vec<u8> {
    let doc = || -> Doc { fit_plan(input, context.scale()) };
    match format {
        Format::Text => text::render(&doc(), context.width, Style::Plain).into_bytes(),
        Format::Md => markdown::render(&doc()).into_bytes(),
        Format::Html => html::render(&doc()).into_bytes(),
        Format::Pdf => {
            let strips = template(input.plan, paper.inside());
            pdf::with_full_size(&doc(), TEMPLATE, &strips, paper)
        }
        Format::Svg => {
            let picture = template_in_one(input.plan, paper.inside());
            let desc =
                format!("Strips at full size with a line of {RULER} mm to check the print by.");
            svg::full_size(TEMPLATE, &desc, &picture).into_bytes()
        }
    }
}

/// `probe fit-plan`.
#[derive(Debug, Clone, Copy, Serialize)]
struct PlanDocument<'a> {
    plan: &'a Plan,
    holds: bool,
    runners: &'a [Runner],
    trial: Option<&'a Trial>,
}

/// The same with where it was written.
#[derive(Debug, Serialize)]
struct WrittenDocument<'a> {
    #[serde(flatten)]
    document: PlanDocument<'a>,
    ok: bool,
    said: &'a str,
    format: Format,
    file: String,
}

/// The same with the page itself.
#[derive(Debug, Serialize)]
struct PageDocument<'a> {
    #[serde(flatten)]
    document: PlanDocument<'a>,
    page: &'a str,
}

/// What cannot be, with what to do about it.
pub(super) fn failed(error: PlanError) -> Failure {
    let failure = Failure::usage(error.to_string());
    match error {
        PlanError::Count(_) => failure.hint("`--cylinders N` says how many"),
        PlanError::BossMissing(_) => failure.hint("`--boss MM`, or leave `--probe-length` out"),
        PlanError::Wish { .. } => {
            failure.hint("`--within`, `--distance` and `--depth` say what is wanted")
        }
        PlanError::Fitting { .. }
        | PlanError::Measure { .. }
        | PlanError::Straight { .. }
        | PlanError::Short { .. } => failure,
    }
}
