//! What several targets are put to: the built-in knowledge base, a job, the names of knowledge files.

use std::sync::OnceLock;

use oddpot::job::entry::Journal;
use oddpot::job::file;
use oddpot::knowledge::embedded::embedded;
use oddpot::knowledge::{Knowledge, SourceText, load};

/// Names that a knowledge file may have.
const NAMES: [&str; 9] = [
    "causes/own.ron",
    "tests/own.ron",
    "groups.ron",
    "engines.ron",
    "cautions.ron",
    "setups.ron",
    "spreads.ron",
    "sources.ron",
    "model.ron",
];

/// The built-in knowledge base.
///
/// # Panics
/// When it is not whole.
pub fn knowledge() -> &'static Knowledge {
    static LOADED: OnceLock<Knowledge> = OnceLock::new();
    LOADED.get_or_init(|| load(embedded(), &[]).0.expect("the built-in knowledge base is whole"))
}

/// An invented job, which the tests of the model use too.
///
/// # Panics
/// When it cannot be read.
pub fn job() -> &'static Journal {
    static JOB: OnceLock<Journal> = OnceLock::new();
    JOB.get_or_init(|| {
        let text = include_str!("seeds/job/reference-job.ron");
        file::read(text).expect("the reference job can be read")
    })
}

/// A knowledge file from a stranger: the first byte chooses its name, the rest is its text.
pub fn knowledge_file(bytes: &[u8]) -> Option<SourceText> {
    let (first, rest) = bytes.split_first()?;
    let text = std::str::from_utf8(rest).ok()?;
    Some(SourceText::new(NAMES[usize::from(*first) % NAMES.len()], text.to_owned()))
}
