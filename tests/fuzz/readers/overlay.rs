//! Own knowledge from strangers, laid over the built-in base: findings, never a panic; what can be
//! used is sound enough to judge a job with.

use super::{a_job, knowledge_file};
use facts::job::read::read;
use facts::knowledge::embedded::embedded;
use facts::knowledge::finding::{any_error, render};
use facts::knowledge::{SourceText, load};
use judge::diagnosis;

/// Puts the bytes to it.
///
/// # Panics
/// When what must hold does not.
pub fn put(bytes: &[u8]) {
    let Some(over) = knowledge_file(bytes) else { return };
    let (knowledge, findings) = load(embedded(), std::slice::from_ref(&over));
    let files: Vec<SourceText> = embedded().iter().cloned().chain([over]).collect();
    if findings.len() < 20 {
        let _ = render(&findings, &files, false);
    }
    // Nothing was changed by most texts, and judging takes long.
    if let Some(knowledge) = knowledge
        && !any_error(&findings)
        && bytes.contains(&b'(')
    {
        let timeline = read(&knowledge, a_job());
        let answer = diagnosis::assess(&knowledge, &timeline);
        let sum: f64 = answer.hypotheses.iter().map(|h| h.probability).sum();
        assert!((sum - 1.0).abs() < 1e-6, "{sum}");
    }
}
