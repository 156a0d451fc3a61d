//! How far a fault moves the readings of each kind: its side, its severity and its size.
//!
//! Sides, means and covariances are those of the tables ([`effect::moments`]): they are what the model says
//! of a fault before anything is read. Of what is put through the mixture curve the model knows two
//! moments, and these are drawn from, not the curve.

use super::dice::Dice;
use crate::diagnosis::effect::{self, Context, Moments};
use crate::diagnosis::result::CauseRef;
use facts::knowledge::Charge;

/// What a fault does to its displays in this job.
#[derive(Debug, Clone)]
pub(super) struct Shift {
    /// By kind of reading, °C.
    pub(super) by: Vec<f64>,
    /// What there is to burn in its cylinder.
    pub(super) charge: Charge,
}

pub(super) fn draw(context: Context<'_>, cause: CauseRef, dice: &mut Dice) -> Shift {
    let sides = match cause {
        CauseRef::Listed(index) => effect::moments(context, index, None),
        CauseRef::Unlisted => effect::unlisted(context),
    };
    let shares: Vec<f64> = sides.iter().map(|side| side.share).collect();
    let side = &sides[dice.weighted(&shares)];
    let about = about(side, dice);
    let by = if cause.passes(context.knowledge) {
        unsteady(context, side, &about, dice)
    } else {
        side.mean.iter().zip(&about).map(|(mean, about)| mean + about).collect()
    };
    Shift { by, charge: side.charge }
}

/// A draw of the sizes about their mean.
fn about(side: &Moments, dice: &mut Dice) -> Vec<f64> {
    let kinds = side.mean.len();
    let normal = dice.normals(kinds);
    let of = |kind: usize| side.factor.row(kind).iter().zip(&normal).map(|(f, z)| f * z).sum();
    (0..kinds).map(of).collect()
}

/// Mean of a half normal with a mean square of one, and its sd: the model takes it for a normal with these.
const HALF: (f64, f64) = (0.798, 0.603);

/// Chance that the engine of a new job had just come from more load.
const DRIVEN_IN: f64 = 0.1;

/// What is not steady yet stands on the side that the engine comes from. Kinds stand in the order in
/// which they were first read.
fn unsteady(context: Context<'_>, usual: &Moments, about: &[f64], dice: &mut Dice) -> Vec<f64> {
    let first = if dice.chance(DRIVEN_IN) { 1.0 } else { -1.0 };
    let way = |kind: usize| match kind {
        0 => first,
        _ if context.kinds[kind - 1].at > context.kinds[kind].at => 1.0,
        _ => -1.0,
    };
    (0..usual.mean.len())
        .map(|kind| {
            let square: f64 = usual.factor.row(kind).iter().map(|f| f * f).sum();
            let size = (square + usual.mean[kind].powi(2)).sqrt();
            let unit = if square > 0.0 { about[kind] / square.sqrt() } else { 0.0 };
            size * (way(kind) * HALF.0 + HALF.1 * unit)
        })
        .collect()
}
