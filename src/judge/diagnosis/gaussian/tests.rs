//! Fixture F15: four cylinders, the parts of 2 and 3 exchanged between two sets. Expected values:
//! `tests/reference/swap_fixture.py`, three independent routes with numpy and scipy that agree to
//! 1e-9. And the likelihood written out with whole covariance matrices, for random effects.

use proptest::prelude::*;

use super::*;

const Y: [f64; 8] = [652.0, 691.0, 648.0, 657.0, 655.0, 660.0, 688.0, 652.0];
const SET: [usize; 8] = [0, 0, 0, 0, 1, 1, 1, 1];

fn v0() -> Matrix {
    Matrix::from_fn(8, 8, |i, j| {
        let offset = if i % 4 == j % 4 { 100.0 } else { 0.0 };
        if i == j { offset + 16.0 } else { offset }
    })
}

fn base(tail: Tail) -> Base {
    Base::new(&Y, &SET, &v0(), tail)
}

/// 35 °C with an sd of 12 wherever it shows, all together.
struct Moved {
    mean: Vec<f64>,
    factor: Matrix,
}

impl Moved {
    fn new() -> Self {
        Self { mean: vec![35.0], factor: Matrix::from_fn(1, 1, |_, _| 12.0) }
    }

    fn at(&self, base: &Base, rows: &[usize]) -> Vec<Effect<'_>> {
        let touched: Vec<(usize, usize)> = rows.iter().map(|&row| (row, 0)).collect();
        vec![Effect {
            on: Rc::new(base.rows_anew(touched, 1)),
            mean: &self.mean,
            factor: &self.factor,
        }]
    }
}

const CASES: [(&str, &[usize], f64, f64); 7] = [
    ("none", &[], -61.068_340_839, -32.085_962),
    ("part from 2 follows", &[1, 6], -21.395_377_161, -20.005_391),
    ("stays at 2", &[1, 5], -61.003_986_574, -32.385_562),
    ("joint at 2 cured", &[1], -38.759_127_771, -29.128_784),
    ("new fault at 3 after", &[6], -32.808_427_070, -27.450_657),
    ("part from 3", &[2, 5], -41.507_272_323, -30.063_380),
    ("stays at 3", &[2, 6], -62.630_143_981, -32.568_920),
];

#[test]
fn the_swap_fixture_comes_out_to_a_millionth() {
    let (normal, student_t) = (base(Tail::Normal), base(Tail::Student(4.0)));
    let moved = Moved::new();
    for (name, rows, restricted, student) in CASES {
        let got = normal.log_restricted(&moved.at(&normal, rows));
        assert!((got - restricted).abs() < 1e-6, "{name}: {got} against {restricted}");
        let got = student_t.log_density(&moved.at(&student_t, rows));
        assert!((got - student).abs() < 1e-6, "{name}: t {got} against {student}");
    }
}

#[test]
fn one_set_gives_the_closed_form() {
    // log BF = log N(d; a, τ² + s²) − log N(d; 0, s²), d = 38.666667, s² = 154.666667
    let v0 = Matrix::from_fn(4, 4, |i, j| if i == j { 116.0 } else { 0.0 });
    let base = Base::new(&Y[..4], &SET[..4], &v0, Tail::Normal);
    let moved = Moved::new();
    let factor = base.log_density(&moved.at(&base, &[1])) - base.log_density(&[]);
    assert!((factor - 4.481_797_962).abs() < 1e-6, "{factor}");
}

/// Slow and obvious: the covariance of everything, no identity made use of.
fn written_out(effects: &[Effect<'_>], widened: Option<(usize, f64)>, tail: Tail) -> f64 {
    let mut v = v0();
    let mut y = Y.to_vec();
    if let Some((wrong, extra)) = widened {
        v[(wrong, wrong)] += extra;
    }
    for effect in effects {
        for &(a, kind) in effect.on.touched() {
            y[a] -= effect.mean[kind];
            for &(b, other) in effect.on.touched() {
                v[(a, b)] += dot(effect.factor.row(kind), effect.factor.row(other));
            }
        }
    }
    Base::new(&y, &SET, &v, tail).log_density(&[])
}

fn guarded(effects: &[Effect<'_>], chance: f64, extra: f64, tail: Tail) -> f64 {
    let mut terms = vec![written_out(effects, None, tail) + 8.0 * (-chance).ln_1p()];
    for wrong in 0..8 {
        let widened = written_out(effects, Some((wrong, extra)), tail);
        terms.push(widened + 7.0 * (-chance).ln_1p() + chance.ln());
    }
    log_sum_exp(&terms)
}

#[test]
fn the_guard_is_the_sum_of_the_plain_terms() {
    let tail = Tail::Student(6.0);
    let (base, moved) = (base(tail), Moved::new());
    let effects = moved.at(&base, &[1, 6]);
    let fast = base.log_density_guarded(&effects, 0.01, &[9900.0; 8]);
    assert!((fast - guarded(&effects, 0.01, 9900.0, tail)).abs() < 1e-9);
}

/// Readings that are touched, each with its kind; means and a lower factor for two kinds.
fn random_effect() -> impl Strategy<Value = (Vec<(usize, usize)>, Vec<f64>, [f64; 3])> {
    let touched =
        proptest::collection::vec(proptest::option::of(0_usize..2), 8).prop_map(|kinds| {
            kinds.iter().enumerate().filter_map(|(row, kind)| Some((row, (*kind)?))).collect()
        });
    let mean = proptest::collection::vec(-60.0_f64..60.0, 2);
    (touched, mean, [0.0_f64..40.0, -20.0_f64..20.0, 0.0_f64..40.0])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn gathered_by_kind_is_the_same_as_written_out(
        list in proptest::collection::vec(random_effect(), 0..3),
        student in any::<bool>(),
        with in proptest::collection::vec(-30.0_f64..30.0, 8),
    ) {
        let tail = if student { Tail::Student(5.0) } else { Tail::Normal };
        let base = base(tail);
        let factors: Vec<Matrix> = list
            .iter()
            .map(|(_, _, [a, b, c])| {
                Matrix::from_fn(2, 2, |i, j| [[*a, 0.0], [*b, *c]][i][j])
            })
            .collect();
        let effects: Vec<Effect<'_>> = list
            .iter()
            .zip(&factors)
            .map(|((touched, mean, _), factor)| {
                Effect { on: Rc::new(base.rows_anew(touched.clone(), 2)), mean, factor }
            })
            .collect();
        let near = |fast: f64, slow: f64| (fast - slow).abs() < 1e-8 * (1.0 + slow.abs());
        let (fast, slow) = (base.log_density(&effects), written_out(&effects, None, tail));
        prop_assert!(near(fast, slow), "{fast} {slow}");
        let fast = base.log_density_guarded(&effects, 0.02, &[5000.0; 8]);
        let slow = guarded(&effects, 0.02, 5000.0, tail);
        prop_assert!(near(fast, slow), "guarded: {fast} {slow}");
        // A further quantity: as a ninth reading in a set of its own kind it would be, here by the
        // whole covariance again.
        let forecast = base.forecast(&effects, &with);
        let mut v = v0();
        let mut y = Y.to_vec();
        for effect in &effects {
            for &(a, kind) in effect.on.touched() {
                y[a] -= effect.mean[kind];
                for &(b, other) in effect.on.touched() {
                    v[(a, b)] += dot(effect.factor.row(kind), effect.factor.row(other));
                }
            }
        }
        let whole = Base::new(&y, &SET, &v, tail).forecast(&[], &with);
        prop_assert!(near(forecast.mean, whole.mean), "{forecast:?} {whole:?}");
        prop_assert!(near(forecast.reduction, whole.reduction), "{forecast:?} {whole:?}");
        prop_assert!(near(forecast.scale, whole.scale), "{forecast:?} {whole:?}");
    }
}
