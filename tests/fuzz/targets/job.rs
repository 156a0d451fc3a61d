//! The fuzzer's way in to `readers/job.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shared::job::put(bytes));
