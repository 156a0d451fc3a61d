//! `oddpot probe apart`: how far apart two good probes may be.

use serde::Serialize;

use super::{no_such_case, out_of_range, values};
use crate::cli::answer::Answer;
use crate::cli::context::Context;
use crate::cli::failure::Failure;
use crate::cli::named;
use measure::engine::Regime;
use measure::probe::outlook::POINTS;
use measure::probe::shift::scatter_from_depth;
use measure::probe::{Build, Case, Fitting};
use measure::thermocouple::Standard;
use measure::thermocouple::tolerance::{Allowed, Class, allowed};
use pages::report;
use pages::report::probe::{ApartInput, DepthScatter};

/// Show how far apart two good probes may be
///
/// `oddpot probe apart 850`, or with what unequal depths add: `oddpot probe apart 620 --at cruise
/// --bore 42 --depth 18 --scatter 2`.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// What they show
    #[arg(value_name = "T")]
    reading: String,
    /// Type
    #[arg(long = "type", value_name = "TYPE", default_value = "K",
          value_parser = named::<Standard>(Standard::NAMES))]
    standard: Standard,
    /// Class they were bought to
    #[arg(long, default_value = "class-2", value_parser = named::<Class>(Class::NAMES))]
    class: Class,
    /// Bore of the runner, mm: counts depth in
    #[arg(long, value_name = "MM", requires = "depth")]
    bore: Option<String>,
    /// How far the tips stand past the inner wall, mm
    #[arg(long, value_name = "MM", requires = "bore")]
    depth: Option<String>,
    /// Thickness of the probes, mm
    #[arg(long, value_name = "MM", default_value = "3")]
    diameter: String,
    /// How far their depths scatter, mm: one standard deviation
    #[arg(long, value_name = "MM", default_value = "1")]
    scatter: String,
    /// Running point that the depth counts at
    #[arg(long, default_value = "cruise", ignore_case = true, value_parser = named::<Regime>(Regime::NAMES))]
    at: Regime,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let at = values::celsius(&args.reading, context.scale())?;
    args.standard.emf(at).map_err(|error| out_of_range(error, context.scale()))?;
    let all = allowed(args.standard, at);
    let depth = match (&args.bore, &args.depth) {
        (Some(bore), Some(depth)) => Some(scatter(context, args, at, bore, depth)?),
        _ => None,
    };
    if !all.iter().any(|one| one.class == args.class && one.probe.is_some()) {
        let have: Vec<&str> =
            all.iter().filter(|one| one.probe.is_some()).map(|one| one.class.as_str()).collect();
        let failure = Failure::usage(format!(
            "{} gives no limit for type {} at {:.0} {}",
            args.class,
            args.standard,
            context.scale().from_celsius(at),
            context.scale().sign(),
        ));
        return Err(if have.is_empty() {
            failure.hint("no class has one there: that type is not made for it")
        } else {
            failure.hint(format!("those that have one: {}", have.join(", ")))
        });
    }
    let input = ApartInput { standard: args.standard, at, allowed: &all, asked: args.class, depth };
    Ok(Answer::new(
        context.page(&report::probe::apart(input, context.scale())),
        ApartDocument::of(input),
    ))
}

fn scatter(
    context: &Context,
    args: &Args,
    at: f64,
    bore: &str,
    depth: &str,
) -> Result<DepthScatter, Failure> {
    let length = |typed: &str| values::above_zero(typed, "a length in mm");
    let fitting =
        Fitting { diameter: length(&args.diameter)?, bore: length(bore)?, depth: length(depth)? };
    let fitting = fitting.check()?;
    let typical = Case::typical(args.at).ok_or_else(|| {
        let points: Vec<&str> = POINTS.iter().map(|point| point.as_str()).collect();
        Failure::usage(format!(
            "at {} no gas flows steadily, so depth is worth nothing there",
            args.at
        ))
        .hint(format!("`--at` takes {} here", points.join(", ")))
    })?;
    let case = typical
        .matched(fitting, &Build::default(), at)
        .map_err(|error| no_such_case(error, context.scale()))?;
    let mm = length(&args.scatter)?;
    Ok(DepthScatter { point: args.at, mm, sd: scatter_from_depth(fitting, &case, mm) })
}

/// `probe apart`.
#[derive(Debug, Serialize)]
struct ApartDocument {
    r#type: &'static str,
    temperature: f64,
    class: &'static str,
    classes: Vec<ClassDocument>,
    depth: Option<ScatterDocument>,
}

#[derive(Debug, Serialize)]
struct ClassDocument {
    class: &'static str,
    each: Option<f64>,
    lead: Option<f64>,
    apart: Option<f64>,
    sd: Option<f64>,
    sd_with_depth: Option<f64>,
}

/// What unequal depths add.
#[derive(Debug, Serialize)]
struct ScatterDocument {
    at: &'static str,
    scatter_mm: f64,
    sd: f64,
}

impl ApartDocument {
    fn of(input: ApartInput<'_>) -> Self {
        let class = |one: &Allowed| {
            let apart = one.apart();
            ClassDocument {
                class: one.class.as_str(),
                each: one.probe,
                lead: one.lead,
                apart: apart.map(|apart| apart.limit),
                sd: apart.map(|apart| apart.sd),
                sd_with_depth: input.depth.and_then(|_| input.sd(one)),
            }
        };
        Self {
            r#type: input.standard.as_str(),
            temperature: input.at,
            class: input.asked.as_str(),
            classes: input.allowed.iter().map(class).collect(),
            depth: input.depth.map(|depth| ScatterDocument {
                at: depth.point.as_str(),
                scatter_mm: depth.mm,
                sd: depth.sd,
            }),
        }
    }
}
