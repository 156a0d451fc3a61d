//! The fuzzer's way in to `readers/overlay.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shared::overlay::put(bytes));
