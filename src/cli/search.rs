//! `oddpot search`: past jobs by vehicle, cause, symptom, or by what their displays showed.

use serde::Serialize;

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use facts::job::brief::Brief;
use facts::job::store;
use facts::job::timeline::{Closing, Standing};
use judge::search::{ALIKE, Wanted, distance};
use pages::report;

/// Search the jobs of the store
///
/// Words are looked for in name, vehicle and plate, complaint, causes, remedies, parts touched, what was noted
/// of them, and why the job was closed; of several words and options all must be so.
/// With --like the jobs come in order of how like their first readings are to those of a job.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot search van
  oddpot search injector
  oddpot search --vehicle 'blue estate'
  oddpot search --cause fit --symptom low
  oddpot search --like van")]
pub(super) struct Args {
    /// Words to look for
    words: Vec<String>,
    /// Part of the vehicle's name
    #[arg(long, value_name = "TEXT")]
    vehicle: Option<String>,
    /// Id of the cause that was remedied, or of a group of causes
    #[arg(long, value_name = "ID")]
    cause: Option<String>,
    /// What a display showed (high, low, open, stuck, falling, erratic), or words of the complaint
    #[arg(long, value_name = "TEXT")]
    symptom: Option<String>,
    /// A job, in the store or a path, whose readings those found must be like
    #[arg(long, value_name = "JOB")]
    like: Option<String>,
    /// Most jobs to show
    #[arg(long, value_name = "N", default_value_t = 20)]
    limit: usize,
}

/// A job that was found.
struct Found {
    name: String,
    brief: Brief,
    far: Option<f64>,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let knowledge = context.knowledge()?;
    let like = match &args.like {
        Some(job) => Some(Brief::of(&context.view(job)?.journal)),
        None => None,
    };
    if let Some(job) = &like
        && job.seen.is_empty()
    {
        return Err(Failure::usage("that job has no readings from before anything was touched")
            .hint("only such readings can be held against those of other jobs"));
    }
    let wanted = Wanted {
        words: args.words.clone(),
        vehicle: args.vehicle.clone(),
        cause: args.cause.clone(),
        symptom: args.symptom.clone(),
    };
    let mut notes = Vec::new();
    let mut found = Vec::new();
    let mut looked_at = 0;
    let mut causes = std::collections::BTreeSet::new();
    for scanned in store::scan(&context.store()?)? {
        let brief = match scanned.job {
            Ok(brief) => brief,
            Err(error) => {
                notes.push(format!("`{}` was not searched: {error}", scanned.name));
                continue;
            }
        };
        looked_at += 1;
        causes.extend(brief.put_right.iter().cloned());
        if !wanted.finds(&knowledge, &scanned.name, &brief) {
            continue;
        }
        let far = match &like {
            Some(job) if job.key == brief.key => continue,
            Some(job) => match distance(&knowledge, job, &brief) {
                Some(far) if far <= ALIKE => Some(far),
                _ => continue,
            },
            None => None,
        };
        found.push(Found { name: scanned.name, brief, far });
    }
    // The nearest first, of equal ones that opened last.
    found.sort_by(|a, b| {
        let far = |f: &Found| f.far.unwrap_or(0.0);
        far(a)
            .total_cmp(&far(b))
            .then_with(|| b.brief.opened.cmp(&a.brief.opened))
            .then_with(|| a.name.cmp(&b.name))
    });
    if found.is_empty()
        && let Some(cause) = &args.cause
    {
        let groups = knowledge.groups.iter().map(|group| group.id.as_str());
        let ids = knowledge.causes.iter().map(|cause| cause.id.as_str()).chain(groups);
        let ids: Vec<&str> = ids.chain(causes.iter().map(String::as_str)).collect();
        if !ids.contains(&cause.as_str()) {
            return Err(Failure::unknown("cause or group", cause, ids));
        }
    }
    let all = found.len();
    found.truncate(args.limit);
    let lines: Vec<report::FoundLine> = found
        .iter()
        .map(|f| report::FoundLine { name: f.name.clone(), job: &f.brief, far: f.far })
        .collect();
    let doc = report::search(&knowledge, &lines, (all, looked_at), &context.local);
    let jobs = found.iter().map(FoundDocument::of).collect();
    let document = SearchDocument { looked_at, found: all, jobs };
    Ok(Answer::new(context.page(&doc), document).notes(notes))
}

/// `search`.
#[derive(Debug, Serialize)]
struct SearchDocument<'a> {
    looked_at: usize,
    found: usize,
    jobs: Vec<FoundDocument<'a>>,
}

#[derive(Debug, Serialize)]
struct FoundDocument<'a> {
    name: &'a str,
    opened: String,
    vehicle: &'a str,
    complaint: &'a str,
    closed: bool,
    proven: bool,
    cause: Option<&'a str>,
    place: Option<String>,
    /// How far it is from the job that others are held against.
    distance: Option<f64>,
}

impl<'a> FoundDocument<'a> {
    fn of(found: &'a Found) -> Self {
        let brief = &found.brief;
        Self {
            name: &found.name,
            opened: brief.opened.to_string(),
            vehicle: &brief.vehicle,
            complaint: &brief.complaint,
            closed: matches!(brief.standing, Standing::Closed(_)),
            proven: brief.standing == Standing::Closed(Closing::Proven),
            cause: brief.remedied.as_ref().map(|(cause, _)| cause.as_str()),
            place: brief.remedied.as_ref().map(|(_, place)| place.code()),
            distance: found.far,
        }
    }
}
