//! A job: what happened, in order, and what follows from it.
//!
//! [`entry`] is the journal, only ever appended to; [`check`] what an entry must satisfy on
//! its engine; [`complaint`] what is complained of; [`arrangement`] who is where; [`timeline`] the shape of the journal read in
//! order, [`read`] the reading; [`brief`] a job in a few lines; [`fit`] the probe-fit sheet;
//! [`history`] what earlier jobs of the vehicle left; [`trim`] trims of single cylinders;
//! [`typed`] turns typed values into readings; [`file`](mod@file)
//! is the journal as text and [`mend`](mod@mend) what can be
//! saved of a damaged one and [`store`] the only part that touches the disk. It must not
//! judge: probabilities are made in `diagnosis`.

pub mod arrangement;
pub mod brief;
pub mod check;
pub mod complaint;
pub mod entry;
pub mod file;
pub mod fit;
mod heard;
pub mod history;
pub mod mend;
pub mod read;
pub mod store;
pub mod timeline;
pub mod trim;
pub mod typed;
