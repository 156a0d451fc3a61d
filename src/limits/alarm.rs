//! How often a deviation alarm is false, and how soon a true one comes.
//!
//! A display's distance from its usual place is taken as two parts: an offset that is drawn anew for
//! each run and stays through it, and a wandering about it, normal, whose memory fades with a time
//! constant (a first-order autoregressive process once it is sampled). The alarm is given when the
//! distance has been beyond the limit, to one side, for the whole of the delay. It must not know a job, a
//! probe or a fault.
//!
//! ```text
//! Q(n) = P(n samples in a row beyond the limit)       by integration over the sample, step by step
//! Q(n) − Q(n+1)                                       chance a sample that such a run begins
//! P(none in an hour) = ∫ (1 − Q(n)) · exp(−samples · (Q(n) − Q(n+1))) over the offset, both sides
//! ```

use statrs::distribution::{Continuous, ContinuousCDF, Normal};

/// How a display wanders about its usual place, °C and seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// Sd of the offset of a run.
    pub offset_sd: f64,
    /// Sd of the wandering within a run.
    pub noise_sd: f64,
    /// Time constant with which the wandering is forgotten, s.
    pub memory: f64,
}

/// A deviation alarm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// Distance from the usual place, either way, °C.
    pub limit: f64,
    /// For how long, s.
    pub delay: f64,
}

/// Seconds between the samples a controller compares (assumed; slower ones give fewer alarms).
const SAMPLE: f64 = 1.0;
/// Most samples in a row that are followed one by one; a longer delay is sampled more coarsely.
const MOST: f64 = 40.0;
/// Seconds in an hour, which is also how long an offset is taken to last: a run.
const HOUR: f64 = 3600.0;
/// Nodes over the part beyond the limit, and how far in standard deviations it is followed.
const NODES: usize = 120;
const FAR: f64 = 6.0;
/// Standard normal thresholds that are tabulated, and the step between them.
const LOWEST: f64 = -7.0;
const STEP: f64 = 0.25;
const COUNT: usize = 69;
/// Chances below this are taken as it, so that their logarithm can be drawn through.
const NOUGHT: f64 = 1e-300;

/// Chances of runs beyond a threshold, by threshold, for one memory and one delay.
#[derive(Debug, Clone)]
pub struct Runs {
    /// Natural logarithms of the chance that a run is under way, and that one begins at a sample.
    table: Vec<(f64, f64)>,
    /// Samples in an hour.
    samples: f64,
}

impl Runs {
    /// Prepares for a memory and a delay, both in seconds.
    #[must_use]
    pub fn new(memory: f64, delay: f64) -> Self {
        let step = (delay / MOST).max(SAMPLE);
        let n = whole((delay / step).round().max(1.0));
        let fades = (-step / memory.max(1e-3)).exp();
        let table = (0..COUNT)
            .map(|i| {
                let threshold = LOWEST + STEP * count(i);
                let rows = in_a_row(threshold, fades, n + 1);
                let (all, longer) = (rows[n - 1], rows[n]);
                (all.max(NOUGHT).ln(), (all - longer).max(NOUGHT).ln())
            })
            .collect();
        Self { table, samples: HOUR / step }
    }

    /// Chance that a run is under way when one begins to look, and the expected number that begin in an
    /// hour, for a threshold in standard deviations of the wandering.
    #[must_use]
    pub fn beyond(&self, threshold: f64) -> (f64, f64) {
        let highest = LOWEST + STEP * count(COUNT - 1);
        let at = (threshold.clamp(LOWEST, highest) - LOWEST) / STEP;
        // A cubic through the four nearest points.
        let from = whole(at.floor()).saturating_sub(1).min(COUNT - 4);
        let x = at - count(from);
        let weight = |k: usize| {
            (0..4).filter(|&j| j != k).fold(1.0, |w, j| w * (x - count(j)) / (count(k) - count(j)))
        };
        let through = |pick: fn(&(f64, f64)) -> f64| -> f64 {
            (0..4).map(|k| weight(k) * pick(&self.table[from + k])).sum::<f64>().min(0.0).exp()
        };
        (through(|row| row.0), self.samples * through(|row| row.1))
    }

    /// Chance of an alarm within an hour of running, with the display moved by `shift` °C.
    #[must_use]
    pub fn chance(&self, course: Course, limit: f64, shift: f64) -> f64 {
        let noise = course.noise_sd.max(1e-6);
        let none = |offset: f64| {
            let (up, ups) = self.beyond((limit - offset) / noise);
            let (down, downs) = self.beyond((limit + offset) / noise);
            (1.0 - up) * (1.0 - down) * (-ups - downs).exp()
        };
        1.0 - over_normal(shift, course.offset_sd, none)
    }

    /// False alarms per hour of running.
    #[must_use]
    pub fn per_hour(&self, course: Course, limit: f64) -> f64 {
        -(-self.chance(course, limit, 0.0)).ln_1p()
    }

    /// The smallest limit, in whole steps of `grain` °C, with no more than so many false alarms per hour;
    /// nothing where none below a thousand steps does.
    #[must_use]
    pub fn limit(&self, course: Course, per_hour: f64, grain: f64) -> Option<f64> {
        let fine = |steps: usize| self.per_hour(course, grain * count(steps)) <= per_hour;
        let (mut low, mut high) = (0, 1000);
        if !fine(high) {
            return None;
        }
        while high - low > 1 {
            let middle = usize::midpoint(low, high);
            if fine(middle) { high = middle } else { low = middle }
        }
        Some(grain * count(high))
    }
}

/// Chances that 1, 2, … `most` samples in a row lie beyond a threshold; the process has mean 0, sd 1
/// and keeps the share `fades` from one sample to the next.
#[must_use]
pub fn in_a_row(threshold: f64, fades: f64, most: usize) -> Vec<f64> {
    let standard = Normal::standard();
    let nodes = legendre(NODES, threshold, threshold.max(0.0) + FAR);
    let mut density: Vec<f64> = nodes.iter().map(|(x, _)| standard.pdf(*x)).collect();
    let sum =
        |density: &[f64]| -> f64 { density.iter().zip(&nodes).map(|(p, (_, w))| p * w).sum() };
    let mut rows = vec![standard.sf(threshold)];
    let spread = (1.0 - fades * fades).sqrt();
    let fresh = spread < 1e-6;
    let kernel: Vec<Vec<f64>> = if fresh {
        Vec::new()
    } else {
        let step = |to: f64, from: f64| standard.pdf((to - fades * from) / spread) / spread;
        nodes
            .iter()
            .map(|(to, _)| nodes.iter().map(|(from, w)| w * step(*to, *from)).collect())
            .collect()
    };
    while rows.len() < most {
        if fresh {
            // Nothing is forgotten between two samples.
            rows.push(rows[0]);
        } else {
            density = kernel
                .iter()
                .map(|row| row.iter().zip(&density).map(|(k, p)| k * p).sum())
                .collect();
            rows.push(sum(&density));
        }
    }
    rows
}

/// Seconds until a shift that sets in at once is told: the probe follows first-order, then the delay
/// runs. Nothing where the shift does not reach the limit.
#[must_use]
pub fn seconds_to(shift: f64, rule: Rule, time_constant: f64) -> Option<f64> {
    let size = shift.abs();
    (size > rule.limit).then(|| rule.delay - time_constant * (1.0 - rule.limit / size).ln())
}

/// Mean of a function of a normal number, by Simpson's rule over six standard deviations either way.
fn over_normal(mean: f64, sd: f64, f: impl Fn(f64) -> f64) -> f64 {
    if sd <= 0.0 {
        return f(mean);
    }
    let (mut sum, mut weights) = (0.0, 0.0);
    for i in 0..=60_u8 {
        let z = f64::from(i) * 0.2 - 6.0;
        let simpson = match i {
            0 | 60 => 1.0,
            i if i % 2 == 1 => 4.0,
            _ => 2.0,
        };
        let weight = simpson * (-0.5 * z * z).exp();
        sum += weight * f(mean + sd * z);
        weights += weight;
    }
    sum / weights
}

/// Nodes and weights of Gauss and Legendre between two ends: roots of the polynomial by Newton's method
/// (any text on numerical integration).
fn legendre(n: usize, from: f64, to: f64) -> Vec<(f64, f64)> {
    let (middle, half) = (f64::midpoint(from, to), (to - from) / 2.0);
    (0..n)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (count(i) + 0.75) / (count(n) + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut before, mut now) = (1.0, x);
                for k in 2..=n {
                    let k = count(k);
                    (before, now) = (now, ((2.0 * k - 1.0) * x * now - (k - 1.0) * before) / k);
                }
                slope = count(n) * (x * now - before) / (x * x - 1.0);
                let step = now / slope;
                x -= step;
                if step.abs() < 1e-14 {
                    break;
                }
            }
            (middle + half * x, half * 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

fn count(n: usize) -> f64 {
    u32::try_from(n).map_or(f64::MAX, f64::from)
}

/// A number that is whole and small already.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "rounded, not negative, and far below 2^32"
)]
fn whole(x: f64) -> usize {
    x.clamp(0.0, 1e6) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    const COURSE: Course = Course { offset_sd: 5.0, noise_sd: 4.0, memory: 11.0 };

    #[test]
    fn independent_samples_multiply() {
        let rows = in_a_row(1.0, 0.0, 4);
        for (n, found) in (1..).zip(&rows) {
            let expected = 0.158_655_253_931_457_f64.powi(n);
            assert!((found / expected - 1.0).abs() < 1e-9, "{n}: {found} against {expected}");
        }
    }

    #[test]
    fn a_wider_limit_and_a_longer_delay_give_fewer_false_alarms() {
        let (short, long) = (Runs::new(11.0, 10.0), Runs::new(11.0, 60.0));
        let mut last = f64::INFINITY;
        for limit in [6.0, 9.0, 12.0, 15.0, 18.0, 24.0] {
            let (a, b) = (short.per_hour(COURSE, limit), long.per_hour(COURSE, limit));
            assert!(a < last && b < a, "{limit}: {a} {b} after {last}");
            last = a;
        }
    }

    #[test]
    fn the_limit_is_the_smallest_that_keeps_the_rate() {
        let runs = Runs::new(11.0, 35.0);
        let limit = runs.limit(COURSE, 1e-3, 1.0).expect("there is one");
        assert!(runs.per_hour(COURSE, limit) <= 1e-3);
        assert!(runs.per_hour(COURSE, limit - 1.0) > 1e-3);
        assert_eq!(runs.limit(Course { offset_sd: 900.0, ..COURSE }, 1e-3, 1.0), None);
    }

    #[test]
    fn a_fault_far_beyond_the_limit_is_told_for_sure_and_in_time() {
        let runs = Runs::new(11.0, 35.0);
        assert!(runs.chance(COURSE, 18.0, 60.0) > 0.999);
        assert!(runs.chance(COURSE, 18.0, -60.0) > 0.999);
        let rule = Rule { limit: 18.0, delay: 35.0 };
        let seconds = seconds_to(-36.0, rule, 10.0).expect("beyond");
        assert!((seconds - 35.0 - 10.0 * 2.0_f64.ln()).abs() < 1e-9);
        assert_eq!(seconds_to(17.0, rule, 10.0), None);
    }
}
