//! `oddpot limits`: warning limits for a controller.

use std::path::PathBuf;

use serde::Serialize;

use super::answer::Answer;
use super::context::{Context, View, Work, quote};
use super::failure::Failure;
use facts::job::entry::Reading;
use facts::job::entry::What;
use facts::job::timeline::Timeline;
use facts::job::typed::reading;
use facts::knowledge::Knowledge;
use judge::diagnosis::diagnose;
use judge::limits::{Asked, Fault, Hindrance, Limits, ONCE_IN, hindrance, limits};
use judge::plan;
use judge::vehicle;
use measure::engine::{Cylinder, ProbeSite};
use measure::units::{Celsius, Scale};
use pages::report;

/// Show warning limits from what the displays usually do
///
/// For a job that is verified, or recorded as normal. Each display gets a deviation from the mean of
/// all and a delay, so that it gives no more than one false alarm in so many hours of running. The
/// limit for a single temperature is the engine builder's: look it up, and enter it.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot limits van
  oddpot limits van --builder-limit 900
  oddpot limits van --once-in 2000 --delay 20 --csv limits.csv --set")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Hours of running in which one display may give one false alarm
    #[arg(long, value_name = "HOURS", default_value_t = ONCE_IN)]
    once_in: f64,
    /// Seconds that a deviation must last, instead of three time constants of the probe
    #[arg(long, value_name = "SECONDS")]
    delay: Option<f64>,
    /// Enter the engine builder's limit for any single display
    #[arg(long, value_name = "TEMPERATURE")]
    builder_limit: Option<String>,
    /// File for the table as CSV, `-` for standard output; what is there is replaced
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long, requires = "csv")]
    force: bool,
    /// Enter that the limits were set in the controller: the card then has them
    #[arg(long)]
    set: bool,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let asked = Asked { once_in: args.once_in, delay: args.delay };
    let view = context.view(&args.job)?;
    // The same ranges as those of an entry.
    let set = What::LimitsSet { once_in: args.once_in, delay: args.delay };
    facts::job::check::entry(&view.timeline.engine, 1, &set)?;
    let found = found(&view, &args.job, asked)?;
    // Nothing is entered before it is sure that there are limits.
    let mut notes = Vec::new();
    let view = if args.builder_limit.is_some() || args.set {
        let mut work = context.work_on_any(&args.job)?;
        if let Some(typed) = &args.builder_limit {
            notes.push(enter_builder_limit(context, &mut work, "limits", typed)?);
        }
        if args.set {
            let delay = args.delay.map_or_else(String::new, |delay| format!(" --delay {delay}"));
            let typed = format!("limits --once-in {}{delay} --set", args.once_in);
            let entered = work.enter(typed, set, "warning limits set in the controller")?;
            notes.push(entered.text.trim_end().to_owned());
        }
        drop(work);
        context.view(&args.job)?
    } else {
        view
    };
    let (knowledge, timeline) = (&view.knowledge, &view.timeline);
    let document = LimitsDocument::of(knowledge, timeline, &found);
    let csv = || {
        let vehicle = &view.journal.head.vehicle;
        report::limits_csv(&args.job, vehicle, timeline, &found, context.scale())
    };
    let answer = match &args.csv {
        Some(path) if path.as_os_str() == "-" => {
            let text = csv();
            let document = LimitsDocument { csv: Some(&text), ..document };
            // Its lines end as a table's do, which text for people does not; no cell has a control
            // character.
            let answer = Answer::new("", document);
            Answer { bytes: (!context.json).then(|| text.into_bytes()), ..answer }
        }
        Some(path) => {
            super::output::write(path, csv().as_bytes(), args.force)?;
            Answer::new(format!("wrote {}", path.display()), document)
        }
        None => {
            let scale = context.scale();
            let page = if context.detail {
                report::limits(knowledge, timeline, &found, scale)
            } else {
                report::limits_at_a_glance(timeline, &found, scale, &context.foot())
            };
            Answer::new(context.page(&page), document)
        }
    };
    Ok(answer.notes(notes))
}

/// Enters the builder's limit as it was typed to a command, and says so.
///
/// # Errors
/// When it is no temperature, or cannot be kept.
pub(super) fn enter_builder_limit(
    context: &Context,
    work: &mut Work,
    command: &str,
    typed: &str,
) -> Result<String, Failure> {
    let limit = match reading(typed, context.scale()) {
        Ok(Reading::Degrees(limit)) => limit,
        Ok(_) => return Err(not_a_limit(format!("`{typed}` is no temperature"))),
        Err(error) => return Err(not_a_limit(error.to_string())),
    };
    let shown = report::words::temperature(limit, context.scale());
    let units = if context.scale() == Scale::Fahrenheit { " --units f" } else { "" };
    let typed = format!("{command}{units} --builder-limit {}", quote(typed));
    let said = format!("the builder's limit is {shown}");
    let entered = work.enter(typed, What::BuilderLimit(limit), &said)?;
    Ok(entered.text.trim_end().to_owned())
}

fn not_a_limit(what: String) -> Failure {
    Failure::usage(what).hint("give one number, as 900, 900C or 1650F")
}

/// The limits of a job that has come to a good end.
fn found(view: &View, job: &str, asked: Asked) -> Result<Limits, Failure> {
    let (knowledge, timeline) = (&view.knowledge, &view.timeline);
    let verification = plan::verify(&diagnose(knowledge, timeline));
    if let Some(why) = hindrance(timeline, &verification) {
        let hint = match why {
            Hindrance::NotDone => format!(
                "`oddpot next {0}` says how to go on, `oddpot verify {0}` what is missing",
                quote(job)
            ),
            Hindrance::NoNumber(_) => {
                format!("put it right, then `oddpot temps {} --at cruise VALUE...`", quote(job))
            }
        };
        return Err(Failure::no(report::hindrance(why)).hint(hint));
    }
    let found = limits(knowledge, timeline, &vehicle::after(knowledge, timeline), asked);
    if found.rows.is_empty() {
        return Err(Failure::no("there are no settled readings with the engine running")
            .hint(format!("enter some with `oddpot temps {} --at cruise VALUE...`", quote(job))));
    }
    Ok(found)
}

/// `limits`.
#[derive(Debug, Serialize)]
struct LimitsDocument<'a> {
    limits: Vec<LimitDocument>,
    builder_limit: Option<Celsius>,
    faults: Vec<FaultDocument<'a>>,
    overall: Vec<OverallDocument>,
    /// The table, where it was asked for on standard output.
    #[serde(skip_serializing_if = "Option::is_none")]
    csv: Option<&'a str>,
}

#[derive(Debug, Serialize)]
struct LimitDocument {
    display: Cylinder,
    at: &'static str,
    site: ProbeSite,
    usual: f64,
    limit: f64,
    delay_s: f64,
    false_alarms_per_hour: f64,
}

/// What the limits see of a cause.
#[derive(Debug, Serialize)]
struct FaultDocument<'a> {
    cause: &'a str,
    share: f64,
    seen: Vec<SeenDocument>,
}

#[derive(Debug, Serialize)]
struct SeenDocument {
    at: &'static str,
    site: ProbeSite,
    chance_in_an_hour: f64,
    shift: f64,
    seconds: Option<f64>,
}

#[derive(Debug, Serialize)]
struct OverallDocument {
    at: &'static str,
    site: ProbeSite,
    chance_in_an_hour: f64,
}

impl<'a> LimitsDocument<'a> {
    fn of(knowledge: &'a Knowledge, timeline: &Timeline, limits: &Limits) -> Self {
        let rows = limits.rows.iter().map(|row| LimitDocument {
            display: row.display,
            at: row.kind.at.as_str(),
            site: row.kind.site,
            usual: row.usual,
            limit: row.rule.limit,
            delay_s: row.rule.delay,
            false_alarms_per_hour: row.per_hour,
        });
        let overall = limits.overall.iter().map(|(kind, chance)| OverallDocument {
            at: kind.at.as_str(),
            site: kind.site,
            chance_in_an_hour: *chance,
        });
        Self {
            limits: rows.collect(),
            builder_limit: timeline.builder_limit,
            faults: limits.faults.iter().map(|fault| FaultDocument::of(knowledge, fault)).collect(),
            overall: overall.collect(),
            csv: None,
        }
    }
}

impl<'a> FaultDocument<'a> {
    fn of(knowledge: &'a Knowledge, fault: &Fault) -> Self {
        let seen = fault.seen.iter().map(|seen| SeenDocument {
            at: seen.kind.at.as_str(),
            site: seen.kind.site,
            chance_in_an_hour: seen.chance,
            shift: seen.shift,
            seconds: seen.seconds,
        });
        Self { cause: &knowledge.causes[fault.cause].id, share: fault.share, seen: seen.collect() }
    }
}
