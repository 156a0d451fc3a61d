//! Exit statuses, part of the contract.

/// Done.
pub const DONE: u8 = 0;
/// The answer is "no": the check found faults, the job is not verified.
pub const NO: u8 = 1;
/// Bad use or bad input.
pub const USAGE: u8 = 2;
/// A file could not be read, written or locked.
pub const FILE: u8 = 3;
