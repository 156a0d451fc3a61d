//! Whole sessions from a script of answers, on jobs kept in memory.
//!
//! The engines, complaints and readings are invented.

mod author;
mod bench;
mod commissioning;
mod correcting;
mod healthy;
mod jobs;
mod memory;
mod mistakes;
mod whole;
