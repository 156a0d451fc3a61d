//! Trends, false alarms and the responses of trims against statsmodels, scipy and a simulation, recorded
//! by `tests/reference/vehicle_check.py`.

use judge::balance::response::{Set, response};
use judge::limits::alarm::{Course, Runs, in_a_row};
use measure::readings::trend::{Scatter, holm, line, mann_kendall};

use crate::support::{near, number, rows};

fn numbers(cell: &str) -> Vec<f64> {
    cell.split(' ').map(number).collect()
}

/// Within a share of the number, which may be of any size.
fn like(found: f64, expected: f64, what: &str) {
    near(found, expected, 1e-7 * expected.abs().max(1e-6), what);
}

#[test]
fn lines_are_those_of_statsmodels() {
    let mut seen = 0;
    for row in rows(include_str!("../fixtures/trend_lines.csv")) {
        let points: Vec<(f64, f64)> = numbers(row[1]).into_iter().zip(numbers(row[2])).collect();
        let own = line(&points, Scatter::Own).expect("three points or more");
        let (last, last_se) = own.at(points[points.len() - 1].0);
        let certain = Scatter::Known { sd: 4.5, freedom: f64::INFINITY };
        let known = line(&points, certain).expect("two points or more");
        let found =
            [own.slope, own.slope_se, own.p_value, last, last_se, known.slope_se, known.p_value];
        for (found, cell) in found.into_iter().zip(&row[3..]) {
            like(found, number(cell), row[0]);
        }
        seen += 1;
    }
    assert_eq!(seen, 7);
}

#[test]
fn orders_are_those_of_the_exact_test_of_kendall() {
    let mut seen = 0;
    for row in rows(include_str!("../fixtures/trend_orders.csv")) {
        let found = mann_kendall(&numbers(row[1])).expect("three values or more");
        like(found.p_value, number(row[2]), row[0]);
        seen += 1;
    }
    assert!(seen >= 4, "{seen}");
}

/// The worked series with equal values, by the normal approximation with its two corrections.
#[test]
fn equal_values_are_corrected_for() {
    // Twelve pairs rise, two fall, one is equal: S = 10; variance (6·5·17 − 2·1·9)/18.
    let found = mann_kendall(&[1.0, 3.0, 2.0, 3.0, 5.0, 4.0]).expect("six values");
    assert_eq!(found.s, 10);
    let z = 9.0 / (492.0_f64 / 18.0).sqrt();
    near(z, 1.721_457, 1e-5, "z by hand");
    near(found.p_value, 0.085_168, 2e-6, "two-sided");
}

#[test]
fn many_looks_are_corrected_as_statsmodels_does() {
    for row in rows(include_str!("../fixtures/holm.csv")) {
        for (found, expected) in holm(&numbers(row[0])).into_iter().zip(numbers(row[1])) {
            near(found, expected, 1e-9, row[0]);
        }
    }
}

#[test]
fn runs_beyond_a_threshold_are_orthants_of_the_normal_distribution() {
    let mut seen = 0;
    for row in rows(include_str!("../fixtures/runs_beyond.csv")) {
        let n: usize = row[2].parse().expect("a count");
        let found = in_a_row(number(row[1]), number(row[0]), n);
        near(found[n - 1], number(row[3]), 3e-6, &row.join(" "));
        seen += 1;
    }
    assert_eq!(seen, 48);
}

#[test]
fn false_alarms_are_as_frequent_as_in_a_simulation() {
    let mut seen = 0;
    for row in rows(include_str!("../fixtures/false_alarms.csv")) {
        let of: Vec<f64> = row.iter().map(|cell| number(cell)).collect();
        let course = Course { offset_sd: of[0], noise_sd: of[1], memory: of[2] };
        let found = Runs::new(of[2], of[4]).chance(course, of[3], of[5]);
        near(found, of[6], 5.0 * of[7] + 0.02 * of[6], &row.join(" "));
        seen += 1;
    }
    assert_eq!(seen, 6);
}

#[test]
fn responses_of_trims_are_those_of_statsmodels() {
    let mut seen = 0;
    for row in rows(include_str!("../fixtures/trim_responses.csv")) {
        let sets: Vec<Set> = row[2]
            .split('|')
            .zip(row[3].split('|'))
            .map(|(trims, readings)| Set {
                trims: numbers(trims),
                readings: numbers(readings).into_iter().map(Some).collect(),
            })
            .collect();
        let found = response(&sets, 4.0).expect("all were read");
        let slope =
            found.slopes[row[4].parse::<usize>().expect("a cylinder")].expect("it was moved");
        like(slope.value, number(row[5]), row[0]);
        like(slope.se, number(row[6]), row[0]);
        seen += 1;
    }
    assert_eq!(seen, 6);
}
