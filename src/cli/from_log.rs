//! `oddpot temps JOB --from FILE`: settled windows of a log become reading sets, and what the log
//! shows beside them becomes outcomes of the tests that ask for it.
//!
//! What is entered is counted once: see [`super::log_evidence`], and a window that the job has
//! already is left out. It must not judge what a set means.

mod set;
mod windows;

use std::path::PathBuf;

use jiff::Timestamp;
use serde_json::json;

use super::answer::Answer;
use super::context::{Context, quote};
use super::failure::Failure;
use super::log_args::{self, LogArgs};
use super::log_evidence;
use super::points;
use facts::job::entry::{Entry, FromLog, Journal, Reading, What};
use facts::job::read::read;
use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use measure::engine::{PointId, ProbeSite};
use measure::readings::log::{Form, Log, Options, Rest, points as guessed, rest};
use pages::report;
pub(super) use set::set_of;
use set::{set, warming};
use windows::{already_in, chosen, nothing_new};

/// What was asked for.
pub(super) struct Asked<'a> {
    /// The job as typed.
    pub(super) job: &'a str,
    /// The log.
    pub(super) file: &'a PathBuf,
    /// How it is written.
    pub(super) log: &'a LogArgs,
    /// Windows, from 1; all if empty.
    pub(super) windows: &'a [usize],
    /// The running point, if told.
    pub(super) at: Option<PointId>,
    /// Head probes.
    pub(super) head: bool,
}

/// The job that a log is for.
#[derive(Clone, Copy)]
pub(super) struct Job<'a> {
    pub(super) knowledge: &'a Knowledge,
    pub(super) journal: &'a Journal,
    pub(super) timeline: &'a Timeline,
}

/// What a log has for a job.
pub(super) struct Gathered {
    /// As typed, and as entries.
    pub(super) entries: Vec<(String, What)>,
    /// What is to be said of it.
    pub(super) notes: Vec<String>,
}

/// Reads a log in a manner, from wherever it is.
pub(super) type Reader<'r> = &'r dyn Fn(&Options) -> Result<Log, Failure>;

pub(super) fn run(context: &Context, asked: &Asked<'_>) -> Result<Answer, Failure> {
    run_of(context, asked, &|options| log_args::read(asked.file, options))
}

/// The same of a log that is no file here.
///
/// # Errors
/// As [`gather`], and when nothing can be entered in the job.
pub(super) fn run_of(
    context: &Context,
    asked: &Asked<'_>,
    reader: Reader<'_>,
) -> Result<Answer, Failure> {
    let mut work = context.work(asked.job)?;
    let job =
        Job { knowledge: &work.knowledge, journal: work.held.journal(), timeline: &work.timeline };
    let Gathered { entries, notes } = gather(job, context.now, asked, reader)?;
    let mut said = Vec::new();
    for (typed, what) in entries {
        let words = report::entry_text(&work.knowledge, &what, context.scale());
        said.push((work.enter(typed, what, &words)?, words));
    }
    Ok(together(&said).notes(notes))
}

/// Reads the log and makes entries of it.
///
/// # Errors
/// When it cannot be read, does not go with the engine, or has nothing new that had settled.
pub(super) fn gather(
    job: Job<'_>,
    now: Timestamp,
    asked: &Asked<'_>,
    reader: Reader<'_>,
) -> Result<Gathered, Failure> {
    let engine = &job.timeline.engine;
    let site = if asked.head { ProbeSite::Head } else { engine.probes };
    let options = asked.log.options(site == ProbeSite::Head)?;
    let rule = options.rule;
    let log = reader(&options)?;
    displays(&log.form, engine.cylinders)?;
    let mut notes = odd(&log);
    let guesses = guessed(&log.windows, &log.range);
    let mut entries: Vec<(String, What)> = Vec::new();
    let mut used: Vec<usize> = Vec::new();
    let said = points::known_if(&job.knowledge.points, asked.at)?;
    if let Some(at) = said.filter(|at| at.is_warming()) {
        entries.push(warming(asked, &log, at, site, &rule)?);
    } else {
        used = chosen((asked, said), job, &log, &guesses, &mut notes)?;
        for &window in &used {
            let guess = guesses[window].point.map(|regime| job.knowledge.points.of(regime));
            let Some(at) = said.or(guess) else { continue };
            let doubt = guesses[window].doubt;
            if asked.at.is_none() && !doubt.is_empty() {
                notes.push(format!("window {} is entered as {at}, but {doubt}", window + 1));
            }
            for display in 0..log.form.displays.len() {
                let shown = &log.windows[window].shown[display];
                let what = match rest(&log, &rule, window, display) {
                    Rest::Moving => "had not come to rest",
                    Rest::Open if shown.count > 0 => {
                        "showed no number in many rows, which the others did: entered as open"
                    }
                    Rest::Stuck if !log.manner.stuck[display] => {
                        "stood dead still while the others scatter: entered as stuck"
                    }
                    _ => continue,
                };
                notes.push(format!("display {} {what} (window {})", display + 1, window + 1));
            }
            let set = set(asked, job.knowledge, &log, &rule, window, at, site)?;
            if taken(job.journal, &set.1).is_some() {
                notes.push(already_in(window));
            } else {
                entries.push(set);
            }
        }
        if entries.is_empty() {
            return Err(nothing_new());
        }
    }
    // What the log shows beside its sets is judged with them entered.
    let mut journal = job.journal.clone();
    let mut stated: Vec<usize> = Vec::new();
    for (typed, what) in &entries {
        if let What::Temps { readings, .. } = what {
            let each = readings.iter().enumerate();
            stated.extend(
                each.filter(|(_, r)| !matches!(r, Reading::Degrees(_))).map(|(display, _)| display),
            );
        }
        journal.entries.push(Entry::new(now, typed.clone(), what.clone()));
    }
    let timeline = read(job.knowledge, &journal);
    let seen = log_evidence::Seen { log: &log, rule: &rule, used: &used, stated: &stated, site };
    for (test, outcome, display) in log_evidence::outcomes(job.knowledge, &timeline, seen) {
        let cylinder = timeline.arrangement.cylinder_shown(display);
        let typed = format!(
            "found {test} {outcome} --cylinder {cylinder} (from {})",
            log_args::name(asked.file)
        );
        let (test, outcome) = (test.to_owned(), outcome.to_owned());
        entries.push((typed, What::Logged { test, outcome, cylinder }));
    }
    Ok(Gathered { entries, notes })
}

/// One answer for several entries.
fn together(said: &[(Answer, String)]) -> Answer {
    let text: String = said.iter().map(|(answer, _)| answer.text.as_str()).collect();
    let entries: Vec<_> = said
        .iter()
        .map(|(answer, words)| json!({"entry": answer.json["entry"], "said": words}))
        .collect();
    let last = entries.last().map_or(json!(null), |entry| entry["entry"].clone());
    Answer::new(text, json!({"ok": true, "entry": last, "entries": entries}))
}

/// As many displays as cylinders.
pub(super) fn displays(form: &Form, cylinders: u8) -> Result<(), Failure> {
    if form.displays.len() == usize::from(cylinders) {
        return Ok(());
    }
    let taken: Vec<String> =
        form.displays.iter().map(|&column| format!("`{}`", form.names[column])).collect();
    let others: Vec<String> = (0..form.names.len())
        .filter(|column| !form.displays.contains(column))
        .take(20)
        .map(|column| format!("`{}`", form.names[column]))
        .collect();
    Err(Failure::usage(format!(
        "the log has {} displays, this engine has {cylinders} cylinders: taken were {}",
        form.displays.len(),
        taken.join(", ")
    ))
    .hint("`--display N=COLUMN`, once for each, says which columns the displays are")
    .hint(format!("the other columns are {}", others.join(", "))))
}

/// What is odd about the file, in a line each.
fn odd(log: &Log) -> Vec<String> {
    let warnings = log.findings.iter().filter(|finding| finding.code.is_warning());
    warnings
        .map(|finding| {
            let place = match finding.line {
                0 => "the log".to_owned(),
                line => format!("line {line} of the log"),
            };
            let more = if finding.count > 1 {
                format!(" ({} in all)", finding.count)
            } else {
                String::new()
            };
            format!("{place}: {}{more} [{}]", finding.text, finding.code)
        })
        .collect()
}

/// The entry in which a set was taken already while the log was being written: then it was another file by its hash.
pub(super) fn taken(journal: &Journal, what: &What) -> Option<usize> {
    let What::Temps { readings, from: Some(from), .. } = what else { return None };
    let place = |from: &FromLog| (from.file.clone(), from.from, from.to);
    let same = |entry: &Entry| match &entry.what {
        What::Temps { readings: other, from: Some(other_from), .. } => {
            other == readings && place(other_from) == place(from)
        }
        _ => false,
    };
    journal.standing().iter().find(|(_, entry)| same(entry)).map(|(number, _)| *number)
}

fn shown(asked: &Asked<'_>) -> String {
    quote(&asked.file.display().to_string())
}
