//! `oddpot confirm-load`: running at load is safe here.

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use facts::job::entry::What;

/// Confirm that running at load is safe on this engine
///
/// Until then nothing is advised at load while a cylinder may really be overheating.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot confirm-load van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut work = context.work(&args.job)?;
    work.enter(
        "confirm-load".to_owned(),
        What::LoadConfirmed,
        "running at load was confirmed as safe",
    )
}
