//! What follows from the facts: how hot is too hot, what is likely, what to do next and when a job
//! ends; and what earlier jobs, limits and balance add to it.
//!
//! Pure: no file, clock, environment or page. It must not make sentences for a reader that are not
//! part of a finding; pages are made in `pages`.

pub mod balance;
pub mod commission;
pub mod diagnosis;
pub mod heat;
pub mod limits;
pub mod memory;
pub mod plan;
pub mod search;
pub mod testability;
pub mod vehicle;
pub mod watch;
