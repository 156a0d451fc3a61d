//! How exactly depth and place must be kept, so that fitting alone keeps healthy displays within a
//! spread.
//!
//! Errors of depth and of place are taken as even over plus and minus the tolerance and independent
//! of each other. The spread of n displays, the highest less the lowest, is then that of n sums of
//! two even errors, whose distribution is known in closed form up to one integral. Slopes are those
//! of the worst running point, three quarters of a standard deviation steeper than expected. It must not draw
//! anything at random.

use serde::Serialize;

use super::{Seating, offset};
use crate::number::real;

/// Share of engines whose spread stays within what is asked for.
pub const SHARE: f64 = 0.95;
/// The same of a hundred engines.
pub(super) const OF_100: usize = 95;
/// What a rule and a felt pen keep on a stem, mm, plus or minus (common practice, no source).
pub const RULE: f64 = 0.5;
/// Share of the spread that errors of place alone may use up: little, since a place is easily kept
/// and a depth is not (choice of this program).
const PLACE_SHARE: f64 = 0.35;
/// Widest tolerances that are given, mm: beyond them slopes are no slopes any more.
const PLACE_MOST: f64 = 10.0;
const DEPTH_MOST: f64 = 4.0;
/// Stretches over which the slope with depth is taken, mm: the first that holds the tolerance counts.
const SPANS: [f64; 3] = [1.0, 2.0, DEPTH_MOST];
/// Steps of an integral and of a search.
const STEPS: u16 = 400;
const HALVINGS: usize = 50;

/// Tolerances, mm to either side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tolerance {
    /// Of the depth.
    pub depth_mm: f64,
    /// Of the distance from the flange.
    pub place_mm: f64,
    /// What a millimetre of depth is worth at the worst running point, °C, doubt counted in.
    pub by_depth: f64,
    /// The same along the runner.
    pub by_place: f64,
    /// The spread to be had with [`RULE`], °C, where the tolerance of depth is finer than that.
    pub spread_by_rule: Option<f64>,
}

/// The tolerances for probes at these spots.
pub(super) fn tolerance(spots: &[Seating], within: f64) -> Tolerance {
    let mut kinds: Vec<Seating> = Vec::new();
    for spot in spots {
        if !kinds.contains(spot) {
            kinds.push(*spot);
        }
    }
    let worst =
        |slope: &dyn Fn(Seating) -> f64| kinds.iter().map(|&s| slope(s)).fold(1e-6, f64::max);
    let n = spots.len();
    let by_place = worst(&offset::by_place);
    // Not rounded, so that a tighter spread never gives a looser depth.
    let place = (most(|b| kept(n, 0.0, b, PLACE_SHARE * within)) / by_place).min(PLACE_MOST);
    let by_distance = place * by_place;
    let depth = most(|a| kept(n, a, by_distance, within));
    let (mut depth_mm, mut by_depth, mut before) = (0.0, 0.0, 0.0_f64);
    for over in SPANS {
        by_depth = worst(&|spot| offset::by_depth(spot, over));
        depth_mm = (depth / by_depth).max(before);
        if depth_mm <= over {
            break;
        }
        before = over;
    }
    let down = |mm: f64, step: f64| ((mm / step + 1e-9).floor() * step * 100.0).round() / 100.0;
    let depth_mm = down(depth_mm.min(DEPTH_MOST), 0.1);
    let place_mm = if place < 1.0 { down(place, 0.1) } else { down(place, 1.0) };
    let spread_by_rule = (depth_mm < RULE - 1e-9).then(|| {
        let held = |within: f64| kept(n, RULE * by_depth, place_mm * by_place, within);
        least(held)
    });
    Tolerance { depth_mm, place_mm, by_depth, by_place, spread_by_rule }
}

/// Chance that `n` errors, each the sum of one even over ±`a` and one even over ±`b`, lie within
/// `within` of each other: `n·∫ f(x)·[F(x + within) − F(x)]ⁿ⁻¹ dx`, x being the lowest of them.
#[must_use]
pub(super) fn kept(n: usize, a: f64, b: f64, within: f64) -> f64 {
    let (long, short) = (a.max(b), a.min(b).max(1e-9));
    let end = long + short;
    if within >= 2.0 * end {
        return 1.0;
    }
    let density = |x: f64| ((end - x.abs()) / (4.0 * long * short)).clamp(0.0, 0.5 / long);
    let below = |x: f64| {
        if x <= -end {
            0.0
        } else if x >= end {
            1.0
        } else if x.abs() <= long - short {
            0.5 + x / (2.0 * long)
        } else {
            let tail = (end - x.abs()).powi(2) / (8.0 * long * short);
            if x < 0.0 { tail } else { 1.0 - tail }
        }
    };
    let step = 2.0 * end / f64::from(STEPS);
    let others = i32::try_from(n.saturating_sub(1)).unwrap_or(i32::MAX);
    let sum: f64 = (0..STEPS)
        .map(|i| {
            let x = -end + (f64::from(i) + 0.5) * step;
            density(x) * (below(x + within) - below(x)).powi(others)
        })
        .sum();
    (real(n) * sum * step).clamp(0.0, 1.0)
}

/// The largest size of an error that keeps [`SHARE`]; the chance falls as the size grows.
fn most(chance: impl Fn(f64) -> f64) -> f64 {
    edge(|size| chance(size) >= SHARE).0
}

/// The least spread that keeps [`SHARE`]; the chance grows with the spread.
pub(super) fn least(chance: impl Fn(f64) -> f64) -> f64 {
    edge(|spread| chance(spread) < SHARE).1
}

/// The last figure found for which something holds that holds from nought up to some figure, and the first for which it
/// does not.
fn edge(holds: impl Fn(f64) -> bool) -> (f64, f64) {
    let (mut low, mut high) = (0.0, 1000.0);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if holds(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    (low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The range of n even errors over ±1 lies within w with chance `n·vⁿ⁻¹ − (n − 1)·vⁿ`, v = w/2
    /// (any text on order statistics).
    #[test]
    fn even_errors_have_their_textbook_range() {
        for n in [2_i32, 4, 6, 12] {
            for w in [0.4, 1.0, 1.6] {
                let v: f64 = w / 2.0;
                let exact = f64::from(n) * v.powi(n - 1) - f64::from(n - 1) * v.powi(n);
                let count = usize::try_from(n).expect("small");
                assert!((kept(count, 1.0, 0.0, w) - exact).abs() < 2e-3, "{n} {w}");
                assert!((kept(count, 0.0, 1.0, w) - exact).abs() < 2e-3, "{n} {w}");
            }
        }
    }

    /// The difference of two sums of two is a sum of four: within ±2 with chance 22/24 for errors over
    /// ±1 (Irwin and Hall: four even numbers from 0 to 1 sum to less than 1 with chance 1/24).
    #[test]
    fn two_sums_of_two_even_errors_differ_as_four_even_errors_sum() {
        assert!((kept(2, 1.0, 1.0, 2.0) - 22.0 / 24.0).abs() < 2e-3);
    }

    #[test]
    fn more_error_or_more_cylinders_keep_less_and_more_spread_keeps_more() {
        assert!(kept(4, 1.0, 0.5, 2.0) > kept(4, 1.2, 0.5, 2.0));
        assert!(kept(4, 1.0, 0.5, 2.0) > kept(6, 1.0, 0.5, 2.0));
        assert!(kept(4, 1.0, 0.5, 2.0) < kept(4, 1.0, 0.5, 2.2));
        assert!((kept(4, 1.0, 0.5, 3.1) - 1.0).abs() < 1e-12);
    }
}
