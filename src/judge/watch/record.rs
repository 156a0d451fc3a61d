//! The rows about a stop: a ring of those before it, and some after it.
//!
//! It must not know why there was a stop.

use std::collections::VecDeque;

/// Seconds between two rows that are kept: more say nothing that heat could have done.
const APART: f64 = 0.1;
/// Rows that are kept before a stop: two minutes.
const BEFORE: usize = 1200;
/// Seconds that are kept after its beginning.
const AFTER: f64 = 30.0;

/// A row that was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// Seconds since the first row of the log.
    pub seconds: f64,
    /// What each display showed, °C; `None` where it showed no number.
    pub displays: Vec<Option<f64>>,
    /// Speed, in the log's unit.
    pub speed: Option<f64>,
    /// Load, in the log's unit.
    pub load: Option<f64>,
}

/// The rows about a stop.
#[derive(Debug, Default)]
pub(super) struct Record {
    ring: VecDeque<Kept>,
    last: Option<f64>,
    /// Until when rows are kept, and those kept so far.
    saving: Option<(f64, Vec<Kept>)>,
}

impl Record {
    /// A stop has begun with the row that comes in next.
    pub(super) fn begin(&mut self, seconds: f64) {
        // What follows soon after belongs to the same record, which does not grow for ever by that.
        if self.saving.is_none() {
            self.saving = Some((seconds + AFTER, self.ring.iter().cloned().collect()));
            self.last = None;
        }
    }

    pub(super) fn led(&self) -> &[Kept] {
        self.saving.as_ref().map_or(&[], |(_, rows)| rows)
    }

    pub(super) fn end(&mut self) -> Option<Vec<Kept>> {
        self.saving.take().map(|(_, rows)| rows)
    }

    /// Takes a row in; gives a record that is complete with it.
    pub(super) fn row(&mut self, seconds: f64, kept: impl Fn() -> Kept) -> Option<Vec<Kept>> {
        let due = self.last.is_none_or(|last| seconds >= last + APART || seconds < last);
        if due {
            self.last = Some(seconds);
            if self.ring.len() == BEFORE {
                self.ring.pop_front();
            }
            self.ring.push_back(kept());
            if let Some((_, rows)) = &mut self.saving {
                rows.push(kept());
            }
        }
        let over =
            |(until, _): &mut (f64, Vec<Kept>)| seconds >= *until || seconds < *until - AFTER;
        self.saving.take_if(over).map(|(_, rows)| rows)
    }
}
