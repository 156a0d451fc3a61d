//! The command line: one file per command over a common `context`.
//!
//! Reads the clock, the environment and folders so that nothing else has to; builds an
//! `answer` and prints it in one form or the other. It must not judge or format pages: that
//! is for `diagnosis`, `plan` and `report`.

mod ahead;
mod answer;
mod author;
mod balance;
mod cannot;
mod card;
mod card_json;
mod close;
mod commission;
mod completions;
mod confirm_load;
mod context;
mod correct;
mod draw;
mod drill;
mod dump;
mod engine_args;
mod example;
mod exchange;
pub mod exit;
mod failure;
mod fit;
mod folder;
mod found;
mod from_log;
mod harmless;
mod help;
mod items;
mod jobs;
mod journal;
mod json;
mod knowledge;
mod lacking;
mod letterhead;
mod limits;
mod line_edit;
mod line_prompt;
mod log;
mod log_args;
mod log_evidence;
mod memory;
mod mend;
mod next;
mod open;
mod output;
mod photos;
mod points;
mod printing;
mod probe;
mod record;
mod remake;
mod remedy;
mod reopen;
mod search;
mod serve;
mod session;
mod state;
mod subject;
mod suspects;
mod tail;
mod temps;
mod terminal;
#[cfg(test)]
mod tests;
mod texts;
mod took;
mod typed;
mod undo;
mod vehicle;
mod verify;
mod watch;
mod why;
mod workshop;

use std::cell::Cell;
use std::ffi::OsString;
use std::io::{self, IsTerminal};
use std::path::PathBuf;
use std::process::ExitCode;
use std::rc::Rc;
use std::str::FromStr;

use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use jiff::Timestamp;
use jiff::tz::TimeZone;

use self::answer::Answer;
use self::context::{Context, quote};
use self::failure::Failure;
use self::printing::{answered, complain, failed, print, stands, usage};
use self::typed::{below_zero, typed_again};
use measure::units::Scale;
use pages::report::LocalTime;

/// Find out why one cylinder reads a different temperature, in the least time
///
/// Type `oddpot` alone: it asks its way through a job on a terminal. The commands do the same one by
/// one: a job is opened once, then everything that is read, seen or done is entered; `next` says what
/// to do, `suspects` and `why` on what grounds.
#[derive(Debug, Parser)]
#[command(name = "oddpot", version, disable_help_subcommand = true)]
struct Args {
    #[command(flatten)]
    common: Common,
    /// Answers for the session that asks its way, one a line, instead of a person at a terminal
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

/// Over the options that every command takes, below its own.
const COMMON: &str = "On every command";

#[derive(Debug, clap::Args)]
struct Common {
    /// Show the whole answer: what else could be done, how firm it is, the figures behind it
    #[arg(long, global = true, help_heading = COMMON)]
    detail: bool,
    /// Answer with one JSON document on standard output
    #[arg(long, global = true, help_heading = COMMON)]
    json: bool,
    /// Scale of plain numbers, read and shown [default: that of the job, else c]
    #[arg(long, global = true, help_heading = COMMON, value_name = "c|f",
          ignore_case = true, value_parser = named::<Scale>(Scale::NAMES))]
    units: Option<Scale>,
    /// Folder whose knowledge files add to the built-in ones or replace them by id
    #[arg(long, global = true, help_heading = COMMON, value_name = "DIR")]
    knowledge: Option<PathBuf>,
    /// Folder of named jobs, instead of the user's data folder
    #[arg(long, global = true, help_heading = COMMON, value_name = "DIR")]
    jobs: Option<PathBuf>,
    /// The workshop's memory: a file, or `off` [default: that in the folder of jobs, if there is one]
    #[arg(long, global = true, help_heading = COMMON, value_name = "FILE|off", value_parser = memory::Remember::read)]
    memory: Option<memory::Remember>,
    /// Time of what is entered, instead of the clock's
    #[arg(long, global = true, help_heading = COMMON, value_name = "TIMESTAMP", hide = true)]
    now: Option<Timestamp>,
}

// A command's help is the doc comment of its `Args`: one here would stand before it and hide the
// longer part with the examples.
#[derive(Debug, Subcommand)]
enum Command {
    Example(example::Args),
    Open(open::Args),
    Temps(temps::Args),
    Log(log::Args),
    Watch(watch::Args),
    Serve(serve::Args),
    Found(found::Args),
    Cannot(cannot::Args),
    Exchange(exchange::Args),
    Remake(remake::Args),
    Fit(fit::Args),
    State(state::Args),
    Suspects(suspects::Args),
    Next(next::Args),
    Why(why::Args),
    Remedy(remedy::Args),
    Verify(verify::Args),
    Close(close::Args),
    Reopen(reopen::Args),
    Undo(undo::Args),
    Correct(correct::Args),
    Journal(journal::Args),
    /// List the jobs of the store
    #[command(after_long_help = "Examples:\n  oddpot jobs")]
    Jobs,
    Search(search::Args),
    Card(card::Args),
    Vehicle(vehicle::Args),
    Commission(commission::Args),
    Balance(balance::Args),
    Limits(limits::Args),
    ConfirmLoad(confirm_load::Args),
    Record(record::Args),
    Mend(mend::Args),
    #[command(subcommand)]
    Probe(probe::Args),
    #[command(hide = true)]
    Dump(dump::Args),
    #[command(subcommand)]
    Knowledge(knowledge::Args),
    #[command(subcommand)]
    Memory(memory::Args),
    Workshop(workshop::Args),
    Drill(drill::Args),
    Completions(completions::Args),
}

/// Runs the program on the process's own arguments.
#[must_use]
pub fn main() -> ExitCode {
    let arguments = help::asked(std::env::args_os().collect());
    ExitCode::from(run(&arguments))
}

/// Runs one command line, prints its answer, and gives the exit status.
fn run(arguments: &[OsString]) -> u8 {
    let typed: Vec<OsString> = arguments.iter().map(below_zero).collect();
    let parsed = command().try_get_matches_from(correct::common_first(typed));
    let args = match parsed.and_then(|matches| Args::from_arg_matches(&matches)) {
        Ok(args) => args,
        Err(error) => return usage(arguments, &of_own(arguments, error)),
    };
    let context = Context {
        json: args.common.json,
        detail: args.common.detail,
        typed: typed_again(arguments),
        units: args.common.units,
        of_the_job: Cell::new(None),
        overlay: args.common.knowledge,
        jobs: args.common.jobs,
        memory: args.common.memory.unwrap_or_default(),
        // Entries show whole seconds; more digits would only clutter the file.
        now: args.common.now.unwrap_or_else(clock),
        ticking: args.common.now.is_none(),
        local: LocalTime::of(TimeZone::try_system().unwrap_or(TimeZone::UTC)),
        width: terminal_size::terminal_size()
            .map_or(80, |(width, _)| usize::from(width.0).min(100)),
        correcting: None,
        kept: Rc::default(),
    };
    let answer = match args.command {
        Some(Command::Commission(asked)) if asked.asks() => {
            commission::run(&context, &asked, args.answers.as_deref())
        }
        Some(_) if args.answers.is_some() => Err(Failure::usage(
            "--answers is for the session that asks its way, and a command was given as well",
        )
        .hint("leave out the one or the other")),
        Some(command) => dispatch(&context, command),
        None => session::run(&context, args.answers.as_deref()),
    };
    match answer {
        Ok(answer) => answered(&context, &answer),
        Err(failure) => {
            // Nothing that was typed is lost, wherever it was typed.
            let typed = failure.lost.then(|| {
                let words = arguments.iter().skip(1).map(|word| quote(&word.to_string_lossy()));
                let line: Vec<String> = words.collect();
                format!("to enter it again: `oddpot {}`", line.join(" "))
            });
            failed(context.json, &failure.hints(typed).hints_first(stands(&context)))
        }
    }
}

fn dispatch(context: &Context, command: Command) -> Result<Answer, Failure> {
    match command {
        Command::Example(args) => example::run(context, &args),
        Command::Open(args) => open::run(context, &args),
        Command::Temps(args) => temps::run(context, &args),
        Command::Log(args) => log::run(context, &args),
        Command::Watch(args) => watch::run(context, &args),
        Command::Serve(args) => serve::run(context, &args),
        Command::Found(args) => found::run(context, &args),
        Command::Cannot(args) => cannot::run(context, &args),
        Command::Exchange(args) => exchange::run(context, &args),
        Command::Remake(args) => remake::run(context, &args),
        Command::Fit(args) => fit::run(context, &args),
        Command::State(args) => state::run(context, &args),
        Command::Suspects(args) => suspects::run(context, &args),
        Command::Next(args) => next::run(context, &args),
        Command::Why(args) => why::run(context, &args),
        Command::Remedy(args) => remedy::run(context, &args),
        Command::Verify(args) => verify::run(context, &args),
        Command::Close(args) => close::run(context, &args),
        Command::Reopen(args) => reopen::run(context, &args),
        Command::Undo(args) => undo::run(context, &args),
        Command::Correct(args) => correct::run(context, &args),
        Command::Journal(args) => journal::run(context, &args),
        Command::Jobs => jobs::run(context),
        Command::Search(args) => search::run(context, &args),
        Command::Card(args) => card::run(context, &args),
        Command::Balance(args) => balance::run(context, &args),
        Command::Limits(args) => limits::run(context, &args),
        Command::Vehicle(args) => vehicle::run(context, &args),
        Command::Commission(args) => commission::run(context, &args, None),
        Command::ConfirmLoad(args) => confirm_load::run(context, &args),
        Command::Record(args) => record::run(context, &args),
        Command::Mend(args) => mend::run(context, &args),
        Command::Probe(args) => probe::run(context, &args),
        Command::Dump(args) => dump::run(context, &args),
        Command::Knowledge(args) => knowledge::run(context, &args),
        Command::Memory(args) => memory::run(context, &args),
        Command::Drill(args) => drill::run(context, &args),
        Command::Workshop(args) => workshop::run(context, &args),
        Command::Completions(args) => completions::run(&args),
    }
}

/// The time in whole seconds.
#[expect(clippy::disallowed_methods, reason = "the one look at the clock; all else is told")]
fn clock() -> Timestamp {
    let time = Timestamp::now();
    Timestamp::from_second(time.as_second()).unwrap_or(time)
}

/// Whether a person can be asked.
fn can_ask() -> bool {
    io::stdin().is_terminal() && io::stdout().is_terminal()
}

/// Help that names the running points of one's own knowledge, where a folder of it is said.
fn of_own(arguments: &[OsString], error: clap::Error) -> clap::Error {
    let asked = error.kind() == clap::error::ErrorKind::DisplayHelp;
    let Some(folder) = points::folder(arguments).filter(|_| asked) else { return error };
    // What is wrong with a folder is said where it is used.
    let Some(knowledge) = context::built_on(&folder) else { return error };
    let command = points::named(command(), &knowledge.points);
    command.try_get_matches_from(correct::common_first(arguments.to_vec())).err().unwrap_or(error)
}

/// The whole command line as clap sees it, for help, completions and the reference.
#[must_use]
pub fn command() -> clap::Command {
    help::grouped(Args::command())
}

/// A value parser for one of our closed lists of names.
fn named<T>(names: &'static [&'static str]) -> impl TypedValueParser<Value = T>
where
    T: FromStr + Clone + Send + Sync + 'static,
    T::Err: std::error::Error + Send + Sync + 'static,
{
    // Most of our names are in small letters; where a command takes any case it says so to clap.
    PossibleValuesParser::new(names)
        .try_map(|word| word.parse::<T>().or_else(|_| word.to_lowercase().parse::<T>()))
}
