//! What bytes from strangers are put to, a file a reader. The fuzzer tries bytes of its own; `cargo test`
//! tries the seeds and former finds (`tests/trust/seeds.rs`). Here: what several share, the built-in
//! knowledge base, a job, the names of knowledge files.

#[path = "readers/command.rs"]
pub mod command;
#[path = "readers/counts.rs"]
pub mod counts;
#[path = "readers/engine.rs"]
pub mod engine;
#[path = "readers/job.rs"]
pub mod job;
#[path = "readers/knowledge.rs"]
pub mod knowledge;
#[path = "readers/log.rs"]
pub mod log;
#[path = "readers/overlay.rs"]
pub mod overlay;
#[path = "readers/pages.rs"]
pub mod pages;
#[path = "readers/session.rs"]
pub mod session;
#[path = "readers/typed.rs"]
pub mod typed;

use std::sync::OnceLock;

use facts::job::entry::Journal;
use facts::job::file;
use facts::knowledge::embedded::embedded;
use facts::knowledge::{Knowledge, SourceText, load};

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
pub fn base() -> &'static Knowledge {
    static LOADED: OnceLock<Knowledge> = OnceLock::new();
    LOADED.get_or_init(|| load(embedded(), &[]).0.expect("the built-in knowledge base is whole"))
}

/// An invented job, which the tests of the model use too.
///
/// # Panics
/// When it cannot be read.
pub fn a_job() -> &'static Journal {
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
