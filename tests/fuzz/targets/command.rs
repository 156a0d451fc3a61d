//! The fuzzer's way in to `readers/command.rs`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| shared::command::put(bytes));
