//! Outlier tests against handbook examples, published limits and seeded simulation.

use measure::readings::outlier::dixon::{self, Level, dixon};
use measure::readings::outlier::grubbs::{self, Sides, grubbs};
use measure::readings::outlier::median;
use measure::readings::outlier::others::{from_others, furthest, healthy};
use measure::readings::outlier::robust::{
    FLAG, mad, modified_scores, robust_sd, small_sample_factor,
};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use crate::support::{near, number, rows};

/// NIST/SEMATECH e-Handbook, 1.3.5.17.
const HANDBOOK: [f64; 8] = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];

#[test]
fn grubbs_example_of_the_nist_handbook() {
    let found = grubbs(&HANDBOOK).expect("eight values");
    assert_eq!(found.index, 7);
    near(found.statistic, 2.4688, 5e-5, "G");
    let limit = grubbs::limit(8, 0.05, Sides::One).expect("eight values");
    near(limit, 2.032, 5e-4, "limit");
    assert!(found.statistic > limit);
}

#[test]
fn grubbs_example_of_astm_e178() {
    let strengths = [568.0, 570.0, 570.0, 570.0, 572.0, 572.0, 572.0, 578.0, 584.0, 596.0];
    let found = grubbs(&strengths).expect("ten values");
    assert_eq!(found.index, 9);
    near(found.statistic, 2.39, 5e-3, "T");
    near(grubbs::limit(10, 0.05, Sides::One).expect("ten values"), 2.176, 5e-4, "limit");
}

#[test]
fn grubbs_limits_are_those_of_the_tables() {
    for (n, two, one, most) in [
        (3, [1.153, 1.154, 1.155], [1.153, 1.154, 1.155], 1.155),
        (4, [1.463, 1.481, 1.496], [1.463, 1.481, 1.493], 1.500),
        (5, [1.671, 1.715, 1.764], [1.671, 1.715, 1.749], 1.789),
        (6, [1.822, 1.887, 1.973], [1.822, 1.887, 1.944], 2.041),
        (7, [1.938, 2.020, 2.139], [1.938, 2.020, 2.097], 2.268),
        (8, [2.032, 2.127, 2.274], [2.032, 2.127, 2.221], 2.475),
        (10, [2.176, 2.290, 2.482], [2.176, 2.290, 2.410], 2.846),
        (12, [2.285, 2.412, 2.636], [2.285, 2.412, 2.549], 3.175),
    ] {
        for (level, expected) in [0.10, 0.05, 0.01].into_iter().zip(two) {
            let found = grubbs::limit(n, level, Sides::Two).expect("enough values");
            near(found, expected, 5.1e-4, &format!("{n} values, two sides, {level}"));
        }
        for (level, expected) in [0.05, 0.025, 0.01].into_iter().zip(one) {
            let found = grubbs::limit(n, level, Sides::One).expect("enough values");
            near(found, expected, 5.1e-4, &format!("{n} values, one side, {level}"));
        }
        near(grubbs::largest_possible(n), most, 5.1e-4, "largest possible");
    }
    assert_eq!(grubbs::limit(2, 0.05, Sides::Two), None);
    assert_eq!(grubbs::limit(5, 0.0, Sides::Two), None);
}

#[test]
fn grubbs_power_is_that_of_the_recorded_simulation() {
    let mut seen = 0;
    for row in rows(include_str!("../fixtures/grubbs_power.csv")) {
        let n: u8 = row[0].parse().expect("a count");
        for (shift, cell) in [2.0, 3.0, 4.0, 5.0, 6.0].into_iter().zip(&row[1..]) {
            let found = grubbs::power(n, shift).expect("in the table");
            near(found, number(cell), 1e-9, &format!("{n} values, {shift} sd"));
            seen += 1;
        }
    }
    assert_eq!(seen, 70);
    near(grubbs::power(4, 3.5).expect("in the table"), 0.12, 1e-3, "between two points");
    near(grubbs::power(4, -3.0).expect("in the table"), 0.091, 1e-9, "either way");
    near(grubbs::power(4, 60.0).expect("beyond"), 0.293, 1e-9, "never more than known");
    assert_eq!(grubbs::power(4, f64::NAN), None);
    assert_eq!(grubbs::power(2, 3.0), None);
}

/// A standard normal number, by Box and Muller.
fn normal(random: &mut Pcg64Mcg) -> f64 {
    let (a, b): (f64, f64) = (random.random(), random.random());
    (-2.0 * (1.0 - a).ln()).sqrt() * (std::f64::consts::TAU * b).cos()
}

#[test]
fn grubbs_is_nearly_blind_with_few_values_in_a_simulation_of_our_own() {
    let mut random = Pcg64Mcg::seed_from_u64(3);
    for (n, shift, expected) in [(3_u8, 6.0, 0.10), (4, 4.0, 0.15), (6, 5.0, 0.52), (8, 4.0, 0.46)]
    {
        let limit = grubbs::limit(n, 0.05, Sides::Two).expect("enough values");
        let mut right = 0_u32;
        for _ in 0..20_000 {
            let mut values: Vec<f64> = (0..n).map(|_| normal(&mut random)).collect();
            values[0] += shift;
            let found = grubbs(&values).expect("not alike");
            right += u32::from(found.index == 0 && found.statistic > limit);
        }
        near(f64::from(right) / 20_000.0, expected, 0.015, &format!("{n} values, {shift} sd"));
    }
}

#[test]
fn dixon_example_of_a_chemistry_reference() {
    let values = [0.189, 0.167, 0.187, 0.183, 0.186, 0.182, 0.181, 0.184, 0.181, 0.177];
    let found = dixon(&values).expect("ten values");
    assert_eq!(found.index, 1);
    near(found.ratio, 0.455, 5e-4, "Q");
    let limit = |level| dixon::limit(10, level).expect("in the table");
    assert!(limit(Level::Ten) < found.ratio && found.ratio < limit(Level::Five));
}

#[test]
fn dixon_limits_hold_in_a_simulation() {
    let mut random = Pcg64Mcg::seed_from_u64(4);
    for n in [3_u8, 5, 8] {
        let mut ratios: Vec<f64> = (0..40_000)
            .map(|_| {
                let values: Vec<f64> = (0..n).map(|_| normal(&mut random)).collect();
                dixon(&values).expect("not alike").ratio
            })
            .collect();
        ratios.sort_by(f64::total_cmp);
        for (place, level) in [(36_000, Level::Ten), (38_000, Level::Five), (39_600, Level::One)] {
            let limit = dixon::limit(n, level).expect("in the table");
            near(ratios[place], limit, 0.01, &format!("{n} values, {level:?}"));
        }
    }
    assert_eq!(dixon::limit(11, Level::Five), None);
}

#[test]
fn dixon_power_is_that_recorded() {
    for row in rows(include_str!("../fixtures/dixon_power.csv")) {
        let n = row[0].parse().expect("a count");
        // Nothing off: the limit lets 5 % through.
        near(number(row[1]), 0.05, 0.003, "false alarms");
        for (shift, recorded) in [2.0, 3.0, 4.0, 5.0, 6.0].into_iter().zip(&row[2..]) {
            let found = dixon::power(n, shift).expect("in the table");
            near(found, number(recorded), 1e-9, &format!("{n} readings, {shift} sd"));
        }
    }
    assert_eq!(dixon::power(11, 3.0), None);
}

#[test]
fn modified_scores_of_the_handbook_example() {
    near(median(&HANDBOOK).expect("values"), 201.37, 1e-9, "median");
    near(mad(&HANDBOOK).expect("values"), 0.995, 1e-9, "MAD");
    let scores = modified_scores(&HANDBOOK).expect("enough values");
    near(scores[7], 29.96, 5e-3, "score of the odd one");
    let others =
        scores[..7].iter().copied().fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a });
    near(others, -1.40, 5e-3, "next largest");
    assert_eq!(scores.iter().filter(|score| score.abs() > FLAG).count(), 1);
}

#[test]
fn small_sample_factors_take_the_bias_away() {
    let mut random = Pcg64Mcg::seed_from_u64(5);
    for n in 3_u8..=9 {
        let mean = (0..40_000)
            .map(|_| {
                let values: Vec<f64> = (0..n).map(|_| normal(&mut random)).collect();
                robust_sd(&values).expect("enough values")
            })
            .sum::<f64>()
            / 40_000.0;
        near(mean, 1.0, 0.02, &format!("{n} values"));
    }
    near(small_sample_factor(20).expect("known"), 20.0 / 19.2, 1e-12, "beyond the table");
}

#[test]
fn healthy_deviations_from_the_others_are_those_recorded() {
    for row in rows(include_str!("../fixtures/others_median.csv")) {
        let found = healthy(row[0].parse().expect("a count")).expect("in the table");
        near(found.sd, number(row[1]), 1e-9, "sd");
        near(found.p95, number(row[2]), 1e-9, "95 %");
        near(found.p99, number(row[3]), 1e-9, "99 %");
    }
    // Domain facts 5.4.
    for (n, sd) in [(3, 1.22), (4, 1.21), (5, 1.14), (6, 1.13), (8, 1.10)] {
        let found = healthy(n).expect("in the table");
        near(found.sd, sd, 0.011, &format!("{n} values"));
        assert!((2.85..=3.01).contains(&found.p95) && (3.5..=3.64).contains(&found.p99));
    }
}

#[test]
fn the_odd_one_is_told_by_a_known_spread_where_grubbs_says_nothing() {
    let displays = [612.0, 540.0, 606.0, 618.0];
    let found = from_others(&displays, 15.0).expect("enough values");
    let odd = furthest(&found).expect("not empty");
    assert_eq!(odd, 1);
    near(found[odd].amount, -72.0, 1e-9, "below the median of the others");
    near(found[odd].in_sd, -4.8, 1e-9, "in natural sd");
    assert!(found[odd].in_sd.abs() > healthy(4).expect("in the table").p99);
    assert!(found[0].in_sd.abs() < 1.0);
}

#[test]
fn what_cannot_be_tested_has_no_answer() {
    for values in [&[1.0, 2.0][..], &[1.0, f64::NAN, 2.0, 3.0]] {
        assert_eq!(grubbs(values), None);
        assert_eq!(dixon(values), None);
        assert_eq!(modified_scores(values), None);
        assert_eq!(from_others(values, 10.0), None);
    }
    let alike = [5.0; 4];
    assert_eq!((grubbs(&alike), dixon(&alike), modified_scores(&alike)), (None, None, None));
    assert_eq!(from_others(&[1.0, 2.0, 3.0], 0.0), None);
    assert_eq!(dixon(&[1.0; 11]), None);
    assert_eq!(median(&[]), None);
}
