//! The list of jobs, and what can be asked about one.

use super::bench::{Workshop, opened};

#[test]
fn a_second_job_gets_a_name_of_its_own() {
    let mut workshop = Workshop::new();
    workshop.session("04", &(opened("", "200 200 320 200 201 199") + "Put it away")).went_well();
    let again = format!(
        "Start a new job\n{}More\nAnother job\nold-boat (open, last entry 2026-05-04\n\nPut it away",
        opened("", "200 200 320 200 201 199")
    );
    let session = workshop.session("05", &again);
    session.went_well().shows(&["kept as `old-boat-2`", "Old boat: pot 3 reads high."]);
    assert!(session.ended.said.contains("`old-boat`"), "{}", session.ended.said);
}

#[test]
fn every_why_has_an_answer() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "Why?\nNext:\nProbe too deep, cylinder 3\nWhat is held back\n<esc>\nPut it away";
    workshop.session("04", &answers).went_well().shows(&[
        "Worth:",
        "Why: probe too deep, cylinder 3",
        "Entry by entry",
        "Prove the number first: the sensor side is at",
    ]);
}

#[test]
fn an_alternative_is_shown_before_it_is_entered() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "Do something else\n<esc>\nDo something else\n\nBack\n<esc>\nPut it away";
    workshop.session("04", &answers).went_well().shows(&[
        "Do something else",
        "Instead, hands-on",
        "Takes:",
    ]);
    assert_eq!(workshop.typed("old-boat").len(), 1);
}
