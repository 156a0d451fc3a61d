//! What a test shows on a virtual engine.
//!
//! Drawn from the world's rows for what is truly there at this moment. Most of a look stays as it was when
//! it is done again; now and then it is seen afresh, and now and then something else is reported than
//! was there to be seen. It must not change the engine.

use std::collections::BTreeSet;

use facts::knowledge::{Scope, Seat, Test};
use measure::engine::{Cylinder, Place, Regime};

use super::chance::Chance;
use super::engine::TrueFault;
use super::world::World;

/// Share of findings that are reported wrongly (assumed).
pub(super) const SLIPS: f64 = 0.02;
/// Share of looks that are seen afresh when they are done again (assumed).
const AFRESH: f64 = 0.25;
/// Share of what a fault does to its display at the point where it does most below which who looks at the running
/// engine sees nothing of it (assumed).
const SEEN: f64 = 0.3;

impl World<'_> {
    /// What a test shows now, and which cylinder it points at where it points at one. `running` is the point at
    /// which the engine runs where it must.
    pub(super) fn answer(
        &mut self,
        index: usize,
        cylinder: Option<Cylinder>,
        running: Option<Regime>,
    ) -> (usize, Option<Cylinder>) {
        let test = &self.known.tests[index];
        let place = cylinder.unwrap_or(0);
        let now = self.keyed(&format!("look {} {place}", test.id));
        self.look(now);
        // A new part is another thing to look at.
        let new = test.given.keys().map(|&cause| self.known.causes[cause].seat);
        let new: BTreeSet<Seat> = new.collect();
        let new = new.into_iter().filter_map(|seat| self.renewed.get(&(seat, place))).sum::<u32>();
        let stays = self.job.chance.of("seen").of(&test.id).nth(place).nth(new);
        let seen = if now.of("afresh").happens(AFRESH) { now.of("seen") } else { stays };
        let rows = &self.field.tables.rows[index];
        let silent = test.usual();
        let speaking: Vec<(usize, &TrueFault, Vec<f64>)> = self
            .job
            .faults
            .iter()
            .enumerate()
            .filter(|(k, fault)| self.showing[*k] && self.concerns(test, cylinder, fault))
            .filter(|(_, fault)| running.is_none_or(|at| is_seen(fault, at)))
            .filter_map(|(k, fault)| Some((k, fault, self.row(index, fault)?)))
            .collect();
        // Of two faults the first that speaks up is heard.
        let heard = speaking.iter().find_map(|(k, fault, row)| {
            let outcome = draw(row, seen.nth(k + 1));
            (outcome != silent).then_some((outcome, Some(*fault)))
        });
        let (mut outcome, fault) = match heard {
            Some(heard) => heard,
            None if speaking.is_empty() => (draw(&rows.healthy, seen.nth(0_u8)), None),
            None => (silent, None),
        };
        if now.of("slip").happens(SLIPS) {
            outcome = now.of("slipped").below(test.outcomes.len());
        }
        let points = test.outcomes[outcome].partner;
        let other = fault.filter(|_| points).and_then(|fault| match fault.trouble.place {
            Place::Pair(a, b) if Some(a) == cylinder => Some(b),
            Place::Pair(a, b) if Some(b) == cylinder => Some(a),
            _ => None,
        });
        (outcome, other)
    }

    fn row(&self, index: usize, fault: &TrueFault) -> Option<Vec<f64>> {
        let given = &self.field.tables.rows[index].given;
        if let Some(cause) = fault.trouble.cause {
            return given.get(&cause).cloned();
        }
        // In no list: silent to half of the tests, to each other like some listed cause.
        let own = fault.pieces.of(&self.known.tests[index].id);
        let like = given.values().nth(own.of("which").below(given.len()));
        like.filter(|_| own.of("speaks").happens(0.5)).cloned()
    }

    /// Whether a test looks at where a fault is now.
    fn concerns(&self, test: &Test, cylinder: Option<Cylinder>, fault: &TrueFault) -> bool {
        match (test.scope, cylinder) {
            (Scope::Cylinder, Some(cylinder)) => {
                self.parts.is_at(&self.job.engine, fault, cylinder)
            }
            _ => true,
        }
    }
}

/// Whether a fault does enough at a running point to be seen there.
fn is_seen(fault: &TrueFault, at: Regime) -> bool {
    let effect = &fault.effect;
    let most = effect.shift.iter().fold(0.0_f64, |most, shift| most.max(shift.abs()));
    effect.names || effect.silence.is_some() || effect.shift[at as usize].abs() >= SEEN * most
}

fn draw(row: &[f64], chance: Chance) -> usize {
    chance.weighted(row.iter().copied())
}
