//! How many conversions a second one core makes, each way, for each type.
//!
//! `cargo bench --bench thermocouple`. Prints; asserts nothing about time.
#![expect(clippy::print_stdout, reason = "a bench reports on the terminal")]
#![expect(clippy::disallowed_methods, reason = "a bench measures time")]

use std::hint::black_box;
use std::time::{Duration, Instant};

use measure::thermocouple::{RangeError, Standard};

/// Values in an unordered but repeating sequence over a range.
fn spread(from: f64, to: f64) -> Vec<f64> {
    let mut state = 0x9E37_79B9_u32;
    (0..4096)
        .map(|_| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            from + (to - from) * f64::from(state) / f64::from(u32::MAX)
        })
        .collect()
}

/// Millions of conversions a second: the best of five runs of at least 100 ms.
fn rate(values: &[f64], convert: impl Fn(f64) -> Result<f64, RangeError>) -> f64 {
    let run = || {
        let (start, mut done) = (Instant::now(), 0.0);
        while start.elapsed() < Duration::from_millis(100) {
            let sum: f64 = values.iter().filter_map(|&v| convert(black_box(v)).ok()).sum();
            black_box(sum);
            done += 4096.0;
        }
        done / start.elapsed().as_secs_f64() / 1e6
    };
    (0..5).map(|_| run()).fold(0.0, f64::max)
}

fn main() {
    println!("million conversions a second, one core, values in no order");
    println!("type  range °C        emf of t   t of emf   emf of t above 0   t of emf above 0");
    for &standard in Standard::ALL {
        let (low, high) = standard.range();
        let from = standard.invertible_from();
        let emf = |t: f64| standard.emf(t).unwrap_or_default();
        let warm = from.max(0.0);
        println!(
            "{standard:4}  {low:6.0}..{high:<6.0} {:9.1}  {:9.1}   {:16.1}   {:16.1}",
            rate(&spread(low, high), |t| standard.emf(t)),
            rate(&spread(emf(from), emf(high)), |e| standard.temperature(e)),
            rate(&spread(warm, high), |t| standard.emf(t)),
            rate(&spread(emf(warm), emf(high)), |e| standard.temperature(e)),
        );
    }
}
