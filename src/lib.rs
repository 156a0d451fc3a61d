//! Finds out why one cylinder's temperature reads differently from its mates.
//!
//! One direction, no way back: the knowledge base and a job's journal give the
//! hypotheses, these a posterior, this a plan, and all of it one view that the
//! renderers turn into text, Markdown or JSON. Nothing outside `cli` reads a
//! clock, an environment variable or a file, or prints.

pub mod balance;
pub mod base64;
#[cfg(test)]
mod cases;
pub mod cli;
pub mod commission;
pub mod diagnosis;
pub mod engine;
pub mod heat;
pub mod hexadecimal;
pub mod job;
pub mod knowledge;
pub mod limits;
pub mod memory;
pub mod names;
pub mod number;
pub mod percent;
pub mod photo;
pub mod plan;
pub mod probe;
pub mod readings;
pub mod report;
pub mod review;
pub mod search;
pub mod serve;
pub mod session;
pub mod testability;
pub mod thermocouple;
pub mod units;
pub mod vehicle;
pub mod watch;
pub mod workshop;
