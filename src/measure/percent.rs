//! A probability as a reader sees it.
//!
//! For every sentence that names one, wherever it is made: nothing that is not certain may
//! read "100 %", nothing that is possible "0 %". Words for probabilities are in
//! `pages::report`.

/// In per cent, "over 99 %" and "under 1 %" at the ends.
#[must_use]
pub fn percent(probability: f64) -> String {
    if probability <= 0.0 {
        "0 %".to_owned()
    } else if probability < 0.005 {
        "under 1 %".to_owned()
    } else if probability >= 0.995 {
        "over 99 %".to_owned()
    } else {
        format!("{:.0} %", (probability * 100.0).round())
    }
}

#[cfg(test)]
mod tests {
    use super::percent;

    #[test]
    fn certainty_is_not_claimed_by_rounding() {
        let cases = [
            (0.0, "0 %"),
            (1e-9, "under 1 %"),
            (0.127, "13 %"),
            (0.9949, "99 %"),
            (1.0, "over 99 %"),
        ];
        for (probability, text) in cases {
            assert_eq!(percent(probability), text);
        }
    }
}
