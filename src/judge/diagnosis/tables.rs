//! Chances of a test's outcomes, for one cause and for several at once.
//!
//! Only arithmetic on rows; which row belongs to which cause is the knowledge base's word.

/// The row for causes that act together in one outcome table.
///
/// The default row's likeliest outcome is the silent one: what is seen when nothing speaks.
/// Each cause `k` fails to speak with `q_k = row_k[silent] / default[silent]`, independently of
/// the others and of whatever makes a healthy engine speak (the leak), so
///
/// ```text
/// P(silent) = default[silent] · Π q_k                      (noisy-OR with a leak)
/// P(o)      ∝ default[o] + Σ_k max(0, row_k[o] − default[o])   for the others
/// ```
///
/// With two outcomes this is exactly the noisy-OR of Pearl; with one cause it gives its row
/// back where the row is no more silent than the default. A row that is *more* silent than
/// the default has `q_k` taken as given, not cut at one, so that it too is given back.
#[must_use]
pub fn together(default: &[f64], rows: &[&[f64]]) -> Vec<f64> {
    match rows {
        [] => return default.to_vec(),
        [row] => return row.to_vec(),
        _ => {}
    }
    let silent = silent(default);
    let quiet: f64 =
        rows.iter().map(|row| row[silent] / default[silent]).product::<f64>() * default[silent];
    let quiet = quiet.clamp(0.0, 1.0 - 1e-9);
    let mut out: Vec<f64> = (0..default.len())
        .map(|o| default[o] + rows.iter().map(|row| (row[o] - default[o]).max(0.0)).sum::<f64>())
        .collect();
    out[silent] = 0.0;
    let loud: f64 = out.iter().sum();
    for value in &mut out {
        *value *= (1.0 - quiet) / loud;
    }
    out[silent] = quiet;
    out
}

/// Index of the outcome that is seen when nothing speaks.
#[must_use]
pub fn silent(default: &[f64]) -> usize {
    let mut best = 0;
    for (index, chance) in default.iter().enumerate() {
        if *chance > default[best] {
            best = index;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Fixture F7b: leak 0.05; cold, flu, malaria with priors .1, .05, .02 and inhibitors .6,
    /// .2, .1. Expected values recomputed by enumeration in `tests/reference/fixtures.py`; the
    /// inhibitors are Russell & Norvig's fever example, from memory.
    #[test]
    fn three_causes_in_one_table_are_a_noisy_or() {
        let default = [0.95, 0.05];
        let inhibitors = [0.6, 0.2, 0.1];
        let priors = [0.1, 0.05, 0.02];
        let rows: Vec<[f64; 2]> = inhibitors.iter().map(|q| [0.95 * q, 1.0 - 0.95 * q]).collect();
        let (mut fever, mut each) = (0.0, [0.0; 3]);
        for mask in 0..8_usize {
            let on: Vec<usize> = (0..3).filter(|k| mask >> k & 1 == 1).collect();
            let present: Vec<&[f64]> = on.iter().map(|&k| rows[k].as_slice()).collect();
            let prior: f64 =
                (0..3).map(|k| if on.contains(&k) { priors[k] } else { 1.0 - priors[k] }).product();
            let joint = prior * together(&default, &present)[1];
            fever += joint;
            for k in on {
                each[k] += joint;
            }
        }
        assert!((fever - 0.140_239_36).abs() < 1e-8, "{fever}");
        for (got, want) in each.iter().zip([0.329_899_965_3, 0.292_672_185_6, 0.130_127_233_9]) {
            assert!((got / fever - want).abs() < 1e-9, "{} {want}", got / fever);
        }
    }

    #[test]
    fn without_a_leak_the_textbook_table_comes_out() {
        // Russell & Norvig's fever table (from memory): c+f .88, c+m .94, f+m .98, all .988.
        let default = [1.0, 0.0];
        let row = |q: f64| [q, 1.0 - q];
        let (c, f, m) = (row(0.6), row(0.2), row(0.1));
        for (rows, want) in [
            (vec![&c[..], &f[..]], 0.88),
            (vec![&c[..], &m[..]], 0.94),
            (vec![&f[..], &m[..]], 0.98),
            (vec![&c[..], &f[..], &m[..]], 0.988),
        ] {
            assert!((together(&default, &rows)[1] - want).abs() < 1e-12);
        }
    }

    fn row() -> impl Strategy<Value = Vec<f64>> {
        proptest::collection::vec(0.01_f64..1.0, 4).prop_map(|mut row| {
            let sum: f64 = row.iter().sum();
            for v in &mut row {
                *v /= sum;
            }
            row
        })
    }

    proptest! {
        #[test]
        fn rows_stay_distributions_and_order_does_not_matter(d in row(), a in row(), b in row()) {
            let ab = together(&d, &[&a, &b]);
            let ba = together(&d, &[&b, &a]);
            prop_assert!((ab.iter().sum::<f64>() - 1.0).abs() < 1e-9);
            for (x, y) in ab.iter().zip(&ba) {
                prop_assert!(*x >= 0.0 && (x - y).abs() < 1e-12);
            }
        }

        #[test]
        fn a_cause_that_says_nothing_changes_nothing(
            d in row(),
            share in 0.0_f64..0.95,
            to in row(),
        ) {
            // A cause that is louder than the default: it takes from the silent outcome and gives
            // to the others.
            let quiet = silent(&d);
            let moved = share * d[quiet];
            let others: f64 = (0..4).filter(|&o| o != quiet).map(|o| to[o]).sum();
            let a: Vec<f64> = (0..4)
                .map(|o| if o == quiet { d[o] - moved } else { d[o] + moved * to[o] / others })
                .collect();
            let both = together(&d, &[&a, &d]);
            for (x, y) in both.iter().zip(&a) {
                prop_assert!((x - y).abs() < 1e-9);
            }
        }
    }
}
