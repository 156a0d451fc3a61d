//! What the workshop knows: causes, tests, seats, set-ups, natural spreads, engines.
//!
//! [`file`] is the form on disk, [`model`] the checked form everything else uses.
//! Knowledge is data: nothing here may know about a job, and nothing elsewhere may
//! hard-code what a cause does to a reading.

pub mod file;
pub mod model;

pub use model::*;
