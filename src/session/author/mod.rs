//! Knowledge of one's own, asked for question by question and written as a commented file.
//!
//! Each answer is checked as it is given; the loader then checks the whole. It must not write a file
//! or load one: the text is handed back.

mod ask;
mod cause;
mod engine;
mod test;

use super::asker::{Asked, Asker};
use super::desk::{Desk, Settings};
use facts::knowledge::Knowledge;
use measure::named_enum;

named_enum! {
    /// What can be written.
    New, "kind of knowledge" {
        /// A cause.
        Cause = "cause",
        /// A test.
        Test = "test",
        /// A ready engine.
        Engine = "engine",
    }
}

/// What was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// Its id.
    pub id: String,
    /// The content of the file.
    pub text: String,
}

/// What the questions draw on beside the knowledge base.
#[derive(Debug, Clone, Copy)]
pub struct Shelves<'a> {
    /// Classes of parts, with what each stands for.
    pub parts: &'a [(String, f64)],
}

/// Asks for a cause, a test or an engine.
///
/// # Errors
/// When there is nobody to answer, or a script's answer is no choice.
pub fn author(
    knowledge: &Knowledge,
    new: New,
    shelves: Shelves<'_>,
    asker: &mut dyn Asker,
    settings: Settings<'_>,
) -> Asked<Written> {
    let mut desk = Desk { asker, knowledge, settings };
    match new {
        New::Cause => cause::ask(&mut desk, shelves),
        New::Test => test::ask(&mut desk, shelves),
        New::Engine => engine::ask(&mut desk),
    }
}
