//! A workshop's memory and counts pooled from strangers: read or refused, never a panic; what was
//! read is written and read back the same, and a job judged with it has whole probabilities.
#![no_main]

use std::sync::OnceLock;

use libfuzzer_sys::fuzz_target;
use oddpot::diagnosis;
use oddpot::job::entry::Journal;
use oddpot::job::{file as job_file, read::read};
use oddpot::knowledge::embedded::embedded;
use oddpot::knowledge::{Knowledge, load};
use oddpot::memory::{Memory, file, moved, standing};
use oddpot::report::{self, Style};

fn knowledge() -> &'static Knowledge {
    static LOADED: OnceLock<Knowledge> = OnceLock::new();
    LOADED.get_or_init(|| load(embedded(), &[]).0.expect("the built-in knowledge base is whole"))
}

fn job() -> &'static Journal {
    static JOB: OnceLock<Journal> = OnceLock::new();
    JOB.get_or_init(|| {
        let text = include_str!("../seeds/job/reference-job.ron");
        job_file::read(text).expect("the reference job can be read")
    })
}

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let mut memory = file::read(text).unwrap_or_else(|_| Memory::new("ours".to_owned()));
    let again = file::read(&file::write(&memory)).expect("what was written");
    assert_eq!(again, memory);
    if let Ok(share) = file::read_share(text) {
        let again = file::read_share(&file::write_share(&share)).expect("what was written");
        assert_eq!(again, share);
        let _ = memory.pool(share);
    }
    let standing = standing(knowledge(), &memory.counts(None));
    if standing.jobs == 0 {
        return;
    }
    let page = report::memory(knowledge(), &memory, &standing, true);
    let _ = report::text::render(&page, 80, Style::Plain);
    let head = &job().head;
    let moved = moved(knowledge(), &standing, (standing.jobs, 0), &head.engine, &head.recent);
    let answer = diagnosis::assess(&moved, &read(&moved, job()));
    let sum: f64 = answer.hypotheses.iter().map(|h| h.probability).sum();
    assert!((sum - 1.0).abs() < 1e-6, "{sum}");
});
