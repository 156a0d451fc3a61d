//! Knowledge files from strangers, alone and over the built-in ones: findings, never a panic.
#![no_main]

use std::cell::Cell;

use libfuzzer_sys::fuzz_target;
use oddpot::knowledge::embedded::embedded;
use oddpot::knowledge::finding::render;
use oddpot::knowledge::{SourceText, load};

/// Names that a knowledge file may have; the first byte chooses.
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

thread_local! {
    static RUNS: Cell<u32> = const { Cell::new(0) };
}

fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else { return };
    let Ok(text) = std::str::from_utf8(rest) else { return };
    let name = NAMES[usize::from(*first) % NAMES.len()];
    let file = SourceText::new(name, text.to_owned());
    let (_, findings) = load(std::slice::from_ref(&file), &[]);
    let _ = render(&findings, std::slice::from_ref(&file), false);
    // The whole base takes a hundred times as long, so it is laid under only now and then.
    RUNS.set(RUNS.get().wrapping_add(1));
    if RUNS.get() % 64 == 0 {
        let _ = load(embedded(), &[file]);
    }
});
