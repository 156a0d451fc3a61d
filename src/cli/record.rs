//! `oddpot record`: the oddness is this engine's normal.

use super::answer::Answer;
use super::context::{Context, Work, quote};
use super::failure::Failure;
use facts::job::entry::What;
use judge::diagnosis::diagnose;
use judge::plan::{self, JobEnd, Step};

/// Enter that the difference is this engine's normal
///
/// Taken where `oddpot next` calls the job normal, and nowhere else. The job can then be closed
/// without a remedy.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot record van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut work = context.work(&args.job)?;
    if work.timeline.sets.is_empty() {
        return Err(Failure::usage("there are no readings to record").hint(format!(
            "enter some with `oddpot temps {} --at POINT VALUE...`",
            quote(&args.job)
        )));
    }
    let diagnosis = diagnose(&work.knowledge, &work.timeline);
    if plan::advise(&diagnosis).best.step != Step::End(JobEnd::Normal) {
        let missing = plan::ends(&diagnosis).normal;
        return Err(Failure::no("this is not normal yet: it was not recorded")
            .hints(missing.iter().map(|m| format!("missing: {m}")))
            .hint(format!("`oddpot next {}` says how to go on", quote(&args.job))));
    }
    enter(&mut work)
}

/// Enters that what the displays show is this engine's normal.
///
/// # Errors
/// When it cannot be kept.
pub(super) fn enter(work: &mut Work) -> Result<Answer, Failure> {
    work.enter(
        "record".to_owned(),
        What::Recorded,
        "the difference was recorded as this engine's normal",
    )
}
