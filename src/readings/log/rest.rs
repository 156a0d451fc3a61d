//! What a display's figures in a window are worth.

use super::Log;
use crate::named_enum;
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
        /// Showed no number most of the time.
        Open = "open",
        /// Never moved in the whole log while its mates did.
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
    if shown.missing > shown.count {
        Rest::Open
    } else if log.manner.stuck[display] {
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
