//! `oddpot correct`: another entry in the place of an earlier one.

use std::ffi::OsString;

use clap::Parser as _;
use serde_json::json;

use super::answer::Answer;
use super::context::{Context, View};
use super::failure::Failure;
use super::{Args as Line, Command};
use facts::job::entry::{Entry, Fate, Reading, What};
use facts::job::typed;
use measure::units::Scale;
use pages::report::{self, words};

/// Put another entry in the place of an earlier one
///
/// The new one is added to the journal and stands where the old one stood; the old one stays, marked.
/// Everything entered after it is read anew, and what then no longer fits is said. Only what differs
/// need be typed: values, an outcome, the places of an exchange, or else the whole command without the
/// job. `oddpot journal JOB` has the numbers; `undo` takes a correction back.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot correct van 1 652 590 655 648
  oddpot correct van 1 temps --at cruise 652 590 655 648
  oddpot correct van 2 found look-fit alike --cylinder 3")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Number of the entry that is wrong
    #[arg(value_name = "ENTRY")]
    number: usize,
    /// What it should have been
    #[arg(
        value_name = "WHAT",
        required = true,
        trailing_var_arg = true,
        allow_hyphen_values = true
    )]
    what: Vec<String>,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let view = context.view(&args.job)?;
    let place = view.journal.place_of(args.number);
    let old = standing(&view, args.number, place)?;
    let words = whole(old, &args.what);
    let line = ["oddpot".to_owned()].into_iter().chain(with_job(words, &args.job)?);
    let parsed = Line::try_parse_from(line).map_err(|error| {
        let said = super::printing::in_words(&error.render().to_string());
        Failure::usage(said.trim().trim_start_matches("error: ").to_owned())
    })?;
    let units = parsed.common.units.or(context.units);
    let inner = Context { correcting: Some(place), units, ..context.clone() };
    let command = parsed.command.filter(may_correct).ok_or_else(not_so)?;
    let answer = super::dispatch(&inner, command)?;
    let after = context.view(&args.job)?;
    let mut answer = answer.notes(report::no_longer_fits(
        &after.knowledge,
        &view.timeline,
        &after.timeline,
        place,
    ));
    answer.json["instead"] = json!(place);
    Ok(answer)
}

/// The command line with the options of all commands in front, where `correct` would take them for a
/// part of what it is given.
pub(super) fn common_first(typed: Vec<OsString>) -> Vec<OsString> {
    if !typed.iter().any(|word| word == "correct") {
        return typed;
    }
    let (mut first, mut rest) = (Vec::new(), Vec::new());
    let mut words = typed.into_iter();
    first.extend(words.next());
    while let Some(word) = words.next() {
        let text = word.to_string_lossy().into_owned();
        let name = text.split('=').next().unwrap_or_default();
        let valued = ["--units", "--knowledge", "--jobs", "--memory", "--now"].contains(&name);
        if text == "--json" || valued {
            first.push(word);
            first.extend((valued && name == text).then(|| words.next()).flatten());
        } else {
            rest.push(word);
        }
    }
    first.extend(rest);
    first
}

fn not_so() -> Failure {
    Failure::usage("an entry is corrected by what enters one thing").hint(
        "by `temps`, `found`, `exchange`, `remake`, `state`, `remedy`, `fit` and what follows them",
    )
}

fn may_correct(command: &Command) -> bool {
    matches!(
        command,
        Command::Temps(args) if args.is_typed()
    ) || matches!(
        command,
        Command::Found(_)
            | Command::Exchange(_)
            | Command::Remake(_)
            | Command::State(_)
            | Command::Remedy(_)
            | Command::Fit(_)
    )
}

/// What stands in a place, if it can be corrected.
fn standing(view: &View, number: usize, place: usize) -> Result<&Entry, Failure> {
    let journal = &view.journal;
    let hint = "`oddpot journal JOB` lists the entries";
    let no = |why: &str| Err(Failure::usage(format!("entry {number} {why}")).hint(hint));
    let Some(entry) = number.checked_sub(1).and_then(|at| journal.entries.get(at)) else {
        return Err(Failure::usage(format!(
            "there is no entry {number}: the job has {}",
            words::count(journal.entries.len(), "entry", "entries")
        ))
        .hint(hint));
    };
    if journal.fates()[number - 1] == Fate::TakenBack {
        return no("was taken back: enter what is right anew");
    }
    match entry.what {
        What::Undo { .. } => return no("is an undo: take it back with `undo`"),
        ref what if !what.may_be_corrected() => {
            return no("was no work and no reading: it cannot be corrected");
        }
        _ => {}
    }
    match journal.standing().into_iter().find(|(known, _)| *known == place) {
        Some((_, entry)) => Ok(entry),
        None => no("does not stand"),
    }
}

/// The words of a whole command, from those of the entry where only what differs was given.
fn whole(old: &Entry, given: &[String]) -> Vec<String> {
    let first = given.first().map_or("", String::as_str);
    if super::command().find_subcommand(first).is_some() {
        return given.to_vec();
    }
    let said = match &old.what {
        What::Temps { at, readings, .. } => {
            let head = if old.typed.contains(" --head") { " --head" } else { "" };
            let other_point = given.iter().any(|word| word == "--at" || word.starts_with("--at="));
            // Only the point was wrong.
            let values = if other_point && given.len() <= 2 {
                let number = |reading: &Reading| {
                    let scale = if reading.middle().is_some() { "C" } else { "" };
                    typed::written(*reading, Scale::Celsius) + scale
                };
                readings.iter().map(number).collect::<Vec<_>>().join(" ")
            } else {
                String::new()
            };
            let at = if other_point { String::new() } else { format!(" --at {at}") };
            return pushed(&format!("temps{at}{head}"), given, &values);
        }
        What::Found { test, cylinder, partner, .. } => {
            let on = cylinder.map_or_else(String::new, |c| format!(" --cylinder {c}"));
            let with = partner.map_or_else(String::new, |c| format!(" --partner {c}"));
            let at = old.at.map_or_else(String::new, |at| format!(" --at {at}"));
            return pushed(&format!("found {test}"), given, &format!("{on}{with}{at}"));
        }
        What::Exchange { item, .. } => format!("exchange {item}"),
        What::Remake { item, new, .. } => {
            return pushed(&format!("remake {item}"), given, if *new { " --new" } else { "" });
        }
        What::State(_) => "state".to_owned(),
        _ => return given.to_vec(),
    };
    pushed(&said, given, "")
}

fn pushed(before: &str, given: &[String], after: &str) -> Vec<String> {
    let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    // An option that was given anew stands instead of the old one.
    let mut behind = words(after);
    behind.retain({
        let mut drop = false;
        let given = given.to_vec();
        move |word| {
            if word.starts_with("--") {
                drop = given.contains(word);
            }
            !drop
        }
    });
    [words(before), given.to_vec(), behind].concat()
}

/// The words with the job behind the command.
fn with_job(mut words: Vec<String>, job: &str) -> Result<Vec<String>, Failure> {
    if words.is_empty() || super::command().find_subcommand(&words[0]).is_none() {
        return Err(not_so());
    }
    words.insert(1, job.to_owned());
    Ok(words)
}
