//! The structured likelihood against the dense one, and fixtures F17, F18, F20 and F21: a model with
//! time, two scales, single tails and sizes, summed by brute force with numpy and scipy.

use std::rc::Rc;

use proptest::prelude::*;

use super::super::linalg::{Matrix, dot, log_sum_exp};
use super::*;

/// Four in line at idle: ±12 natural, ±4 from set to set.
fn four(rows: &[[f64; 4]]) -> Field {
    let factor = Rc::new(Matrix::from_fn(1, 1, |_, _| 12.0));
    let groups =
        (0..4).map(|owner| Group { factor: Rc::clone(&factor), owner: Some(owner) }).collect();
    let numbers = rows
        .iter()
        .enumerate()
        .flat_map(|(set, row)| {
            row.iter().enumerate().map(move |(display, &value)| Number {
                value,
                set,
                kind: 0,
                noise: 16.0,
                jump: 0.0,
                groups: vec![display],
            })
        })
        .collect();
    Field::new(1, numbers, groups, Reach { wide: 2.5, wrong: 100.0 })
}

fn cells(rows: &[[f64; 4]], weights: Vec<Weight>) -> Cells {
    Cells::new(four(rows), weights)
}

/// A fault on a display in some of the sets.
fn log_with(
    cells: &Cells,
    display: usize,
    sets: impl Iterator<Item = usize>,
    (mean, sd): (f64, f64),
) -> f64 {
    let touched = sets.map(|set| (4 * set + display, 0)).collect();
    let on = Rc::new(cells.field.touched_anew(touched));
    let factor = Matrix::from_fn(1, 1, |_, _| sd);
    cells.log_density(&[Moved { on, mean: &[mean], factor: &factor }], |_| true)
}

fn shares(logs: &[f64]) -> Vec<f64> {
    let sum = log_sum_exp(logs);
    logs.iter().map(|log| (log - sum).exp()).collect()
}

#[track_caller]
fn near(got: f64, want: f64) {
    assert!((got - want).abs() < 6e-5, "{got} against {want}");
}

#[test]
fn f17_quiet_sets_say_that_the_repeatability_is_small_and_not_the_natural_spread() {
    let wobble = [0.5, -0.5, 0.3, -0.3, 0.1, -0.1, 0.4, -0.4, 0.2, -0.2];
    let (spread, noise) = (even_points(0.3, 4, 2.2), even_points(0.8, 4, 2.2));
    let wanted =
        [(1, 0.6827, 0.2774), (2, 0.6144, 0.3525), (5, 0.6098, 0.3575), (10, 0.6087, 0.3586)];
    for (sets, healthy, third) in wanted {
        let rows: Vec<[f64; 4]> =
            wobble[..sets].iter().map(|w| [500.0 + w, 505.0 - w, 477.0 + w, 507.0 - w]).collect();
        let cells = cells(&rows, at_all(&Variant::default(), 0.0, &spread, &noise));
        let mut logs = vec![0.5_f64.ln() + cells.log_density(&[], |_| true)];
        logs.extend((0..4).map(|d| 0.125_f64.ln() + log_with(&cells, d, 0..sets, (-60.0, 30.0))));
        let shares = shares(&logs);
        near(shares[0], healthy);
        near(shares[3], third);
    }
}

/// Every set of wide cylinders.
fn single_tails() -> Vec<Weight> {
    (0..16_usize)
        .map(|some| {
            let wide: Vec<usize> = (0..4).filter(|d| some >> d & 1 == 1).collect();
            let log = (0..4).map(|d| if wide.contains(&d) { 0.07_f64 } else { 0.93 }.ln()).sum();
            Weight { variant: Variant { wide, wrong: Vec::new() }, spread: 1.0, noise: 1.0, log }
        })
        .collect()
}

#[test]
fn f20_one_unusual_cylinder_need_not_be_a_fault() {
    let wanted = [(20.0, 0.8258), (30.0, 0.5963), (40.0, 0.2585), (60.0, 0.0444), (90.0, 0.0065)];
    for (low, healthy) in wanted {
        let cells = cells(&[[500.0, 505.0, 503.0 - low, 507.0]], single_tails());
        let mut logs = vec![0.5_f64.ln() + cells.log_density(&[], |_| true)];
        logs.extend((0..4).map(|d| 0.125_f64.ln() + log_with(&cells, d, 0..1, (-60.0, 30.0))));
        near(shares(&logs)[0], healthy);
    }
}

#[test]
fn f21_faults_are_weak_usual_and_gross() {
    let sizes = [(0.35_f64, -20.0, 12.0), (0.45, -60.0, 25.0), (0.2, -180.0, 60.0)];
    let wanted = [(25.0, 0.2216, 0.2772), (60.0, 0.9528, 0.9202), (120.0, 0.9991, 0.9986)];
    for (low, one, three) in wanted {
        let cells = cells(&[[500.0, 505.0, 503.0 - low, 507.0]], single_tails());
        let healthy = 0.5_f64.ln() + cells.log_density(&[], |_| true);
        let of = |sizes: &[(f64, f64, f64)]| {
            let mut logs = vec![healthy];
            logs.extend((0..4).map(|d| {
                let each = sizes
                    .iter()
                    .map(|&(weight, mean, sd)| weight.ln() + log_with(&cells, d, 0..1, (mean, sd)));
                0.125_f64.ln() + log_sum_exp(&each.collect::<Vec<f64>>())
            }));
            shares(&logs)[3]
        };
        near(of(&[(1.0, -60.0, 30.0)]), one);
        near(of(&sizes), three);
    }
}

#[test]
fn f18_a_course_is_told_from_what_is_always_there() {
    let wanted: [(&[f64], [f64; 4]); 5] = [
        (&[500.0, 500.0, 430.0, 430.0], [0.0, 0.0, 0.9143, 0.0857]),
        (&[430.0, 500.0, 430.0, 500.0], [0.0, 0.0, 0.0, 1.0]),
        (&[500.0, 430.0], [0.0045, 0.0017, 0.8833, 0.1106]),
        (&[430.0; 4], [0.0, 0.9911, 0.0, 0.0089]),
        (&[500.0; 4], [0.9193, 0.0681, 0.0044, 0.0083]),
    ];
    for (read, wanted) in wanted {
        let sets = read.len();
        let rows: Vec<[f64; 4]> = read.iter().map(|r| [500.0, 505.0, *r, 507.0]).collect();
        let (wrong, right) = (0.004_f64.ln(), 0.996_f64.ln());
        let none = 4 * sets;
        let mut weights =
            vec![(Vec::new(), 4.0 * f64::from(u32::try_from(sets).expect("few")) * right)];
        weights.extend((0..sets).map(|set| {
            (vec![4 * set + 2], wrong + f64::from(u32::try_from(none - 1).expect("few")) * right)
        }));
        let weights = weights
            .into_iter()
            .map(|(wrong, log)| Weight {
                variant: Variant { wide: Vec::new(), wrong },
                spread: 1.0,
                noise: 1.0,
                log,
            })
            .collect();
        let cells = cells(&rows, weights);
        let chances = crate::diagnosis::looks::Chances {
            begun: 0.2,
            comes_and_goes: 0.1,
            on: 0.5,
            again: 0.0,
        };
        let list = crate::diagnosis::looks::courses(sets, &vec![1.0; sets - 1], chances, &[]);
        let mut logs = [Vec::new(), Vec::new(), Vec::new(), Vec::new()];
        logs[0].push(0.5_f64.ln() + cells.log_density(&[], |_| true));
        for course in list {
            let on = (0..sets).filter(|set| course.shows >> set & 1 == 1);
            let log = log_with(&cells, 2, on, (-60.0, 30.0));
            let of = match course.kind {
                crate::diagnosis::looks::Kind::Always => 1,
                crate::diagnosis::looks::Kind::Begun => 2,
                crate::diagnosis::looks::Kind::ComesAndGoes => 3,
            };
            logs[of].push((0.5 * course.probability).ln() + log);
        }
        let logs = logs.map(|logs| log_sum_exp(&logs));
        for (got, want) in shares(&logs).iter().zip(wanted) {
            near(*got, want);
        }
    }
}

/// Two kinds, three cylinders, two of them with a fit of its own from the third set on, a bank for all.
fn field() -> (Field, Vec<f64>) {
    let lower = |a: f64, b: f64, c: f64| {
        Rc::new(Matrix::from_fn(2, 2, move |i, j| [[a, 0.0], [b, c]][i][j]))
    };
    let mut groups: Vec<Group> =
        (0..3).map(|owner| Group { factor: lower(9.0, 7.0, 8.0), owner: Some(owner) }).collect();
    groups.push(Group { factor: lower(5.0, 4.0, 3.0), owner: Some(0) });
    groups.push(Group { factor: lower(5.0, 4.0, 3.0), owner: Some(0) });
    groups.push(Group { factor: lower(4.0, 2.0, 3.0), owner: None });
    let kinds = [0, 1, 0, 1, 0];
    let y: Vec<f64> = (0..15_u32)
        .map(|i| 500.0 + 40.0 * f64::from(i % 7) - 23.0 * f64::from(i * i % 5))
        .collect();
    let numbers = (0..15)
        .map(|i| {
            let (set, cylinder) = (i / 3, (i + i / 3) % 3);
            let mut mine = vec![cylinder, 5];
            if cylinder == 0 {
                mine.push(if set < 2 { 3 } else { 4 });
            }
            Number {
                value: y[i],
                set,
                kind: kinds[set],
                noise: [16.0, 25.0][kinds[set]],
                jump: if i == 4 { 30.0 } else { 0.0 },
                groups: mine,
            }
        })
        .collect();
    (Field::new(2, numbers, groups, Reach { wide: 2.5, wrong: 100.0 }), y)
}

/// Slow and obvious: the whole covariance.
fn whole(field: &Field, weight: &Weight) -> Matrix {
    let n = field.numbers.len();
    Matrix::from_fn(n, n, |i, j| {
        let (a, b) = (&field.numbers[i], &field.numbers[j]);
        let spread = weight.spread * weight.spread;
        let mut v = 0.0;
        if i == j {
            v += weight.noise * weight.noise * a.noise + spread * a.jump * a.jump;
            if weight.variant.wrong.contains(&i) {
                v += spread * 1e4;
            }
        }
        for &group in a.groups.iter().filter(|g| b.groups.contains(g)) {
            let group = &field.groups()[group];
            let wide = group.owner.is_some_and(|o| weight.variant.wide.contains(&o));
            let scale = if wide { 2.5 * 2.5 } else { 1.0 };
            v += spread * scale * dot(group.factor.row(a.kind), group.factor.row(b.kind));
        }
        v
    })
}

type Random = (Vec<(usize, usize)>, Vec<f64>, [f64; 3]);

fn random_effect() -> impl Strategy<Value = Random> {
    let touched = proptest::collection::vec(proptest::option::of(0_usize..2), 15).prop_map(|k| {
        k.iter().enumerate().filter_map(|(row, kind)| Some((row, (*kind)?))).collect()
    });
    let mean = proptest::collection::vec(-60.0_f64..60.0, 2);
    (touched, mean, [0.1_f64..40.0, -20.0_f64..20.0, 0.1_f64..40.0])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn by_structure_is_the_same_as_by_the_whole_covariance(
        // Eight kinds at the most: also more than are worked out in place.
        list in proptest::collection::vec(random_effect(), 0..5),
        spread in 0.4_f64..2.5,
        noise in 0.1_f64..8.0,
        wide in proptest::collection::btree_set(0_usize..3, 0..3),
        wrong in proptest::collection::btree_set(0_usize..15, 0..3),
        with in proptest::collection::vec(-30.0_f64..30.0, 15),
    ) {
        let variant =
            Variant { wide: wide.into_iter().collect(), wrong: wrong.into_iter().collect() };
        let weight = Weight { variant, spread, noise, log: -1.25 };
        let (field, y) = field();
        let v0 = whole(&field, &weight);
        let set: Vec<usize> = (0..15).map(|i| i / 3).collect();
        let cells = Cells::new(field, vec![weight]);
        let dense = Base::new(&y, &set, &v0, Tail::Normal);
        let factors: Vec<Matrix> = list
            .iter()
            .map(|(_, _, [a, b, c])| Matrix::from_fn(2, 2, |i, j| [[*a, 0.0], [*b, *c]][i][j]))
            .collect();
        let each = || list.iter().zip(&factors);
        let fast: Vec<Moved<'_>> = each()
            .map(|((touched, mean, _), factor)| {
                let on = Rc::new(cells.field.touched_anew(touched.clone()));
                Moved { on, mean, factor }
            })
            .collect();
        let slow: Vec<Effect<'_>> = each()
            .map(|((touched, mean, _), factor)| {
                Effect { on: Rc::new(dense.rows_anew(touched.clone(), 2)), mean, factor }
            })
            .collect();
        let near = |fast: f64, slow: f64| (fast - slow).abs() < 1e-7 * (1.0 + slow.abs());
        let (a, b) = (cells.log_at(0, &fast), dense.log_density(&slow) - 1.25);
        prop_assert!(near(a, b), "{a} {b}");
        let (a, b) = (cells.forecast(0, &fast, &with), dense.forecast(&slow, &with));
        prop_assert!(near(a.mean, b.mean) && near(a.reduction, b.reduction), "{a:?} {b:?}");
    }

    /// Sides of two faults share what their readings have in common: each two come to what they come to by
    /// themselves, from nothing.
    #[test]
    fn each_of_some_with_each_of_others_is_what_the_two_are_by_themselves(
        list in proptest::collection::vec(random_effect(), 2..7),
        firsts in 1_usize..6,
        spread in 0.4_f64..2.5,
        noise in 0.4_f64..8.0,
    ) {
        let firsts = firsts.min(list.len() - 1);
        let variant = Variant { wide: vec![1], wrong: vec![3] };
        let weight = Weight { variant, spread, noise, log: -1.25 };
        let cells = Cells::new(field().0, vec![weight.clone()]);
        let factors: Vec<Matrix> = list
            .iter()
            .map(|(_, _, [a, b, c])| Matrix::from_fn(2, 2, |i, j| [[*a, 0.0], [*b, *c]][i][j]))
            .collect();
        let each = |of: std::ops::Range<usize>| Each {
            on: Rc::new(cells.field.touched_anew(list[of.start].0.clone())),
            effects: of.map(|of| (&list[of].1[..], &factors[of])).collect(),
        };
        let (one, other) = (each(0..firsts), each(firsts..list.len()));
        let dense = {
            let (field, y) = field();
            let set: Vec<usize> = (0..15).map(|i| i / 3).collect();
            Base::new(&y, &set, &whole(&field, &weight), Tail::Normal)
        };
        let slow = |of: usize, on: usize| Effect {
            on: Rc::new(dense.rows_anew(list[on].0.clone(), 2)),
            mean: &list[of].1,
            factor: &factors[of],
        };
        let mut met = 0;
        cells.log_both_at(0, &one, &other, &mut |a, b, log| {
            let both = [slow(a, 0), slow(firsts + b, firsts)];
            let wanted = dense.log_density(&both) - 1.25;
            met += 1;
            assert!((log - wanted).abs() < 1e-7 * (1.0 + wanted.abs()), "{log} {wanted}");
        });
        prop_assert_eq!(met, firsts * (list.len() - firsts));
    }

    /// What two sets of readings come to together is kept, and whoever asks again, the other way round or
    /// for another cell gets what a field would say that was never asked.
    #[test]
    fn a_kept_product_is_that_of_a_field_never_asked(
        list in proptest::collection::vec(random_effect(), 2..4),
        asked in proptest::collection::vec(
            (proptest::collection::vec(0_usize..4, 1..4), 0_usize..3),
            1..24,
        ),
        spread in 0.4_f64..2.5,
        noise in 0.4_f64..8.0,
    ) {
        let wide = Variant { wide: vec![1], wrong: vec![3] };
        let weights = vec![
            Weight { variant: Variant::default(), spread: 1.0, noise: 1.0, log: 0.0 },
            Weight { variant: Variant::default(), spread, noise, log: -1.0 },
            Weight { variant: wide, spread, noise, log: -2.0 },
        ];
        let factors: Vec<Matrix> = list
            .iter()
            .map(|(_, _, [a, b, c])| Matrix::from_fn(2, 2, |i, j| [[*a, 0.0], [*b, *c]][i][j]))
            .collect();
        let kept = Cells::new(field().0, weights.clone());
        for (which, cell) in asked {
            let fresh = Cells::new(field().0, weights.clone());
            let effects = |on: &dyn Fn(usize) -> Rc<Touched>| -> Vec<Moved<'_>> {
                which
                    .iter()
                    .map(|of| of % list.len())
                    .map(|of| Moved { on: on(of), mean: &list[of].1, factor: &factors[of] })
                    .collect()
            };
            let again = effects(&|of| kept.field.touched((of, 0, 0), || list[of].0.clone()));
            let anew = effects(&|of| Rc::new(fresh.field.touched_anew(list[of].0.clone())));
            let (a, b) = (kept.log_at(cell, &again), fresh.log_at(cell, &anew));
            prop_assert!((a - b).abs() <= 1e-9 * (1.0 + b.abs()), "{which:?} at {cell}: {a} {b}");
        }
    }
}
