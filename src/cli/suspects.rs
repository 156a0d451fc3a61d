//! `oddpot suspects`: the causes, ranked.

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::json;
use crate::{diagnosis, report};

/// Show the causes, most probable first
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot suspects van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let view = context.view(&args.job)?;
    let (knowledge, timeline) = (&view.knowledge, &view.timeline);
    let assessment = diagnosis::assess(knowledge, timeline);
    let doc = report::suspects(knowledge, timeline, &assessment, context.scale());
    Ok(Answer::new(context.page(&doc), json::suspects(knowledge, timeline, &assessment)))
}
