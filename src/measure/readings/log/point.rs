//! Which running point a window is, by speed and load within the log's own range.
//!
//! A log has no names for its points, so that what is unsure is said. It must not look at the
//! displays beyond whether they are cold.

use super::Range;
use super::detect::Window;
use super::trace::COLD;
use crate::engine::Regime;
use crate::readings::outlier::median;

/// A running point, and why it may be another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Guess {
    /// The point; nothing where the log cannot tell.
    pub point: Option<Regime>,
    /// What is unsure; empty if nothing.
    pub doubt: &'static str,
}

/// Standing still below this share of the greatest speed.
const STANDING: f64 = 0.05;
/// Idle is up to this much above the slowest running window, and below this share of the fastest.
const IDLE: (f64, f64) = (1.25, 0.65);
/// Full load from this share of the greatest load; of a hundred where it is in per cent.
const FULL: f64 = 0.85;

/// A guess for each window.
#[must_use]
pub fn points(windows: &[Window], range: &Range) -> Vec<Guess> {
    windows.iter().map(|window| guess(window, range)).collect()
}

fn guess(window: &Window, range: &Range) -> Guess {
    let means: Vec<f64> = window.shown.iter().filter(|s| s.count > 0).map(|s| s.mean).collect();
    point_at(window.speed, window.load, median(&means), range)
}

/// A guess by speed and load, in the log's units, and by what the displays read in the middle, °C.
#[must_use]
pub fn point_at(
    speed: Option<f64>,
    load: Option<f64>,
    middle: Option<f64>,
    range: &Range,
) -> Guess {
    let sure = |point| Guess { point: Some(point), doubt: "" };
    let Some(speed) = speed else {
        return Guess { point: None, doubt: "the log has no speed" };
    };
    if speed <= STANDING * range.fastest {
        return if middle.is_some_and(|middle| middle < COLD) {
            Guess {
                point: Some(Regime::ColdSoak),
                doubt: "a log cannot tell that the engine stood for eight hours",
            }
        } else {
            Guess { point: None, doubt: "the engine stands, and is hot" }
        };
    }
    if speed <= IDLE.0 * range.slowest && speed < IDLE.1 * range.fastest {
        return sure(Regime::Idle);
    }
    match load {
        Some(load) if range.percent && load >= 100.0 * FULL => sure(Regime::Full),
        Some(_) if range.percent && range.fastest > IDLE.0 * range.slowest => sure(Regime::Cruise),
        _ if range.fastest <= IDLE.0 * range.slowest => {
            Guess { point: None, doubt: "the log shows one speed only" }
        }
        None => Guess {
            point: Some(Regime::Cruise),
            doubt: "without a load column full load looks the same",
        },
        Some(load) if load >= FULL * range.heaviest => Guess {
            point: Some(Regime::Full),
            doubt: "the heaviest load of this log need not be full load",
        },
        Some(_) => sure(Regime::Cruise),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::log::Shown;
    use crate::readings::settle::compare::Scatter;

    fn window(speed: Option<f64>, load: Option<f64>, mean: f64) -> Window {
        let shown = Shown {
            count: 10,
            missing: 0,
            mean,
            sd: 1.0,
            se: 0.1,
            median: None,
            usual: None,
            scatter: Scatter { sd: 1.0, freedom: 9 },
            movement: 0.0,
        };
        let shown = vec![shown; 3];
        Window { from: 0.0, to: 60.0, speed, load, shown, hold_from: 0.0 }
    }

    #[test]
    fn points_follow_from_the_range_of_the_log() {
        use Regime::{ColdSoak, Cruise, Full, Idle};
        let range = Range { slowest: 750.0, fastest: 1800.0, heaviest: 92.0, percent: false };
        let percent = Range { percent: true, ..range };
        let level = Range { slowest: 1780.0, ..range };
        for (speed, load, mean, range, point, sure) in [
            (Some(0.0), Some(0.0), 20.0, range, Some(ColdSoak), false),
            (Some(0.0), Some(0.0), 200.0, range, None, false),
            (Some(760.0), Some(12.0), 180.0, range, Some(Idle), true),
            (Some(1500.0), Some(40.0), 350.0, range, Some(Cruise), true),
            (Some(1800.0), Some(92.0), 520.0, range, Some(Full), false),
            (Some(1800.0), Some(92.0), 520.0, percent, Some(Full), true),
            (Some(1800.0), Some(60.0), 520.0, percent, Some(Cruise), true),
            (Some(1800.0), None, 520.0, range, Some(Cruise), false),
            (Some(1800.0), Some(60.0), 520.0, level, None, false),
            (None, None, 400.0, range, None, false),
        ] {
            let guess = guess(&window(speed, load, mean), &range);
            assert_eq!((guess.point, guess.doubt.is_empty()), (point, sure), "{speed:?} {guess:?}");
        }
    }
}
