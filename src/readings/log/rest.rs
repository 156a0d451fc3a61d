//! What a display's figures in a window are worth.

use super::Log;
use super::building::Shown;
use crate::named_enum;
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
        /// Showed no number half of the time or more.
        Open = "open",
        /// Never moved in the whole log while its mates did, or dead still in the window while they scatter.
        Stuck = "stuck",
        /// Went against its mates on the way here.
        Falling = "falling",
    }
}

/// Numbers of a window that must all be the same for a display to be dead still, and the scatter of
/// its mates, °C, median, beside which that is no calm: one of a coarse display would show as steps
/// by then (common practice).
const DEAD_STILL: (u64, f64) = (50, 1.0);

/// Whether a display never moved by a hair while its mates scatter.
fn is_dead_still(all: &[Shown], display: usize) -> bool {
    let own = &all[display];
    let mates: Vec<f64> = all
        .iter()
        .enumerate()
        .filter(|(i, shown)| *i != display && shown.count > 0)
        .map(|(_, shown)| shown.sd)
        .collect();
    own.count >= DEAD_STILL.0
        && own.sd < 1e-9
        && median(&mates).is_some_and(|mates| mates >= DEAD_STILL.1)
}

/// Share of rows without a number from which a display is said to drop out, and the fewest rows that
/// make one (common practice).
const DROPS_OUT: (f64, u64) = (0.02, 3);

/// The share of a window's rows in which a display dropped out, where it did.
#[must_use]
pub fn dropouts(shown: &Shown) -> Option<f64> {
    let (missing, rows) = (shown.missing, shown.missing + shown.count);
    #[expect(clippy::cast_precision_loss, reason = "rows of a file are far below 2^53")]
    let share = missing as f64 / rows.max(1) as f64;
    (shown.count > 0 && missing >= DROPS_OUT.1 && share >= DROPS_OUT.0).then_some(share)
}

/// How a display, from 0, stood in a window, from 0.
#[must_use]
pub fn rest(log: &Log, rule: &Rule, window: usize, display: usize) -> Rest {
    let at = &log.windows[window];
    let shown = &at.shown[display];
    let opposed = |&(from, d): &(f64, usize)| d == display && (from - at.hold_from).abs() < 1e-6;
    if shown.missing >= shown.count {
        Rest::Open
    } else if log.manner.stuck[display] || is_dead_still(&at.shown, display) {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::settle::compare::Scatter;

    fn shown(count: u64, missing: u64, sd: f64) -> Shown {
        Shown {
            count,
            missing,
            mean: 500.0,
            sd,
            se: 0.1,
            median: Some(500.0),
            usual: None,
            scatter: Scatter { sd, freedom: 10 },
            movement: 0.0,
        }
    }

    #[test]
    fn a_display_that_never_moves_while_its_mates_scatter_is_dead_still() {
        let all = |own: Shown| [shown(300, 0, 1.8), own, shown(300, 0, 2.1), shown(300, 0, 1.6)];
        assert!(is_dead_still(&all(shown(300, 0, 0.0)), 1));
        assert!(!is_dead_still(&all(shown(300, 0, 0.1)), 1));
        assert!(!is_dead_still(&all(shown(20, 0, 0.0)), 1), "too few to say");
        let calm = [shown(300, 0, 0.2), shown(300, 0, 0.0), shown(300, 0, 0.1)];
        assert!(!is_dead_still(&calm, 1), "a coarse display beside calm ones");
    }

    #[test]
    fn rows_without_a_number_are_counted() {
        assert_eq!(dropouts(&shown(300, 0, 1.0)), None);
        assert_eq!(dropouts(&shown(300, 2, 1.0)), None);
        assert_eq!(dropouts(&shown(75, 25, 1.0)), Some(0.25));
        assert_eq!(dropouts(&shown(0, 300, 0.0)), None, "open, not dropping out");
    }
}
