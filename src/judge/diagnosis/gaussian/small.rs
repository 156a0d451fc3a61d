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
    let Solved { quadratic, determinant, .. } = solved(nothing, within, told, mean, factor);
    (quadratic.max(0.0), 2.0 * determinant.ln())
}

/// Effects weighed against readings.
struct Solved<const N: usize> {
    quadratic: f64,
    /// Root of the determinant of `G`.
    determinant: f64,
    /// Factor of `G`; only what is on its diagonal and below counts.
    g: [[f64; N]; N],
    /// `z`
    v: [f64; N],
}

#[inline]
fn solved<const N: usize>(
    nothing: f64,
    within: &[[f64; N]; N],
    told: &[f64; N],
    mean: &[f64; N],
    factor: &[[f64; N]; N],
) -> Solved<N> {
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
    Solved { quadratic, determinant, g, v }
}

/// One effect taken in: what another comes to beside it is worked out as if that were there alone.
pub(super) struct Taken<const N: usize> {
    /// `Q` with it alone.
    quadratic: f64,
    /// What it adds to the log determinant.
    log_determinant: f64,
    /// `m + F G⁻¹ Fᵀ u`: its shifts as they are thought to be with it alone.
    shift: [f64; N],
    /// `L_G⁻¹ Fᵀ`
    known: [[f64; N]; N],
}

impl<const N: usize> Taken<N> {
    /// Takes one in.
    pub(super) fn new(
        nothing: f64,
        within: &[[f64; N]; N],
        told: &[f64; N],
        mean: &[f64; N],
        factor: &[[f64; N]; N],
    ) -> Self {
        let Solved { quadratic, determinant, g, v } = solved(nothing, within, told, mean, factor);
        let mut known = [[0.0; N]; N];
        let mut shift = *mean;
        for kind in 0..N {
            for row in 0..N {
                let mut rest = factor[kind][row];
                for c in 0..row {
                    rest -= g[row][c] * known[c][kind];
                }
                known[row][kind] = rest / g[row][row];
                shift[kind] += known[row][kind] * v[row];
            }
        }
        Self { quadratic, log_determinant: 2.0 * determinant.ln(), shift, known }
    }

    /// What is left of the readings of another, given `ZᵀP Z'` of the two: `Z'ᵀP Z'` and `Z'ᵀP y`.
    pub(super) fn leave(
        &self,
        across: &[[f64; N]; N],
        within: &[[f64; N]; N],
        told: &[f64; N],
    ) -> ([[f64; N]; N], [f64; N]) {
        let (mut within, mut told) = (*within, *told);
        let mut taken = [[0.0; N]; N];
        for (taken, known) in taken.iter_mut().zip(&self.known) {
            for (across, known) in across.iter().zip(known) {
                for (taken, across) in taken.iter_mut().zip(across) {
                    *taken += known * across;
                }
            }
        }
        for (across, shift) in across.iter().zip(&self.shift) {
            for (told, across) in told.iter_mut().zip(across) {
                *told -= across * shift;
            }
        }
        for row in &taken {
            for kind in 0..N {
                for other in 0..N {
                    within[kind][other] -= row[kind] * row[other];
                }
            }
        }
        (within, told)
    }

    /// Quadratic form and log determinant with another, of whose readings this is left.
    pub(super) fn beside(
        &self,
        (within, told): &([[f64; N]; N], [f64; N]),
        mean: &[f64; N],
        factor: &[[f64; N]; N],
    ) -> (f64, f64) {
        let (quadratic, log_determinant) = settled(self.quadratic, within, told, mean, factor);
        (quadratic, self.log_determinant + log_determinant)
    }
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
