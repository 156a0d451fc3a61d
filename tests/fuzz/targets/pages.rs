//! The fuzzer's way in to `readers/pages.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shared::pages::put(bytes));
