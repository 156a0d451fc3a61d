use serde_json::{Value, json};

use super::assessment::assessment;
use super::*;
use facts::knowledge::Seat;
use judge::diagnosis::{Assessment, CauseRef, Surprise, Suspect};
use judge::plan::{Advice, Branch, Choice, JobEnd, Standing, Step};
use measure::engine::{Place, ProbeSite, Regime};
use measure::units::Cost;

fn at(cause: usize, place: Place) -> Fault {
    Fault { cause: CauseRef::Listed(cause), place }
}

fn keys(value: &Value) -> Vec<&str> {
    let object = value.as_object().expect("an object");
    object.keys().map(String::as_str).collect()
}

#[test]
fn suspects_have_the_fields_of_the_contract() {
    let suspect = |fault, probability| Suspect { fault, probability, present: probability };
    let unlisted = Fault { cause: CauseRef::Unlisted, place: Place::Cylinder(3) };
    let answer = Assessment {
        healthy: 0.1,
        suspects: vec![
            suspect(at(1, Place::Cylinder(2)), 0.6),
            suspect(at(0, Place::Pair(1, 4)), 0.2),
            suspect(unlisted, 0.1),
        ],
        groups: vec![(0, 0.6)],
        seats: vec![(Seat::Fit, 0.6)],
        hypotheses: Vec::new(),
        pairs_dropped_mass: 0.001,
        present: 0.9,
        sound: 0.0,
        oddness: Vec::new(),
        odd_display: Some(2),
        surprise: Surprise { p_value: 0.4, unexplained: false },
        notes: Vec::new(),
    };
    let knowledge = fixture::knowledge();
    let document = json!(assessment(&knowledge, &fixture::engine(), &answer));
    assert_eq!(document["healthy"], 0.1);
    assert_eq!(document["pairs_dropped_mass"], 0.001);
    assert_eq!(document["groups"][0]["id"], "measurement");
    assert_eq!(document["seats"][0]["id"], "fit");
    let first = &document["causes"][0];
    for (key, value) in [
        ("id", json!("fit-shallow")),
        ("place", json!("2")),
        ("cylinder", json!(2)),
        ("cylinders", json!([2])),
        ("group", json!("installation")),
        ("top_group", json!("measurement")),
        ("seat", json!("fit")),
        ("probability", json!(0.6)),
    ] {
        assert_eq!(first[key], value, "{key}");
    }
    let pair = &document["causes"][1];
    assert_eq!(pair["place"], "1-4");
    assert_eq!(pair["cylinder"], Value::Null);
    assert_eq!(pair["cylinders"], json!([1, 4]));
    assert_eq!(document["causes"][2]["id"], "unlisted");
    assert_eq!(document["causes"][2]["group"], Value::Null);
}

#[test]
fn the_advice_and_its_alternatives_have_one_shape() {
    let knowledge = fixture::knowledge();
    let test = knowledge.test("swap-probe").expect("there");
    let a_choice = |step| Choice {
        step,
        cost: Cost { hands_on: 25.0, wait: 20.0, parts: 5.0 },
        total: 35.0,
        expected_total: 60.0,
        expected_hands_on: 40.0,
        lower_bound: 50.0,
        branches: vec![Branch {
            id: "moved".to_owned(),
            text: "it moved".to_owned(),
            partner: false,
            probability: 0.7,
            leads: Some((at(3, Place::Cylinder(2)), 0.9)),
            then: Some(Step::Remedy(at(3, Place::Cylinder(2)))),
        }],
        cautions: vec![0],
        before: None,
        why: vec!["it is cheap".to_owned()],
    };
    let readings = Step::Readings { at: fixture::at(Regime::Idle), site: ProbeSite::Exhaust };
    let plan = Advice {
        standing: Standing::Test,
        sound: 0.25,
        best: a_choice(Step::Test { test, cylinder: Some(2), partner: Some(3), at: None }),
        alternatives: [
            readings,
            Step::Remedy(at(0, Place::Pair(1, 4))),
            Step::Verify { at: fixture::at(Regime::Idle) },
            Step::End(JobEnd::Normal),
        ]
        .map(a_choice)
        .to_vec(),
        guards: Vec::new(),
        lower_bound: 48.0,
        holds: true,
        leans: Vec::new(),
        in_time: None,
    };
    let timeline = facts::job::read::read(&knowledge, &fixture::journal());
    let of = Of { knowledge: &knowledge, timeline: &timeline, job: "my van" };
    let document = json!(advice(of, &plan));
    for (key, value) in [
        ("kind", json!("test")),
        ("id", json!("swap-probe")),
        ("cylinder", json!(2)),
        ("partner", json!(3)),
        ("expected_total", json!(60.0)),
        ("expected_hands_on_min", json!(40.0)),
        ("lower_bound", json!(48.0)),
        ("gap", json!(0.25)),
        ("cautions", json!(["It is hot"])),
        ("why", json!(["it is cheap"])),
        ("cost", json!({"hands_on_min": 25.0, "wait_min": 20.0, "parts": 5.0, "total": 35.0})),
    ] {
        assert_eq!(document[key], value, "{key}");
    }
    let outcome = &document["outcomes"][0];
    assert_eq!(outcome["id"], "moved");
    assert_eq!(outcome["probability"], 0.7);
    assert_eq!(outcome["then"]["kind"], "remedy");
    assert_eq!(outcome["then"]["id"], "probe-drift");
    let others = document["alternatives"].as_array().expect("a list");
    let brief: Vec<_> = others
        .iter()
        .map(|o| (o["kind"].clone(), o["id"].clone(), o["cylinder"].clone()))
        .collect();
    assert_eq!(
        brief,
        [
            (json!("readings"), json!("idle"), Value::Null),
            (json!("remedy"), json!("coil-weak"), Value::Null),
            (json!("verify"), json!("verify"), Value::Null),
            (json!("stop"), json!("stop"), Value::Null),
        ]
    );
    assert_eq!(others[1]["cylinders"], json!([1, 4]));
    assert_eq!(document["type"], json!([["exchange", "my van", "probe", "2", "3"]]));
    let typed: Vec<_> = others.iter().map(|o| o["type"].clone()).collect();
    let readings = json!(["temps", "my van", "--at", "idle", "T1", "T2", "T3", "T4"]);
    assert_eq!(
        typed,
        [
            json!([readings]),
            json!([["remedy", "my van", "coil-weak@1-4"]]),
            json!([readings, ["verify", "my van"]]),
            json!([["record", "my van"], ["close", "my van"]]),
        ]
    );
    let needed = keys(&others[0]);
    assert!(needed.iter().all(|key| keys(&document).contains(key)));
}
