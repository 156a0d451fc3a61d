//! The fuzzer's way in to `readers/counts.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shared::counts::put(bytes));
