//! Whole sessions from a script of answers, on jobs kept in memory.
//!
//! The engines, complaints and readings are invented.

mod bench;
mod jobs;
mod mistakes;
mod whole;
