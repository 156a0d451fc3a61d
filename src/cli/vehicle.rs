//! `oddpot vehicle`: what the jobs of one vehicle say together.

use serde::Serialize;

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use facts::job::entry::{Entry, Journal, What};
use facts::job::fit::FitLine;
use facts::job::history::{Usual, Visit};
use facts::job::store;
use facts::knowledge::Knowledge;
use judge::vehicle::{Drift, Record, key, record};
use measure::engine::{Cylinder, Engine, ProbeSite};
use measure::names::nearest;
use pages::report;

/// Show a vehicle's visits, its usual readings, drift and comebacks
///
/// Jobs are of one vehicle when they were opened with the same `--vehicle` (case and spaces do not
/// matter) on the same engine. Readings count as healthy from jobs closed as proven or as normal,
/// settled, taken since anything was last touched, with every part in its place. A probe fitted anew
/// makes what its display did before void.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot vehicle 'blue tug'
  oddpot vehicle 'blue tug' --json")]
pub(super) struct Args {
    /// The vehicle, as jobs were opened with
    name: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let knowledge = context.knowledge()?;
    let (jobs, known) = jobs(context, &args.name)?;
    let latest = jobs.iter().max_by_key(|(name, journal)| (journal.head.opened, name.clone()));
    let Some((_, latest)) = latest else {
        let near = nearest(&key(&args.name), known.iter().map(String::as_str));
        return Err(Failure::usage(format!("no job is of a vehicle `{}`", args.name))
            .hints(near.map(|name| format!("did you mean `{name}`?")))
            .hint("`oddpot jobs` lists them; `oddpot open JOB --vehicle TEXT` names one"));
    };
    let listed: Vec<(String, &Journal)> = jobs.iter().map(|(n, j)| (n.clone(), j)).collect();
    let found = record(&knowledge, &args.name, &latest.head.engine, &listed, just_after(context));
    let page =
        report::vehicle(&knowledge, &latest.head.vehicle, &found, context.scale(), &context.local);
    Ok(Answer::new(context.page(&page), VehicleDocument::of(&knowledge, &found)))
}

/// Jobs with their names in the store.
type Named = Vec<(String, Journal)>;

/// The jobs of a vehicle that can be read, and how the other vehicles of the store are called.
fn jobs(context: &Context, vehicle: &str) -> Result<(Named, Vec<String>), Failure> {
    let folder = context.store()?;
    let wanted = key(vehicle);
    let mut jobs = Vec::new();
    let mut known = Vec::new();
    for scanned in store::scan(&folder)? {
        let Ok(brief) = scanned.job else { continue };
        let called = key(&brief.vehicle);
        if called.is_empty() {
            continue;
        }
        if called != wanted {
            known.push(called);
            continue;
        }
        let path = store::locate(&scanned.name, &folder);
        if let Some(journal) = path.ok().and_then(|path| store::open(&path).ok()) {
            jobs.push((scanned.name, journal));
        }
    }
    Ok((jobs, known))
}

/// A job opened this very second counts.
fn just_after(context: &Context) -> jiff::Timestamp {
    context.now + jiff::SignedDuration::from_secs(1)
}

/// The entry that carries a vehicle's history into a new job, if there is any.
pub(super) fn history(
    context: &Context,
    knowledge: &Knowledge,
    (vehicle, engine): (&str, &Engine),
) -> Option<(Entry, Vec<String>)> {
    if key(vehicle).is_empty() {
        return None;
    }
    // A job given by its path needs no store, and then has no history.
    let (jobs, _) = jobs(context, vehicle).ok()?;
    let listed: Vec<(String, &Journal)> = jobs.iter().map(|(n, j)| (n.clone(), j)).collect();
    let found = record(knowledge, vehicle, engine, &listed, context.now);
    if found.history.visits.is_empty() {
        return None;
    }
    let used: usize = found.history.visits.iter().map(|visit| visit.sets).sum();
    let mut notes = vec![format!(
        "{} of this vehicle, {} of healthy readings: it is compared with its own history; `oddpot \
         vehicle {}` shows it",
        report::words::count(found.history.visits.len(), "earlier job", "earlier jobs"),
        report::words::count(used, "set", "sets"),
        super::context::quote(vehicle)
    )];
    let local = &context.local;
    notes.extend(report::fitted_before(&found.history, local));
    notes.extend(report::last_time(knowledge, &found.history, local));
    notes.extend(
        found
            .drifts
            .iter()
            .filter(|drift| drift.drifts())
            .map(|drift| format!("display {} drifts at {}", drift.display, drift.kind.at)),
    );
    let what = What::History(found.history);
    Some((Entry::new(context.now, "history of the vehicle".to_owned(), what), notes))
}

/// `vehicle`.
#[derive(Debug, Serialize)]
struct VehicleDocument<'a> {
    visits: Vec<VisitDocument<'a>>,
    usual: &'a [Usual],
    commissioned: Option<String>,
    identified: Vec<IdentifiedDocument>,
    fit: Vec<FitDocument<'a>>,
    drifts: Vec<DriftDocument>,
    comebacks: Vec<ComebackDocument<'a>>,
    other_engines: &'a [String],
}

#[derive(Debug, Serialize)]
struct VisitDocument<'a> {
    job: &'a str,
    opened: String,
    cause: Option<&'a str>,
    place: Option<String>,
    believed: Option<f64>,
    proven: bool,
    sets: usize,
    left_out: &'a str,
}

/// A display that was shown to be its cylinder's, and when.
#[derive(Debug, Serialize)]
struct IdentifiedDocument {
    display: Cylinder,
    shown: String,
}

#[derive(Debug, Serialize)]
struct FitDocument<'a> {
    cylinder: Cylinder,
    line: &'a FitLine,
}

#[derive(Debug, Serialize)]
struct DriftDocument {
    display: Cylinder,
    at: &'static str,
    site: ProbeSite,
    drifts: bool,
    degrees_a_year: f64,
    error: f64,
    chance: f64,
    chance_by_order: Option<f64>,
    band: f64,
    leaves: Option<String>,
    leaves_earliest: Option<String>,
    /// Time and distance from the others, °C.
    points: Vec<(String, f64)>,
}

/// A cause that was put right more than once.
#[derive(Debug, Serialize)]
struct ComebackDocument<'a> {
    cause: &'a str,
    known: bool,
    jobs: Vec<&'a str>,
}

impl<'a> VehicleDocument<'a> {
    fn of(knowledge: &Knowledge, record: &'a Record) -> Self {
        let history = &record.history;
        let identified = history.identified.iter();
        let comebacks = record.comebacks.iter().map(|(cause, list)| ComebackDocument {
            cause,
            known: knowledge.cause(cause).is_some(),
            jobs: list.iter().map(|&index| history.visits[index].job.as_str()).collect(),
        });
        Self {
            visits: history.visits.iter().map(VisitDocument::of).collect(),
            usual: &history.usual,
            commissioned: history.commissioned.map(|time| time.to_string()),
            identified: identified
                .map(|(display, time)| IdentifiedDocument {
                    display: *display,
                    shown: time.to_string(),
                })
                .collect(),
            fit: history
                .fit
                .iter()
                .map(|(cylinder, line)| FitDocument { cylinder: *cylinder, line })
                .collect(),
            drifts: record.drifts.iter().map(DriftDocument::of).collect(),
            comebacks: comebacks.collect(),
            other_engines: &record.other_engines,
        }
    }
}

impl<'a> VisitDocument<'a> {
    fn of(visit: &'a Visit) -> Self {
        Self {
            job: &visit.job,
            opened: visit.opened.to_string(),
            cause: visit.cause.as_ref().map(|(id, _)| id.as_str()),
            place: visit.cause.as_ref().map(|(_, place)| place.code()),
            believed: visit.believed,
            proven: visit.proven,
            sets: visit.sets,
            left_out: &visit.left_out,
        }
    }
}

impl DriftDocument {
    fn of(drift: &Drift) -> Self {
        let (slope, se) = drift.a_year();
        let points = drift.points.iter();
        Self {
            display: drift.display,
            at: drift.kind.at.as_str(),
            site: drift.kind.site,
            drifts: drift.drifts(),
            degrees_a_year: slope,
            error: se,
            chance: drift.chance,
            chance_by_order: drift.order.map(|order| order.p_value),
            band: drift.band,
            leaves: drift.leaves.map(|(expected, _)| expected.to_string()),
            leaves_earliest: drift.leaves.map(|(_, earliest)| earliest.to_string()),
            points: points.map(|(time, value)| (time.to_string(), *value)).collect(),
        }
    }
}
