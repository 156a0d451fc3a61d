//! `oddpot balance`: small trims of single cylinders, once everything else is cleared.

use serde::Serialize;
use serde_json::json;

use super::answer::Answer;
use super::context::{Context, quote};
use super::failure::Failure;
use super::points;
use facts::job::entry::What;
use facts::job::timeline::Timeline;
use facts::job::trim::{Foreseen, Lever, MixtureSign};
use facts::knowledge::{Knowledge, RunningPoint};
use judge::balance::plan::{Next, Outcome};
use judge::balance::{Asked, Balance, Now, Refusal, allowed, balance, foresee};
use judge::diagnosis::{assess, diagnose};
use judge::plan;
use measure::engine::{Cylinder, PointId};
use pages::report;

/// Balance mixtures by small trims, once nothing else is wrong
///
/// Without an option it says what the next step is, what that should do, or why nothing is trimmed
/// (exit status 1). One cylinder at a time: a sign of its mixture that does not hang on its display,
/// a small step, richer first, readings, the comparison with what was foreseen. Trims are given
/// against where they stood when the job was opened. Diesels are recorded, not levelled.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot balance van
  oddpot balance van --sign 2=lean --by 'plug colour'
  oddpot balance van --at cruise --trim 2=1.5
  oddpot balance van --back")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// The running point, instead of the one read last
    #[arg(long, value_parser = points::held())]
    at: Option<PointId>,
    /// Trim the spark, in degrees, instead of the fuel, in per cent
    #[arg(long)]
    spark: bool,
    /// Trims act by load: a leaner one at light load is not leaner at full load
    #[arg(long)]
    by_load: bool,
    /// Enter that a cylinder's trim was set: per cent richer or degrees later than it stood
    #[arg(long, value_name = "N=TO", group = "what")]
    trim: Option<String>,
    /// Enter an independent sign of a cylinder's mixture: lean, rich or even
    #[arg(long, value_name = "N=SIGN", group = "what", requires = "by")]
    sign: Option<String>,
    /// By what the sign was seen
    #[arg(long, value_name = "TEXT", requires = "sign")]
    by: Option<String>,
    /// Enter that every trim was put back to where it stood
    #[arg(long, group = "what")]
    back: bool,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let lever = if args.spark { Lever::Spark } else { Lever::Fuel };
    let asked = |knowledge: &Knowledge| {
        Ok::<Asked, Failure>(Asked { lever, at: at(knowledge, args)?, by_load: args.by_load })
    };
    if let Some(given) = &args.trim {
        return trim(context, args, &asked, given);
    }
    if let (Some(given), Some(by)) = (&args.sign, &args.by) {
        let mut work = context.work(&args.job)?;
        let (cylinder, sign) = pair(given, "sign")?;
        let sign: MixtureSign = sign.parse().map_err(|e: measure::names::UnknownName| {
            Failure::usage(e.to_string()).hint("as `--sign 2=lean`")
        })?;
        let what = What::Sign { cylinder, sign, by: by.clone() };
        let said = format!("cylinder {cylinder} is {} by {by}", report::terms::mixture_sign(sign));
        return work.enter(format!("balance --sign {given} --by {}", quote(by)), what, &said);
    }
    if args.back {
        return back(context, &args.job);
    }
    let view = context.view(&args.job)?;
    let found = stands(&view.knowledge, &view.timeline, asked(&view.knowledge)?);
    let foreseen = match found.now {
        Now::Next(Next::Step { cylinder, to, .. }) => {
            foresee(&view.knowledge, &view.timeline, &found, cylinder, to)
        }
        _ => None,
    };
    let job = quote(&args.job);
    let (knowledge, scale) = (&view.knowledge, context.scale());
    let about = report::BalancePage { foreseen, job: Some(job.as_str()), again: false };
    let page = if context.detail {
        report::balance(knowledge, &view.timeline, &found, about, scale)
    } else {
        report::balance_at_a_glance(knowledge, &found, about, scale, &context.foot())
    };
    let document = BalanceDocument::of(&found, foreseen);
    Ok(Answer::new(context.page(&page), document).yes_if(found.barriers.is_empty()))
}

/// Where it was asked for: a point at which a warm engine is held.
fn at(knowledge: &Knowledge, args: &Args) -> Result<Option<RunningPoint>, Failure> {
    let at = points::known_if(&knowledge.points, args.at)?;
    if let Some(at) = at.filter(|at| !at.settled) {
        let all: Vec<&str> = knowledge.points.settled().map(RunningPoint::as_str).collect();
        return Err(Failure::usage(format!("nothing is trimmed at {at}: no engine is held there"))
            .hint(format!("it is one of {}", all.join(", "))));
    }
    Ok(at)
}

fn stands(knowledge: &Knowledge, timeline: &Timeline, asked: Asked) -> Balance {
    let assessment = assess(knowledge, timeline);
    let verification = plan::verify(&diagnose(knowledge, timeline));
    balance(knowledge, timeline, (&assessment, &verification), asked)
}

/// Enters a trim, if the rules allow it.
fn trim(
    context: &Context,
    args: &Args,
    asked: &dyn Fn(&Knowledge) -> Result<Asked, Failure>,
    given: &str,
) -> Result<Answer, Failure> {
    let mut work = context.work(&args.job)?;
    let (cylinder, to) = pair(given, "trim")?;
    let to: f64 = to.replace(',', ".").replace('\u{2212}', "-").parse().map_err(|_| {
        Failure::usage(format!("`{to}` is no trim"))
            .hint("as `--trim 2=1.5`, against where it stood")
    })?;
    let asked = asked(&work.knowledge)?;
    let lever = asked.lever;
    let found = stands(&work.knowledge, &work.timeline, asked);
    allowed(&work.timeline, &found, cylinder, to).map_err(|refusal| match refusal {
        Refusal::Barred => {
            let reasons = found.barriers.iter().map(report::barrier);
            Failure::no("nothing is trimmed now: nothing was entered").hints(reasons)
        }
        Refusal::OneAtATime => Failure::no("one step at a time: nothing was entered")
            .hint(format!("`oddpot balance {}` says what comes first", quote(&args.job))),
        Refusal::Plan(why) => Failure::no(format!(
            "cylinder {cylinder} is not set to {}: {}",
            report::terms::trim(lever, to),
            report::refused(why, lever)
        )),
    })?;
    let foreseen = foresee(&work.knowledge, &work.timeline, &found, cylinder, to);
    let spark = if lever == Lever::Spark { " --spark" } else { "" };
    let typed = format!("balance{spark} --at {} --trim {given}", found.at);
    let said = format!(
        "{} of cylinder {cylinder} set to {}",
        report::terms::lever(lever),
        report::terms::trim(lever, to)
    );
    let what = What::Trim { lever, cylinder, to, foreseen };
    let mut answer = work.enter(typed, what, &said)?;
    answer.json["foreseen"] = json!(foreseen);
    let expected = foreseen.map(|f| report::foreseeing(found.at, f, context.scale()));
    Ok(answer.notes(expected).notes([format!(
        "let it settle, then `oddpot temps {} --at {} VALUE...`",
        quote(&args.job),
        found.at
    )]))
}

/// Enters that every trim was put back.
fn back(context: &Context, job: &str) -> Result<Answer, Failure> {
    let mut work = context.work(job)?;
    let off: Vec<(Lever, Cylinder)> = work.timeline.trimming.now.keys().copied().collect();
    let mut last = None;
    for (lever, cylinder) in off {
        let what = What::Trim { lever, cylinder, to: 0.0, foreseen: None };
        let said = format!(
            "{} of cylinder {cylinder} put back to where it stood",
            report::terms::lever(lever)
        );
        let answer = work.enter("balance --back".to_owned(), what, &said)?;
        last = Some(match last.take() {
            None => answer,
            Some(Answer { text, .. }) => {
                Answer { text: format!("{text}{}", answer.text), ..answer }
            }
        });
    }
    last.ok_or_else(|| Failure::usage("every trim is where it stood: nothing was entered"))
}

/// A cylinder and what follows the equals sign.
fn pair<'a>(given: &'a str, what: &str) -> Result<(Cylinder, &'a str), Failure> {
    let parts = given.split_once('=');
    let read = parts.and_then(|(n, to)| Some((n.trim().parse().ok()?, to.trim())));
    read.ok_or_else(|| {
        Failure::usage(format!("`{given}` is no {what}")).hint(format!(
            "a cylinder, `=` and the {what}, as `--{what} 2={}`",
            if what == "sign" { "lean" } else { "1.5" }
        ))
    })
}

/// `balance`.
#[derive(Debug, Serialize)]
struct BalanceDocument {
    lever: Lever,
    at: &'static str,
    next: &'static str,
    /// Of the next step.
    cylinder: Option<Cylinder>,
    to: Option<f64>,
    /// What the next step is expected to do.
    foreseen: Option<Foreseen>,
    barriers: Vec<String>,
    level: f64,
    cylinders: Vec<PotDocument>,
    steps: Vec<TakenDocument>,
    left: Vec<LeftDocument>,
}

#[derive(Debug, Serialize)]
struct PotDocument {
    cylinder: Cylinder,
    off: f64,
    trim: f64,
    response: Option<f64>,
    response_error: Option<f64>,
    sign: Option<MixtureSign>,
}

/// A step that was taken, with how it came out.
#[derive(Debug, Serialize)]
struct TakenDocument {
    entry: usize,
    lever: Lever,
    cylinder: Cylinder,
    from: f64,
    to: f64,
    foreseen: Option<Foreseen>,
    came: Option<f64>,
    as_foreseen: Option<bool>,
}

/// A cylinder that is left as it is, and why.
#[derive(Debug, Serialize)]
struct LeftDocument {
    cylinder: Cylinder,
    why: &'static str,
}

impl BalanceDocument {
    fn of(found: &Balance, foreseen: Option<Foreseen>) -> Self {
        let (next, cylinder, to) = match &found.now {
            Now::Barred => ("barred", None, None),
            Now::Read | Now::Next(Next::ReadAgain) => ("read", None, None),
            Now::PutBack { cylinder, to } => ("put-back", Some(*cylinder), Some(*to)),
            Now::Next(Next::AskSign { cylinder }) => ("sign", Some(*cylinder), None),
            Now::Next(Next::Step { cylinder, to, .. }) => ("trim", Some(*cylinder), Some(*to)),
            Now::Next(Next::Done { .. }) => ("done", None, None),
        };
        let left = match &found.now {
            Now::Next(Next::Done { left }) => left.as_slice(),
            _ => &[],
        };
        let cylinders = found.pots.iter().map(|pot| PotDocument {
            cylinder: pot.cylinder,
            off: pot.off,
            trim: pot.stands,
            response: pot.slope.map(|slope| slope.value),
            response_error: pot.slope.map(|slope| slope.se),
            sign: pot.sign,
        });
        let steps = found.taken.iter().map(|taken| TakenDocument {
            entry: taken.step.entry,
            lever: taken.step.lever,
            cylinder: taken.step.cylinder,
            from: taken.step.from,
            to: taken.step.to,
            foreseen: taken.step.foreseen,
            came: taken.came,
            as_foreseen: taken.outcome.map(|outcome| outcome == Outcome::AsForeseen),
        });
        let left = left
            .iter()
            .map(|(cylinder, why)| LeftDocument { cylinder: *cylinder, why: report::reason(*why) });
        Self {
            lever: found.lever,
            at: found.at.as_str(),
            next,
            cylinder,
            to,
            foreseen,
            barriers: found.barriers.iter().map(report::barrier).collect(),
            level: found.scene.level,
            cylinders: cylinders.collect(),
            steps: steps.collect(),
            left: left.collect(),
        }
    }
}
