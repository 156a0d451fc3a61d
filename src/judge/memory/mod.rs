//! What a workshop's own proven jobs say about how common causes are and how long tests take.
//!
//! [`Lesson`] is what one closed, proven job has to say, [`Counts`] are their sums, [`Memory`] keeps
//! lessons by job so that none counts twice; [`shrink`] weighs counts against the knowledge base,
//! [`moved`] makes the knowledge base of one job from it, [`file`](mod@file) is the form on disk.
//! Pure. It must not learn from a job that is not proven, hold what tells one customer from another,
//! or say whether there is a fault: only which.

mod counts;
pub mod file;
mod moved;
pub mod shrink;

pub use counts::{Counts, Learned, Lesson, Memory, Stratum, Took};
pub use moved::{Aside, CauseMoved, FlagMoved, Standing, TimeMoved, moved, standing};
