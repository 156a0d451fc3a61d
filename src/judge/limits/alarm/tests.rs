use proptest::prelude::*;

use super::*;

const COURSE: Course = Course { offset_sd: 5.0, noise_sd: 4.0, memory: 11.0 };

#[test]
fn independent_samples_multiply() {
    let rows = in_a_row(1.0, 0.0, 4);
    for (n, found) in (1..).zip(&rows) {
        let expected = 0.158_655_253_931_457_f64.powi(n);
        assert!((found / expected - 1.0).abs() < 1e-9, "{n}: {found} against {expected}");
    }
}

#[test]
fn a_wider_limit_and_a_longer_delay_give_fewer_false_alarms() {
    let (short, long) = (Runs::new(11.0, 10.0), Runs::new(11.0, 60.0));
    let mut last = f64::INFINITY;
    for limit in [6.0, 9.0, 12.0, 15.0, 18.0, 24.0] {
        let (a, b) = (short.per_hour(COURSE, limit), long.per_hour(COURSE, limit));
        assert!(a < last && b < a, "{limit}: {a} {b} after {last}");
        last = a;
    }
}

#[test]
fn the_limit_is_the_smallest_that_keeps_the_rate() {
    let runs = Runs::new(11.0, 35.0);
    let limit = runs.limit(COURSE, 1e-3, 1.0).expect("there is one");
    assert!(runs.per_hour(COURSE, limit) <= 1e-3);
    assert!(runs.per_hour(COURSE, limit - 1.0) > 1e-3);
    assert_eq!(runs.limit(Course { offset_sd: 900.0, ..COURSE }, 1e-3, 1.0), None);
}

#[test]
fn a_fault_far_beyond_the_limit_is_told_for_sure_and_in_time() {
    let runs = Runs::new(11.0, 35.0);
    assert!(runs.chance(COURSE, 18.0, 60.0) > 0.999);
    assert!(runs.chance(COURSE, 18.0, -60.0) > 0.999);
    let rule = Rule { limit: 18.0, delay: 35.0 };
    let seconds = seconds_to(-36.0, rule, 10.0).expect("beyond");
    assert!((seconds - 35.0 - 10.0 * 2.0_f64.ln()).abs() < 1e-9);
    assert_eq!(seconds_to(17.0, rule, 10.0), None);
}

/// The same by sums over a fine grid, without tables, rules or short cuts.
fn slowly(threshold: f64, fades: f64, most: usize) -> Vec<f64> {
    const CELLS: u32 = 900;
    let top = threshold.max(0.0) + 8.0;
    let width = (top - threshold) / f64::from(CELLS);
    let at = |i: u32| threshold + (f64::from(i) + 0.5) * width;
    let bell = |z: f64| (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt();
    let spread = (1.0 - fades * fades).sqrt();
    let mut density: Vec<f64> = (0..CELLS).map(|i| bell(at(i))).collect();
    let mut rows = Vec::new();
    loop {
        rows.push(density.iter().sum::<f64>() * width);
        if rows.len() == most {
            return rows;
        }
        let passed = |to: u32| -> f64 {
            let step = |from: u32| bell((at(to) - fades * at(from)) / spread) / spread;
            (0..CELLS).zip(&density).map(|(from, p)| p * step(from) * width).sum()
        };
        density = (0..CELLS).map(passed).collect();
    }
}

#[test]
fn runs_are_those_of_a_fine_grid() {
    for (threshold, fades) in
        [(-5.0, 0.9), (-1.0, 0.99), (0.0, 0.5), (0.0, 0.9), (2.0, 0.913), (4.0, 0.95), (9.5, 0.9)]
    {
        for (n, (fast, slow)) in
            in_a_row(threshold, fades, 5).iter().zip(slowly(threshold, fades, 5)).enumerate()
        {
            let off = (fast / slow - 1.0).abs();
            assert!(off < 5e-4, "{threshold} {fades} {n}: {fast} against {slow}");
        }
    }
}

#[test]
fn the_table_is_read_as_it_was_estimated() {
    let (memory, delay) = (11.0, 30.0);
    let runs = Runs::new(memory, delay);
    for threshold in [-3.3, -0.6, 0.2, 0.75, 1.9, 3.1, 5.3, 8.8] {
        let rows = in_a_row(threshold, f64::exp(-1.0 / memory), 31);
        let (under_way, begin) = runs.beyond(threshold);
        for (found, expected) in [(under_way, rows[29]), (begin, 3600.0 * (rows[29] - rows[30]))] {
            assert!((found / expected - 1.0).abs() < 2e-3, "{threshold}: {found} {expected}");
        }
    }
}

/// Alarms per hour from which on their number matters to nobody.
const OFTEN: f64 = 5.0;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(if cfg!(debug_assertions) { 24 } else { 256 }))]

    /// Whatever stands in a job: figures are numbers, a wider limit never gives more alarms, a longer
    /// delay never gives more but for what the table is read with.
    #[test]
    fn limits_and_delays_only_ever_quieten(
        memory in prop_oneof![Just(0.0), 0.001..1.0_f64, 1.0..100.0_f64, Just(3e4), Just(f64::NAN)],
        delays in (prop_oneof![Just(0.001), 0.001..5.0_f64, 1.0..3600.0_f64, Just(86_400.0)],
            1.0..20.0_f64),
        offset_sd in prop_oneof![Just(0.0), 0.1..30.0_f64, Just(500.0), Just(1e300)],
        noise_sd in prop_oneof![Just(0.0), 0.1..30.0_f64, Just(1e-300), Just(1e300)],
        limits in (prop_oneof![Just(0.0), 0.5..60.0_f64, Just(1000.0)], 1.0..4.0_f64),
        shift in prop_oneof![Just(0.0), -200.0..200.0_f64, Just(1e6)],
    ) {
        let course = Course { offset_sd, noise_sd, memory };
        let (short, long) = (Runs::new(memory, delays.0), Runs::new(memory, delays.0 * delays.1));
        for runs in [&short, &long] {
            let (mut last, mut surest) = (f64::INFINITY, 1.0_f64);
            for limit in [limits.0, limits.0 * limits.1, limits.0 * limits.1 + 40.0] {
                let chance = runs.chance(course, limit, shift);
                prop_assert!((0.0..=1.0).contains(&chance), "{}", chance);
                let sure = runs.chance(course, limit, 0.0);
                // The table is read to a thousandth at best: 0.99986 came after 0.99975 once.
                prop_assert!(sure <= surest + 1e-3, "{} after {}", sure, surest);
                surest = sure;
                let rate = runs.per_hour(course, limit);
                prop_assert!(rate.is_finite() && rate >= 0.0, "{}", rate);
                // Of an alarm every few minutes only that it is sure is reckoned closely.
                let rate = rate.min(OFTEN);
                prop_assert!(rate <= last * (1.0 + 1e-3) + 1e-9, "{} after {}", rate, last);
                last = rate;
            }
            if let Some(limit) = runs.limit(course, 1e-3, 1.0) {
                prop_assert!(runs.per_hour(course, limit) <= 1e-3);
            }
        }
        let [often, seldom] = [&short, &long].map(|runs| runs.per_hour(course, limits.0).min(OFTEN));
        prop_assert!(seldom <= often * (1.0 + 2e-2) + 1e-9, "{} with the longer delay, {}", seldom, often);
    }
}
