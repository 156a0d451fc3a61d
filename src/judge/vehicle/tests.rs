//! Jobs of one invented vehicle, and what is made of them.

use super::*;
use facts::job::entry::{Entry, Reading, What};
use facts::knowledge::Item;
use fixture::{degrees, engine, journal, knowledge, temps};
use measure::engine::{Place, Regime};

fn day(n: i64) -> Timestamp {
    Timestamp::UNIX_EPOCH + jiff::SignedDuration::from_hours(24 * n)
}

/// A job of one day, entry after entry.
fn job(opened: i64, whats: Vec<What>) -> Journal {
    let mut journal = journal();
    journal.head.opened = day(opened);
    journal.head.vehicle = " An invented  VAN".to_owned();
    for what in whats {
        journal.push(Entry::new(day(opened), "typed".to_owned(), what));
    }
    journal
}

fn normal(opened: i64, readings: &[f64]) -> Journal {
    job(
        opened,
        vec![
            temps("idle", degrees(readings)),
            What::Recorded,
            What::Close { proven: false, reason: None },
        ],
    )
}

fn of(jobs: &[(&str, Journal)]) -> Record {
    let list: Vec<(String, &Journal)> =
        jobs.iter().map(|(name, journal)| ((*name).to_owned(), journal)).collect();
    record(&knowledge(), "an invented van", &engine(), &list, day(10_000))
}

#[test]
fn names_are_compared_without_case_and_white_space() {
    assert_eq!(key("  Blue \t TUG "), "blue tug");
    let nameless = record(&knowledge(), "  ", &engine(), &[], day(1));
    assert!(nameless.history.visits.is_empty());
}

#[test]
fn another_engine_under_the_name_is_not_linked() {
    let mut other = normal(1, &[400.0, 401.0, 399.0, 400.0]);
    other.head.engine.intake = measure::engine::Intake::Log;
    let mut measured = normal(2, &[400.0, 401.0, 399.0, 400.0]);
    measured.head.engine.fitting =
        Some(measure::engine::Fitting { diameter: 3.0, bore: 42.0, depth: 15.0 });
    let found = of(&[("a", other), ("b", measured)]);
    assert_eq!(found.history.visits.len(), 1, "how probes sit is no other engine");
    assert_eq!(found.other_engines, ["a"]);
}

#[test]
fn only_readings_of_a_healthy_engine_count() {
    let set = || temps("idle", degrees(&[400.0, 401.0, 399.0, 400.0]));
    let remedy = || What::Remedy { cause: "fit-shallow".to_owned(), place: Place::Cylinder(2) };
    let jumping = Reading::Erratic {
        lo: measure::units::Celsius::new(380.0).expect("lawful"),
        hi: measure::units::Celsius::new(420.0).expect("lawful"),
    };
    let mut jumps = degrees(&[400.0; 4]);
    jumps[1] = jumping;
    let close = || What::Close { proven: true, reason: None };
    let cases: Vec<(&str, Vec<What>, usize, &str)> = vec![
        ("open", vec![set()], 0, "the job is still open"),
        (
            "unproven",
            vec![set(), What::Close { proven: false, reason: None }],
            0,
            "it was closed without proof",
        ),
        (
            "before the cure",
            vec![set(), remedy(), close()],
            0,
            "no settled readings since the last change",
        ),
        ("after it", vec![set(), remedy(), set(), close()], 1, "1 from before the last change"),
        (
            "moved",
            vec![remedy(), What::Exchange { item: Item::Probe, a: 1, b: 2 }, set(), close()],
            0,
            "parts were left in other places",
        ),
        (
            "warming",
            vec![remedy(), temps("warming", degrees(&[200.0; 4])), close()],
            0,
            "no settled readings since the last change",
        ),
        ("one jumps", vec![remedy(), temps("idle", jumps), close()], 1, ""),
    ];
    for (name, whats, sets, left_out) in cases {
        let found = of(&[(name, job(1, whats))]);
        let visit = &found.history.visits[0];
        assert_eq!((visit.sets, visit.left_out.as_str()), (sets, left_out), "{name}");
    }
}

#[test]
fn a_history_has_the_engines_own_offsets_and_a_smaller_spread() {
    let jobs: Vec<(&str, Journal)> = [("a", 1), ("b", 90), ("c", 200)]
        .into_iter()
        .map(|(name, at)| (name, normal(at, &[416.0, 400.0, 396.0, 388.0])))
        .collect();
    let found = of(&jobs);
    let usual = found.history.at(ProbeSite::Exhaust, fixture::at(Regime::Idle)).expect("read");
    assert_eq!(usual.visits, [3; 4]);
    let layout = knowledge().natural_sd(&engine(), ProbeSite::Exhaust, fixture::at(Regime::Idle));
    for (mean, (raw, sd)) in usual.mean.iter().zip([16.0, 0.0, -4.0, -12.0].iter().zip(&usual.sd)) {
        assert!(mean.abs() <= f64::abs(*raw) + 0.05 && (mean - raw).abs() < 3.0, "{usual:?}");
        assert!(*sd < 0.7 * layout, "{usual:?} against {layout}");
    }
    // A point that was never read follows the one that was, as far as they go together.
    let cruise = found.history.at(ProbeSite::Exhaust, fixture::at(Regime::Cruise)).expect("told");
    assert_eq!(cruise.visits, [0; 4]);
    assert!(cruise.mean[0] > 0.0 && cruise.mean[0] < usual.mean[0] * 1.5, "{cruise:?}");
    assert!(cruise.sd[0] > usual.sd[0], "{cruise:?}");
    assert_eq!(found.history.wrong(&engine()), None);
}

#[test]
fn a_probe_fitted_anew_makes_its_history_void() {
    let refit = vec![
        temps("idle", degrees(&[416.0, 400.0, 396.0, 388.0])),
        What::Remake { item: Item::Probe, cylinder: 4, new: false },
        temps("idle", degrees(&[416.0, 400.0, 396.0, 402.0])),
        What::Recorded,
        What::Close { proven: false, reason: None },
    ];
    let found = of(&[
        ("a", normal(1, &[416.0, 400.0, 396.0, 388.0])),
        ("b", normal(50, &[416.0, 400.0, 396.0, 388.0])),
        ("c", job(90, refit)),
    ]);
    let usual = found.history.at(ProbeSite::Exhaust, fixture::at(Regime::Idle)).expect("read");
    assert_eq!(usual.visits, [3, 3, 3, 1]);
    assert!(usual.sd[3] > usual.sd[0], "{usual:?}");
    assert!(usual.mean[3] > -5.0, "what it showed before does not count: {usual:?}");
}

#[test]
fn a_drift_is_told_from_scatter_and_has_a_date() {
    let steady: Vec<(String, Journal)> = (0..5)
        .map(|n| (format!("s{n}"), normal(1 + 60 * n, &[402.0, 400.0, 399.0, 401.0])))
        .collect();
    let list: Vec<(String, &Journal)> = steady.iter().map(|(n, j)| (n.clone(), j)).collect();
    let found = record(&knowledge(), "an invented van", &engine(), &list, day(400));
    assert_eq!(found.drifts.len(), 4);
    assert!(found.drifts.iter().all(|d| !d.drifts() && d.leaves.is_none()));
    let falling: Vec<(String, Journal)> = (0..6)
        .map(|n| {
            let down = 6.0 * f64::from(n);
            (format!("f{n}"), normal(1 + 60 * i64::from(n), &[402.0, 400.0 - down, 399.0, 401.0]))
        })
        .collect();
    let list: Vec<(String, &Journal)> = falling.iter().map(|(n, j)| (n.clone(), j)).collect();
    let found = record(&knowledge(), "an invented van", &engine(), &list, day(310));
    let drifting: Vec<&Drift> = found.drifts.iter().filter(|d| d.drifts()).collect();
    assert_eq!(drifting.iter().map(|d| d.display).collect::<Vec<_>>(), [2]);
    let (expected, earliest) = drifting[0].leaves.expect("it goes on");
    assert!(earliest <= expected && earliest >= day(310), "{earliest} {expected}");
    assert!((drifting[0].a_year().0 + 36.5).abs() < 0.5);
}

#[test]
fn a_cause_that_came_back_is_named_with_what_was_believed() {
    let cured = |at: i64, cylinder: u8| {
        let place = Place::Cylinder(cylinder);
        let set = |low: f64| {
            let mut readings = [400.0; 4];
            readings[usize::from(cylinder) - 1] = low;
            temps("idle", degrees(&readings))
        };
        let remedy = What::Remedy { cause: "fit-shallow".to_owned(), place };
        job(at, vec![set(300.0), remedy, set(401.0), What::Close { proven: true, reason: None }])
    };
    let found = of(&[("a", cured(1, 2)), ("b", cured(80, 2)), ("c", normal(100, &[400.0; 4]))]);
    assert_eq!(found.comebacks, [("fit-shallow".to_owned(), vec![0, 1])]);
    assert!(found.history.visits[0].believed.is_some_and(|p| p > 0.0));
    let before: Vec<&str> =
        found.history.remedied("fit-shallow").map(|(visit, _)| visit.job.as_str()).collect();
    assert_eq!(before, ["b", "a"]);
}

#[test]
fn a_copy_of_a_job_is_no_visit_more() {
    let whole = normal(1, &[416.0, 400.0, 396.0, 388.0]);
    let mut torn = whole.clone();
    torn.entries.pop();
    let found = of(&[
        ("a", torn),
        ("a-mended", whole.clone()),
        ("b", whole.clone()),
        ("c", normal(50, &[416.0, 400.0, 396.0, 388.0])),
    ]);
    let jobs: Vec<&str> = found.history.visits.iter().map(|visit| visit.job.as_str()).collect();
    assert_eq!(jobs, ["a-mended", "c"]);
}
