//! `oddpot close`: the work is done.

use serde_json::json;

use super::answer::Answer;
use super::context::{Context, quote};
use super::exchange::whereabouts;
use super::failure::Failure;
use super::memory;
use crate::diagnosis::{assess, verify};
use crate::job::entry::What;

/// Close a verified job
///
/// A job can be closed when the cure is verified and the cause proven, or when the difference
/// was recorded as natural and nothing was touched since. `--unproven` closes it anyway, and
/// the card says so.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot close van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Close without proof
    #[arg(long)]
    unproven: bool,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut work = context.work(&args.job)?;
    let timeline = &work.timeline;
    let assessment = assess(&work.knowledge, timeline);
    let verification = verify(&work.knowledge, timeline, &assessment);
    let proven = verification.verified();
    let recorded = timeline.is_recorded();
    if !proven && !recorded && !args.unproven {
        return Err(Failure::no("the job is not verified: it was not closed")
            .hints(verification.missing.iter().map(|m| format!("missing: {m}")))
            .hint(format!(
                "`oddpot next {0}` says how to go on, `oddpot close {0} --unproven` closes it \
                 anyway",
                quote(&args.job)
            )));
    }
    let said = match (proven, recorded) {
        (true, _) => "job closed, cure verified and cause proven",
        (false, true) => "job closed, the difference recorded as this engine's normal",
        (false, false) => "job closed without proof",
    };
    let typed = if args.unproven { "close --unproven" } else { "close" };
    let left = (!timeline.arrangement.is_original())
        .then(|| format!("not everything is where it was: {}", whereabouts(&work)));
    let mut answer = work.enter(typed.to_owned(), What::Close { proven }, said)?;
    answer.json["proven"] = json!(proven);
    Ok(answer.notes(left).notes(memory::note(context, work.held.journal())))
}
