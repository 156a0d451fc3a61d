//! Where the truth stands in a posterior, as a number that is even between nought and one if that is right.
//!
//! Parameters are discrete, so that a rank has ties: the truth's own probability is gone through evenly at
//! random. It must not know how a posterior is made.

use std::cmp::Ordering;

/// Posterior before the truth in some order, and an even share of its own.
pub(super) fn rank<K>(
    posterior: &[(K, f64)],
    truth: &K,
    order: impl Fn(&(K, f64), &(K, f64)) -> Ordering,
    even: f64,
) -> f64
where
    K: PartialEq + Clone,
{
    let own: f64 = posterior.iter().filter(|(k, _)| k == truth).map(|(_, p)| p).sum();
    let at = (truth.clone(), own);
    let others = posterior.iter().filter(|(k, _)| k != truth);
    let before = others.filter(|one| order(one, &at) == Ordering::Less);
    (before.map(|(_, p)| p).sum::<f64>() + even * own).clamp(0.0, 1.0)
}
