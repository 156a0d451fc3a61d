//! Every reader of foreign bytes on the seeds of the fuzzer and on what it once found: whole, cut
//! short at many places, and with single bytes changed. The fuzzer itself (`tests/fuzz/run`) runs
//! before a release.

use std::fs;
use std::path::Path;

use crate::shared;

/// A reader, by the name of its folder of seeds.
type Reader = (&'static str, fn(&[u8]), usize);

/// With each: how many spoilt forms of a seed are tried; those that judge a job take long.
const READERS: [Reader; 10] = [
    ("command", shared::command::put, 200),
    ("counts", shared::counts::put, 8),
    ("engine", shared::engine::put, 200),
    ("job", shared::job::put, 60),
    ("knowledge", shared::knowledge::put, 60),
    ("log", shared::log::put, 12),
    ("overlay", shared::overlay::put, 3),
    ("pages", shared::pages::put, 2),
    ("session", shared::session::put, 2),
    ("typed", shared::typed::put, 200),
];

/// The seed spoilt in the `n`th way: cut short, or a byte of it changed.
fn spoilt(seed: &[u8], n: usize, of: usize) -> Vec<u8> {
    let at = seed.len() * (n + 1) / (of + 1);
    let mut bytes = seed.to_vec();
    if n.is_multiple_of(2) {
        bytes.truncate(at);
    } else if let Some(byte) = bytes.get_mut(at) {
        *byte = [b'(', b'9', b'-', 0xff, b'"', 0][n / 2 % 6];
    }
    bytes
}

#[test]
fn seeds_and_former_finds_bring_no_reader_down() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/seeds");
    for (name, put, ways) in READERS {
        let mut seeds: Vec<_> = fs::read_dir(folder.join(name))
            .expect("a folder of seeds")
            .map(|entry| entry.expect("an entry").path())
            .collect();
        seeds.sort();
        assert!(!seeds.is_empty(), "no seeds for {name}");
        for seed in seeds {
            let bytes = fs::read(&seed).expect("a seed");
            put(&bytes);
            for n in 0..ways {
                put(&spoilt(&bytes, n, ways));
            }
        }
        put(b"");
        put(&[0xff, 0xfe, 0, 0]);
    }
}
