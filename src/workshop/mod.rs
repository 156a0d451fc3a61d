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
pub mod world;
pub mod wrong;

pub use chance::Chance;
pub use engine::VirtualEngine;
pub use play::{Ended, Outcome, Said, play};
pub use policy::Policy;
pub use run::{Plan, Played, Summary, run, summary};
pub use world::{Gone, Shown, World};
pub use wrong::{Truth, Wrong};

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

#[cfg(test)]
mod shares {
    use super::*;
    use crate::knowledge::{embedded::embedded, load};
    #[test]
    fn shares_printed() {
        let known = load(embedded(), &[]).0.expect("sound");
        let truth = Truth::of(&known, Wrong::Nothing, 1);
        let mut counts = vec![[0_u32; 3]; 5];
        for k in 0..3000_u32 {
            let job = VirtualEngine::draw(&truth, None, Chance::seeded(9).nth(k)).expect("x");
            let kind = if job.faults.is_empty() { 0 } else if job.faults[0].effect.passes { 1 } else { 2 };
            let w = World::open(&known, &truth, &job);
            let o = w.oddest().map_or(0.0, |o| o.1);
            for (i, t) in [0.0, 3.0, 3.5, 4.0, 5.0].iter().enumerate() {
                if o >= *t { counts[i][kind] += 1; }
            }
        }
        eprintln!("{counts:?}");
    }
}
