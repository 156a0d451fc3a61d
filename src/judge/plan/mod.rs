//! What to do next, for the least expected cost to a proven and cured fault.
//!
//! Works on a posterior and a table of what each piece of work costs and shows. It must not
//! reinterpret readings, nor format anything.

mod actions;
mod advice;
mod advise;
pub mod bound;
mod cases;
pub mod dump;
pub mod ends;
mod explain;
mod forecast;
mod guard;
pub mod problem;
pub mod value;
mod wishes;

pub use actions::{cautions_at, first_look};
pub use advice::*;
pub use advise::{advise, advise_as_wished, in_time};
pub use ends::{Ends, ends, is_done, verify};
pub use explain::explain_test;
pub use wishes::{Thinking, Wishes};
