//! Which running point a window is, by speed and load within the log's own range.
//!
//! A log has no names for its points, so that what is unsure is said. It must not look at the
//! displays beyond whether they are cold.

use super::detect::Window;
use super::trace::COLD;
use crate::engine::RunningPoint;
use crate::readings::outlier::median;

/// A running point, and why it may be another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Guess {
    /// The point; nothing where the log cannot tell.
    pub point: Option<RunningPoint>,
    /// What is unsure; empty if nothing.
    pub doubt: &'static str,
}

/// Standing still below this share of the greatest speed.
const STANDING: f64 = 0.05;
/// Idle is up to this much above the slowest running window, and below this share of the fastest.
const IDLE: (f64, f64) = (1.25, 0.65);
/// Full load from this share of the greatest load.
const FULL: f64 = 0.85;

/// A guess for each window.
#[must_use]
pub fn points(windows: &[Window]) -> Vec<Guess> {
    let most = |of: &dyn Fn(&Window) -> Option<f64>| {
        windows.iter().filter_map(of).fold(f64::NEG_INFINITY, f64::max)
    };
    let fastest = most(&|w| w.speed);
    let heaviest = most(&|w| w.load);
    let running = |w: &&Window| w.speed.is_some_and(|s| s > STANDING * fastest && s > 0.0);
    let slowest =
        windows.iter().filter(running).filter_map(|w| w.speed).fold(f64::INFINITY, f64::min);
    let guess = |window: &Window| {
        let Some(speed) = window.speed else {
            return Guess { point: None, doubt: "the log has no speed" };
        };
        if !running(&window) {
            let means: Vec<f64> =
                window.shown.iter().filter(|s| s.count > 0).map(|s| s.mean).collect();
            return if median(&means).is_some_and(|middle| middle < COLD) {
                Guess {
                    point: Some(RunningPoint::ColdSoak),
                    doubt: "a log cannot tell that the engine stood for eight hours",
                }
            } else {
                Guess { point: None, doubt: "the engine stands, and is hot" }
            };
        }
        if speed <= IDLE.0 * slowest && speed < IDLE.1 * fastest {
            return Guess { point: Some(RunningPoint::Idle), doubt: "" };
        }
        if fastest <= IDLE.0 * slowest && heaviest == f64::NEG_INFINITY {
            return Guess { point: None, doubt: "there is one speed only, and no load" };
        }
        match window.load {
            None => Guess {
                point: Some(RunningPoint::Cruise),
                doubt: "without a load column full load looks the same",
            },
            Some(load) if load >= FULL * heaviest && heaviest > 0.0 => Guess {
                point: Some(RunningPoint::Full),
                doubt: "the heaviest load of this log need not be full load",
            },
            Some(_) => Guess { point: Some(RunningPoint::Cruise), doubt: "" },
        }
    };
    windows.iter().map(guess).collect()
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
        use RunningPoint::{ColdSoak, Cruise, Full, Idle};
        let log = [
            (Some(0.0), Some(0.0), 20.0, Some(ColdSoak), false),
            (Some(0.0), Some(0.0), 200.0, None, false),
            (Some(750.0), Some(12.0), 180.0, Some(Idle), true),
            (Some(1500.0), Some(40.0), 350.0, Some(Cruise), true),
            (Some(1800.0), Some(92.0), 520.0, Some(Full), false),
        ];
        let windows: Vec<Window> = log.iter().map(|(s, l, t, ..)| window(*s, *l, *t)).collect();
        for ((.., point, sure), guess) in log.iter().zip(points(&windows)) {
            assert_eq!((guess.point, guess.doubt.is_empty()), (*point, *sure), "{guess:?}");
        }
        let guess = points(&[window(None, None, 400.0)]).remove(0);
        assert_eq!((guess.point, guess.doubt.is_empty()), (None, false));
        let guess = points(&[window(Some(2000.0), None, 400.0)]).remove(0);
        assert_eq!(guess.point, None);
    }
}
