//! Choices of looks against the readings that they are made of, and stocked blocks against none.
//!
//! Slow and obvious: every choice by the rows that it touches.

use std::rc::Rc;

use proptest::prelude::*;

use super::super::linalg::Matrix;
use super::*;

/// Eight sets of three displays, of three kinds; two displays change places after the fourth. `swapped` bear each
/// other's names from the third set to the sixth.
fn field(swapped: Option<(usize, usize)>) -> Field {
    let factor = |scale: f64| {
        let lower = [[9.0, 0.0, 0.0], [7.0, 6.0, 0.0], [5.0, 4.0, 8.0]];
        Rc::new(Matrix::from_fn(3, 3, move |i, j| scale * lower[i][j]))
    };
    let mut groups: Vec<Group> =
        (0..3).map(|owner| Group { factor: factor(1.0), owner: Some(owner) }).collect();
    groups.push(Group { factor: factor(0.4), owner: None });
    groups.push(Group { factor: factor(0.4), owner: None });
    let number = |i: usize| {
        let (set, display) = (i / 3, i % 3);
        let at = if set < 4 { display } else { [1, 0, 2][display] };
        let named = |(a, b): (usize, usize)| match at {
            _ if !(2..6).contains(&set) => at,
            one if one == a => b,
            one if one == b => a,
            other => other,
        };
        let step = f64::from(u32::try_from(i).expect("few"));
        Number {
            value: 500.0 + 37.0 * (step * 0.7).sin() - 23.0 * (step * 1.9).cos(),
            set,
            kind: set % 3,
            noise: [16.0, 25.0, 36.0][set % 3],
            jump: if i == 10 { 20.0 } else { 0.0 },
            groups: vec![swapped.map_or(at, named), if display == 2 { 4 } else { 3 }],
        }
    };
    Field::new(3, (0..24).map(number).collect(), groups, Reach { wide: 2.5, wrong: 100.0 })
}

fn weights(spread: f64, noise: f64) -> Vec<Weight> {
    let odd = Variant { wide: vec![1], wrong: vec![3] };
    vec![
        Weight { variant: Variant::default(), spread: 1.0, noise: 1.0, log: 0.0 },
        Weight { variant: Variant::default(), spread, noise, log: -1.0 },
        Weight { variant: odd, spread, noise, log: -2.0 },
    ]
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * (1.0 + b.abs())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn a_choice_of_looks_is_the_readings_that_it_is_made_of(
        displays in proptest::collection::vec(proptest::collection::btree_set(0_usize..3, 0..3), 8),
        choices in proptest::collection::vec(0_u128..256, 1..11),
        mean in proptest::array::uniform3(-60.0_f64..60.0),
        [a, b, c, d, e, f] in proptest::array::uniform6(0.1_f64..40.0),
        spread in 0.4_f64..2.5,
        noise in 0.3_f64..8.0,
    ) {
        let cells = Cells::new(field(None), weights(spread, noise));
        let rows = |look: usize| displays[look].iter().map(move |display| 3 * look + display);
        let strip = Strip::new(3, (0..8).map(|look| (look % 3, rows(look).collect())).collect());
        let sheet = cells.sheet(&strip, &[0, 1, 2], &choices);
        let factor = Matrix::from_fn(3, 3, |i, j| [[a, 0.0, 0.0], [b, c, 0.0], [d, e, f]][i][j]);
        let one = (&mean[..], &factor);
        let logs = sheet.logs(&one);
        let mut shares = vec![0.0; choices.len()];
        sheet.shares(&one, |_| true, &mut shares);
        for (nth, choice) in choices.iter().enumerate() {
            let looks = (0..8).filter(|look| choice >> look & 1 == 1);
            let touched = looks.flat_map(|look| rows(look).map(move |row| (row, look % 3)));
            let on = Rc::new(cells.field.touched_anew(touched.collect()));
            let most = (0..3).map(|cell| cells.most_at(cell, &on)).fold(f64::MIN, f64::max);
            let wanted =
                cells.log_density(&[Moved { on, mean: &mean, factor: &factor }], |_| true);
            prop_assert!(near(logs[nth], wanted), "{} {wanted}", logs[nth]);
            let share = shares[nth].ln() + sheet.tops()[nth];
            prop_assert!(near(share, wanted), "{share} {wanted}");
            prop_assert!(near(sheet.tops()[nth], most), "{} {most}", sheet.tops()[nth]);
        }
    }

    /// What is taken from a stock is what would be worked out anew.
    #[test]
    fn a_field_that_is_stocked_is_as_one_that_is_not(
        swaps in proptest::collection::vec((0_usize..3, 0_usize..3), 1..5),
        on in proptest::collection::btree_set(0_usize..24, 0..6),
        spread in 0.4_f64..2.5,
        noise in 0.3_f64..8.0,
    ) {
        let first = field(None);
        let stock = Rc::new(Stock::default());
        let factor = Matrix::from_fn(3, 3, |i, j| if i == j { 30.0 } else { 0.0 });
        for (a, b) in swaps {
            let of = |field: Field| {
                let cells = Cells::new(field, weights(spread, noise));
                let touched = on.iter().map(|&row| (row, row / 3 % 3)).collect();
                let on = Rc::new(cells.field.touched_anew(touched));
                let effect = Moved { on, mean: &[20.0, 10.0, -30.0], factor: &factor };
                (0..3)
                    .flat_map(|n| [cells.log_at(n, &[]), cells.log_at(n, std::slice::from_ref(&effect))])
                    .collect::<Vec<f64>>()
            };
            let stocked = of(field(Some((a, b))).beside(&first, &stock));
            let anew = of(field(Some((a, b))));
            for (one, other) in stocked.iter().zip(&anew) {
                prop_assert!(near(*one, *other), "{stocked:?} {anew:?}");
            }
        }
    }
}
