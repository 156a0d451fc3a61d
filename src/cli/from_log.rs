//! `oddpot temps JOB --from FILE`: settled windows of a log become reading sets, and what the log
//! shows beside them becomes outcomes of the tests that ask for it.
//!
//! What is entered is counted once: see [`super::log_evidence`], and a window that the job has
//! already is left out.

use std::fmt::Write as _;
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
use facts::knowledge::{Knowledge, RunningPoint, Thermal};
use measure::engine::{PointId, ProbeSite, Regime};
use measure::readings::log::{Code, Form, Guess, Log, Options, Rest, points as guessed, rest};
use measure::readings::outlier::median;
use measure::readings::settle::Rule;
use measure::units::Celsius;
use pages::report;

/// Sets entered at once unless windows are named: more say little more and take long to weigh.
const MOST_SETS: usize = 10;
/// Windows of one running point have middles within this, °C (judgement).
const ONE_POINT: f64 = 40.0;

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

/// The windows to enter, from 0.
fn chosen(
    (asked, said): (&Asked<'_>, Option<RunningPoint>),
    job: Job<'_>,
    log: &Log,
    guesses: &[Guess],
    notes: &mut Vec<String>,
) -> Result<Vec<usize>, Failure> {
    let count = log.windows.len();
    if count == 0 {
        return Err(unsettled(asked, log));
    }
    let mut windows: Vec<usize> = Vec::new();
    for &number in asked.windows {
        if !(1..=count).contains(&number) {
            return Err(Failure::usage(format!(
                "the log has no window {number}: it has 1 to {count}"
            ))
            .hint(format!("`oddpot log {}` shows them", shown(asked))));
        }
        if !windows.contains(&(number - 1)) {
            windows.push(number - 1);
        }
    }
    if windows.is_empty() {
        windows = by_point((asked, said), job, log, guesses, notes)?;
    }
    let known = |w: &usize| said.is_some() || guesses[*w].point.is_some();
    if let Some(window) = windows.iter().find(|w| !known(w)) {
        return Err(Failure::usage(format!(
            "the running point of window {} is not known: {}",
            window + 1,
            guesses[*window].doubt
        ))
        .hint("say it with `--at POINT`, or choose windows with `--window N`"));
    }
    // The same window twice would count twice.
    let has = |w: &usize| {
        job.journal.standing().iter().any(|(_, entry)| match &entry.what {
            What::Temps { from: Some(from), .. } => {
                let window = &log.windows[*w];
                from.sha256 == log.hash && from.from < window.to && window.from < from.to
            }
            _ => false,
        })
    };
    let (old, new): (Vec<usize>, Vec<usize>) = windows.into_iter().partition(has);
    if new.is_empty() {
        return Err(nothing_new());
    }
    notes.extend(old.into_iter().map(already_in));
    Ok(new)
}

fn nothing_new() -> Failure {
    Failure::usage("the job has these windows of this log already")
        .hint("`oddpot undo` takes entries back")
}

fn already_in(window: usize) -> String {
    format!("window {} is in the job already: left out", window + 1)
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

/// Without numbers said: all windows, or those that look like the point that was said.
fn by_point(
    (asked, said): (&Asked<'_>, Option<RunningPoint>),
    job: Job<'_>,
    log: &Log,
    guesses: &[Guess],
    notes: &mut Vec<String>,
) -> Result<Vec<usize>, Failure> {
    let mut windows: Vec<usize> = (0..log.windows.len()).collect();
    match said {
        Some(at) if guesses.iter().any(|g| g.point.is_some()) => {
            windows.retain(|w| guesses[*w].point == Some(at.regime));
            if windows.is_empty() {
                return Err(Failure::usage(format!("no window of the log looks like {at}"))
                    .hint("name the window as well: `--window N` with `--at POINT`")
                    .hint(format!("`oddpot log {}` shows them", shown(asked))));
            }
        }
        Some(_) => {
            let middle = |w: &usize| {
                let shown = log.windows[*w].shown.iter().filter(|s| s.count > 0);
                median(&shown.map(|s| s.mean).collect::<Vec<_>>()).unwrap_or(0.0)
            };
            let middles: Vec<f64> = windows.iter().map(middle).collect();
            let low = middles.iter().copied().fold(f64::INFINITY, f64::min);
            let high = middles.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            if high - low > ONE_POINT {
                return Err(Failure::usage(format!(
                    "the windows of this log are {:.0} °C apart, so they are not all at one \
                     running point",
                    high - low
                ))
                .hint("name those that are: `--window N,N` with `--at POINT`"));
            }
        }
        None => {
            // An engine that stands hot is at no running point; the rest goes on without it.
            if guesses.iter().any(|g| g.point.is_some()) {
                windows.retain(|w| log.windows[*w].speed.is_none() || guesses[*w].point.is_some());
            }
            let soaked = job.timeline.thermal == Thermal::ColdSoaked;
            let cold = |w: &usize| guesses[*w].point == Some(Regime::ColdSoak);
            if !soaked && windows.iter().any(cold) && !windows.iter().all(cold) {
                windows.retain(|w| !cold(w));
                notes.push(
                    "cold windows are left out: the engine was not told to be cold soaked \
                     (`oddpot state JOB cold-soaked`)"
                        .to_owned(),
                );
            }
        }
    }
    if windows.len() > MOST_SETS {
        let length = |w: &usize| log.windows[*w].to - log.windows[*w].from;
        let count = windows.len();
        windows.sort_by(|a, b| length(b).total_cmp(&length(a)));
        windows.truncate(MOST_SETS);
        windows.sort_unstable();
        notes.push(format!(
            "the {MOST_SETS} longest of {count} windows are entered; `--window` chooses others"
        ));
    }
    Ok(windows)
}

/// Nothing has settled: the reason, and how long to wait.
fn unsettled(asked: &Asked<'_>, log: &Log) -> Failure {
    let failure = Failure::no("no display has settled long enough anywhere in this log");
    let last = log.unsettled.last();
    let failure = match last.and_then(|hold| Some((hold.to, hold.more_seconds()?))) {
        Some((to, more)) => failure.hint(format!(
            "at its end, {to:.0} s, it wanted about {} more: log on and read it again",
            report::seconds(more.max(asked.log.rule().within))
        )),
        None => failure.hint("hold the point for 3 min, for 8 min with probes on the heads"),
    };
    failure
        .hint(format!("`oddpot log {}` shows each display", shown(asked)))
        .hint("`--at warming` enters what it showed last as a warming engine, which proves little")
}

fn shown(asked: &Asked<'_>) -> String {
    quote(&asked.file.display().to_string())
}

fn typed(asked: &Asked<'_>, at: RunningPoint, window: Option<usize>) -> String {
    let mut typed = format!("temps --from {} --at {at}", quote(&log_args::name(asked.file)));
    if asked.head {
        typed.push_str(" --head");
    }
    if let Some(window) = window {
        let _ = write!(typed, " --window {}", window + 1);
    }
    typed
}

/// One set out of the only window of a log.
///
/// # Errors
/// When a column of it cannot be read.
pub(super) fn set_of(
    asked: &Asked<'_>,
    knowledge: &Knowledge,
    log: &Log,
    rule: &Rule,
    at: RunningPoint,
    site: ProbeSite,
) -> Result<(String, What), Failure> {
    set(asked, knowledge, log, rule, 0, at, site)
}

/// One set out of a window.
fn set(
    asked: &Asked<'_>,
    knowledge: &Knowledge,
    log: &Log,
    rule: &Rule,
    window: usize,
    at: RunningPoint,
    site: ProbeSite,
) -> Result<(String, What), Failure> {
    let from = &log.windows[window];
    readable(log, window)?;
    let mut readings = Vec::with_capacity(from.shown.len());
    let mut errors = Vec::with_capacity(from.shown.len());
    for (display, shown) in from.shown.iter().enumerate() {
        let reading = match rest(log, rule, window, display) {
            Rest::Open => Reading::Open,
            Rest::Stuck => Reading::Stuck,
            Rest::Falling => Reading::Falling,
            Rest::Scattering if log_evidence::told_in_words(knowledge, log, display) => {
                Reading::Degrees(celsius(shown.mean)?)
            }
            Rest::Scattering => match shown.usual.filter(|(lo, hi)| lo < hi) {
                // One sd either way, as the likelihood takes a jumping display.
                Some((lo, hi)) => Reading::Erratic { lo: celsius(lo)?, hi: celsius(hi)? },
                None => Reading::Degrees(celsius(shown.mean)?),
            },
            Rest::Settled | Rest::Moving => Reading::Degrees(celsius(shown.mean)?),
        };
        let number = matches!(reading, Reading::Degrees(_));
        errors.push(number.then(|| (shown.se * 100.0).round() / 100.0));
        readings.push(reading);
    }
    let from = FromLog {
        file: log_args::name(asked.file),
        sha256: log.hash.clone(),
        from: from.from,
        to: from.to,
        errors,
    };
    let what = What::Temps { at: at.id, site, readings, from: Some(from) };
    Ok((typed(asked, at, Some(window)), what))
}

/// A column whose figures cannot be read is none that shows no number.
fn readable(log: &Log, window: usize) -> Result<(), Failure> {
    let empty = log.windows[window].shown.iter().any(|shown| shown.count == 0);
    let figures = log.findings.iter().find(|f| f.code == Code::Unreadable);
    match figures.filter(|figures| empty && 2 * figures.count > log.rows) {
        Some(found) => Err(Failure::usage(format!(
            "line {}, column {} of the log: {}",
            found.line, found.column, found.text
        ))
        .hint("`--decimal` says which mark is the decimal one, `--display N=COLUMN` which columns are the displays")),
        None => Ok(()),
    }
}

/// What the displays of an engine that had not settled showed last.
fn warming(
    asked: &Asked<'_>,
    log: &Log,
    at: RunningPoint,
    site: ProbeSite,
    rule: &Rule,
) -> Result<(String, What), Failure> {
    let Some(hold) = log.unsettled.last().filter(|_| asked.windows.is_empty()) else {
        return Err(Failure::usage("nothing in this log is of an engine that had not settled")
            .hint("leave out `--at warming`"));
    };
    let mut readings = Vec::new();
    let mut errors = Vec::new();
    for settling in &hold.displays {
        if let Some(settling) = settling {
            readings.push(Reading::Degrees(celsius(settling.level)?));
            errors.push(Some((settling.level_se * 100.0).round() / 100.0));
        } else {
            readings.push(Reading::Open);
            errors.push(None);
        }
    }
    let from = FromLog {
        file: log_args::name(asked.file),
        sha256: log.hash.clone(),
        from: (hold.to - rule.within).max(hold.from),
        to: hold.to,
        errors,
    };
    Ok((typed(asked, at, None), What::Temps { at: at.id, site, readings, from: Some(from) }))
}

/// With one decimal, as a display has it.
fn celsius(value: f64) -> Result<Celsius, Failure> {
    Celsius::new((value * 10.0).round() / 10.0).map_err(|error| Failure::usage(error.to_string()))
}
