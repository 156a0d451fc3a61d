//! Numbers as they come about: the engine and its probes, thermocouples, readings and the logs that
//! hold them, with their units.
//!
//! The lowest room: it knows nothing of causes, jobs or odds. It must not judge.

pub mod base64;
pub mod engine;
pub mod hexadecimal;
pub mod names;
pub mod number;
pub mod percent;
pub mod probe;
pub mod readings;
pub mod thermocouple;
pub mod units;
