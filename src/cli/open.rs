//! `oddpot open`: starts a job.

use serde_json::json;

use super::answer::Answer;
use super::context::{Context, quote};
use super::engine_args::EngineArgs;
use super::failure::Failure;
use super::folder::make_folder;
use super::points;
use super::{named, output, vehicle};
use facts::job::check;
use facts::job::complaint::{Details, Does, Which};
use facts::job::entry::{EngineState, Head, Journal, Reading};
use facts::job::store;
use facts::job::typed::reading;
use facts::knowledge::Knowledge;
use measure::engine::PointId;

/// Start a job: the engine, the complaint, recent work
///
/// The engine is a preset (`oddpot knowledge list`), an engine file, or described by flags, of
/// which only --cylinders is needed: `oddpot open van --cylinders 6 --layout v`.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot open van --cylinders 4
  oddpot open van --cylinders 4 --vehicle 'blue van' --plate 'AB 123' --mileage '84210 km'
  oddpot open bike --engine flat-four-carburettor --complaint 'cylinder 3 reads low'
  oddpot open van --cylinders 6 --complaint-at full --complaint-cylinder 2 --complaint-does high
  oddpot --units f open boat --cylinders 8 --builder-limit 1600")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    #[command(flatten)]
    engine: EngineArgs,
    /// Work done lately; may be repeated, or several with commas
    ///
    /// One of: probes-new, probe-old, probe-bent, wiring-worked, box-changed, tune-changed,
    /// inj-serviced, manifold-off, ignition-serviced, head-off, valves-adjusted, pump-serviced,
    /// fuel-pump-work, carb-serviced, throttles-worked, coolant-changed, cowling-off, washed, stored,
    /// just-started, overheated, high-hours, rebuilt, rich-running, plug-dropped, trigger-work,
    /// fuel-changed; or one of your own knowledge. `oddpot knowledge list` says what each means.
    #[arg(long, value_name = "FLAG", value_delimiter = ',')]
    recent: Vec<String>,
    /// The complaint, in the customer's words
    #[arg(long, value_name = "TEXT", default_value = "")]
    complaint: String,
    /// Running point of the complaint
    #[arg(long, value_name = "POINT", ignore_case = true, value_parser = points::point())]
    complaint_at: Option<PointId>,
    /// The cylinder, or its display, that is complained of; `all` for all together
    #[arg(long, value_name = "N|all")]
    complaint_cylinder: Option<Which>,
    /// What it does
    #[arg(long, value_name = "WORD", value_parser = named::<Does>(Does::NAMES))]
    complaint_does: Option<Does>,
    /// The recent work since which it does so; counts as --recent too
    #[arg(long, value_name = "FLAG")]
    since: Option<String>,
    /// The engine builder's limit for a single display, as 870C or 1600F
    #[arg(long, value_name = "T")]
    builder_limit: Option<String>,
    /// The vehicle, in the customer's words
    #[arg(long, value_name = "TEXT", default_value = "")]
    vehicle: String,
    /// The vehicle's number plate, for the card
    #[arg(long, value_name = "TEXT")]
    plate: Option<String>,
    /// How far it has run, with its unit, as `84210 km`; for the card
    #[arg(long, value_name = "TEXT")]
    mileage: Option<String>,
    /// The engine's state now
    #[arg(long, ignore_case = true, value_parser = named::<EngineState>(EngineState::NAMES))]
    state: Option<EngineState>,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let knowledge = context.knowledge()?;
    let path = context.path(&args.job)?;
    let flags: Vec<String> = args.recent.iter().chain(&args.since).cloned().collect();
    let recent = recent(&knowledge, &flags)?;
    points::known_if(&knowledge.points, args.complaint_at)?;
    let details = details(context, args)?;
    let described = args.engine.describe(&knowledge)?;
    let mut notes = Vec::new();
    if !described.assumed.is_empty() {
        notes.push(format!("assumed {}", described.assumed.join(" ")));
    }
    // An engine that was driven in is warm; only a mechanic knows of a night's rest.
    let state = args.state.unwrap_or(EngineState::Warm);
    if args.state.is_none() {
        notes.push(format!(
            "the engine is taken as warm; `oddpot state {} cold-soaked` if it stood untouched for \
             eight hours",
            quote(&args.job)
        ));
    }
    let mut journal = Journal::new(Head {
        opened: context.now,
        typed: typed(args),
        vehicle: args.vehicle.clone(),
        complaint: args.complaint.clone(),
        engine_name: described.name,
        engine: described.engine,
        recent,
        state,
        details,
    });
    let engine = &journal.head.engine;
    if let Some((entry, said)) = vehicle::history(context, &knowledge, (&args.vehicle, engine)) {
        journal.push(entry);
        notes.extend(said);
    }
    check::journal(&journal).map_err(|error| Failure::usage(error.to_string()))?;
    // The store makes its own folder; a path is expected to be right.
    if path.as_os_str() != args.job.as_str()
        && let Some(folder) = path.parent()
    {
        make_folder(folder).map_err(Failure::file)?;
    }
    output::folder(&path)?;
    store::create(&path, &journal)?;
    let head = &journal.head;
    let said = format!(
        "opened {}: {} cylinders, {}, {}, {} probes",
        path.display(),
        head.engine.cylinders,
        head.engine.layout,
        head.engine.fuel,
        head.engine.probes
    );
    let document = json!({
        "ok": true,
        "entry": 0,
        "said": said,
        "path": path.display().to_string(),
        "engine": head.engine,
    });
    Ok(Answer::new(said, document).notes(notes))
}

/// What was said of the complaint beside its words, the builder's limit, and the scale if one was said.
fn details(context: &Context, args: &Args) -> Result<Details, Failure> {
    let builder_limit = match args.builder_limit.as_deref() {
        None => None,
        Some(typed) => match reading(typed, context.scale()) {
            Ok(Reading::Degrees(limit)) => Some(limit),
            Ok(_) => return Err(Failure::usage(format!("`{typed}` is no temperature"))),
            Err(error) => return Err(Failure::usage(error.to_string())),
        },
    };
    Ok(Details {
        at: args.complaint_at,
        cylinder: match args.complaint_cylinder {
            Some(Which::One(cylinder)) => Some(cylinder),
            Some(Which::All) | None => None,
        },
        all: args.complaint_cylinder == Some(Which::All),
        does: args.complaint_does,
        since: args.since.clone(),
        builder_limit,
        scale: context.units,
        plate: args.plate.clone(),
        mileage: args.mileage.clone(),
    })
}

/// The flags, each once, in the order of the knowledge base.
fn recent(knowledge: &Knowledge, given: &[String]) -> Result<Vec<String>, Failure> {
    let known = || knowledge.recent.iter().map(|r| r.id.as_str());
    for flag in given {
        if !known().any(|id| id == flag) {
            let all: Vec<&str> = known().collect();
            return Err(Failure::unknown("kind of recent work", flag, known())
                .hint(format!("it is one of {}", all.join(", "))));
        }
    }
    Ok(known().filter(|id| given.iter().any(|flag| flag == id)).map(str::to_owned).collect())
}

fn typed(args: &Args) -> String {
    let mut words = vec!["open".to_owned()];
    words.extend(args.engine.typed());
    for (flag, value) in [
        ("--recent", args.recent.join(",").as_str()),
        ("--complaint", &args.complaint),
        ("--complaint-at", args.complaint_at.as_ref().map_or("", PointId::as_str)),
        (
            "--complaint-cylinder",
            &args.complaint_cylinder.map_or_else(String::new, |c| c.to_string()),
        ),
        ("--complaint-does", args.complaint_does.map_or("", Does::as_str)),
        ("--since", args.since.as_deref().unwrap_or_default()),
        ("--builder-limit", args.builder_limit.as_deref().unwrap_or_default()),
        ("--vehicle", &args.vehicle),
        ("--plate", args.plate.as_deref().unwrap_or_default()),
        ("--mileage", args.mileage.as_deref().unwrap_or_default()),
        ("--state", args.state.map_or("", EngineState::as_str)),
    ] {
        if !value.is_empty() {
            words.push(flag.to_owned());
            words.push(quote(value));
        }
    }
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory as _;

    use facts::knowledge::embedded::embedded;
    use facts::knowledge::load;

    /// The open command with nothing around it.
    #[derive(clap::Parser)]
    struct Alone {
        #[command(flatten)]
        args: super::Args,
    }

    #[test]
    fn the_help_names_every_kind_of_recent_work() {
        let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
        let help = Alone::command().render_long_help().to_string();
        let words: Vec<&str> = help.split(|c: char| !c.is_alphanumeric() && c != '-').collect();
        for work in &knowledge.recent {
            assert!(words.contains(&work.id.as_str()), "{} is missing", work.id);
        }
    }
}
