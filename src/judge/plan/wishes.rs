//! What the asker wants of the advice: how long to think about it and what to add to it.
//!
//! Data only. It must not read a clock: whoever may do so hands a function in.

use super::advice::InTime;

/// How long to think.
#[derive(Clone, Copy)]
pub struct Thinking<'a> {
    /// Work that may be done in any case: cases and repairs gone through.
    pub work: u64,
    /// Says, after that, whether the time is up; without it, the work is all.
    pub time_is_up: Option<&'a dyn Fn() -> bool>,
}

/// Work that takes about 10 ms on the machine of `docs/numbers.md`.
const WORK: u64 = 300_000;

impl Default for Thinking<'_> {
    fn default() -> Self {
        Self { work: WORK, time_is_up: None }
    }
}

impl std::fmt::Debug for Thinking<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Thinking")
            .field("work", &self.work)
            .field("time_is_up", &self.time_is_up.is_some())
            .finish()
    }
}

impl Thinking<'_> {
    /// Whether enough was thought after an amount of work.
    pub(crate) fn enough(&self, done: u64) -> bool {
        done >= self.work && self.time_is_up.is_none_or(|is_up| is_up())
    }
}

/// What the asker wants.
#[derive(Debug, Clone, Copy, Default)]
pub struct Wishes<'a> {
    /// How long to think.
    pub thinking: Thinking<'a>,
    /// Minutes of labour that each run at load is taken to cost on top, while a cylinder may really
    /// overheat.
    pub risk: f64,
    /// What is best in the time that is left, if that counts more than the price.
    pub in_time: Option<InTime>,
}
