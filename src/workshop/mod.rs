//! The simulated workshop: virtual engines, ways of going about them, and what that comes to.
//!
//! Engines are drawn from the knowledge base or from a version of it that is wrong on purpose, with
//! all chance from a seed. It is a check on diagnosis and plan: it asks them as a mechanic would and
//! must not share their arithmetic. It must not print.

pub mod chance;
pub mod effect;
pub mod engine;
mod list;
pub mod play;
pub mod policy;
pub mod run;
pub mod score;
pub mod testability;
pub mod world;
pub mod wrong;

pub use chance::Chance;
pub use engine::VirtualEngine;
pub use play::{Ended, Outcome, Said, play};
pub use policy::Policy;
pub use run::{Plan, Played, Summary, run, summary};
pub use world::{Gone, Shown, World};
pub use wrong::{Truth, Wrong};

#[cfg(test)]
mod tests;

use crate::knowledge::{Knowledge, Preset};

/// Draws of an engine before one is taken as it is, noticed or not.
const DRAWS: u32 = 10_000;

/// The virtual engine of a number: the first that somebody would have brought in.
#[must_use]
pub fn came_in(
    known: &Knowledge,
    truth: &Truth,
    preset: Option<&Preset>,
    seed: u64,
    number: u64,
) -> Option<VirtualEngine> {
    let chance = Chance::seeded(seed).of("job").nth(number);
    let mut drawn = None;
    for k in 0..DRAWS {
        let job = VirtualEngine::draw(truth, preset, chance.nth(k))?;
        if World::open(known, truth, &job).noticed() {
            return Some(job);
        }
        drawn = Some(job);
    }
    drawn
}
