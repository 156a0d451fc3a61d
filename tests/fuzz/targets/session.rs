//! The fuzzer's way in to `readers/session.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shared::session::put(bytes));
