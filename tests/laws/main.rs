//! Laws that whole diagnoses keep, and numbers that outside programs confirmed.
//!
//! Everything goes through the library as `cli` uses it: journal, timeline, diagnosis, plan,
//! with the built-in knowledge base. What a number should be for one engine is tested where it
//! is made.

mod arrangement;
mod card;
mod confirmed;
mod diagnosis;
mod memory;
mod network;
mod support;
