//! Numbers that general libraries and independent programs came to as well.

use oddpot::diagnosis::diagnose;
use oddpot::job::file;
use oddpot::job::read::read;
use oddpot::plan::dump::{Dump, dump};
use oddpot::plan::value::Planner;
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
    stop: f64,
    values: Vec<(String, f64)>,
    readings: Vec<f64>,
}

/// After a change of the knowledge base or of the model this fails, as it should:
/// `tests/reference/run --record` has the new numbers confirmed first and then stores them.
#[test]
fn the_job_that_was_recomputed_outside() {
    let confirmed: Confirmed =
        serde_json::from_str(include_str!("../fixtures/reference-job.json")).expect("numbers");
    let journal = file::read(include_str!("../fixtures/reference-job.ron")).expect("a journal");
    let timeline = read(knowledge(), &journal);
    let Dump { hypotheses, readings, plan, .. } = dump(&diagnose(knowledge(), &timeline));
    for (hypothesis, (faults, probability)) in hypotheses.iter().zip(&confirmed.posterior) {
        assert_eq!(hypothesis.faults.join("+"), *faults);
        near(faults, hypothesis.posterior, *probability);
    }
    near("repairing at once", plan.stop.total, confirmed.stop);
    assert_eq!(plan.tests.len(), confirmed.values.len());
    for (test, (id, value)) in plan.tests.iter().zip(&confirmed.values) {
        assert_eq!(test.id, *id);
        near(id, test.value, *value);
    }
    assert_eq!(readings.cases.len(), confirmed.readings.len());
    for (case, (got, want)) in readings.cases.iter().zip(&confirmed.readings).enumerate() {
        near(&format!("case {case}"), got.log_density_guarded, *want);
    }
}
