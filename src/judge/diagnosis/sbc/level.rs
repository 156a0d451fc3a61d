//! The level of all displays together in each reading set.
//!
//! The model leaves it free but where the whole box may be wrong, which it judges by how unlikely a sound
//! engine's level is; so a sound engine's is drawn, at its point within what engines differ by, and again
//! there within a fifth of that; with a wrong box any number is shown alike.

use facts::knowledge::Knowledge;
use measure::engine::{Engine, Fuel, ProbeSite, Regime};

use super::dice::Dice;
use crate::diagnosis::data::Kind;

/// Degrees that a wrong box may show.
const SCALE: f64 = 1400.0;

/// How far a level moves between two sets at one point, as a share of what engines differ by.
const AGAIN: f64 = 0.2;

/// Where the displays of sound engines stand at a kind of reading, and how far one lies from that, °C.
fn usual(knowledge: &Knowledge, engine: &Engine, kind: Kind) -> (f64, f64) {
    let constants = &knowledge.constants;
    let at = kind.at;
    let own = engine.mixture;
    let at_mixture = match at.regime {
        Regime::Idle => Some(own.idle),
        Regime::Cruise => Some(own.cruise),
        Regime::Full => Some(own.full),
        Regime::ColdSoak | Regime::Warming => None,
    };
    match (kind.site, engine.fuel, at_mixture) {
        (ProbeSite::Head, ..) => (constants.level_head.at(at), constants.level_sd_head.at(at)),
        (_, Fuel::Diesel, _) => (constants.level_diesel.at(at), constants.level_sd.at(at)),
        (.., Some(phi)) => (knowledge.mixture.at(at.regime, phi), constants.level_sd.at(at)),
        (.., None) => (constants.level_spark.at(at), constants.level_sd.at(at)),
    }
}

/// A level for each set, of which `sets` has the kinds; `wrong` says in which the box shows something else.
pub(super) fn draw(
    (knowledge, engine): (&Knowledge, &Engine),
    kinds: &[Kind],
    sets: &[usize],
    wrong: &[bool],
    dice: &mut Dice,
) -> Vec<f64> {
    let mut sound: Vec<Option<f64>> = vec![None; kinds.len()];
    let mut box_shows: Vec<Option<f64>> = vec![None; kinds.len()];
    let mut levels = Vec::with_capacity(sets.len());
    for (&kind, &wrong) in sets.iter().zip(wrong) {
        let (middle, sd) = usual(knowledge, engine, kinds[kind]);
        let level = if wrong {
            // One scale or unit of a box: a point that is read again shows much the same.
            let shown = *box_shows[kind].get_or_insert_with(|| dice.between(0.0, SCALE));
            shown + AGAIN * sd * dice.student_of_four()
        } else if let Some(own) = sound[kind] {
            own + AGAIN * sd * dice.student_of_four()
        } else {
            let own = middle + sd * dice.student_of_four();
            sound[kind] = Some(own);
            own
        };
        levels.push(level);
    }
    levels
}
