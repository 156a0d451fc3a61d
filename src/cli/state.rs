//! `oddpot state`: the engine's state now.

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::named;
use facts::job::entry::{EngineState, What};

/// Enter the engine's state now
///
/// `cold-soaked` means untouched for eight hours or more.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot state van warm")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// State
    #[arg(ignore_case = true, value_parser = named::<EngineState>(EngineState::NAMES))]
    state: EngineState,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut work = context.work(&args.job)?;
    let state = args.state;
    work.enter(format!("state {state}"), What::State(state), &format!("the engine is {state}"))
}
