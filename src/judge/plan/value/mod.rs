//! What a belief is worth: expected price to the cured fault.
//!
//! Repairs in order of probability per price are the value of stopping to test; look-ahead brings
//! tests in, a plan that is grown mixes both, and where few ways are left the best is found.
//! Pure arithmetic on [`super::problem`]: it must not know causes, tests or jobs.

mod choose;
mod exact;
mod grow;
mod order;
mod planner;
#[cfg(test)]
pub(crate) mod sample;
mod shared;
#[cfg(test)]
mod tests;

pub use choose::grow_all;
pub use exact::{Best, exact};
pub use grow::{Begin, Plan};
pub use order::{Prices, RepairPlan, repair, sequence};
pub use planner::{Move, Planner};

/// Belief after an outcome, not normalised, and its probability.
pub(crate) fn after_outcome(belief: &[f64], row: &[f64]) -> (Vec<f64>, f64) {
    let joint: Vec<f64> = belief.iter().zip(row).map(|(p, l)| p * l).collect();
    let sum = joint.iter().sum();
    (joint, sum)
}
