//! Whether displays stand still over the last blocks, quickly.
//!
//! The same question as [`crate::readings::settle`] answers with care, asked at every block: a
//! parabola through up to thirty block means. Windows found by it are judged with care afterwards.

/// How a display did over the last blocks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Course {
    /// Movement over the window, °C, rising positive.
    pub(super) movement: f64,
    /// Standard error of the movement, °C.
    pub(super) movement_se: f64,
    /// Scatter of block means about the course, °C.
    pub(super) noise: f64,
}

/// Course through block means at even places; those that are not numbers are left out. Nothing for
/// fewer than `fewest`.
pub(super) fn course(means: &[f64], fewest: usize) -> Option<Course> {
    #[expect(clippy::cast_precision_loss, reason = "thirty blocks")]
    let half = (means.len() as f64 - 1.0) / 2.0;
    let level = *means.iter().find(|mean| !mean.is_nan())?;
    // Sums of powers of x from −1 to 1, and of them with y.
    let (mut n, mut x1, mut x2, mut x3, mut x4) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let (mut y0, mut y1, mut y2, mut yy) = (0.0, 0.0, 0.0, 0.0);
    let mut place = -half;
    for &mean in means {
        if !mean.is_nan() {
            let x = place / half;
            let (y, xx) = (mean - level, x * x);
            n += 1.0;
            x1 += x;
            x2 += xx;
            x3 += xx * x;
            x4 += xx * xx;
            y0 += y;
            y1 += x * y;
            y2 += xx * y;
            yy += y * y;
        }
        place += 1.0;
    }
    #[expect(clippy::cast_precision_loss, reason = "thirty blocks")]
    if n < fewest as f64 {
        return None;
    }
    // Orthogonal on these places: 1, x − a, x² − b·(x − a) − c.
    let a = x1 / n;
    let sxx = x2 - n * a * a;
    if sxx <= 1e-12 {
        return None;
    }
    let b = (x3 - a * x2) / sxx;
    let c = x2 / n;
    let bend_y = y2 - b * (y1 - a * y0) - c * y0;
    let bend_2 = (x4 - n * c * c) - b * (x3 - a * x2);
    let slope = (y1 - a * y0) / sxx;
    let curve = if bend_2 > 1e-12 { bend_y / bend_2 } else { 0.0 };
    let squares = (yy - y0 * y0 / n - slope * slope * sxx - curve * curve * bend_2).max(0.0);
    let noise = if n > 3.0 { (squares / (n - 3.0)).sqrt() } else { 0.0 };
    let movement_se = 2.0 * noise / sxx.sqrt();
    if curve.abs() * bend_2.max(0.0).sqrt() <= 3.0 * noise {
        return Some(Course { movement: 2.0 * slope, movement_se, noise });
    }
    let at = |x: f64| slope * x + curve * (x * x - b * x);
    let top = (-(slope - curve * b) / (2.0 * curve)).clamp(-1.0, 1.0);
    let ends = [at(-1.0), at(1.0), at(top)];
    let span = ends.iter().fold(f64::NEG_INFINITY, |m, v| m.max(*v))
        - ends.iter().fold(f64::INFINITY, |m, v| m.min(*v));
    let leaving = slope + curve * (2.0 - b);
    Some(Course { movement: span.copysign(leaving), movement_se, noise })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::readings::settle::{Rule, Sample, judge};

    proptest! {
        /// The careful judge looks at the same thirty means.
        #[test]
        fn the_quick_look_agrees_with_the_careful_judge(
            start in -200.0..200.0f64, slope in -8.0..8.0f64, bend in -6.0..6.0f64,
            shakes in proptest::collection::vec(-1.0..1.0f64, 31), size in 0.0..4.0f64,
        ) {
            let means: Vec<f64> = (0..31)
                .zip(&shakes)
                .map(|(i, shake)| {
                    let x = f64::from(i) / 15.0 - 1.0;
                    600.0 + start + slope * x / 2.0 + bend * x * x + size * shake
                })
                .collect();
            let trace: Vec<Sample> = (0..31)
                .zip(&means)
                .map(|(i, &value)| Sample { seconds: f64::from(i), value })
                .collect();
            let rule = Rule::default();
            let careful = judge(&trace, &rule, None).expect("a sound trace");
            let quick = course(&means, 6).expect("enough");
            prop_assert!((quick.noise - careful.noise).abs() < 1e-6, "{quick:?} {careful:?}");
            prop_assert!(
                (quick.movement - careful.movement).abs() < 0.02 + 0.02 * careful.movement.abs(),
                "{quick:?} {careful:?}"
            );
        }
    }

    #[test]
    fn missing_blocks_are_left_out() {
        let mut means = vec![500.0; 30];
        means[3] = f64::NAN;
        let still = course(&means, 6).expect("enough");
        assert!(still.movement.abs() < 1e-9 && still.noise < 1e-9);
        assert_eq!(course(&[f64::NAN; 30], 6), None);
        assert_eq!(course(&[500.0; 5], 6), None);
    }
}
