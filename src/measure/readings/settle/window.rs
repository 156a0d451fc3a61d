//! The end of a trace, looked at on its own.

use super::Sample;

/// What the last stretch of a trace does.
pub(super) struct Window {
    /// Samples in it.
    pub(super) samples: usize,
    /// Mean, °C.
    pub(super) level: f64,
    /// Standard error of the mean from scatter, °C.
    pub(super) level_se: f64,
    /// Movement over the window's length, rising positive, °C.
    pub(super) movement: f64,
    /// Its standard error, °C.
    pub(super) movement_se: f64,
    /// Scatter about a parabola through the window, °C (one sd).
    pub(super) noise: f64,
}

impl Window {
    /// Looks at the last `length` seconds of a trace that is not empty and in order of time.
    ///
    /// A parabola by least squares, in powers made orthogonal on these very samples. Its curved
    /// part counts towards the movement only if it stands three standard errors out of the
    /// scatter, for a straight line is steadier; the movement is then from lowest to highest, with
    /// the sign of the way the curve leaves the window.
    pub(super) fn at_end(trace: &[Sample], length: f64) -> Self {
        let end = trace[trace.len() - 1].seconds;
        let from = trace.partition_point(|sample| sample.seconds < end - length);
        let part = &trace[from..];
        #[expect(clippy::cast_precision_loss, reason = "counts are far below 2^52")]
        let n = part.len() as f64;
        let mean = |of: &dyn Fn(&Sample) -> f64| part.iter().map(of).sum::<f64>() / n;
        let middle = mean(&|s| s.seconds);
        let level = mean(&|s| s.value);
        // Time from −1 to 1 or so, to keep the sums tame.
        let half = if length > 0.0 { length / 2.0 } else { 1.0 };
        let x = |s: &Sample| (s.seconds - middle) / half;
        let xx = mean(&|s| x(s).powi(2));
        let lean = if xx > 0.0 { mean(&|s| x(s).powi(3)) / xx } else { 0.0 };
        let bend = |s: &Sample| x(s).powi(2) - lean * x(s) - xx;
        let bb = mean(&|s| bend(s).powi(2));
        let along = |sum: f64, square: f64| if square > 1e-12 { sum / square } else { 0.0 };
        let slope = along(mean(&|s| x(s) * (s.value - level)), xx);
        let curve = along(mean(&|s| bend(s) * (s.value - level)), bb);
        let rest = |s: &Sample| s.value - level - slope * x(s) - curve * bend(s);
        let squares = n * mean(&|s| rest(s).powi(2));
        let noise = if n > 3.0 { (squares / (n - 3.0)).sqrt() } else { 0.0 };
        let movement = if curve.abs() * (n * bb).sqrt() > 3.0 * noise {
            let leaving = slope + curve * (2.0 * x(&trace[trace.len() - 1]) - lean);
            span(part, |s| slope * x(s) + curve * bend(s)).copysign(leaving)
        } else {
            2.0 * slope
        };
        let se = |square: f64| if square > 1e-12 { noise / (n * square).sqrt() } else { 0.0 };
        Self {
            samples: part.len(),
            level,
            level_se: noise / n.sqrt(),
            movement,
            movement_se: 2.0 * se(xx),
            noise,
        }
    }
}

/// From lowest to highest of a curve over samples.
fn span(part: &[Sample], curve: impl Fn(&Sample) -> f64) -> f64 {
    let (low, high) = part
        .iter()
        .map(curve)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    high - low
}
