//! Effects on few kinds of readings, worked out in place.
//!
//! Asked for millions of times in a long job: sizes are known when it is built, nothing is allocated. It must
//! come to what the working space of [`super::cells`] comes to for effects of any size.

use super::super::linalg::Matrix;
use super::touched::Table;

/// Quadratic form and log determinant of one effect by itself, given what is needed of its readings.
pub(super) fn alone<const N: usize>(
    nothing: f64,
    table: &Table,
    one: &(&[f64], &Matrix),
) -> (f64, f64) {
    let (within, told) = figures::<N>(table);
    let (shift, wide) = effect(one);
    settled(nothing, &within, &told, &shift, &wide)
}

/// Quadratic form and log determinant of effects with these shifts and factors, the rest being nought.
pub(super) fn settled<const N: usize>(
    nothing: f64,
    within: &[[f64; N]; N],
    told: &[f64; N],
    mean: &[f64; N],
    factor: &[[f64; N]; N],
) -> (f64, f64) {
    let (quadratic, root) = rooted(nothing, within, told, mean, factor);
    (quadratic, 2.0 * root.ln())
}

/// The same with the root of the determinant in place of its log. Factors are lower: what is nought above their diagonal
/// is not gone through.
#[inline]
pub(super) fn rooted<const N: usize>(
    nothing: f64,
    within: &[[f64; N]; N],
    told: &[f64; N],
    mean: &[f64; N],
    factor: &[[f64; N]; N],
) -> (f64, f64) {
    let mut quadratic = nothing;
    let mut left = *told;
    for a in 0..N {
        for b in 0..N {
            left[a] -= within[a][b] * mean[b];
        }
        quadratic -= mean[a] * (told[a] + left[a]);
    }
    // W F, then I + FᵀWF and Fᵀ left.
    let mut carried = [[0.0; N]; N];
    for a in 0..N {
        for b in 0..N {
            for c in 0..=b {
                carried[a][c] += within[a][b] * factor[b][c];
            }
        }
    }
    let mut g = [[0.0; N]; N];
    let mut v = [0.0; N];
    for a in 0..N {
        for c in 0..=a {
            v[c] += factor[a][c] * left[a];
            for d in 0..=c {
                g[c][d] += factor[a][c] * carried[a][d];
            }
        }
    }
    let mut determinant = 1.0;
    for j in 0..N {
        g[j][j] += 1.0;
        for c in 0..j {
            g[j][j] -= g[j][c] * g[j][c];
            v[j] -= g[j][c] * v[c];
        }
        let pivot = g[j][j].max(1e-12).sqrt();
        g[j][j] = pivot;
        determinant *= pivot;
        v[j] /= pivot;
        quadratic -= v[j] * v[j];
        for i in j + 1..N {
            for c in 0..j {
                g[i][j] -= g[i][c] * g[j][c];
            }
            g[i][j] /= pivot;
        }
    }
    (quadratic.max(0.0), determinant)
}

/// The figures of readings in place: `ZᵀP Z` and `ZᵀP y`, the rest being nought.
pub(super) fn figures<const N: usize>(table: &Table) -> ([[f64; N]; N], [f64; N]) {
    let k = table.weighted().len();
    let (mut within, mut told) = ([[0.0; N]; N], [0.0; N]);
    told[..k].copy_from_slice(table.weighted());
    for (kind, row) in within[..k].iter_mut().enumerate() {
        row[..k].copy_from_slice(table.row(kind));
    }
    (within, told)
}

/// The shifts and the factor of an effect in place, the rest being nought.
pub(super) fn effect<const N: usize>(
    &(mean, factor): &(&[f64], &Matrix),
) -> ([f64; N], [[f64; N]; N]) {
    let k = mean.len();
    let (mut shift, mut wide) = ([0.0; N], [[0.0; N]; N]);
    shift[..k].copy_from_slice(mean);
    for (kind, row) in wide[..k].iter_mut().enumerate() {
        row[..k].copy_from_slice(factor.row(kind));
    }
    (shift, wide)
}
