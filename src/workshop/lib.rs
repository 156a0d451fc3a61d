//! The simulated workshop: virtual engines, ways of going about them, and what that comes to.
//!
//! A field to measure diagnosis and plan in, with arithmetic of its own: its own draws of faults, sizes,
//! cures and slips, its own simple engine and probe, all chance from a seed. Of the knowledge base it
//! takes what mechanics go by (names, seats, work, prices) and, as a starting table, how common
//! causes are and what tests show. It must not use anything of diagnosis or plan but through
//! `player`, which asks them as a mechanic would; it must not print.

mod act;
mod answer;
mod bars;
mod chance;
mod cure;
mod engine;
mod field;
mod gas;
mod harm;
mod human;
mod list;
mod mechanic;
mod nature;
mod parts;
mod play;
mod player;
mod policy;
mod probe;
mod reading;
mod run;
pub mod score;
mod size;
mod summary;
mod tables;
mod world;

pub use act::{Act, Trouble, Verdict, places};
pub use bars::{Bar, bars};
pub use chance::Chance;
pub use cure::Gone;
pub use engine::{JobKind, TrueFault, VirtualEngine};
pub use field::Field;
pub use play::{Claimed, Ended, Outcome, came_back, is_noticeable, play};
pub use player::{fault, said_by_numbers, step};
pub use policy::Policy;
pub use run::{Plan, Played, run};
pub use summary::{Line, Part, Summary, Trust, summary};
pub use tables::Wrong;
pub use world::{Shown, World, sentence};

#[cfg(test)]
mod tests;
