//! Past jobs found again: by words, and by what their displays showed.
//!
//! [`Wanted`] is a question in words, [`distance`] how unlike the readings of two jobs are,
//! [`before`] what past jobs with readings like these came to. Pure, over jobs in brief. It must not
//! say how probable a cause is: a past job is a reminder, not evidence.

mod alike;
mod wanted;

pub use alike::{ALIKE, Before, before, distance};
pub use wanted::{Symptom, Wanted};
