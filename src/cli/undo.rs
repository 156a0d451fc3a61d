//! `oddpot undo`: takes back the last entry.

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::memory;
use facts::job::entry::What;

/// Take back the last entry that stands
///
/// The entry stays in the journal, marked; again takes back the one before it.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot undo van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let (mut work, note) = context.work_anyway(&args.job)?;
    let journal = work.held.journal();
    let Some(number) = journal.last_standing() else {
        return Err(Failure::usage("there is no entry to take back"));
    };
    let undone = journal.entries[number - 1].typed.clone();
    let what = What::Undo { entry: number };
    let said = format!("took back entry {number}, `{undone}`");
    let mut answer = work.enter("undo".to_owned(), what, &said)?;
    answer.json["undone"] = serde_json::json!({"entry": number, "typed": undone});
    Ok(answer.notes(memory::note(context, work.held.journal())).notes(note))
}
