//! A reading set out of a window: what each display showed there, and as what it is entered.
//!
//! It must not choose the window.

use std::fmt::Write as _;

use super::Asked;
use crate::cli::context::quote;
use crate::cli::failure::Failure;
use crate::cli::{log_args, log_evidence};
use facts::job::entry::{FromLog, Reading, What};
use facts::knowledge::{Knowledge, RunningPoint};
use measure::engine::ProbeSite;
use measure::readings::log::{Code, Log, Rest, rest};
use measure::readings::settle::Rule;
use measure::units::Celsius;

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
pub(in crate::cli) fn set_of(
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
pub(super) fn set(
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
pub(super) fn warming(
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
