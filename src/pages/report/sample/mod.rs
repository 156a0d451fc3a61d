//! A small invented workshop for the tests of the pages.

mod answers;
mod base;
mod job;

pub(super) use answers::*;
pub(super) use base::*;
pub(super) use job::*;
