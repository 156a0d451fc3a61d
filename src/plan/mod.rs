//! What to do next, for the least expected cost to a proven and cured fault.
//!
//! Works on a posterior and a table of what each piece of work costs and shows. It must not
//! reinterpret readings, nor format anything.

mod advice;
pub mod bound;
pub mod problem;
pub mod value;

pub use advice::*;
