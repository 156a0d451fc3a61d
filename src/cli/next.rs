//! `oddpot next`: the recommendation.

use std::collections::BTreeSet;
use std::time::{Duration, Instant};

use super::ahead::ahead;
use super::answer::Answer;
use super::card::{Form, put};
use super::context::{Context, quote};
use super::failure::Failure;
use super::json;
use facts::knowledge::Knowledge;
use judge::plan::{Thinking, Wishes};
use judge::{diagnosis, plan};
use pages::report;

/// Show what to do next and what each outcome would mean
///
/// What is best is weighed in minutes of labour: parts money by the labour rate, waiting at a
/// fraction. `oddpot next JOB --within 40` asks instead for what most likely cures within forty
/// minutes on the clock.
///
/// With --sheet the next three steps are put on a sheet to print and take to the car: what to
/// do, what it takes, and room for what it shows. The first is the recommendation; each further
/// one is what most probably follows.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot next van
  oddpot next van --sheet --format pdf -o bench.pdf")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Think this many seconds longer; what is said may then differ from run to run
    ///
    /// Without it a fixed amount of work is done, and the same job gives the same answer to the
    /// byte.
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    think: Option<f64>,
    /// What an hour of labour costs, in the currency of the parts' prices
    #[arg(long, value_name = "MONEY", value_parser = above_nought)]
    labour_rate: Option<f64>,
    /// Minutes of labour that each run at load counts on top while a cylinder may really overheat
    #[arg(long, value_name = "MINUTES", default_value_t = 0.0, value_parser = minutes)]
    risk: f64,
    /// Minutes of labour that an engine counts on top which is sent away with its fault and comes back
    #[arg(long, value_name = "MINUTES", value_parser = minutes)]
    comeback: Option<f64>,
    /// Minutes of labour that a new engine part counts on top where the old one was sound
    #[arg(long, value_name = "MINUTES", value_parser = minutes)]
    part_in_vain: Option<f64>,
    /// Minutes on the clock there are: advise what most likely cures in them
    #[arg(long, value_name = "MINUTES", value_parser = minutes)]
    within: Option<f64>,
    /// Show what every figure that was doubted, off by two, would change
    #[arg(long)]
    sensitivity: bool,
    /// The next three steps as a sheet for the bench
    #[arg(long, conflicts_with_all = ["think", "within", "sensitivity"])]
    sheet: bool,
    #[command(flatten)]
    form: Form,
}

/// Longest time to think, in seconds.
const LONGEST: f64 = 600.0;

fn number(text: &str, low: f64, high: f64, what: &str) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| format!("{what} is a number, as 40"))?;
    if low <= value && value <= high {
        Ok(value)
    } else {
        Err(format!("{what} is from {low} to {high}"))
    }
}

fn seconds(text: &str) -> Result<f64, String> {
    number(text, 0.0, LONGEST, "the time to think")
}

fn minutes(text: &str) -> Result<f64, String> {
    number(text, 0.0, 1e5, "a time in minutes")
}

fn above_nought(text: &str) -> Result<f64, String> {
    number(text, 0.01, 1e6, "the price of an hour")
}

/// Steps on the bench sheet.
const STEPS: usize = 3;

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut view = context.view(&args.job)?;
    if let Some(an_hour) = args.labour_rate {
        view.knowledge.constants.rates.labour_per_minute = an_hour / 60.0;
    }
    if let Some(minutes) = args.comeback {
        view.knowledge.constants.comeback = minutes;
    }
    if let Some(minutes) = args.part_in_vain {
        view.knowledge.constants.part_in_vain = minutes;
    }
    let (knowledge, timeline) = (&view.knowledge, &view.timeline);
    if args.sheet {
        let ahead = ahead(&view, context.now, STEPS);
        return put(context, &report::bench(knowledge, &view.journal, &ahead), &args.form);
    }
    let diagnosis = diagnosis::diagnose(knowledge, timeline);
    let assessment = &diagnosis.assessment;
    let is_up = args.think.map(time_is_up);
    let thinking = Thinking {
        time_is_up: is_up.as_ref().map(|is_up| is_up as &dyn Fn() -> bool),
        ..Thinking::default()
    };
    let in_time = args.within.and_then(|minutes| {
        let clock = on_the_clock(knowledge);
        plan::in_time(&diagnosis::diagnose(&clock, timeline), minutes)
    });
    let wishes = Wishes { thinking, risk: args.risk, in_time };
    let advice = plan::advise_as_wished(&diagnosis, &wishes);
    let job = quote(&args.job);
    let scale = context.scale();
    let whole = context.detail || args.sensitivity || !args.form.is_plain();
    let mut doc = if whole {
        report::next(knowledge, timeline, assessment, &advice, &job, scale)
    } else {
        let local = &context.local;
        let known = report::Known { knowledge, timeline, assessment, scale, local };
        let (told, foot) = (BTreeSet::new(), context.foot());
        // What the time is good for has its own lines.
        let lines = report::LINES - if args.within.is_some() { 5 } else { 0 };
        let room = report::Room { lines, job: Some(&job), told: &told, foot: &foot };
        report::next_at_a_glance(&known, &advice, &room)
    };
    if let Some(minutes) = args.within {
        report::within(&mut doc, advice.in_time, minutes);
    }
    if args.sensitivity {
        report::sensitivity(&mut doc, knowledge, timeline, &advice);
    }
    if !args.form.is_plain() {
        return put(context, &doc, &args.form);
    }
    let document = json::advice(json::Of { knowledge, timeline, job: &args.job }, &advice);
    let document = json::with_stop(document, knowledge, timeline);
    Ok(Answer::new(context.whole(&doc), document))
}

/// Costs as minutes on the clock: waiting counts whole, money nothing.
fn on_the_clock(knowledge: &Knowledge) -> Knowledge {
    let mut clock = knowledge.clone();
    clock.constants.rates.wait_weight = 1.0;
    clock.constants.rates.labour_per_minute = f64::INFINITY;
    clock.constants.comeback = 0.0;
    clock.constants.part_in_vain = 0.0;
    clock
}

#[expect(clippy::disallowed_methods, reason = "the command layer may look at the clock")]
fn time_is_up(seconds: f64) -> impl Fn() -> bool {
    let end = Instant::now() + Duration::from_secs_f64(seconds);
    move || Instant::now() >= end
}
