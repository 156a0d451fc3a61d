//! The fuzzer's way in to `readers/engine.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shared::engine::put(bytes));
