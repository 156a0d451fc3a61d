//! `oddpot verify`: is it gone, and is the cause proven?

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::json;
use judge::{diagnosis, plan};
use pages::report;

/// Check that the fault is gone and its cause proven
///
/// Exit status 1 when it is not.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot verify van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let view = context.view(&args.job)?;
    let (knowledge, timeline) = (&view.knowledge, &view.timeline);
    let diagnosis = diagnosis::diagnose(knowledge, timeline);
    let verification = plan::verify(&diagnosis);
    let (assessment, scale) = (&diagnosis.assessment, context.scale());
    let local = &context.local;
    let known = report::Known { knowledge, timeline, assessment, scale, local };
    let doc = report::verify_at_a_glance(&known, &verification, "");
    Ok(Answer::new(
        context.page(&doc),
        json::verification(knowledge, &timeline.engine, &verification),
    )
    .yes_if(verification.verified()))
}
