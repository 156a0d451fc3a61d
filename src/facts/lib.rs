//! What is known and what happened: the knowledge base, and the journal of a job with what follows
//! from its entries alone.
//!
//! It must not judge: probabilities are made in `judge`.

#[cfg(test)]
#[path = "../../tests/fixture/jobs.rs"]
pub mod fixture;
pub mod job;
pub mod knowledge;
