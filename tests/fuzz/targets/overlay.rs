//! Own knowledge from strangers, laid over the built-in base: findings, never a panic; what can be
//! used is sound enough to judge a job with.
#![no_main]

use std::sync::OnceLock;

use libfuzzer_sys::fuzz_target;
use oddpot::diagnosis;
use oddpot::job::entry::Journal;
use oddpot::job::{file, read::read};
use oddpot::knowledge::embedded::embedded;
use oddpot::knowledge::finding::{any_error, render};
use oddpot::knowledge::{SourceText, load};

/// Names that a file of an overlay may have; the first byte chooses.
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

fn job() -> &'static Journal {
    static JOB: OnceLock<Journal> = OnceLock::new();
    JOB.get_or_init(|| {
        let text = include_str!("../seeds/job/reference-job.ron");
        file::read(text).expect("the reference job can be read")
    })
}

fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else { return };
    let Ok(text) = std::str::from_utf8(rest) else { return };
    let name = NAMES[usize::from(*first) % NAMES.len()];
    let over = SourceText::new(name, text.to_owned());
    let (knowledge, findings) = load(embedded(), std::slice::from_ref(&over));
    let files: Vec<SourceText> = embedded().iter().cloned().chain([over]).collect();
    if findings.len() < 20 {
        let _ = render(&findings, &files, false);
    }
    // Nothing was changed by most texts, and judging takes long.
    if let Some(knowledge) = knowledge
        && !any_error(&findings)
        && text.contains('(')
    {
        let timeline = read(&knowledge, job());
        let answer = diagnosis::assess(&knowledge, &timeline);
        let sum: f64 = answer.hypotheses.iter().map(|h| h.probability).sum();
        assert!((sum - 1.0).abs() < 1e-6, "{sum}");
    }
});
