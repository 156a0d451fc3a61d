//! How many cases a law is tried on: few in the tests of every day, as many as asked for by
//! `ODDPOT_CASES` in the long run.

use proptest::prelude::ProptestConfig;

/// The usual number, or what was asked for if that is more.
#[expect(clippy::disallowed_methods, reason = "a test may be told how long to go on")]
pub(crate) fn cases(usual: u32) -> ProptestConfig {
    let asked = std::env::var("ODDPOT_CASES").ok().and_then(|n| n.parse().ok());
    ProptestConfig::with_cases(asked.unwrap_or(usual).max(usual))
}
