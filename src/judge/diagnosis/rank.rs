//! Which of two chances is the greater, rounding left out.
//!
//! Causes that nothing entered tells apart have equal chances, which sums in another order make unequal
//! in their last digits. It must not say which of equals comes first: callers have a reason for that.

use std::cmp::Ordering;

/// Steps to which a chance, or its natural logarithm, is rounded before it is compared: far coarser than
/// what rounding does, far finer than what any answer turns on.
const STEPS: f64 = 1e10;

/// Compares two chances, or the logarithms of two; equal where only rounding makes the difference.
#[must_use]
pub fn by_chance(a: f64, b: f64) -> Ordering {
    // Nought has a sign, which is none of a chance's.
    let step = |chance: f64| (chance * STEPS).round() + 0.0;
    step(a).total_cmp(&step(b))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::by_chance;

    #[test]
    fn nothing_is_equal_to_nothing_and_less_than_everything() {
        assert!(by_chance(0.0, -0.0).is_eq());
        assert!(by_chance(0.0, -1e-17).is_eq());
        assert!(by_chance(f64::NEG_INFINITY, f64::NEG_INFINITY).is_eq());
        assert!(by_chance(f64::NEG_INFINITY, -1e5).is_lt());
    }

    proptest! {
        /// Sums of the same terms in another order are equal, whatever comes of it in the last digits; all
        /// but those that fall on the edge of a step.
        #[test]
        fn the_order_of_a_sum_swaps_nobody(
            terms in proptest::collection::vec(0.0_f64..0.1, 1..12),
            more in 1e-9_f64..0.5,
        ) {
            let (forth, back) =
                (terms.iter().sum::<f64>(), terms.iter().rev().sum::<f64>());
            let edge = (forth * 1e10).fract() - 0.5;
            prop_assume!(edge.abs() > 1e-4);
            prop_assert!(by_chance(forth, back).is_eq());
            prop_assert!(by_chance(forth, back + more).is_lt());
        }
    }
}
