//! `oddpot temps JOB --from FILE`: settled windows of a log become reading sets, and what the log
//! shows beside them becomes outcomes of the tests that ask for it.
//!
//! Nothing counts twice. A display that is open, stuck, falling or erratic in a set entered here is
//! evidence by that state, and gets no outcome in words from the same log. Outcomes that compare
//! steady numbers are never entered, since the numbers are. What is left, pace, scatter and steps,
//! is in no set.

use std::fmt::Write as _;
use std::path::PathBuf;

use serde_json::json;

use super::answer::Answer;
use super::context::{Context, Work, quote};
use super::failure::Failure;
use super::log_args::{self, LogArgs};
use crate::diagnosis::assess;
use crate::engine::{Cylinder, ProbeSite, RunningPoint};
use crate::job::entry::{FromLog, Reading, What};
use crate::knowledge::Scope;
use crate::readings::log::{Follow, Guess, Log, Noise, Rest, Rise, points, rest};
use crate::readings::settle::Rule;
use crate::report;
use crate::units::Celsius;

// Tests that are ways of looking at temperatures over time, answered by a log that covers them.
const FROM_COLD: &str = "warmup-trace";
const STEP_OF_SPEED: &str = "load-response";
const SCATTER: &str = "scatter-speed";
const SWITCHED: &str = "load-electric";
const HELD: &str = "settle-watch";
/// Seconds a point must be held for [`HELD`], by probes: exhaust, head (common practice).
const HOLD: (f64, f64) = (180.0, 480.0);
/// Sets entered at once unless windows are named: more say little more and take long to weigh.
const MOST_SETS: usize = 10;

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
    pub(super) at: Option<RunningPoint>,
    /// Head probes.
    pub(super) head: bool,
}

pub(super) fn run(context: &Context, asked: &Asked<'_>) -> Result<Answer, Failure> {
    let mut work = context.work(asked.job)?;
    let engine = work.timeline.engine.clone();
    let site = if asked.head { ProbeSite::Head } else { engine.probes };
    let options = asked.log.options(site == ProbeSite::Head)?;
    let rule = options.rule;
    let log = log_args::read(asked.file, &options)?;
    count(&log, engine.cylinders)?;
    let mut notes = odd(&log);
    let guesses = points(&log.windows);
    let mut entries: Vec<(String, What)> = Vec::new();
    let mut used: Vec<usize> = Vec::new();
    if asked.at == Some(RunningPoint::Warming) {
        entries.push(warming(asked, &log, site, &rule)?);
    } else {
        used = chosen(asked, &log, &guesses, &mut notes)?;
        for &window in &used {
            let Some(at) = asked.at.or(guesses[window].point) else { continue };
            let doubt = guesses[window].doubt;
            if asked.at.is_none() && !doubt.is_empty() {
                notes.push(format!("window {} is entered as {at}, but {doubt}", window + 1));
            }
            for display in 0..log.form.displays.len() {
                if rest(&log, &rule, window, display) == Rest::Moving {
                    notes.push(format!(
                        "display {} had not come to rest in window {}",
                        display + 1,
                        window + 1
                    ));
                }
            }
            entries.push(set(asked, &log, &rule, window, at, site)?);
        }
    }
    let mut said = Vec::new();
    let mut stated: Vec<usize> = Vec::new();
    for (typed, what) in entries {
        if let What::Temps { readings, .. } = &what {
            let each = readings.iter().enumerate();
            stated.extend(
                each.filter(|(_, r)| !matches!(r, Reading::Degrees(_))).map(|(display, _)| display),
            );
        }
        let words = report::entry_text(&work.knowledge, &what, context.scale);
        said.push((work.enter(typed, what, &words)?, words));
    }
    let found = outcomes(&work, &log, &rule, &used, &stated, site);
    for (test, outcome, display) in found {
        let cylinder = work.timeline.arrangement.cylinder_shown(display);
        let typed = format!(
            "found {test} {outcome} --cylinder {cylinder} (from {})",
            log_args::name(asked.file)
        );
        let what = What::Found {
            test: test.to_owned(),
            outcome: outcome.to_owned(),
            cylinder: Some(cylinder),
            partner: None,
        };
        let words = report::entry_text(&work.knowledge, &what, context.scale);
        let words = format!("by the log: {words}");
        said.push((work.enter(typed, what, &words)?, words));
    }
    Ok(together(&said).notes(notes))
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
fn count(log: &Log, cylinders: u8) -> Result<(), Failure> {
    let form = &log.form;
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
    asked: &Asked<'_>,
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
        windows = (0..count).collect();
        let unknown = |w: &usize| guesses[*w].point.is_none();
        // The engine stands hot: no running point. The rest of the log is not held up by it.
        let standing = |w: &usize| log.windows[*w].speed.is_some();
        if asked.at.is_none() {
            windows.retain(|w| {
                !(unknown(w) && standing(w) && guesses.iter().any(|g| g.point.is_some()))
            });
        }
        if windows.len() > MOST_SETS {
            let length = |w: &usize| log.windows[*w].to - log.windows[*w].from;
            windows.sort_by(|a, b| length(b).total_cmp(&length(a)));
            windows.truncate(MOST_SETS);
            windows.sort_unstable();
            notes.push(format!(
                "the {MOST_SETS} longest of {count} windows are entered; `--window` chooses others"
            ));
        }
    }
    if asked.at.is_none()
        && let Some(window) = windows.iter().find(|w| guesses[**w].point.is_none())
    {
        return Err(Failure::usage(format!(
            "the running point of window {} is not known: {}",
            window + 1,
            guesses[*window].doubt
        ))
        .hint("say it with `--at POINT`, or choose windows with `--window N`"));
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

/// One set out of a window.
fn set(
    asked: &Asked<'_>,
    log: &Log,
    rule: &Rule,
    window: usize,
    at: RunningPoint,
    site: ProbeSite,
) -> Result<(String, What), Failure> {
    let from = &log.windows[window];
    let mut readings = Vec::with_capacity(from.shown.len());
    let mut errors = Vec::with_capacity(from.shown.len());
    for (display, shown) in from.shown.iter().enumerate() {
        let reading = match rest(log, rule, window, display) {
            Rest::Open => Reading::Open,
            Rest::Stuck => Reading::Stuck,
            Rest::Falling => Reading::Falling,
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
    let what = What::Temps { at, site, readings, from: Some(from) };
    Ok((typed(asked, at, Some(window)), what))
}

/// What the displays of an engine that had not settled showed last.
fn warming(
    asked: &Asked<'_>,
    log: &Log,
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
    let at = RunningPoint::Warming;
    Ok((typed(asked, at, None), What::Temps { at, site, readings, from: Some(from) }))
}

/// With one decimal, as a display has it.
fn celsius(value: f64) -> Result<Celsius, Failure> {
    Celsius::new((value * 10.0).round() / 10.0).map_err(|error| Failure::usage(error.to_string()))
}

/// Outcomes of tests that the log answers: test, outcome, display.
///
/// Every display that does not do the usual, and for the odd one the usual too: that it follows
/// its mates clears what would have made it slow.
fn outcomes(
    work: &Work,
    log: &Log,
    rule: &Rule,
    used: &[usize],
    stated: &[usize],
    site: ProbeSite,
) -> Vec<(&'static str, &'static str, Cylinder)> {
    let odd = assess(&work.knowledge, &work.timeline).odd_display.map(|d| usize::from(d) - 1);
    let mut all: Vec<(&'static str, &'static str, usize, bool)> = Vec::new();
    let manner = &log.manner;
    if let Some(start) = &manner.start {
        for (display, rise) in start.each.iter().enumerate() {
            let (outcome, usual) = match rise {
                Rise::Rises => ("rises", true),
                Rise::Flat => ("flat", false),
                Rise::Falls => ("falls", false),
                Rise::Late => ("late", false),
                Rise::DropsOut => ("drops-out", false),
                Rise::Unseen => continue,
            };
            all.push((FROM_COLD, outcome, display, usual));
        }
    }
    if let Some(step) = &manner.step {
        for (display, follow) in step.each.iter().enumerate() {
            let (outcome, usual) = match follow {
                Follow::Together(_) => ("together", true),
                Follow::Slower(_) => ("slower", false),
                Follow::Faster(_) => ("faster", false),
                Follow::Still => ("none", false),
                Follow::Unclear => continue,
            };
            all.push((STEP_OF_SPEED, outcome, display, usual));
        }
    }
    if let Some(noise) = &manner.noise {
        for (display, (what, ..)) in noise.each.iter().enumerate() {
            let (outcome, usual) = match what {
                Noise::WithSpeed => ("with-speed", false),
                Noise::AllSpeeds => ("all-speeds", false),
                Noise::LikeOthers => ("like-others", true),
                Noise::Unseen => continue,
            };
            all.push((SCATTER, outcome, display, usual));
        }
    }
    if let Some((_, each)) = &manner.switched {
        for (display, (_, counts)) in each.iter().enumerate() {
            let outcome = if *counts { "steps" } else { "no-change" };
            all.push((SWITCHED, outcome, display, !counts));
        }
    }
    let least = if site == ProbeSite::Head { HOLD.1 } else { HOLD.0 };
    if let Some(display) = odd {
        let held = used.iter().any(|&window| {
            log.windows[window].to - log.windows[window].hold_from >= least
                && log.windows[window].speed.is_some_and(|speed| speed > 0.0)
                && rest(log, rule, window, display) == Rest::Settled
        });
        if held {
            all.push((HELD, "steady-odd", display, true));
        }
    }
    all.into_iter()
        .filter(|(test, outcome, display, usual)| {
            let known = work.knowledge.test(test).map(|index| &work.knowledge.tests[index]);
            known.is_some_and(|test| {
                test.scope == Scope::Cylinder && test.outcomes.iter().any(|o| o.id == *outcome)
            }) && !stated.contains(display)
                && (!usual || odd == Some(*display))
        })
        .filter_map(|(test, outcome, display, _)| {
            Some((test, outcome, Cylinder::try_from(display + 1).ok()?))
        })
        .collect()
}
