//! What a number is held against: the middle of the others that are alive.
//!
//! A display that is dead, floats, or whose cylinder does not burn is no mate to compare with. What is wildly high
//! must not make all others look dead, so that the second highest says what alive is. It must not judge how
//! far is far.

use super::median;

/// Share of the second highest number below which one is no mate, and from where that can be said, °C
/// (common practice, no source).
const ALIVE: f64 = 0.5;
const HOT: f64 = 100.0;

/// Median of the others that are alive, of all others where none is; `None` without any.
#[must_use]
pub fn median_of_mates(values: &[Option<f64>], own: usize) -> Option<f64> {
    let mut shown: Vec<f64> = values.iter().flatten().copied().collect();
    shown.sort_by(|a, b| b.total_cmp(a));
    let usual = *shown.get(1)?;
    let least = if usual < HOT { f64::NEG_INFINITY } else { ALIVE * usual };
    let others = || values.iter().enumerate().filter(|(n, _)| *n != own).filter_map(|(_, v)| *v);
    let alive: Vec<f64> = others().filter(|v| *v >= least).collect();
    if alive.is_empty() { median(&others().collect::<Vec<_>>()) } else { median(&alive) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_dead_are_no_mates_and_one_that_is_wild_kills_nobody() {
        let of = |values: &[f64], own| {
            let values: Vec<Option<f64>> = values.iter().map(|v| Some(*v)).collect();
            median_of_mates(&values, own)
        };
        assert_eq!(of(&[440.0, 445.0, 950.0, 438.0], 0), Some(445.0));
        assert_eq!(of(&[440.0, 445.0, 950.0, 438.0], 2), Some(440.0));
        // Two that do not burn.
        assert_eq!(of(&[450.0, 200.0, 210.0, 440.0], 0), Some(440.0));
        assert_eq!(of(&[450.0, 200.0, 210.0, 440.0], 1), Some(445.0));
        // Cold, nothing is dead.
        assert_eq!(of(&[20.0, 21.0, 4.0], 0), Some(12.5));
        assert_eq!(of(&[450.0, 30.0], 0), Some(30.0));
        assert_eq!(of(&[450.0], 0), None);
    }
}
