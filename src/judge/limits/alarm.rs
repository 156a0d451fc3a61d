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

use measure::number::real;
use std::collections::BTreeMap;

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
/// Samples in a time constant at most: between closer ones nothing happens, and a step between them would
/// be too narrow for the nodes.
const CLOSE: f64 = 100.0;
/// Seconds in an hour, which is also how long an offset is taken to last: a run.
const HOUR: f64 = 3600.0;
/// Nodes for each standard deviation of a step, over the part beyond the limit: Gauss and Legendre's rule then
/// integrates the step to better than a millionth (tried against twice as many).
const DENSE: f64 = 2.6;
/// Fewest nodes, and the grain of their count, so that few rules have to be made.
const GRAIN: f64 = 8.0;
const FEWEST: f64 = 24.0;
/// The part beyond the limit is followed until the density has fallen by `exp(−FALL/2)`.
const FALL: f64 = 46.0;
/// Standard normal thresholds that are tabulated, and the step between them. Below the lowest an alarm is as
/// good as sure, above the highest it never comes.
const LOWEST: f64 = -5.0;
const STEP: f64 = 0.5;
const COUNT: usize = 31;
/// Points that the table is read through.
const POINTS: usize = 6;
/// Chances below this are taken as it, so that their logarithm can be drawn through.
const NOUGHT: f64 = 1e-300;
/// Most, and fewest, steps of a mean over the offset for one of its standard deviations.
const FINEST: f64 = 50.0;
const COARSEST: f64 = 5.0;

/// A chance above this is taken as it where a rate is made of it.
const SURE: f64 = 1.0 - 1e-12;

/// Chances of runs beyond a threshold, by threshold, for one memory and one delay.
#[derive(Debug, Clone)]
pub struct Runs {
    /// Natural logarithms of the chance that a run is under way, and that one begins at a sample.
    table: Vec<(f64, f64)>,
    /// Samples in an hour.
    samples: f64,
}

impl Runs {
    /// Prepares for a memory and a delay, both in seconds. Takes the same time whatever they are.
    #[must_use]
    pub fn new(memory: f64, delay: f64) -> Self {
        let (memory, delay) = (within(memory, 1e-3, 1e6), within(delay, 0.0, 1e6));
        let step = SAMPLE.max(delay / MOST).max(memory / CLOSE);
        let n = whole((delay / step).round().max(1.0));
        let fades = (-step / memory).exp();
        let mut rules = BTreeMap::new();
        let table = (0..COUNT)
            .map(|i| {
                let threshold = LOWEST + STEP * real(i);
                let rows = rows(threshold, fades, n + 1, &mut rules);
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
        let highest = LOWEST + STEP * real(COUNT - 1);
        let at = (within(threshold, LOWEST, highest) - LOWEST) / STEP;
        // A polynomial through the nearest points.
        let from = whole(at.floor()).saturating_sub(POINTS / 2 - 1).min(COUNT - POINTS);
        let x = at - real(from);
        let (mut under_way, mut begins) = (0.0, 0.0);
        for (k, row) in self.table[from..from + POINTS].iter().enumerate() {
            let others = (0..POINTS).filter(|&j| j != k);
            let weight = others.fold(1.0, |w, j| w * (x - real(j)) / (real(k) - real(j)));
            under_way += weight * row.0;
            begins += weight * row.1;
        }
        (under_way.min(0.0).exp(), self.samples * begins.min(0.0).exp())
    }

    /// Chance of an alarm within an hour of running, with the display moved by `shift` °C.
    #[must_use]
    pub fn chance(&self, course: Course, limit: f64, shift: f64) -> f64 {
        let noise = within(course.noise_sd, 1e-6, 1e9);
        let none = |offset: f64| {
            let (up, ups) = self.beyond((limit - offset) / noise);
            let (down, downs) = self.beyond((limit + offset) / noise);
            (1.0 - up) * (1.0 - down) * (-ups - downs).exp()
        };
        // What little noise there is against the offset makes the chance fall steeply.
        let offset_sd = within(course.offset_sd, 0.0, 1e9);
        let fine = within(offset_sd / noise, COARSEST, FINEST);
        (1.0 - over_normal(shift, offset_sd, fine, none)).clamp(0.0, 1.0)
    }

    /// False alarms per hour of running.
    #[must_use]
    pub fn per_hour(&self, course: Course, limit: f64) -> f64 {
        -(-self.chance(course, limit, 0.0).min(SURE)).ln_1p()
    }

    /// The smallest limit, in whole steps of `grain` °C, with no more than so many false alarms per hour;
    /// nothing where none below a thousand steps does.
    #[must_use]
    pub fn limit(&self, course: Course, per_hour: f64, grain: f64) -> Option<f64> {
        let fine = |steps: usize| self.per_hour(course, grain * real(steps)) <= per_hour;
        let (mut low, mut high) = (0, 1000);
        if !fine(high) {
            return None;
        }
        while high - low > 1 {
            let middle = usize::midpoint(low, high);
            if fine(middle) { high = middle } else { low = middle }
        }
        Some(grain * real(high))
    }
}

/// Chances that 1, 2, … `most` samples in a row lie beyond a threshold; the process has mean 0, sd 1
/// and keeps the share `fades` from one sample to the next.
#[must_use]
pub fn in_a_row(threshold: f64, fades: f64, most: usize) -> Vec<f64> {
    rows(threshold, fades, most, &mut BTreeMap::new())
}

/// Nodes and weights between −1 and 1, by their number.
type Rules = BTreeMap<usize, Vec<(f64, f64)>>;

fn rows(threshold: f64, fades: f64, most: usize, rules: &mut Rules) -> Vec<f64> {
    let standard = Normal::standard();
    let mut rows = vec![standard.sf(threshold)];
    let spread = (1.0 - fades * fades).sqrt();
    if spread < 1e-6 {
        // Nothing is forgotten between two samples.
        rows.resize(most, rows[0]);
        return rows;
    }
    let top = (threshold.max(0.0).powi(2) + FALL).sqrt();
    let half = (top - threshold) / 2.0;
    let wanted = (DENSE * 2.0 * half / spread / GRAIN).ceil() * GRAIN;
    let number = whole(within(wanted, FEWEST, 480.0));
    let rule = rules.entry(number).or_insert_with(|| legendre(number));
    let nodes: Vec<(f64, f64)> =
        rule.iter().map(|(x, w)| (threshold + half * (1.0 + x), half * w)).collect();
    // What a sample at each node passes on to all nodes, one after the other, so that the sums over
    // nodes run side by side.
    let over = 1.0 / (spread * std::f64::consts::TAU.sqrt());
    let kernel: Vec<f64> = nodes
        .iter()
        .flat_map(|(from, weight)| {
            let passes = weight * over;
            nodes.iter().map(move |(to, _)| {
                let z = (to - fades * from) / spread;
                passes * (-0.5 * z * z).exp()
            })
        })
        .collect();
    let mut density: Vec<f64> = nodes.iter().map(|(x, _)| standard.pdf(*x)).collect();
    while rows.len() < most {
        let mut next = vec![0.0; number];
        for (row, from) in kernel.chunks_exact(number).zip(&density) {
            for (sum, passes) in next.iter_mut().zip(row) {
                *sum += passes * from;
            }
        }
        density = next;
        rows.push(density.iter().zip(&nodes).map(|(p, (_, w))| p * w).sum());
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

/// Mean of a function of a normal number, by Simpson's rule over six standard deviations either way with so
/// many steps in each.
fn over_normal(mean: f64, sd: f64, steps: f64, f: impl Fn(f64) -> f64) -> f64 {
    if sd <= 0.0 {
        return f(mean);
    }
    let half = whole((6.0 * steps).ceil());
    let step = 6.0 / real(half);
    let (mut sum, mut weights) = (0.0, 0.0);
    for i in 0..=2 * half {
        let z = real(i) * step - 6.0;
        let simpson = match i {
            0 => 1.0,
            i if i == 2 * half => 1.0,
            i if i % 2 == 1 => 4.0,
            _ => 2.0,
        };
        let weight = simpson * (-0.5 * z * z).exp();
        sum += weight * f(mean + sd * z);
        weights += weight;
    }
    sum / weights
}

/// Nodes and weights of Gauss and Legendre between −1 and 1: roots of the polynomial by Newton's method
/// (any text on numerical integration).
fn legendre(n: usize) -> Vec<(f64, f64)> {
    (0..n)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (real(i) + 0.75) / (real(n) + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut before, mut now) = (1.0, x);
                for k in 2..=n {
                    let k = real(k);
                    (before, now) = (now, ((2.0 * k - 1.0) * x * now - (k - 1.0) * before) / k);
                }
                slope = real(n) * (x * now - before) / (x * x - 1.0);
                let step = now / slope;
                x -= step;
                if step.abs() < 1e-14 {
                    break;
                }
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// Within bounds, the lower one for what is no number.
fn within(x: f64, low: f64, high: f64) -> f64 {
    if x.is_nan() { low } else { x.clamp(low, high) }
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
mod tests;
