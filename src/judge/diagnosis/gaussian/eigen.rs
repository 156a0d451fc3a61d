//! Eigenvalues and vectors of a small symmetric matrix.
//!
//! Reduction to three diagonals by reflections, then the implicit QL iteration (EISPACK `tred2` and
//! `tql2`; Wilkinson and Reinsch 1971). It must not know what the matrix is of.

use super::super::linalg::{Matrix, add, dot};

/// Sweeps per value after which the iteration gives up and takes what it has; three are usual.
const MOST_SWEEPS: usize = 60;

/// Values of a symmetric matrix, and its vectors as rows, so that `rows ᵀ diag rows` is the matrix.
pub(super) fn eigen(matrix: &Matrix) -> (Vec<f64>, Matrix) {
    let n = matrix.rows();
    if n == 0 {
        return (Vec::new(), Matrix::zeros(0, 0));
    }
    let (values, off, vectors) = three_diagonals(matrix);
    by_rotations(values, off, vectors)
}

/// `Qᵀ M Q` with three diagonals: the middle one, the one beside it, and `Qᵀ`.
fn three_diagonals(matrix: &Matrix) -> (Vec<f64>, Vec<f64>, Matrix) {
    let n = matrix.rows();
    let mut m = matrix.clone();
    let mut turned = Matrix::from_fn(n, n, |i, j| f64::from(u8::from(i == j)));
    let mut off = vec![0.0; n];
    let (mut v, mut p) = (vec![0.0; n], vec![0.0; n]);
    for k in 0..n.saturating_sub(2) {
        // The reflection that clears column k below its second entry.
        let below: f64 = (k + 1..n).map(|i| m[(i, k)] * m[(i, k)]).sum::<f64>().sqrt();
        let first = m[(k + 1, k)];
        if below == 0.0 {
            continue;
        }
        let alpha = if first > 0.0 { -below } else { below };
        v.fill(0.0);
        for (i, v) in v.iter_mut().enumerate().skip(k + 1) {
            *v = m[(i, k)];
        }
        v[k + 1] -= alpha;
        let square: f64 = dot(&v, &v);
        if square <= 0.0 {
            continue;
        }
        // M ← M − v pᵀ − p vᵀ with p = (2/v²)(M v) − (v·Mv)(2/v⁴) v.
        for (i, p) in p.iter_mut().enumerate() {
            *p = 2.0 / square * dot(&m.row(i)[k..], &v[k..]);
        }
        let half = dot(&p, &v) / square;
        for (p, v) in p.iter_mut().zip(&v) {
            *p -= half * v;
        }
        for i in k..n {
            let (vi, pi) = (v[i], p[i]);
            let row = &mut m.row_mut(i)[k..];
            add(row, -vi, &p[k..]);
            add(row, -pi, &v[k..]);
        }
        // Qᵀ ← H Qᵀ.
        p.fill(0.0);
        for (i, v) in v.iter().enumerate().skip(k + 1) {
            add(&mut p, *v, turned.row(i));
        }
        for (i, v) in v.iter().enumerate().skip(k + 1) {
            let factor = -2.0 * v / square;
            add(turned.row_mut(i), factor, &p);
        }
    }
    for (i, off) in off.iter_mut().enumerate().skip(1) {
        *off = m[(i, i - 1)];
    }
    ((0..n).map(|i| m[(i, i)]).collect(), off, turned)
}

#[expect(clippy::many_single_char_names, reason = "those of the books")]
/// The implicit QL iteration on three diagonals; rows of `vectors` are turned along.
fn by_rotations(
    mut values: Vec<f64>,
    mut off: Vec<f64>,
    mut vectors: Matrix,
) -> (Vec<f64>, Matrix) {
    let n = values.len();
    off.rotate_left(1);
    for l in 0..n {
        for _ in 0..MOST_SWEEPS {
            // The first negligible entry from here on.
            let small =
                |m: usize| off[m].abs() <= f64::EPSILON * (values[m].abs() + values[m + 1].abs());
            let m = (l..n - 1).find(|&m| small(m)).unwrap_or(n - 1);
            if m == l {
                break;
            }
            let shift = (values[l + 1] - values[l]) / (2.0 * off[l]);
            let root = shift.hypot(1.0);
            let mut g = values[m] - values[l] + off[l] / (shift + root.copysign(shift));
            let (mut s, mut c, mut p) = (1.0, 1.0, 0.0);
            let mut broken = false;
            for i in (l..m).rev() {
                let (f, b) = (s * off[i], c * off[i]);
                let r = f.hypot(g);
                off[i + 1] = r;
                if r == 0.0 {
                    values[i + 1] -= p;
                    off[m] = 0.0;
                    broken = true;
                    break;
                }
                s = f / r;
                c = g / r;
                g = values[i + 1] - p;
                let t = (values[i] - g) * s + 2.0 * c * b;
                p = s * t;
                values[i + 1] = g + p;
                g = c * t - b;
                turn(&mut vectors, i, c, s);
            }
            if broken {
                continue;
            }
            values[l] -= p;
            off[l] = g;
            off[m] = 0.0;
        }
    }
    (values, vectors)
}

/// Turns two neighbouring rows.
#[expect(clippy::many_single_char_names, reason = "those of the books")]
fn turn(vectors: &mut Matrix, i: usize, c: f64, s: f64) {
    let n = vectors.row(i).len();
    for k in 0..n {
        let (a, b) = (vectors[(i, k)], vectors[(i + 1, k)]);
        vectors[(i + 1, k)] = s * a + c * b;
        vectors[(i, k)] = c * a - s * b;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        #[test]
        fn values_and_vectors_make_the_matrix_again(
            n in 1_usize..14,
            rank in 1_usize..14,
            cells in proptest::collection::vec(-3.0_f64..3.0, 14 * 14),
        ) {
            // Of any rank, equal values included.
            let root = Matrix::from_fn(n, rank, |i, j| cells[i * 14 + j]);
            let matrix = Matrix::from_fn(n, n, |i, j| dot(root.row(i), root.row(j)));
            let (values, vectors) = eigen(&matrix);
            for i in 0..n {
                for j in 0..n {
                    let back: f64 =
                        (0..n).map(|k| values[k] * vectors[(k, i)] * vectors[(k, j)]).sum();
                    prop_assert!((back - matrix[(i, j)]).abs() < 1e-9, "{back}");
                    let one = dot(vectors.row(i), vectors.row(j));
                    prop_assert!((one - f64::from(u8::from(i == j))).abs() < 1e-10);
                }
            }
        }
    }
}
