//! Reference functions against two published implementations and the printed check values.

use measure::thermocouple::{RangeError, Standard};

use crate::support::{near, number, rows};

fn read(letter: &str) -> Standard {
    letter.parse().expect("a thermocouple type")
}

#[test]
fn emf_agrees_with_a_published_library_over_the_full_ranges() {
    let mut seen = 0;
    for row in rows(include_str!("../fixtures/thermocouple_emf.csv")) {
        let (standard, t) = (read(row[0]), number(row[1]));
        let emf = standard.emf(t).expect("in range");
        near(emf, number(row[2]), 2e-9, &format!("type {standard} at {t}"));
        seen += 1;
    }
    assert_eq!(seen, 2418);
}

#[test]
fn inverse_agrees_with_a_published_library_solved_by_bisection() {
    let mut seen = 0;
    for row in rows(include_str!("../fixtures/thermocouple_inverse.csv")) {
        let (standard, emf) = (read(row[0]), number(row[1]));
        let t = standard.temperature(emf).expect("in range");
        near(t, number(row[2]), 1e-5, &format!("type {standard} at {emf} mV"));
        seen += 1;
    }
    assert_eq!(seen, 8 * 59);
}

#[test]
fn there_and_back_is_within_a_thousandth_everywhere() {
    for &standard in Standard::ALL {
        let (from, to) = (standard.invertible_from(), standard.range().1);
        let mut worst: (f64, f64) = (0.0, from);
        for i in 0..=20_000 {
            let t = (from + (to - from) * f64::from(i) / 20_000.0).min(to);
            let back = standard.temperature(standard.emf(t).expect("in range")).expect("in range");
            if (back - t).abs() > worst.0 {
                worst = ((back - t).abs(), t);
            }
        }
        assert!(worst.0 < 1e-3, "type {standard}: {} off at {} °C", worst.0, worst.1);
        if standard != Standard::B {
            assert!(worst.0 < 1e-6, "type {standard}: {} off at {} °C", worst.0, worst.1);
        }
    }
}

#[test]
fn type_b_answers_with_the_warmer_of_two_temperatures() {
    let cold = Standard::B.emf(10.0).expect("in range");
    let warm = Standard::B.temperature(cold).expect("above the minimum");
    near(warm, 32.0, 0.2, "the twin of 10 °C");
    near(Standard::B.emf(warm).expect("in range"), cold, 1e-9, "same emf");
    near(Standard::B.temperature(0.0).expect("in range"), 42.13, 0.01, "zero emf");
    assert!(Standard::B.temperature(-0.0027).is_err());
}

#[test]
fn outside_the_function_there_is_an_error_that_names_the_range() {
    let cold = Standard::K.emf(-270.1).expect_err("too cold");
    assert_eq!(
        cold.to_string(),
        "-270.1 °C is outside the type K function, -270 to 1372 °C: check the temperature and the \
         type"
    );
    assert!(matches!(Standard::T.emf(400.5), Err(RangeError::Temperature { .. })));
    assert!(matches!(Standard::K.emf(f64::NAN), Err(RangeError::Temperature { .. })));
    let high = Standard::K.temperature(55.0).expect_err("too much");
    assert_eq!(
        high.to_string(),
        "55 mV is outside the type K function, -6.458 to 54.886 mV: check the polarity and the type"
    );
    assert!(matches!(Standard::J.temperature(f64::NAN), Err(RangeError::Emf { .. })));
}

/// NIST Monograph 175, values printed to 1e-4 mV (domain facts 1.1).
const CHECK_VALUES: &[(Standard, &[(f64, f64)])] = &[
    (
        Standard::K,
        &[
            (-100.0, -3.5536),
            (25.0, 1.0002),
            (100.0, 4.0962),
            (300.0, 12.2086),
            (600.0, 24.9055),
            (900.0, 37.3259),
            (1200.0, 48.8382),
        ],
    ),
    (
        Standard::N,
        &[
            (-100.0, -2.4068),
            (25.0, 0.6586),
            (100.0, 2.7741),
            (300.0, 9.3412),
            (600.0, 20.6131),
            (900.0, 32.3713),
            (1200.0, 43.8464),
        ],
    ),
    (
        Standard::J,
        &[
            (-100.0, -4.6325),
            (25.0, 1.2773),
            (100.0, 5.2689),
            (300.0, 16.3272),
            (600.0, 33.1024),
            (750.0, 42.2805),
        ],
    ),
    (
        Standard::E,
        &[
            (-100.0, -5.2372),
            (25.0, 1.4951),
            (100.0, 6.3189),
            (300.0, 21.0362),
            (600.0, 45.0934),
            (900.0, 68.7866),
        ],
    ),
    (
        Standard::T,
        &[
            (-100.0, -3.3786),
            (25.0, 0.9920),
            (100.0, 4.2785),
            (200.0, 9.2881),
            (300.0, 14.8619),
            (400.0, 20.8720),
        ],
    ),
    (
        Standard::R,
        &[
            (25.0, 0.1406),
            (100.0, 0.6474),
            (300.0, 2.4006),
            (600.0, 5.5835),
            (1000.0, 10.5060),
            (1500.0, 17.4507),
        ],
    ),
    (
        Standard::S,
        &[
            (25.0, 0.1426),
            (100.0, 0.6459),
            (300.0, 2.3230),
            (600.0, 5.2387),
            (1000.0, 9.5871),
            (1500.0, 15.5817),
        ],
    ),
    (
        Standard::B,
        &[
            (100.0, 0.0332),
            (300.0, 0.4306),
            (600.0, 1.7919),
            (1000.0, 4.8343),
            (1400.0, 8.9562),
            (1700.0, 12.4325),
        ],
    ),
];

#[test]
fn emf_is_that_of_the_printed_tables() {
    for &(standard, values) in CHECK_VALUES {
        for &(t, emf) in values {
            let found = standard.emf(t).expect("in range");
            near(found, emf, 1e-4, &format!("type {standard} at {t}"));
        }
    }
}

#[test]
fn sensitivity_is_that_of_the_tables() {
    let at = [0.0, 25.0, 100.0, 300.0, 400.0, 600.0, 800.0, 900.0];
    let tables: &[(Standard, &[f64])] = &[
        (Standard::K, &[39.5, 40.5, 41.4, 41.4, 42.2, 42.5, 41.0, 40.0]),
        // Two pieces of type N meet at 0 °C, with slopes 26.16 and 25.93: left out.
        (Standard::N, &[f64::NAN, 26.8, 29.6, 35.4, 37.1, 39.0, 39.3, 39.0]),
        (Standard::J, &[50.4, 51.8, 54.4, 55.4, 55.2, 58.5, 64.6, 62.4]),
        (Standard::E, &[58.7, 61.0, 67.5, 77.9, 80.1, 80.7, 78.4, 76.8]),
        (Standard::T, &[38.7, 40.7, 46.8, 58.1]),
    ];
    for &(standard, values) in tables {
        for (&t, &expected) in at.iter().zip(values) {
            if expected.is_nan() {
                continue;
            }
            let found = 1e3 * standard.sensitivity(t).expect("in range");
            near(found, expected, 0.051, &format!("type {standard} at {t}"));
        }
    }
}

#[test]
fn a_channel_with_a_straight_line_for_type_k_is_out_by_the_known_amounts() {
    let cold = Standard::K.emf(25.0).expect("in range");
    for (t, error) in
        [(100.0, 0.5), (300.0, -1.6), (500.0, 4.1), (700.0, 11.1), (900.0, 11.0), (1000.0, 7.3)]
    {
        let shown = 25.0 + (Standard::K.emf(t).expect("in range") - cold) / 0.041;
        near(shown - t, error, 0.051, &format!("at {t}"));
    }
}
