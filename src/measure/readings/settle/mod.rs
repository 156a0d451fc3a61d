//! Whether a display has come to rest, and if not, where it is going.
//!
//! From a trace since the running point was reached: how much it still moves, how much it scatters,
//! where a first-order rise would end and when. It must not know what a cylinder is, nor guess why
//! a display does not settle.

pub mod compare;
mod fit;
mod window;

pub use fit::{Fit, fit_first_order};

use thiserror::Error;

use super::outlier::median;
use window::Window;

/// A display at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Time, s, from any zero.
    pub seconds: f64,
    /// What was shown, °C.
    pub value: f64,
}

/// When a display counts as settled, stuck or scattering.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// Settled when it moves less than this, °C…
    pub moves: f64,
    /// …in this time, s; also the length of the window that is looked at.
    pub within: f64,
    /// Scattering when it strays more than this about its own course, °C (one sd).
    pub scatter: f64,
    /// Stuck when it has stayed within this, °C, all along…
    pub still: f64,
    /// …while its mates have moved by this, °C.
    pub mates_move: f64,
}

impl Default for Rule {
    /// 3 °C in 30 s; scatter 6 °C (twice that); stuck within 0.2 °C while mates move 20 °C. Common
    /// practice, no source.
    fn default() -> Self {
        Self { moves: 3.0, within: 30.0, scatter: 6.0, still: 0.2, mates_move: 20.0 }
    }
}

/// What a trace tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Shorter than the window, or under [`FEWEST`] samples in it: hold the point longer.
    TooShort,
    /// At rest: it may be judged.
    Settled,
    /// Still rising.
    StillMoving,
    /// Still going down.
    Falling,
    /// Does not answer while its mates move.
    Stuck,
    /// Strays too much for its level to be read off.
    Scattering,
}

/// Fewest samples within the window that a verdict rests on.
pub const FEWEST: usize = 6;

/// What was found of one display.
#[derive(Debug, Clone, PartialEq)]
pub struct Settling {
    /// The verdict.
    pub verdict: Verdict,
    /// Mean over the window at the end, °C, and its standard error (scatter only).
    pub level: f64,
    /// Standard error of the level, °C.
    pub level_se: f64,
    /// How much it moves within the window, °C, rising positive.
    pub movement: f64,
    /// Standard error of the movement, °C.
    pub movement_se: f64,
    /// Scatter about its own course within the window, °C (one sd).
    pub noise: f64,
    /// First-order course over the whole trace, where one stands out from the scatter.
    pub fit: Option<Fit>,
    /// Seconds more until it is within [`Rule::moves`] of its final value: 0 when it is; nothing
    /// while the final value itself is not known that closely, or without a first-order course that
    /// the trace keeps to.
    pub more_seconds: Option<f64>,
    /// It goes one way while its mates go the other.
    pub opposes_mates: bool,
}

/// A trace that cannot be judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum TraceError {
    /// A time or value that is not a number.
    #[error("sample {0} of the trace is not a number: leave it out")]
    NotFinite(usize),
    /// Time went backwards.
    #[error("time goes backwards at sample {0} of the trace: sort it, or split it there")]
    Backwards(usize),
    /// No samples.
    #[error("the trace is empty")]
    Empty,
}

/// Judges one display. `mates` is how much the others moved over the same time (median, rising
/// positive, °C); without it a display at rest is never called stuck.
///
/// # Errors
/// When the trace is empty, holds something that is not a number, or goes back in time.
pub fn judge(trace: &[Sample], rule: &Rule, mates: Option<f64>) -> Result<Settling, TraceError> {
    check(trace)?;
    let window = Window::at_end(trace, rule.within);
    let fit = fit_first_order(trace).filter(Fit::stands_out);
    let moved = trace[trace.len() - 1].value - trace[0].value;
    let verdict = verdict(trace, rule, &window, mates);
    let more_seconds = match verdict {
        Verdict::Settled => Some(0.0),
        Verdict::StillMoving | Verdict::Falling => fit
            .filter(|fit| fit.final_se <= rule.moves && fit.noise <= allowed_noise(&window))
            .map(|fit| fit.seconds_until_within(rule.moves)),
        Verdict::TooShort | Verdict::Stuck | Verdict::Scattering => None,
    };
    Ok(Settling {
        verdict,
        level: window.level,
        level_se: window.level_se,
        movement: window.movement,
        movement_se: window.movement_se,
        noise: window.noise,
        fit,
        more_seconds,
        opposes_mates: mates.is_some_and(|mates| {
            mates.abs() >= rule.mates_move && moved.abs() >= rule.moves && mates * moved < 0.0
        }),
    })
}

/// Judges displays that were recorded together, each against its mates.
///
/// # Errors
/// The index of the first trace that cannot be judged, and why.
pub fn judge_all(
    traces: &[Vec<Sample>],
    rule: &Rule,
) -> Result<Vec<Settling>, (usize, TraceError)> {
    let mut moved = Vec::with_capacity(traces.len());
    for (i, trace) in traces.iter().enumerate() {
        check(trace).map_err(|error| (i, error))?;
        moved.push(trace[trace.len() - 1].value - trace[0].value);
    }
    traces
        .iter()
        .enumerate()
        .map(|(i, trace)| {
            let mut others = moved.clone();
            others.remove(i);
            judge(trace, rule, median(&others)).map_err(|error| (i, error))
        })
        .collect()
}

fn check(trace: &[Sample]) -> Result<(), TraceError> {
    if trace.is_empty() {
        return Err(TraceError::Empty);
    }
    if let Some(bad) = trace.iter().position(|s| !(s.seconds.is_finite() && s.value.is_finite())) {
        return Err(TraceError::NotFinite(bad));
    }
    match trace.windows(2).position(|pair| pair[1].seconds < pair[0].seconds) {
        Some(before) => Err(TraceError::Backwards(before + 1)),
        None => Ok(()),
    }
}

/// Scatter about a first-order course beyond which the trace does not keep to it: twice the scatter
/// at its end, and never under 0.5 °C (judgement).
fn allowed_noise(window: &Window) -> f64 {
    (2.0 * window.noise).max(0.5)
}

fn verdict(trace: &[Sample], rule: &Rule, window: &Window, mates: Option<f64>) -> Verdict {
    let span = trace[trace.len() - 1].seconds - trace[0].seconds;
    if span < rule.within || window.samples < FEWEST {
        return Verdict::TooShort;
    }
    let (low, high) = trace
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| (l.min(s.value), h.max(s.value)));
    if high - low <= rule.still && mates.is_some_and(|moved| moved.abs() >= rule.mates_move) {
        return Verdict::Stuck;
    }
    if window.noise > rule.scatter {
        return Verdict::Scattering;
    }
    if window.movement.abs() < rule.moves {
        Verdict::Settled
    } else if window.movement > 0.0 {
        Verdict::StillMoving
    } else {
        Verdict::Falling
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trace(length: u16, value: impl Fn(f64) -> f64) -> Vec<Sample> {
        (0..=length)
            .map(f64::from)
            .map(|seconds| Sample { seconds, value: value(seconds) })
            .collect()
    }

    /// Unordered steps between −1 and 1, the same each time.
    fn shake(seconds: f64) -> f64 {
        ((seconds * 12.9898).sin() * 43_758.547).fract()
    }

    #[track_caller]
    fn check(value: impl Fn(f64) -> f64, mates: Option<f64>, expected: Verdict) -> Settling {
        let found = judge(&trace(60, value), &Rule::default(), mates).expect("a sound trace");
        assert_eq!(found.verdict, expected, "{found:?}");
        found
    }

    #[test]
    fn a_trace_is_put_under_its_heading() {
        check(|_| 600.0, None, Verdict::Settled);
        check(|t| 600.0 + 2.0 * shake(t), None, Verdict::Settled);
        check(|t| 600.0 + 0.09 * t, None, Verdict::Settled);
        check(|t| 600.0 + 0.11 * t, None, Verdict::StillMoving);
        check(|t| 600.0 - 0.11 * t, None, Verdict::Falling);
        check(|t| 600.0 + 20.0 * shake(t), None, Verdict::Scattering);
        check(|_| 600.0, Some(80.0), Verdict::Stuck);
        check(|_| 600.0, Some(2.0), Verdict::Settled);
    }

    #[test]
    fn a_course_that_turns_within_the_window_is_moving() {
        let found = check(|t| 600.0 - 0.03 * (t - 45.0).powi(2), None, Verdict::Falling);
        assert!((found.movement + 6.75).abs() < 0.3, "{found:?}");
        assert_eq!(found.more_seconds, None, "a parabola is not first order");
    }

    #[test]
    fn a_rise_tells_where_it_ends_and_when() {
        let found = check(|t| 600.0 - 250.0 * (-t / 20.0).exp(), None, Verdict::StillMoving);
        let fit = found.fit.expect("stands out");
        assert!((fit.final_value - 600.0).abs() < 0.01, "{fit:?}");
        assert!((fit.time_constant - 20.0).abs() < 0.01, "{fit:?}");
        // 250·exp(−(60 + s)/20) = 3.
        let exact = 20.0 * (250.0_f64 / 3.0).ln() - 60.0;
        assert!((found.more_seconds.expect("known closely") - exact).abs() < 0.05);
    }

    #[test]
    fn too_early_a_trace_does_not_promise_an_end() {
        let found = check(
            |t| 600.0 - 250.0 * (-t / 200.0).exp() + 2.0 * shake(t),
            None,
            Verdict::StillMoving,
        );
        assert_eq!(found.more_seconds, None, "{found:?}");
    }

    #[test]
    fn short_traces_are_not_judged() {
        let found = judge(&trace(20, |_| 600.0), &Rule::default(), None).expect("sound");
        assert_eq!(found.verdict, Verdict::TooShort);
        let sparse: Vec<Sample> = trace(60, |_| 600.0).into_iter().step_by(10).collect();
        let found = judge(&sparse, &Rule::default(), None).expect("sound");
        assert_eq!(found.verdict, Verdict::TooShort);
    }

    #[test]
    fn a_display_that_falls_while_its_mates_rise_is_told() {
        let up = || trace(60, |t| 300.0 + t);
        let traces = [up(), up(), trace(60, |t| 20.0 - t), up()];
        let found = judge_all(&traces, &Rule::default()).expect("sound traces");
        assert_eq!(found[2].verdict, Verdict::Falling);
        assert!(found[2].opposes_mates && !found[0].opposes_mates);
        let stuck = [up(), trace(60, |_| 212.0), up()];
        let found = judge_all(&stuck, &Rule::default()).expect("sound traces");
        assert_eq!(found[1].verdict, Verdict::Stuck);
    }

    #[test]
    fn broken_traces_are_refused_with_the_place() {
        let rule = Rule::default();
        let mut bad = trace(60, |_| 600.0);
        bad[7].value = f64::NAN;
        assert_eq!(judge(&bad, &rule, None), Err(TraceError::NotFinite(7)));
        let mut back = trace(60, |_| 600.0);
        back[9].seconds = 2.0;
        assert_eq!(judge(&back, &rule, None), Err(TraceError::Backwards(9)));
        assert_eq!(judge(&[], &rule, None), Err(TraceError::Empty));
        assert_eq!(judge_all(&[back, bad], &rule), Err((0, TraceError::Backwards(9))));
    }
}
