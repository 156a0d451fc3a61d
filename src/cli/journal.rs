//! `oddpot journal`: all entries.

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::json;
use pages::report;

/// Show all entries, those taken back too
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot journal van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let (view, note) = context.view_anyway(&args.job)?;
    let doc = report::journal(&view.knowledge, &view.journal, context.scale(), &context.local);
    let unknown = view.timeline.unknown.iter().map(|(number, id)| {
        format!("entry {number} is not used: the knowledge base has no `{id}`")
    });
    Ok(Answer::new(context.newest(&doc), json::journal(&view.journal)).notes(note).notes(unknown))
}
