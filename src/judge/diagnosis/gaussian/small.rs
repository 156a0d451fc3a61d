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
    (mean, factor): &(&[f64], &Matrix),
) -> (f64, f64) {
    let k = mean.len();
    let (mut within, mut wide) = ([[0.0; N]; N], [[0.0; N]; N]);
    let (mut shift, mut told) = ([0.0; N], [0.0; N]);
    shift[..k].copy_from_slice(mean);
    told[..k].copy_from_slice(table.weighted());
    for kind in 0..k {
        within[kind][..k].copy_from_slice(table.row(kind));
        wide[kind][..k].copy_from_slice(factor.row(kind));
    }
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
            for c in 0..N {
                carried[a][c] += within[a][b] * factor[b][c];
            }
        }
    }
    let mut g = [[0.0; N]; N];
    let mut v = [0.0; N];
    for a in 0..N {
        for c in 0..N {
            v[c] += factor[a][c] * left[a];
            for d in 0..N {
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
    (quadratic.max(0.0), 2.0 * determinant.ln())
}
