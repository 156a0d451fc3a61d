//! What trims did to displays: levels of sets, offsets of cylinders and a slope for each trim that was
//! moved, at once, by least squares.
//!
//! ```text
//! y(s, i) = level(s) + offset(i) + slope(i)·trim(s, i) + e          offsets sum to nought
//! ```
//!
//! The scatter of a number is known beforehand (repeatability between two sets), so that two sets are
//! enough for a slope with an error. It knows numbers only.

use crate::diagnosis::linalg::Matrix;

/// One set of readings: a trim and a number for each cylinder.
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// Trims.
    pub trims: Vec<f64>,
    /// Readings, °C; nothing for a display that showed none.
    pub readings: Vec<Option<f64>>,
}

/// A number with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The number.
    pub value: f64,
    /// Its standard error.
    pub se: f64,
}

/// What came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Response {
    /// Distance of each cylinder from the mean of all with every trim at nought, °C.
    pub offsets: Vec<Estimate>,
    /// °C per unit of trim, for cylinders whose trim was moved.
    pub slopes: Vec<Option<Estimate>>,
}

/// Fits all sets; nothing where a number is missing in every set, or there are fewer than two
/// cylinders.
#[must_use]
pub fn response(sets: &[Set], sd: f64) -> Option<Response> {
    let n = sets.first()?.trims.len();
    let fits = |set: &Set| set.trims.len() == n && set.readings.len() == n;
    if n < 2 || !sets.iter().all(fits) || sd <= 0.0 {
        return None;
    }
    let moved: Vec<usize> = (0..n)
        .filter(|&c| {
            let shown = sets.iter().filter(|set| set.readings[c].is_some());
            let trims: Vec<f64> = shown.map(|set| set.trims[c]).collect();
            trims.iter().any(|t| (t - trims[0]).abs() > 1e-9)
        })
        .collect();
    if (0..n).any(|c| sets.iter().all(|set| set.readings[c].is_none())) {
        return None;
    }
    let (levels, offsets) = (sets.len(), n - 1);
    let unknowns = levels + offsets + moved.len();
    let mut rows: Vec<(Vec<f64>, f64)> = Vec::new();
    for (s, set) in sets.iter().enumerate() {
        for c in 0..n {
            let Some(value) = set.readings[c] else { continue };
            let mut row = vec![0.0; unknowns];
            row[s] = 1.0;
            for k in 0..offsets {
                row[levels + k] = f64::from(u8::from(c == k)) - f64::from(u8::from(c == n - 1));
            }
            if let Some(at) = moved.iter().position(|&m| m == c) {
                row[levels + offsets + at] = set.trims[c];
            }
            rows.push((row, value));
        }
    }
    let mut normal = Matrix::from_fn(unknowns, unknowns, |i, j| {
        rows.iter().map(|(row, _)| row[i] * row[j]).sum()
    });
    let mut right: Vec<f64> =
        (0..unknowns).map(|i| rows.iter().map(|(row, y)| row[i] * y).sum()).collect();
    normal.cholesky();
    normal.forward(&mut right);
    normal.backward(&mut right);
    let inverse = normal.inverse_from_factor();
    let estimate =
        |i: usize| Estimate { value: right[i], se: sd * inverse[(i, i)].max(0.0).sqrt() };
    let last = {
        let (mut value, mut variance) = (0.0, 0.0);
        for a in levels..levels + offsets {
            value -= right[a];
            variance += (levels..levels + offsets).map(|b| inverse[(a, b)]).sum::<f64>();
        }
        Estimate { value, se: sd * variance.max(0.0).sqrt() }
    };
    let mut all: Vec<Estimate> = (levels..levels + offsets).map(estimate).collect();
    all.push(last);
    // A trim that stood the same in all its sets is part of the offset.
    let slopes = (0..n)
        .map(|c| moved.iter().position(|&m| m == c).map(|at| estimate(levels + offsets + at)))
        .collect();
    // An error beyond any engine's scatter is that of something the sets do not tell.
    let told = |e: &Estimate| e.value.is_finite() && e.se < 1000.0 * sd;
    all.iter().all(told).then_some(Response { offsets: all, slopes })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(trims: [f64; 3], readings: [f64; 3]) -> Set {
        Set { trims: trims.to_vec(), readings: readings.map(Some).to_vec() }
    }

    #[test]
    fn one_step_on_one_cylinder_is_the_difference_of_differences() {
        let sets =
            [set([0.0; 3], [600.0, 610.0, 605.0]), set([0.0, 2.0, 0.0], [603.0, 607.0, 608.0])];
        let found = response(&sets, 4.0).expect("told");
        let slope = found.slopes[1].expect("moved");
        // −3 against +3 of the mates, over two units.
        assert!((slope.value + 3.0).abs() < 1e-9, "{slope:?}");
        // Two differences of one number from the mean of two: 4·√(2·1.5)/2.
        assert!((slope.se - 4.0 * 3.0_f64.sqrt() / 2.0).abs() < 1e-9, "{slope:?}");
        assert_eq!((found.slopes[0], found.slopes[2]), (None, None));
        let sum: f64 = found.offsets.iter().map(|o| o.value).sum();
        assert!(sum.abs() < 1e-9);
    }

    #[test]
    fn what_was_never_read_or_moved_has_no_answer() {
        assert_eq!(response(&[], 4.0), None);
        let mut silent = set([0.0; 3], [600.0, 610.0, 605.0]);
        silent.readings[0] = None;
        assert_eq!(response(&[silent.clone()], 4.0), None);
        let found = response(&[set([0.0; 3], [600.0, 610.0, 605.0]), silent], 4.0).expect("told");
        assert!(found.slopes.iter().all(Option::is_none));
    }
}
