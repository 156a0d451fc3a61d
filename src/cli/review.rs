//! `oddpot knowledge review`: what the overlay would have changed on past jobs.

use serde_json::{Value, json};

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use crate::job::entry::Journal;
use crate::job::store;
use crate::knowledge::Knowledge;
use crate::report;
use crate::review::{Reviewed, Said, review};

/// Show how the overlay would have changed the advice on past jobs
///
/// Goes through the jobs of the store, each moment at which something had to be decided: first suspect
/// and next step with the built-in knowledge alone and with the folder of --knowledge. For proven jobs
/// it says whether the true cause went up or down. The workshop's memory is left out of it.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot knowledge review --knowledge mine
  oddpot knowledge review --knowledge mine --jobs yard --last 100")]
pub(super) struct Args {
    /// How many jobs to go through, those worked on last; each takes a second or so
    #[arg(long, value_name = "N", default_value_t = 20)]
    last: usize,
    /// Every decision, not only those on which something is said otherwise
    #[arg(long)]
    all: bool,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    if context.overlay.is_none() {
        return Err(Failure::usage("no folder was given whose change is to be reviewed")
            .hint("say which, as `oddpot knowledge review --knowledge mine`"));
    }
    let after = context.knowledge()?;
    let before = Context { overlay: None, ..context.clone() }.knowledge()?;
    let folder = context.store()?;
    let mut notes = Vec::new();
    let mut names = Vec::new();
    for scanned in store::scan(&folder)? {
        match scanned.job {
            Ok(brief) => names.push((brief.entered, scanned.name)),
            Err(error) => notes.push(format!("`{}` was left out: {error}", scanned.name)),
        }
    }
    let of = names.len();
    names.sort_by(|a, b| b.cmp(a));
    names.truncate(args.last);
    let mut journals: Vec<(String, Journal)> = Vec::new();
    for (_, name) in names {
        journals.push((name.clone(), store::open(&store::locate(&name, &folder)?)?));
    }
    let jobs = in_two(&before, &after, &journals);
    let doc = report::review(&after, &jobs, (of, args.all));
    let document = json!({
        "jobs": jobs.iter().map(|(name, job)| document(name, job)).collect::<Vec<Value>>(),
        "left_out": of - jobs.len(),
    });
    Ok(Answer::new(context.page(&doc), document).notes(notes))
}

/// Jobs do not depend on each other, so that two workers share them; the order stays.
fn in_two(
    before: &Knowledge,
    after: &Knowledge,
    journals: &[(String, Journal)],
) -> Vec<(String, Reviewed)> {
    let part = |from: usize| {
        let mine = journals.iter().enumerate().skip(from).step_by(2);
        mine.map(|(at, (name, journal))| (at, (name.clone(), review(before, after, journal))))
            .collect::<Vec<_>>()
    };
    let mut all = std::thread::scope(|scope| {
        let other = scope.spawn(|| part(1));
        let mut own = part(0);
        own.extend(other.join().unwrap_or_else(|bug| std::panic::resume_unwind(bug)));
        own
    });
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().map(|(_, job)| job).collect()
}

fn document(name: &str, job: &Reviewed) -> Value {
    let said = |said: &Said| {
        json!({
            "first": said.first.as_ref().map(|(id, place, probability)| {
                json!({"id": id, "place": place.code(), "probability": probability})
            }),
            "kind": said.kind,
            "id": said.id,
            "place": said.place,
            "truth": said.truth,
        })
    };
    let decisions = job.decisions.iter().map(|decision| {
        json!({
            "entry": decision.entry,
            "before": said(&decision.before),
            "after": said(&decision.after),
        })
    });
    let proven = job.proven.as_ref();
    json!({
        "name": name,
        "changed": job.changed(),
        "proven": proven.map(|(id, place)| json!({"id": id, "place": place.code()})),
        "score": job.score().map(|(before, after)| json!({"before": before, "after": after})),
        "decisions": decisions.collect::<Vec<_>>(),
    })
}
