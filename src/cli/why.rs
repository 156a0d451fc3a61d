//! `oddpot why`: the grounds of a suspect, the worth of a test.

use super::answer::Answer;
use super::context::{Context, View};
use super::failure::Failure;
use super::{json, subject};
use judge::diagnosis::{Assessment, CauseRef, Fault};
use judge::plan::Step;
use judge::{diagnosis, plan};
use measure::engine::Cylinder;
use pages::report;

/// Show why a cause is where it is, or what a test is worth
///
/// `oddpot why van fit-shallow@2`, `oddpot why van swap-probe@2`. Without a place the most
/// probable one is taken.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot why van fit-shallow@2
  oddpot why van swap-probe@2")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Cause or test id, with its place
    #[arg(value_name = "CAUSE[@PLACE]|TEST[@N]")]
    subject: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let view = context.view(&args.job)?;
    let (id, at) = subject::split(&args.subject);
    if view.knowledge.test(id).is_some() {
        return why_test(context, &view, &args.job, id, at);
    }
    if view.knowledge.cause(id).is_some() || id == CauseRef::Unlisted.id(&view.knowledge) {
        return why_cause(context, &view, id, at);
    }
    let tests = view.knowledge.tests.iter().map(|t| t.id.as_str());
    let causes = view.knowledge.causes.iter().map(|c| c.id.as_str());
    Err(Failure::unknown("cause or test", id, tests.chain(causes))
        .hint("`oddpot knowledge list` has all ids"))
}

fn why_cause(
    context: &Context,
    view: &View,
    id: &str,
    at: Option<&str>,
) -> Result<Answer, Failure> {
    let (knowledge, timeline) = (&view.knowledge, &view.timeline);
    let assess = || diagnosis::assess(knowledge, timeline);
    let fault = if id == CauseRef::Unlisted.id(knowledge) {
        unlisted(view, at, &assess())?
    } else {
        let index = subject::cause(knowledge, &timeline.engine, id)?;
        Fault {
            cause: CauseRef::Listed(index),
            place: subject::place(knowledge, &timeline.engine, index, at, assess)?,
        }
    };
    let explanation = diagnosis::explain_cause(knowledge, timeline, fault);
    let doc = report::why_cause(knowledge, timeline, &explanation, context.scale(), context.detail);
    Ok(Answer::new(
        context.page(&doc),
        json::cause_explanation(knowledge, &timeline.engine, &explanation),
    ))
}

/// The cause in no list, at the place given or its most probable one.
fn unlisted(view: &View, at: Option<&str>, assessment: &Assessment) -> Result<Fault, Failure> {
    let cause = CauseRef::Unlisted;
    if let Some(code) = at {
        let place = measure::engine::Place::read(code, &view.timeline.engine)?;
        return Ok(Fault { cause, place });
    }
    let best = assessment.suspects.iter().find(|s| s.fault.cause == cause);
    best.map(|suspect| suspect.fault).ok_or_else(|| {
        Failure::usage("nothing speaks for a cause that is in no list")
            .hint("say where, as `unlisted@2`")
    })
}

fn why_test(
    context: &Context,
    view: &View,
    job: &str,
    id: &str,
    at: Option<&str>,
) -> Result<Answer, Failure> {
    let (knowledge, timeline) = (&view.knowledge, &view.timeline);
    let index = subject::test(knowledge, &timeline.engine, id)?;
    let cylinder = at.map(|code| cylinder(view, code)).transpose()?;
    // Without a cylinder the plan's own is taken.
    let step = Step::Test { test: index, cylinder, partner: None, at: None };
    let diagnosis = diagnosis::diagnose(knowledge, timeline);
    let explanation = plan::explain_test(&diagnosis, step).ok_or_else(|| {
        Failure::usage(format!(
            "`{id}` cannot be done now: a rule of the trade holds it back, or nothing is left \
             that it could tell apart"
        ))
    })?;
    let doc = report::why_test(knowledge, timeline, &explanation, context.detail);
    Ok(Answer::new(
        context.page(&doc),
        json::test_explanation(json::Of { knowledge, timeline, job }, &explanation),
    ))
}

fn cylinder(view: &View, code: &str) -> Result<Cylinder, Failure> {
    let engine = &view.timeline.engine;
    code.parse().ok().filter(|c| (1..=engine.cylinders).contains(c)).ok_or_else(|| {
        Failure::usage(format!(
            "`{code}` is not a cylinder of this engine: it has 1 to {}",
            engine.cylinders
        ))
    })
}
