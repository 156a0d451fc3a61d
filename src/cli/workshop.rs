//! `oddpot workshop`: virtual jobs by the hundred, and what each way of going about them comes to.

use std::io::IsTerminal as _;
use std::path::PathBuf;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::named;
use ::workshop::{Plan, Played, Policy, Summary, Wrong, bars, summary};
use facts::job::store;
use facts::knowledge::{Knowledge, Preset};
use measure::names::nearest;
use measure::number::real;
use pages::report;
use workshop;

/// Run virtual jobs through this program and other ways of working
///
/// `oddpot workshop --count 60 --seed 1 --wrong twice`. Engines, faults and answers come from a field
/// with arithmetic of its own; how common causes are and what tests show starts from the knowledge
/// base, and is wrong on purpose with `--wrong`. The same seed gives the same tables. On a terminal a line
/// now and then says how far it is.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot workshop --count 20
  oddpot workshop --count 20 --seed 2 --engine inline-four-port --wrong twice")]
pub(super) struct Args {
    /// How many virtual jobs of each seed
    #[arg(long, value_name = "N", default_value_t = 60, value_parser = clap::value_parser!(u64).range(1..=100_000))]
    count: u64,
    /// Number of the first job of each seed
    #[arg(long, value_name = "N", default_value_t = 1)]
    from: u64,
    /// Seed of the world and of its jobs; several may be given
    #[arg(long, value_name = "N", default_value = "1")]
    seed: Vec<u64>,
    /// By how much the knowledge base is wrong about the world [default: all in turn]
    #[arg(long, value_name = "WAY", value_parser = named::<Wrong>(Wrong::NAMES))]
    wrong: Vec<Wrong>,
    /// Ways of working [default: all]
    #[arg(long, value_name = "POLICY", value_parser = named::<Policy>(Policy::NAMES))]
    policy: Vec<Policy>,
    /// Kind of engine [default: all that are known]
    #[arg(long, value_name = "ID")]
    engine: Option<String>,
    /// Show the jobs that cost the program most
    #[arg(long, value_name = "N", default_value_t = 0)]
    worst: usize,
    /// Folder to keep the jobs shown in, as job files
    #[arg(long, value_name = "DIR", hide = true)]
    keep: Option<PathBuf>,
    /// Threads [default: one for each core]
    #[arg(long, value_name = "N")]
    threads: Option<usize>,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let knowledge = context.knowledge()?;
    let preset = preset(&knowledge, args.engine.as_deref())?;
    let policies: Vec<Policy> =
        if args.policy.is_empty() { Policy::ALL.to_vec() } else { args.policy.clone() };
    let wrongs: Vec<Wrong> =
        if args.wrong.is_empty() { Wrong::ALL.to_vec() } else { args.wrong.clone() };
    let threads = args
        .threads
        .unwrap_or_else(|| std::thread::available_parallelism().map_or(1, std::num::NonZero::get));
    let mut seeds = args.seed.clone();
    seeds.sort_unstable();
    seeds.dedup();
    let jobs = usize::try_from(args.count).unwrap_or(usize::MAX).saturating_mul(seeds.len());
    if let Some(folder) = &args.keep {
        // Before the jobs are played, which takes minutes.
        std::fs::create_dir_all(folder).map_err(|error| {
            Failure::file(format!("could not make the folder {}: {error}", folder.display()))
        })?;
    }
    let watch = Watch::new(!context.json && std::io::stderr().is_terminal());
    let mut worlds: Vec<(Summary, Vec<Played>)> = Vec::new();
    for wrong in wrongs {
        let plan = Plan {
            known: &knowledge,
            wrong,
            preset: preset.map(|preset| preset.id.as_str()),
            from: args.from,
            jobs: args.count,
            seeds: &seeds,
            policies: &policies,
            threads,
        };
        let played = workshop::run(plan, &|done| watch.tell(wrong, done, jobs));
        let summed = summary(plan, &played);
        if let Some(folder) = &args.keep {
            for job in summed.dearest(&played).into_iter().take(args.worst) {
                let Some(outcome) = job.outcomes.get(summed.own()) else { continue };
                let name = format!("{wrong}-{}-{}.job", job.seed, job.number);
                store::create(&folder.join(name), &outcome.journal)?;
            }
        }
        worlds.push((summed, played));
    }
    let doc = report::workshop(&knowledge, &worlds, args.worst);
    Ok(Answer::new(context.page(&doc), document(&worlds)))
}

/// The first world's figures, the other worlds under `others`, each with its bars.
fn document(worlds: &[(Summary, Vec<Played>)]) -> Value {
    let one = |summary: &Summary| {
        let mut value = serde_json::to_value(summary).unwrap_or_else(|_| json!({}));
        value["bars"] = serde_json::to_value(bars(summary)).unwrap_or_else(|_| json!([]));
        value
    };
    let mut all = worlds.iter().map(|(summary, _)| one(summary));
    let mut first = all.next().unwrap_or_else(|| json!({}));
    first["others"] = all.collect();
    first
}

/// Says on a terminal now and then how far a long run is, and how fast.
struct Watch {
    wanted: bool,
    /// When the world began that is being played, and when it was last told.
    clock: Mutex<Option<(Wrong, Instant, Instant)>>,
}

/// Between two lines.
const NOW_AND_THEN: Duration = Duration::from_secs(5);

impl Watch {
    fn new(wanted: bool) -> Self {
        Self { wanted, clock: Mutex::new(None) }
    }

    #[expect(clippy::disallowed_methods, reason = "the command layer may look at the clock")]
    fn tell(&self, wrong: Wrong, done: usize, jobs: usize) {
        if !self.wanted {
            return;
        }
        let now = Instant::now();
        let Ok(mut clock) = self.clock.lock() else { return };
        let (begun, told) = match *clock {
            Some((world, begun, told)) if world == wrong => (begun, Some(told)),
            _ => (now, None),
        };
        if done < jobs && told.is_some_and(|told| now < told + NOW_AND_THEN) {
            return;
        }
        *clock = Some((wrong, begun, now));
        let seconds = (now - begun).as_secs_f64();
        let speed = if told.is_some() && seconds > 0.0 {
            format!(", {:.1} jobs per second", real(done) / seconds)
        } else {
            String::new()
        };
        super::complain(&format!("world `{wrong}`: {done} of {jobs} virtual jobs{speed}\n"));
    }
}

/// The engine of an id.
pub(super) fn preset<'a>(
    knowledge: &'a Knowledge,
    id: Option<&str>,
) -> Result<Option<&'a Preset>, Failure> {
    let Some(id) = id else { return Ok(None) };
    let found = knowledge.presets.iter().find(|p| p.id == id);
    found.map(Some).ok_or_else(|| {
        let failure = Failure::usage(format!("no engine `{id}` is known"));
        match nearest(id, knowledge.presets.iter().map(|p| p.id.as_str())) {
            Some(near) => failure.hint(format!("did you mean `{near}`?")),
            None => failure.hint("`oddpot knowledge list` has the ids"),
        }
    })
}
