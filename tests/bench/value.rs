//! How long posterior and one-step value of all tests of a network take the planner.
//!
//! `cargo bench --bench value -- FILE...`, files as `tests/reference/network.py` writes them; the
//! stored F16 without one. One JSON document a file; asserts nothing about time.
//! `side_by_side.py` puts the times beside another library's.
#![expect(clippy::print_stdout, reason = "a bench reports on the terminal")]
#![expect(clippy::disallowed_methods, reason = "a bench looks at the clock")]

#[path = "../laws/network.rs"]
mod network;

use std::collections::BTreeMap;
use std::hint::black_box;
use std::time::{Duration, Instant};

use judge::plan::value::Planner;
use network::Solved;
use serde_json::json;

/// Posterior, price of repairing at once, value of every test not done yet.
fn answer(solved: &Solved, problem: &judge::plan::problem::Problem) -> Answer {
    let belief = solved.network.posterior();
    let planner = Planner::new(problem);
    let stop = planner.stop(&belief, problem.now).total;
    let value = |test| stop - planner.one_step(&belief, problem.now, test).total;
    let values = solved.network.open().into_iter().map(|test| (test, value(test))).collect();
    Answer { belief, stop, values }
}

struct Answer {
    belief: Vec<f64>,
    stop: f64,
    values: BTreeMap<usize, f64>,
}

impl Answer {
    /// Largest difference from the stored answer.
    fn off(&self, solved: &Solved) -> f64 {
        let pairs = self.belief.iter().zip(&solved.posterior);
        let pairs = pairs.chain([(&self.stop, &solved.stop)]);
        let pairs = pairs.chain(self.values.values().zip(solved.values.values()));
        pairs.map(|(got, want)| (got - want).abs()).fold(0.0, f64::max)
    }
}

fn report(text: &str) {
    let solved: Solved = serde_json::from_str(text).expect("a network");
    let problem = solved.network.problem();
    let off = answer(&solved, &problem).off(&solved);
    let mut times = Vec::new();
    let start = Instant::now();
    while start.elapsed() < Duration::from_secs(1) || times.len() < 11 {
        let from = Instant::now();
        black_box(answer(black_box(&solved), &problem));
        times.push(from.elapsed());
    }
    times.sort_unstable();
    println!(
        "{}",
        json!({
            "states": solved.posterior.len(),
            "median_ms": times[times.len() / 2].as_secs_f64() * 1e3,
            "least_ms": times[0].as_secs_f64() * 1e3,
            "runs": times.len(),
            "off": off,
        })
    );
}

fn main() {
    let files: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with('-')).collect();
    if files.is_empty() {
        report(include_str!("../fixtures/f16.json"));
    }
    for file in files {
        report(&std::fs::read_to_string(&file).expect("a file"));
    }
}
