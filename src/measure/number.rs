//! A count as a number to reckon with.

/// The number of things as a real number; beyond four thousand million it stays there, which no list here
/// comes near.
#[must_use]
pub fn real(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

#[cfg(test)]
mod tests {
    use super::real;

    #[test]
    fn counts_are_exact() {
        assert_eq!(
            [0, 3, 1 << 20].map(real).map(f64::to_bits),
            [0.0, 3.0, 1_048_576.0].map(f64::to_bits)
        );
        assert!(real(usize::MAX) >= 4e9);
    }
}
