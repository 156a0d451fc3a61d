//! What a display's figures in a window are worth.

use super::building::Shown;
use super::{Log, Window};
use crate::named_enum;
use crate::number::real;
use crate::readings::outlier::median;
use crate::readings::settle::{Rule, Settling, Verdict};

named_enum! {
    /// How a display stood in a window.
    Rest, "way to stand" {
        /// At rest.
        Settled = "settled",
        /// Still on its way though its mates had come to rest.
        Moving = "moving",
        /// Jumps too much for one number.
        Scattering = "scattering",
        /// Showed no number much of the time, while its mates did.
        Open = "open",
        /// Never moved in the whole log while its mates did, or stood dead still while they scatter.
        Stuck = "stuck",
        /// Went against its mates on the way here.
        Falling = "falling",
    }
}

/// How a display, from 0, stood in a window, from 0.
#[must_use]
pub fn rest(log: &Log, rule: &Rule, window: usize, display: usize) -> Rest {
    let at = &log.windows[window];
    let shown = &at.shown[display];
    let opposed = |&(from, d): &(f64, usize)| d == display && (from - at.hold_from).abs() < 1e-6;
    if shown.count == 0 || drops_out(at, display) {
        Rest::Open
    } else if log.manner.stuck[display] || dead_still(at, display) {
        Rest::Stuck
    } else if log.manner.opposed.iter().any(opposed) {
        Rest::Falling
    } else if shown.scatter.sd > rule.scatter {
        Rest::Scattering
    } else if shown.movement.abs() >= 2.0 * rule.moves {
        Rest::Moving
    } else {
        Rest::Settled
    }
}

/// Share of the rows without a number from which a display drops out, its mates' rows having numbers
/// (common practice, no source).
const DROPS_OUT: f64 = 0.1;

fn drops_out(window: &Window, display: usize) -> bool {
    let rows = |count: u64| real(usize::try_from(count).unwrap_or(usize::MAX));
    let share = |shown: &Shown| rows(shown.missing) / rows((shown.missing + shown.count).max(1));
    let own = share(&window.shown[display]);
    let mates = mates(window, display).map(share).collect::<Vec<_>>();
    // A logger that writes each display in every tenth row leaves nine gaps in all of them.
    own >= DROPS_OUT && median(&mates).is_some_and(|usual| usual < own / 2.0)
}

/// Rows, and scatter of the mates in °C, from which one and the same number all the time is no
/// temperature any more: amplifiers and gas move every input by more (common practice, no source).
const ROWS: u64 = 60;
const SCATTERS: f64 = 1.0;

fn dead_still(window: &Window, display: usize) -> bool {
    let shown = &window.shown[display];
    let mates = mates(window, display).map(|mate| mate.sd).collect::<Vec<_>>();
    shown.count >= ROWS && shown.sd < 1e-6 && median(&mates).is_some_and(|sd| sd >= SCATTERS)
}

fn mates(window: &Window, display: usize) -> impl Iterator<Item = &Shown> {
    window.shown.iter().enumerate().filter(move |(d, _)| *d != display).map(|(_, shown)| shown)
}

/// Where a display of a hold that had not settled was going, in a word or two.
///
/// The course over the whole hold tells the way better than its end alone.
#[must_use]
pub fn heading(settling: &Settling) -> &'static str {
    let moving = matches!(settling.verdict, Verdict::StillMoving | Verdict::Falling);
    let course = settling.fit.filter(|_| settling.more_seconds.is_some());
    match (settling.verdict, course) {
        _ if moving && settling.more_seconds == Some(0.0) => "nearly settled",
        (Verdict::StillMoving | Verdict::Falling, Some(fit)) if fit.gap > 0.0 => "falling",
        (Verdict::StillMoving | Verdict::Falling, Some(_)) | (Verdict::StillMoving, None) => {
            "rising"
        }
        (Verdict::Falling, None) => "falling",
        (Verdict::TooShort, _) => "too short",
        (Verdict::Settled, _) => "settled",
        (Verdict::Stuck, _) => "stuck",
        (Verdict::Scattering, _) => "scattering",
    }
}
