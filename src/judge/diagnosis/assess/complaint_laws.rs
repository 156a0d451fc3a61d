//! What is complained of stays what the job is about, whatever else is found.

use super::assess;
use crate::diagnosis::{CauseRef, Fault};
use facts::job::complaint::Does;
use facts::job::entry::{Entry, Reading, What};
use facts::job::read::read;
use facts::knowledge::embedded::embedded;
use facts::knowledge::load;
use fixture::{degrees, entry, journal, temps};
use measure::engine::{Place, Regime};
use measure::units::Celsius;

/// Probability of a fault at a cylinder where display 2 is complained of, high at cruise.
fn fault_at(cylinder: u8, entries: Vec<Entry>) -> f64 {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let mut journal = journal();
    journal.head.recent.clear();
    journal.head.details.cylinder = Some(2);
    journal.head.details.at = Some(Regime::Cruise.into());
    journal.head.details.does = Some(Does::High);
    journal.entries = entries;
    let answer = assess(&knowledge, &read(&knowledge, &journal));
    let here = |place: Place| place.cylinder() == Some(cylinder);
    let without = |faults: &[Fault]| {
        !faults.iter().any(|fault| here(fault.place) && !fault.cause.passes(&knowledge))
    };
    let hypotheses = answer.hypotheses.iter();
    1.0 - hypotheses.filter(|h| without(&h.faults)).map(|h| h.probability).sum::<f64>()
}

fn cruise() -> Entry {
    entry(temps("cruise", degrees(&[600.0, 656.0, 598.0, 604.0])))
}

fn idle(fourth: f64) -> Entry {
    entry(temps("idle", degrees(&[400.0, 416.0, 398.0, fourth])))
}

fn remedy(cause: &str) -> Entry {
    entry(What::Remedy { cause: cause.to_owned(), place: Place::Cylinder(4) })
}

#[test]
fn what_else_is_found_makes_no_complaint_natural() {
    let only = fault_at(2, vec![cruise(), idle(403.0), cruise()]);
    assert!(only > 0.5, "{only}");
    // Another display falls to nothing at idle, and is put right.
    let beside =
        vec![cruise(), idle(-15.0), idle(-15.0), remedy("probe-short"), idle(403.0), cruise()];
    let beside = fault_at(2, beside);
    assert!(beside > only - 0.1, "{beside} beside another, {only} alone");
    // What the other was no list has: it went when something else was exchanged.
    let swap = What::Exchange { item: facts::knowledge::Item::Plug, a: 4, b: 1 };
    let beside = vec![
        cruise(),
        idle(250.0),
        idle(252.0),
        remedy("plug-fouled"),
        idle(251.0),
        entry(swap),
        idle(403.0),
        cruise(),
    ];
    let beside = fault_at(2, beside);
    assert!(beside > only - 0.2, "{beside} beside what no list has, {only} alone");
}

/// What stands out more than what is complained of is wrong all the same: the complaint only says what it is not.
#[test]
fn what_stands_out_elsewhere_is_found_beside_a_complaint() {
    let open = |mut readings: Vec<Reading>| {
        readings[3] = Reading::Degrees(Celsius::new(20.0).expect("heat"));
        entry(temps("cruise", readings))
    };
    let entries = vec![open(degrees(&[600.0, 618.0, 598.0, 0.0])), idle(20.0)];
    let there = fault_at(4, entries);
    assert!(there > 0.9, "{there}");
}

/// What a second fault elsewhere is likely to be does not hang on what the first is complained for: a customer who
/// names the display that jumps has seen that one, and says nothing of the others.
#[test]
fn a_complaint_of_one_display_says_little_of_a_second_fault() {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let beside = |does: Option<Does>| {
        let mut journal = journal();
        journal.head.recent.clear();
        journal.head.details.cylinder = does.map(|_| 4);
        journal.head.details.does = does;
        let found = What::Found {
            test: "look-fit".to_owned(),
            outcome: "deeper".to_owned(),
            cylinder: Some(1),
            partner: None,
        };
        let level = degrees(&[636.0, 598.0, 601.0, 603.0]);
        journal.entries = vec![
            entry(temps("cruise", degrees(&[634.0, 598.0, 601.0, 435.0]))),
            remedy("plug-fouled"),
            entry(temps("cruise", level)),
            entry(found),
        ];
        let answer = assess(&knowledge, &read(&knowledge, &journal));
        let of = |id: &str, cylinder: u8| Fault {
            cause: CauseRef::Listed(knowledge.cause(id).expect("a cause")),
            place: Place::Cylinder(cylinder),
        };
        let (deep, fouled) = (of("fit-deep", 1), of("plug-fouled", 4));
        let share = |faults: &[Fault]| {
            let same = answer.hypotheses.iter().find(|h| h.faults == faults);
            same.expect("an explanation").probability
        };
        share(&[deep, fouled]) / share(&[fouled])
    };
    let (plain, jumps) = (beside(None), beside(Some(Does::Jumps)));
    assert!(jumps > 0.4 * plain, "{jumps} where the other jumps, {plain} where nothing is said");
}
