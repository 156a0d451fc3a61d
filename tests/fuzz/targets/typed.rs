//! The fuzzer's way in to `readers/typed.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shared::typed::put(bytes));
