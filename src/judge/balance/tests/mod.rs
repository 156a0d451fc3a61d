//! Balancing, tried twice: the plan on simulated engines, and what it comes to in a job.

mod engine;
mod job;
mod plan;

use std::sync::LazyLock;

use facts::knowledge::{Knowledge, embedded::embedded, load};

/// Read once: there are many runs.
static KNOWLEDGE: LazyLock<Knowledge> =
    LazyLock::new(|| load(embedded(), &[]).0.expect("the built-in knowledge base is sound"));
