//! A job: what happened, in order, and what follows from it.
//!
//! [`entry`] is the journal, only ever appended to; [`arrangement`] who is where;
//! [`timeline`] the journal read in order: reading sets, disturbances, the engine's state.
//! It must not judge: probabilities are made in `diagnosis`.

pub mod arrangement;
pub mod entry;
pub mod timeline;
