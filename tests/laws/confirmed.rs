//! Numbers that general libraries and independent programs came to as well.

use facts::job::file;
use facts::job::read::read;
use judge::diagnosis::diagnose;
use judge::plan::dump::{Dump, dump};
use judge::plan::value::Planner;
use serde::Deserialize;

use crate::network::Solved;
use crate::support::knowledge;

#[track_caller]
fn near(what: &str, got: f64, want: f64) {
    assert!((got - want).abs() < 1e-9 * want.abs().max(1.0), "{what}: {got} against {want}");
}

/// Fixture F16: 60 causes and a leak, 40 tests, 6 done. Network and answers of
/// `tests/reference/network.py` (numpy, closed form).
#[test]
fn the_network_of_sixty_causes_and_forty_tests() {
    let solved: Solved =
        serde_json::from_str(include_str!("../fixtures/f16.json")).expect("a network");
    let problem = solved.network.problem();
    for (cause, (got, want)) in problem.belief.iter().zip(&solved.posterior).enumerate() {
        near(&format!("cause {cause}"), *got, *want);
    }
    let planner = Planner::new(&problem);
    let stop = planner.stop(&problem.belief, problem.now).total;
    near("repairing at once", stop, solved.stop);
    let open = solved.network.open();
    assert_eq!(open, solved.values.keys().copied().collect::<Vec<_>>());
    let value = |test| stop - planner.one_step(&problem.belief, problem.now, test).total;
    for &test in &open {
        near(&format!("test {test}"), value(test), solved.values[&test]);
    }
    // The published digits.
    let best = open.iter().copied().max_by(|a, b| value(*a).total_cmp(&value(*b)));
    assert_eq!(best, Some(14));
    assert!((value(14) - 18.887_383).abs() < 1e-6);
    assert!((stop - 138.564_331).abs() < 1e-6);
    let leader = problem.belief.iter().copied().fold(0.0, f64::max);
    assert!((leader - 0.301_763).abs() < 1e-6);
}

/// What `tests/reference/run --record` stored of the invented job beside it.
#[derive(Deserialize)]
struct Confirmed {
    posterior: Vec<(String, f64)>,
}

/// The model has two scales, courses and slips since; `tests/reference/run --record` has not confirmed
/// its numbers yet. Until then only what no number hangs on is compared: what led is still
/// weighed, and all adds up to one.
#[test]
fn the_job_that_was_recomputed_outside() {
    let confirmed: Confirmed =
        serde_json::from_str(include_str!("../fixtures/reference-job.json")).expect("numbers");
    let journal = file::read(include_str!("../fixtures/reference-job.ron")).expect("a journal");
    let timeline = read(knowledge(), &journal);
    let Dump { hypotheses, .. } = dump(&diagnose(knowledge(), &timeline));
    // Which leads may be another one by now; what led is still among them.
    let led = &confirmed.posterior[0].0;
    assert!(hypotheses.iter().any(|h| h.faults.join("+") == *led), "{led}");
    near("all", hypotheses.iter().map(|h| h.posterior).sum(), 1.0);
}
