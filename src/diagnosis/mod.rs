//! From what was entered to how probable each cause is.
//!
//! Hypotheses are enumerated (healthy, one cause at a place, two), every reading set enters
//! one joint Gaussian, every finding its outcome table. It must not choose what to do next:
//! that is [`crate::plan`].

mod result;

pub use result::*;
