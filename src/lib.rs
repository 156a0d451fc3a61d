//! Finds out why one cylinder's temperature reads differently from its mates.
//!
//! One direction, no way back: numbers (`measure`), the knowledge base and a job's journal (`facts`),
//! what follows from them (`judge`), what is shown (`pages`); and here those who ask: the command
//! line, the session, the page in the hand. Nothing outside `cli` reads a clock, an environment
//! variable or a file, or prints.

pub mod cli;
pub mod serve;
pub mod session;
