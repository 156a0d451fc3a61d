//! First-order fits against scipy's on the same invented traces.

use measure::readings::settle::{Sample, fit_first_order};

use crate::support::{near, number, rows};

#[test]
fn fits_and_their_errors_are_those_of_another_program() {
    let mut seen = 0;
    for row in rows(include_str!("../fixtures/settling_fits.csv")) {
        let trace: Vec<Sample> = row[1]
            .split(' ')
            .zip(0_u16..)
            .map(|(value, second)| Sample { seconds: f64::from(second), value: number(value) })
            .collect();
        let fit = fit_first_order(&trace).expect("a first-order course");
        let expected: Vec<f64> = row[2..].iter().map(|cell| number(cell)).collect();
        near(fit.final_value, expected[0], 2e-3, &format!("case {}: end", row[0]));
        near(fit.final_se, expected[1], 2e-3, &format!("case {}: its error", row[0]));
        near(fit.time_constant, expected[2], 2e-3, &format!("case {}: time constant", row[0]));
        near(fit.time_constant_se, expected[3], 2e-3, &format!("case {}: its error", row[0]));
        seen += 1;
    }
    assert_eq!(seen, 4);
}
