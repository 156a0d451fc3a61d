//! `oddpot workshop`: virtual jobs by the hundred, and what each way of going about them comes to.

use std::io::IsTerminal as _;
use std::path::PathBuf;

use serde_json::{Value, json};

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::named;
use crate::job::store;
use crate::knowledge::{Knowledge, Preset};
use crate::names::nearest;
use crate::workshop::{Plan, Policy, Wrong, summary};
use crate::{report, workshop};

/// Run virtual jobs through this plan and other ways of working
///
/// `oddpot workshop --count 500 --seed 1 --wrong priors`. Engines, faults and answers are drawn from
/// the knowledge base, or from one that is wrong on purpose while the plans go by the right one. The
/// same seed gives the same table.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot workshop --count 20
  oddpot workshop --count 20 --seed 2 --engine inline-four-port --wrong priors")]
pub(super) struct Args {
    /// How many virtual jobs
    #[arg(long, value_name = "N", default_value_t = 200, value_parser = clap::value_parser!(u64).range(1..=100_000))]
    count: u64,
    /// Number of the first job
    #[arg(long, value_name = "N", default_value_t = 1)]
    from: u64,
    /// Seed of the world and of all jobs
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// In what the world differs from the knowledge base
    #[arg(long, value_name = "WAY", default_value = "nothing",
          value_parser = named::<Wrong>(Wrong::NAMES))]
    wrong: Wrong,
    /// Ways of working [default: all]
    #[arg(long, value_name = "POLICY", value_parser = named::<Policy>(Policy::NAMES))]
    policy: Vec<Policy>,
    /// Kind of engine [default: all that are known]
    #[arg(long, value_name = "ID")]
    engine: Option<String>,
    /// Show the jobs that cost the first policy most
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
    let threads = args
        .threads
        .unwrap_or_else(|| std::thread::available_parallelism().map_or(1, std::num::NonZero::get));
    let plan = Plan {
        known: &knowledge,
        wrong: args.wrong,
        preset,
        from: args.from,
        jobs: args.count,
        seed: args.seed,
        policies: &policies,
        threads,
    };
    if !context.json && std::io::stderr().is_terminal() {
        super::complain(&format!("playing {} virtual jobs ...\n", args.count));
    }
    let played = workshop::run(plan);
    let summed = summary(plan, &played);
    let doc = report::workshop(&knowledge, &summed, &played, args.worst);
    if let Some(folder) = &args.keep {
        for job in summed.dearest(&played).into_iter().take(args.worst) {
            let Some(outcome) = job.outcomes.get(summed.own()) else { continue };
            store::create(&folder.join(format!("{}.job", job.number)), &outcome.journal)?;
        }
    }
    let document: Value = serde_json::to_value(&summed).unwrap_or_else(|_| json!({}));
    Ok(Answer::new(context.page(&doc), document))
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
