//! A workshop's memory: read or refused, never a panic; what was read is written and read back the same,
//! and a job judged with it has whole probabilities.

use super::{a_job, base};
use facts::job::read::read;
use judge::diagnosis;
use judge::memory::{file, moved, standing};
use pages::report::{self, Style};

/// Puts the bytes to it.
///
/// # Panics
/// When what must hold does not.
pub fn put(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let Ok(memory) = file::read(text) else { return };
    let again = file::read(&file::write(&memory)).expect("what was written");
    assert_eq!(again, memory);
    let standing = standing(base(), &memory.counts(None));
    if standing.jobs == 0 {
        return;
    }
    let page = report::memory(base(), &memory, &standing, true);
    let _ = report::text::render(&page, 80, Style::Plain);
    let head = &a_job().head;
    let moved = moved(base(), &standing, &head.engine, &head.recent);
    let answer = diagnosis::assess(&moved, &read(&moved, a_job()));
    let sum: f64 = answer.hypotheses.iter().map(|h| h.probability).sum();
    assert!((sum - 1.0).abs() < 1e-6, "{sum}");
}
