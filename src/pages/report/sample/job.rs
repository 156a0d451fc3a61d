//! The job: a four-cylinder engine on which display 3 reads high.

use jiff::Timestamp;

use facts::job::arrangement::Arrangement;
use facts::job::entry::{EngineState, Entry, FORMAT, Head, Journal, Reading, What};
use facts::job::fit::Sheet;
use facts::job::timeline::{Disturbance, Finding, ReadingSet, Standing, Timeline};
use facts::job::trim::Trimming;
use facts::knowledge::{Item, Points, Thermal};
use measure::engine::{Engine, ProbeSite, Regime};
use measure::units::Celsius;

pub(in crate::report) fn engine(cylinders: u8) -> Engine {
    Engine::plain(cylinders)
}

pub(in crate::report) fn degrees(list: &[f64]) -> Vec<Reading> {
    list.iter().map(|&t| Reading::Degrees(Celsius::new(t).expect("in range"))).collect()
}

fn time(minute: i64) -> Timestamp {
    let start: Timestamp = "2026-05-04T08:30:00Z".parse().expect("valid");
    start + jiff::SignedDuration::from_mins(minute)
}

/// Two reading sets on which display 3 is odd, the second after probes 2 and 3 changed places.
pub(in crate::report) fn timeline() -> Timeline {
    let straight = Arrangement::original(4);
    let mut exchanged = straight.clone();
    exchanged.exchange(&engine(4), Item::Probe, 2, 3);
    let mut second = degrees(&[641.0, 636.0, 679.0, 640.0]);
    second[0] = Reading::Open;
    Timeline {
        points: Points::built_in().clone(),
        engine: engine(4),
        recent: vec!["probes-new".to_owned()],
        sets: vec![
            ReadingSet {
                entry: 1,
                at: fixture::at(Regime::Idle),
                site: ProbeSite::Exhaust,
                readings: degrees(&[402.0, 398.0, 455.0, 401.0]),
                arrangement: straight,
                after: 0,
                air: None,
            },
            ReadingSet {
                entry: 4,
                at: fixture::at(Regime::Cruise),
                site: ProbeSite::Exhaust,
                readings: second,
                arrangement: exchanged.clone(),
                after: 1,
                air: None,
            },
        ],
        disturbances: vec![Disturbance::new(2, Vec::new())],
        findings: Vec::<Finding>::new(),
        looked: Vec::new(),
        arrangement: exchanged,
        thermal: Thermal::Cruise,
        open_access: Vec::new(),
        load_confirmed: false,
        recorded: None,
        standing: Standing::Open,
        barred: Vec::new(),
        unknown: Vec::new(),
        sheet: Sheet::default(),
        fitting_assumed: false,
        history: None,
        trimming: Trimming::default(),
        complaint: facts::job::complaint::Complaint::default(),
        scale: None,
        builder_limit: None,
        limits_set: None,
    }
}

/// The journal behind [`timeline`], with an entry taken back.
pub(in crate::report) fn journal() -> Journal {
    let entries = [
        What::Temps {
            at: Regime::Idle.into(),
            site: ProbeSite::Exhaust,
            readings: degrees(&[402.0, 398.0, 455.0, 401.0]),
            from: None,
        },
        What::Exchange { item: Item::Probe, a: 2, b: 3 },
        What::State(EngineState::Warm),
        What::Temps {
            at: Regime::Cruise.into(),
            site: ProbeSite::Exhaust,
            readings: timeline().sets[1].readings.clone(),
            from: None,
        },
        What::Found {
            test: "look-fit".to_owned(),
            outcome: "shallower".to_owned(),
            cylinder: Some(2),
            partner: None,
        },
        What::Undo { entry: 5 },
    ];
    Journal {
        format: FORMAT,
        head: Head {
            opened: time(0),
            typed: "oddpot open demo".to_owned(),
            vehicle: "invented *hill-climb* car | <b>no. 7</b>".to_owned(),
            complaint: "pot 3 reads high\nsince the `new` probes".to_owned(),
            engine_name: "Invented four".to_owned(),
            engine: engine(4),
            recent: vec!["probes-new".to_owned()],
            state: EngineState::Warm,
            details: facts::job::complaint::Details::default(),
        },
        entries: (1..)
            .zip(entries)
            .map(|(n, what)| Entry::new(time(7 * n), String::new(), what))
            .collect(),
    }
}
