//! What the workshop knows: causes, tests, seats, set-ups, natural spreads, engines.
//!
//! [`file`](mod@file) is the form on disk, [`model`] the checked form everything else uses, [`load()`]
//! the way from one to the other, with [`finding`]s for what is wrong.
//! Knowledge is data: nothing here may know about a job, and nothing elsewhere may
//! hard-code what a cause does to a reading.

pub mod codes;
pub mod embedded;
pub mod exchange;
pub mod file;
pub mod finding;
#[cfg(test)]
mod fixture;
pub mod graph;
pub mod list;
mod load;
pub mod model;
mod outline;
mod physics;
mod ron_error;
pub mod show;
pub mod sources;

pub(crate) use load::built_in_points;
pub use load::load;
pub use model::*;
pub use physics::Physics;
pub use sources::SourceText;
