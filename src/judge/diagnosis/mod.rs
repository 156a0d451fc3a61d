//! From what was entered to how probable each cause is.
//!
//! Hypotheses are enumerated (healthy, one cause at a place, two), every reading set enters
//! one joint Gaussian, every finding its outcome table. It must not choose what to do next:
//! that is [`crate::plan`].

pub(crate) mod assess;
mod complained;
mod course;
pub mod data;
pub mod effect;
mod explain;
pub mod gaussian;
pub mod linalg;
pub mod looks;
pub(crate) mod model;
mod odd_one;
mod oddness;
pub mod path;
pub(crate) mod physics;
pub mod prior;
mod rank;
mod recorded;
mod result;
mod same_work;
#[cfg(test)]
mod sbc;
pub mod tables;
#[cfg(test)]
mod unlisted_laws;
pub mod usual;
mod worth;

pub use assess::{Diagnosis, assess, diagnose};
pub(crate) use complained::{does_it, is_common, unseen};
pub use course::{Moment, course};
pub use explain::{explain_cause, upto};
pub use model::said_by_numbers;
pub use odd_one::{OddDisplay, odd_display_by_numbers};
pub use rank::by_chance;
pub(crate) use recorded::brought_about;
pub use result::*;
pub use same_work::same_work;
pub use worth::{Worth, depth_worth, millimetre_worth};
