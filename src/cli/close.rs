//! `oddpot close`: the work is done.

use serde_json::json;

use super::answer::Answer;
use super::context::{Context, quote};
use super::exchange::whereabouts;
use super::failure::Failure;
use super::{memory, record};
use facts::job::entry::What;
use judge::diagnosis::diagnose;
use judge::plan::{self, JobEnd, Step};

/// Close a verified job
///
/// A job can be closed when `oddpot next` calls it proven or normal: gone wherever it showed and
/// the cause known, or nothing off at any point and hardly a fault left; parts that were exchanged
/// are home. `--unproven REASON` closes it anyway; the card keeps the reason.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot close van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Close without proof, and why
    #[arg(long, value_name = "REASON", num_args = 0..=1, default_missing_value = "")]
    unproven: Option<String>,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut work = context.work(&args.job)?;
    let timeline = &work.timeline;
    let diagnosis = diagnose(&work.knowledge, timeline);
    let end = match plan::advise(&diagnosis).best.step {
        Step::End(end) => Some(end),
        _ => None,
    };
    let proven = end == Some(JobEnd::Proven);
    let normal = end == Some(JobEnd::Normal);
    if !proven && !normal && args.unproven.is_none() {
        let ends = plan::ends(&diagnosis);
        let missing = if ends.verification.remedied.is_some() {
            ends.verification.missing
        } else {
            ends.normal
        };
        let home = (!timeline.arrangement.is_original())
            .then(|| "missing: parts that were exchanged are not home".to_owned());
        return Err(Failure::no("the job is at no end that can be shown: it was not closed")
            .hints(missing.iter().map(|m| format!("missing: {m}")).chain(home))
            .hint(format!(
                "`oddpot next {0}` says how to go on, `oddpot close {0} --unproven REASON` closes \
                 it anyway",
                quote(&args.job)
            )));
    }
    let said = match (proven, normal) {
        (true, _) => "job closed, cure verified and cause proven",
        (false, true) => "job closed, the difference recorded as this engine's normal",
        (false, false) => "job closed without proof",
    };
    let reason = args.unproven.clone().filter(|_| !proven && !normal);
    let typed = match reason.as_deref() {
        None => "close".to_owned(),
        Some("") => "close --unproven".to_owned(),
        Some(reason) => format!("close --unproven {}", quote(reason)),
    };
    let reason = reason.filter(|reason| !reason.is_empty());
    if normal && !timeline.is_recorded() {
        record::enter(&mut work)?;
    }
    let timeline = &work.timeline;
    let left = (!timeline.arrangement.is_original())
        .then(|| format!("not everything is where it was: {}", whereabouts(&work)));
    let whereabouts: Vec<String> = timeline
        .arrangement
        .displaced()
        .into_iter()
        .map(|(item, number, at)| format!("{item} {number} at {at}"))
        .collect();
    let mut answer = work.enter(typed, What::Close { proven, reason }, said)?;
    answer.json["proven"] = json!(proven);
    answer.json["end"] = json!(match (proven, normal) {
        (true, _) => "proven",
        (_, true) => "normal",
        _ => "unproven",
    });
    if !whereabouts.is_empty() {
        answer.json["left_exchanged"] = json!(whereabouts);
    }
    Ok(answer.notes(left).notes(memory::note(context, work.held.journal())))
}
