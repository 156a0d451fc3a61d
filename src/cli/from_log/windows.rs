//! Which windows of a log are entered: those named, those at the point that was said, else the longest, and none
//! twice.
//!
//! It must not make an entry.

use super::{Asked, Job, shown};
use crate::cli::failure::Failure;
use facts::job::entry::What;
use facts::knowledge::{RunningPoint, Thermal};
use measure::engine::Regime;
use measure::readings::log::{Guess, Log};
use measure::readings::outlier::median;
use pages::report;

/// Sets entered at once unless windows are named: more say little more and take long to weigh.
const MOST_SETS: usize = 10;

/// Windows of one running point have middles within this, °C (judgement).
const ONE_POINT: f64 = 40.0;

/// The windows to enter, from 0.
pub(super) fn chosen(
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

pub(super) fn nothing_new() -> Failure {
    Failure::usage("the job has these windows of this log already")
        .hint("`oddpot undo` takes entries back")
}

pub(super) fn already_in(window: usize) -> String {
    format!("window {} is in the job already: left out", window + 1)
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
