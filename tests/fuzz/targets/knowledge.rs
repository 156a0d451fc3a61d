//! The fuzzer's way in to `readers/knowledge.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shared::knowledge::put(bytes));
