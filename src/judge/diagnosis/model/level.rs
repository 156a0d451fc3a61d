//! What the level of all displays together says of a fault of the whole box.
//!
//! Differences between displays cannot show what moves them all. Their level can: a sound engine has one at
//! each running point, which its mixture gives within what engines differ by; a box that is wrong as a whole
//! shows anything, until it is put right. It must not look at one display.

use statrs::distribution::{Continuous, StudentsT};

use super::{Model, Part};
use crate::diagnosis::data::Kind;
use measure::engine::{Fuel, Place, ProbeSite};
use measure::readings::outlier::median;

/// Degrees that a box may show where it is wrong as a whole, any of them alike.
const SCALE: f64 = 1400.0;

/// Chance that every number of a set was typed wrongly alike, so that no level rules a sound box out (common
/// practice, no source).
const SLIP: f64 = 2e-5;

/// Degrees of freedom of what engines differ by: few engines stand behind the table, and some are like none
/// of them. A judgement.
const FREEDOM: f64 = 4.0;

/// How far an engine's own level moves between two sets at one point, as a share of what engines differ by:
/// the point is held a little differently. A judgement.
const AGAIN: f64 = 0.2;

impl Model<'_> {
    /// Log of how much likelier the level of all displays is with some fault of the whole box than with
    /// none, once for each kind of reading: levels of one kind go together.
    pub(super) fn log_level(&self, parts: &[Part]) -> f64 {
        let common = |part: &&Part| self.candidates[part.candidate].fault.place == Place::Nowhere;
        let Some(part) = parts.iter().find(common) else { return 0.0 };
        let mut log = 0.0;
        for (number, kind) in self.data.kinds.iter().enumerate() {
            let (mut wrong, mut right) = (Vec::new(), Vec::new());
            for (look, set) in self.data.sets.iter().enumerate().filter(|(_, s)| s.kind == number) {
                let rows = set.row_of.iter().flatten();
                let numbers: Vec<f64> = rows.map(|&row| self.data.rows[row].value).collect();
                let levels = if part.shows_in(set.slot, look) { &mut wrong } else { &mut right };
                levels.extend(median(&numbers));
            }
            let Some(wrong) = median(&wrong) else { continue };
            let (usual, sd) = self.usual_level(*kind);
            // Once it was put right, or before it began, the engine showed its own level.
            let (own, by) = median(&right).map_or((usual, sd), |own| (own, AGAIN * sd));
            let sound = StudentsT::new(own, by.max(1.0), FREEDOM).map_or(0.0, |t| t.pdf(wrong));
            log -= (sound * SCALE + SLIP).ln();
        }
        log
    }

    /// Where the displays of a sound engine stand, and how far one engine lies from that, °C.
    ///
    /// The curve of the mixture is anchored at what displays show, so that a lean-burning engine is expected
    /// as cool as it is.
    fn usual_level(&self, kind: Kind) -> (f64, f64) {
        let (constants, at) = (&self.knowledge.constants, kind.at);
        let engine = &self.timeline.engine;
        let own = &engine.mixture;
        let mixture = at.regime.of_three([own.idle, own.cruise, own.full]);
        // While it warms up nobody knows the mixture; a point may have a level of its own.
        let mixture =
            mixture.filter(|_| !at.is_warming() && constants.level_spark.own(at).is_none());
        match (kind.site, engine.fuel, mixture) {
            (ProbeSite::Head, ..) => (constants.level_head.at(at), constants.level_sd_head.at(at)),
            (_, Fuel::Diesel, _) => (constants.level_diesel.at(at), constants.level_sd.at(at)),
            (.., Some(mixture)) => {
                (self.knowledge.mixture.at(at.regime, mixture), constants.level_sd.at(at))
            }
            (.., None) => (constants.level_spark.at(at), constants.level_sd.at(at)),
        }
    }
}
