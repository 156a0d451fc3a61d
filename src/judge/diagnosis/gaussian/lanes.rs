//! Effects on few kinds of readings, several side by side: at other choices of looks, or at other scales.
//!
//! What a processor does to one number it does to some at once where they stand side by side. It must come to what
//! [`super::small`] comes to for each.

use super::cells::MANY;

/// How many are worked out side by side.
pub(super) const LANES: usize = 4;

/// A figure of each of them.
pub(super) type Lanes = [f64; LANES];

/// A pivot is no less: of a covariance of less than full rank rounding may leave any.
const LEAST: f64 = 1e-24;

/// How many kinds are gone through in room for `N`: all of it where it is built for them, or loops that many times as long
/// would be built out for what hardly a job has.
pub(super) fn gone_through<const N: usize>(kinds: usize) -> usize {
    if N < MANY { N } else { kinds }
}

/// Calls a function that is built for a number of kinds, or for as many as there can be.
macro_rules! by_kinds {
    ($kinds:expr, $of:ident::<_>($($given:expr),*)) => {
        match $kinds {
            1 => $of::<1>($($given),*),
            2 => $of::<2>($($given),*),
            3 => $of::<3>($($given),*),
            4 => $of::<4>($($given),*),
            _ => $of::<MANY>($($given),*),
        }
    };
}
pub(super) use by_kinds;

/// An effect before its `G` is gone through.
struct Ready<const N: usize> {
    quadratic: Lanes,
    /// `G`, its lower half.
    g: [[Lanes; N]; N],
    /// `Fᵀu`
    v: [Lanes; N],
}

#[inline]
fn ready<const N: usize>(
    kinds: usize,
    nothing: &Lanes,
    within: &[[Lanes; N]; N],
    told: &[Lanes; N],
    mean: &[f64; N],
    factor: &[[f64; N]; N],
) -> Ready<N> {
    let mut quadratic = *nothing;
    let mut left = *told;
    for a in 0..kinds {
        for b in 0..kinds {
            for lane in 0..LANES {
                left[a][lane] -= within[a][b][lane] * mean[b];
            }
        }
        for lane in 0..LANES {
            quadratic[lane] -= mean[a] * (told[a][lane] + left[a][lane]);
        }
    }
    let mut carried = [[[0.0; LANES]; N]; N];
    for a in 0..kinds {
        for b in 0..kinds {
            for c in 0..=b {
                for lane in 0..LANES {
                    carried[a][c][lane] += within[a][b][lane] * factor[b][c];
                }
            }
        }
    }
    let mut g = [[[0.0; LANES]; N]; N];
    let mut v = [[0.0; LANES]; N];
    for a in 0..kinds {
        for c in 0..=a {
            for lane in 0..LANES {
                v[c][lane] += factor[a][c] * left[a][lane];
            }
            for d in 0..=c {
                for lane in 0..LANES {
                    g[c][d][lane] += factor[a][c] * carried[a][d][lane];
                }
            }
        }
    }
    for (c, row) in g.iter_mut().enumerate().take(kinds) {
        row[c].iter_mut().for_each(|own| *own += 1.0);
    }
    Ready { quadratic, g, v }
}

/// Quadratic forms and determinants of an effect: as [`super::small::rooted`] does it for one.
#[inline]
pub(super) fn weighed<const N: usize>(
    kinds: usize,
    nothing: &Lanes,
    within: &[[Lanes; N]; N],
    told: &[Lanes; N],
    mean: &[f64; N],
    factor: &[[f64; N]; N],
) -> (Lanes, Lanes) {
    let Ready { mut quadratic, mut g, mut v } = ready(kinds, nothing, within, told, mean, factor);
    let (gain, determinant) = told_by(kinds, &mut g, &mut v);
    for lane in 0..LANES {
        quadratic[lane] -= gain[lane];
    }
    (quadratic, determinant)
}

/// `vᵀ g⁻¹ v` and the determinant of `g`, of which the lower half counts; it is left as `L D`, and `v` as `L⁻¹ v`.
#[inline]
pub(super) fn told_by<const N: usize>(
    kinds: usize,
    g: &mut [[Lanes; N]; N],
    v: &mut [Lanes; N],
) -> (Lanes, Lanes) {
    let (mut gain, mut determinant) = ([0.0; LANES], [1.0; LANES]);
    for j in 0..kinds {
        let mut inverse = [0.0; LANES];
        for lane in 0..LANES {
            let pivot = g[j][j][lane].max(LEAST);
            inverse[lane] = 1.0 / pivot;
            determinant[lane] *= pivot;
            gain[lane] += v[j][lane] * v[j][lane] * inverse[lane];
        }
        for i in j + 1..kinds {
            let mut share = [0.0; LANES];
            for lane in 0..LANES {
                share[lane] = g[i][j][lane] * inverse[lane];
                v[i][lane] -= share[lane] * v[j][lane];
            }
            let mut row = g[i];
            for (k, own) in row.iter_mut().enumerate().take(i + 1).skip(j + 1) {
                for lane in 0..LANES {
                    own[lane] -= share[lane] * g[k][j][lane];
                }
            }
            g[i] = row;
        }
    }
    (gain, determinant)
}

/// `2^52 × 1.5`: added to a small number it leaves that rounded to a whole one in its lowest bits.
const WHOLE: f64 = 6_755_399_441_055_744.0;

/// Exponentials of numbers that are hardly above nought, to some units of the last place; nothing where they are far
/// below. Written so that several are worked out at once.
#[inline]
pub(super) fn exponentials(logs: &Lanes) -> Lanes {
    let mut result = [0.0; LANES];
    for lane in 0..LANES {
        let log = logs[lane].max(-700.0);
        let shifted = log * std::f64::consts::LOG2_E + WHOLE;
        let whole = shifted - WHOLE;
        // The logarithm of two in two parts, the first of which is exact in a product with a whole number.
        let rest = log - whole * 0.693_147_180_369_123_8 - whole * 1.908_214_929_270_587_7e-10;
        let mut sum = 1.0 / 479_001_600.0;
        for divisor in [
            39_916_800.0,
            3_628_800.0,
            362_880.0,
            40_320.0,
            5040.0,
            720.0,
            120.0,
            24.0,
            6.0,
            2.0,
            1.0,
            1.0,
        ] {
            sum = sum * rest + 1.0 / divisor;
        }
        let power = f64::from_bits((shifted.to_bits() << 52).wrapping_add(1023 << 52));
        result[lane] = if logs[lane] < -700.0 { 0.0 } else { sum * power };
    }
    result
}

/// One effect taken in: what another comes to beside it is worked out as if that were there alone.
pub(super) struct Taken<const N: usize> {
    /// `Q` with it alone.
    pub(super) quadratic: Lanes,
    /// Determinant of its `G`.
    pub(super) determinant: Lanes,
    /// `m + F G⁻¹ Fᵀ u`: its shifts as they are thought to be with it alone.
    shift: [Lanes; N],
    /// `L⁻¹ Fᵀ`, of `G = L D Lᵀ`, and `D⁻¹`.
    known: [[Lanes; N]; N],
    inverse: [Lanes; N],
}

impl<const N: usize> Taken<N> {
    /// Takes one in.
    #[inline]
    pub(super) fn new(
        kinds: usize,
        nothing: &Lanes,
        within: &[[Lanes; N]; N],
        told: &[Lanes; N],
        mean: &[f64; N],
        factor: &[[f64; N]; N],
    ) -> Self {
        let Ready { mut quadratic, mut g, mut v } =
            ready(kinds, nothing, within, told, mean, factor);
        let (gain, determinant) = told_by(kinds, &mut g, &mut v);
        for lane in 0..LANES {
            quadratic[lane] -= gain[lane];
        }
        let mut inverse = [[0.0; LANES]; N];
        let mut known = [[[0.0; LANES]; N]; N];
        let mut shift = [[0.0; LANES]; N];
        for kind in 0..kinds {
            shift[kind] = [mean[kind]; LANES];
        }
        for row in 0..kinds {
            for lane in 0..LANES {
                inverse[row][lane] = 1.0 / g[row][row][lane].max(LEAST);
            }
            for kind in 0..kinds {
                let mut rest = [factor[kind][row]; LANES];
                for c in 0..row {
                    for lane in 0..LANES {
                        // Below its diagonal `G` was left as `L D`.
                        rest[lane] -= g[row][c][lane] * inverse[c][lane] * known[c][kind][lane];
                    }
                }
                for lane in 0..LANES {
                    shift[kind][lane] += rest[lane] * v[row][lane] * inverse[row][lane];
                }
                known[row][kind] = rest;
            }
        }
        Self { quadratic, determinant, shift, known, inverse }
    }

    /// What is left of the readings of another, given `ZᵀP Z'` of the two: `Z'ᵀP Z'` and `Z'ᵀP y`.
    #[inline]
    pub(super) fn leave(
        &self,
        kinds: usize,
        across: &[[Lanes; N]; N],
        within: &[[Lanes; N]; N],
        told: &[Lanes; N],
    ) -> ([[Lanes; N]; N], [Lanes; N]) {
        let (mut within, mut told) = (*within, *told);
        for (across, shift) in across.iter().zip(&self.shift).take(kinds) {
            for (told, across) in told.iter_mut().zip(across).take(kinds) {
                for lane in 0..LANES {
                    told[lane] -= across[lane] * shift[lane];
                }
            }
        }
        for (known, inverse) in self.known.iter().zip(&self.inverse).take(kinds) {
            let mut taken = [[0.0; LANES]; N];
            for (across, known) in across.iter().zip(known).take(kinds) {
                for (taken, across) in taken.iter_mut().zip(across).take(kinds) {
                    for lane in 0..LANES {
                        taken[lane] += known[lane] * across[lane];
                    }
                }
            }
            for kind in 0..kinds {
                for other in 0..kinds {
                    for lane in 0..LANES {
                        let share = taken[kind][lane] * inverse[lane];
                        within[kind][other][lane] -= share * taken[other][lane];
                    }
                }
            }
        }
        (within, told)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::{LANES, exponentials};

    proptest! {
        #[test]
        fn exponentials_are_those_of_the_library(logs in proptest::array::uniform4(-690.0_f64..1.0)) {
            let got = exponentials(&logs);
            for lane in 0..LANES {
                let want = logs[lane].exp();
                prop_assert!((got[lane] - want).abs() <= 1e-14 * want, "{} {want}", got[lane]);
            }
        }
    }

    #[test]
    fn what_is_far_below_nought_is_nothing() {
        let all = exponentials(&[-701.0, f64::NEG_INFINITY, 0.0, -1e9]);
        assert_eq!(all.map(f64::to_bits), [0.0, 0.0, 1.0_f64, 0.0].map(f64::to_bits));
    }
}
