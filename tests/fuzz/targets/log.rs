//! The fuzzer's way in to `readers/log.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shared::log::put(bytes));
