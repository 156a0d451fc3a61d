//! `oddpot reopen`: a closed job is worked on again.

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::memory;
use facts::job::entry::What;
use facts::job::timeline::Standing;

/// Open a closed job again
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot reopen van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut work = context.work_on_any(&args.job)?;
    if work.timeline.standing == Standing::Open {
        return Err(Failure::usage("this job is open: there is nothing to reopen"));
    }
    let answer = work.enter("reopen".to_owned(), What::Reopen, "the job is open again")?;
    Ok(answer.notes(memory::note(context, work.held.journal())))
}
