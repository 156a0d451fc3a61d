//! `oddpot remedy`: a cause was remedied.

use super::answer::Answer;
use super::context::{Context, quote};
use super::failure::Failure;
use super::subject;
use facts::job::entry::What;
use judge::diagnosis::assess;
use measure::engine::Place;
use pages::report;

/// Enter that a cause was remedied
///
/// `oddpot remedy van fit-shallow@2`; pairs are `cause@1-4`, banks `cause@bank-2`. Numbers are
/// those of the job's beginning. Without a place the most probable one is taken.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot remedy van fit-shallow@2")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Cause id, with its place
    #[arg(value_name = "CAUSE[@PLACE]")]
    cause: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut work = context.work(&args.job)?;
    let (id, at) = subject::split(&args.cause);
    let (knowledge, timeline) = (&work.knowledge, &work.timeline);
    let index = subject::cause(knowledge, &timeline.engine, id)?;
    let cause = &knowledge.causes[index];
    let Some(remedy) = &cause.remedy else {
        return Err(Failure::usage(format!("`{id}` is no fault: there is nothing to remedy"))
            .hint(format!(
                "`oddpot record {}` enters the difference as normal",
                quote(&args.job)
            )));
    };
    let place =
        subject::place(knowledge, &timeline.engine, index, at, || assess(knowledge, timeline))?;
    let notes = at.is_none().then(|| {
        format!(
            "taken for {place}, the most probable; `oddpot undo` and `{id}@PLACE` if it was \
             elsewhere"
        )
    });
    let whereto = match place {
        Place::Nowhere => String::new(),
        place => format!("@{}", place.code()),
    };
    let said = format!("{} at {place} remedied: {}", cause.name, remedy.what);
    let what = What::Remedy { cause: cause.id.clone(), place };
    let history = timeline.history.as_ref();
    let before =
        history.and_then(|history| report::came_back(history, &cause.id, place, &context.local));
    let next = format!("take readings, then `oddpot verify {}`", quote(&args.job));
    Ok(work
        .enter(format!("remedy {id}{whereto}"), what, &said)?
        .notes(notes)
        .notes(before)
        .notes([next]))
}
