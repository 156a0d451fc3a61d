//! How near the planner comes to the best plan, how near its bounds, and how long it takes.
//!
//! `cargo bench --bench plan`. Prints Markdown for `docs/numbers.md`; asserts nothing about time,
//! and fails where a bound is on the wrong side.
#![expect(clippy::print_stdout, reason = "a bench reports on the terminal")]
#![expect(clippy::disallowed_methods, reason = "a bench looks at the clock")]

/// What the sample of problems names.
mod plan {
    pub(crate) use judge::plan::problem;
}

#[path = "../../src/judge/plan/value/sample.rs"]
#[expect(dead_code, reason = "the unit tests use the rest")]
mod sample;

use std::time::Instant;

use judge::plan::Thinking;
use judge::plan::bound::Limits;
use judge::plan::problem::{Price, Problem};
use judge::plan::value::{Begin, Planner, exact, grow_all};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use sample::{Shape, problem};

/// Small problems that are solved exactly.
const SMALL: usize = 2_000;
/// Places that the exact solution may look at.
const PLACES: usize = 400_000;
/// Problems whose bounds are checked.
const CHECKED: usize = 12_000;
/// Problems of 600 cases and 200 tests that are timed.
const LARGE: usize = 200;

/// What is advised: the cheapest beginning of the likeliest, each with its plan grown.
fn advised(planner: &Planner<'_>, thinking: Thinking<'_>) -> Vec<(Begin, Price)> {
    let problem = planner.problem();
    let (belief, now) = (&problem.belief, problem.now);
    let mut list: Vec<(Begin, Price)> = (0..problem.probes.len())
        .map(|p| (Begin::Probe(p), planner.one_step(belief, now, p)))
        .collect();
    list.sort_by(|a, b| a.1.total.total_cmp(&b.1.total));
    let promising: Vec<usize> = list
        .iter()
        .filter_map(|(begin, _)| if let Begin::Probe(p) = begin { Some(*p) } else { None })
        .collect();
    list.truncate(12);
    for entry in &mut list {
        if let Begin::Probe(p) = entry.0 {
            entry.1 = planner.two_step(belief, now, p, &promising[..promising.len().min(14)]);
        }
    }
    let stop = planner.stop(belief, now);
    let repairs = planner.likely_repairs(belief, now, 3);
    list.extend(repairs.into_iter().map(|r| (Begin::Repair(r), stop)));
    list.sort_by(|a, b| a.1.total.total_cmp(&b.1.total));
    grow_all(planner, belief, now, &mut list, &promising, thinking);
    list.sort_by(|a, b| a.1.total.total_cmp(&b.1.total));
    list
}

fn real(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

/// Mean, 95th percentile, worst.
fn spread(mut list: Vec<f64>) -> [f64; 3] {
    list.sort_by(f64::total_cmp);
    let count = list.len();
    let mean = list.iter().sum::<f64>() / real(count);
    [mean, list[count * 95 / 100], list[count - 1]]
}

fn small(rng: &mut Pcg64) {
    let (mut advised_list, mut stopped, mut one, mut gap) = (vec![], vec![], vec![], vec![]);
    let mut tried = 0;
    while advised_list.len() < SMALL {
        tried += 1;
        let shape = Shape {
            cases: rng.random_range(3..8),
            tests: rng.random_range(2..6),
            set_ups: rng.random(),
            search: rng.random(),
            pair: rng.random_bool(0.2),
        };
        let problem = problem(shape, || rng.random());
        let planner = Planner::new(&problem);
        let (belief, now) = (&problem.belief, problem.now);
        let Some(best) = exact(&planner, belief, now, PLACES) else { continue };
        let optimum = best.price.total;
        let list = advised(&planner, Thinking::default());
        let stop = planner.stop(belief, now).total;
        let price = list[0].1.total.min(stop);
        advised_list.push(price / optimum);
        stopped.push(stop / optimum);
        let tests = 0..problem.probes.len();
        let least = tests.map(|p| planner.one_step(belief, now, p).total).fold(stop, f64::min);
        one.push(least / optimum);
        let bound = Limits::new(&problem, planner.prices(), belief).bound().total;
        assert!(bound <= optimum + 1e-9 && price >= optimum - 1e-9, "{bound} {optimum} {price}");
        gap.push(bound / optimum);
    }
    println!(
        "{SMALL} random problems of 3 to 7 cases and 2 to 5 tests ({tried} tried), price over that of the best plan:\n"
    );
    println!("| Plan | mean | 95 of 100 below | worst |\n|---|---:|---:|---:|");
    for (name, list) in [
        ("as advised, without the exact solution", advised_list),
        ("one step of look-ahead", one),
        ("repairs without a test", stopped),
        ("(lower bound)", gap),
    ] {
        let [mean, most, worst] = spread(list);
        println!("| {name} | {mean:.4} | {most:.4} | {worst:.4} |");
    }
}

fn bounds(rng: &mut Pcg64) {
    let (mut checks, mut wrong) = (0, 0);
    for _ in 0..CHECKED {
        let shape = Shape {
            cases: rng.random_range(2..5),
            tests: rng.random_range(1..4),
            set_ups: rng.random(),
            search: rng.random(),
            pair: rng.random(),
        };
        let problem = problem(shape, || rng.random());
        let planner = Planner::new(&problem);
        let (belief, now) = (&problem.belief, problem.now);
        let optimum = sample::best(&problem, belief, now, 0, 0);
        let limits = Limits::new(&problem, planner.prices(), belief);
        let thinking = Thinking { work: 5_000, time_is_up: None };
        let above = advised(&planner, thinking)[0].1.total.min(planner.stop(belief, now).total);
        let right = exact(&planner, belief, now, PLACES).map_or(0.0, |best| best.price.total);
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * b.max(1.0);
        for holds in
            [limits.bound().total <= optimum + 1e-9, above >= optimum - 1e-9, near(right, optimum)]
        {
            checks += 1;
            wrong += usize::from(!holds);
        }
    }
    println!(
        "\n{checks} checks of a bound or an exact price against every plan of {CHECKED} random problems: {wrong} wrong.\n"
    );
    assert_eq!(wrong, 0, "a bound is on the wrong side");
}

/// A problem of a size: each test tells a few cases from the others.
fn large(cases: usize, tests: usize, rng: &mut Pcg64) -> Problem {
    let shape = Shape { cases, tests, set_ups: true, search: true, pair: false };
    let mut problem = problem(shape, || rng.random());
    for probe in &mut problem.probes {
        let (alarm, miss) = (rng.random_range(0.01..0.1), rng.random_range(0.05..0.3));
        probe.rows = vec![vec![1.0 - alarm; cases], vec![alarm; cases]];
        for _ in 0..=cases / 12 {
            let case = rng.random_range(0..cases);
            probe.rows[0][case] = miss;
            probe.rows[1][case] = 1.0 - miss;
        }
    }
    problem
}

/// Milliseconds that this thread has been on a core, which other work on the machine does not add to;
/// where the system does not say, since the beginning.
fn on_core(beginning: Instant) -> f64 {
    let said = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = said.and_then(|text| text.split_whitespace().next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| beginning.elapsed().as_secs_f64() * 1e3, |ns| ns / 1e6)
}

/// Milliseconds for what is advised with its gap, and the gap.
fn timed(problem: &Problem) -> (f64, f64) {
    let beginning = Instant::now();
    let from = on_core(beginning);
    let planner = Planner::new(problem);
    let limits = Limits::new(problem, planner.prices(), &problem.belief);
    let price = advised(&planner, Thinking::default())[0].1.total;
    let took = on_core(beginning) - from;
    (took, price / limits.bound().total - 1.0)
}

fn times(rng: &mut Pcg64) {
    println!(
        "| Cases × tests | runs | median, ms on a core | 99 of 100 below, ms | µs a test, over n log n | gap, mean |\n|---|---:|---:|---:|---:|---:|"
    );
    for (cases, tests, runs) in
        [(60, 40, LARGE), (600, 200, LARGE), (1_900, 450, 20), (6_000, 1_000, 5)]
    {
        let mut list: Vec<f64> = Vec::new();
        let mut gap = 0.0;
        for _ in 0..runs {
            let (took, above) = timed(&large(cases, tests, rng));
            list.push(took);
            gap += above / real(runs);
        }
        list.sort_by(f64::total_cmp);
        let median = list[runs / 2];
        let each = median * 1e3 / real(tests);
        let scale = real(cases) * real(cases).log2();
        println!(
            "| {cases} × {tests} | {runs} | {median:.1} | {:.1} | {:.5} | {:.0} % |",
            list[(runs * 99 / 100).min(runs - 1)],
            each / scale,
            gap * 100.0
        );
    }
}

fn main() {
    // `-- times` runs that part alone.
    let asked: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with('-')).collect();
    let wanted = |part: &str| asked.is_empty() || asked.iter().any(|a| a == part);
    let rng = || Pcg64::seed_from_u64(7);
    if wanted("small") {
        small(&mut rng());
    }
    if wanted("bounds") {
        bounds(&mut rng());
    }
    if wanted("times") {
        times(&mut rng());
    }
}
