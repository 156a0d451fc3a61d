//! `oddpot dump`: a job's decision problem in numbers, for other programs to recompute.

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use judge::{diagnosis, plan};

/// Show a job's decision problem in numbers, for other programs to recompute
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let view = context.view(&args.job)?;
    let diagnosis = diagnosis::diagnose(&view.knowledge, &view.timeline);
    let dump = plan::dump::dump(&diagnosis);
    let document = serde_json::to_value(&dump)
        .map_err(|error| Failure::usage(format!("the numbers could not be written: {error}")))?;
    Ok(Answer::new(document.to_string(), document))
}
