//! Entries put right, and what cannot be done.

use super::bench::{Workshop, opened};

#[test]
fn an_earlier_set_is_put_right_in_its_place() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter readings\nsteady cruise\n450 451 570 450 452 449\nMore\nCorrect an entry\n1: \n\n\
           200 200 230 200 201 199\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well().shows(&[
        "Saved as entry 3 in the place of entry 1: readings at warm idle: 200, 200, 230, 200, 201, 199",
    ]);
    let journal = workshop.jobs["old-boat"].borrow().clone();
    assert_eq!(journal.entries[2].instead, Some(1));
    let standing: Vec<&str> =
        journal.standing().into_iter().map(|(_, entry)| entry.typed.as_str()).collect();
    assert_eq!(
        standing,
        ["temps --at idle 200 200 230 200 201 199", "temps --at cruise 450 451 570 450 452 449"]
    );
}

#[test]
fn an_exchange_put_right_is_the_other_exchange_and_asks_for_nothing_more() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter a part\ntwo of a kind\nprobes\ncylinder 3\ncylinder 1\nnothing yet\nMore\n\
           Correct an entry\n2: \ncylinder 3\ncylinder 2\nUndo\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well().shows(&["in the place of entry 2", "undone: entry 3"]);
    let journal = workshop.jobs["old-boat"].borrow().clone();
    assert_eq!(
        journal.standing().last().map(|(_, e)| e.typed.as_str()),
        Some("exchange probe 3 1")
    );
}

#[test]
fn what_can_never_be_done_is_kept_for_all_jobs() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter a test of my own\nLook at depth\n\nDone\n(never in this\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well().shows(&["Kept for all jobs in the list."]);
    assert_eq!(workshop.never, ["look-fit"]);
    assert_eq!(workshop.typed("old-boat")[1..], ["found look-fit cannot"]);
}

#[test]
fn a_set_typed_twice_is_noticed() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter readings\nwarm idle\n200 200 320 200 201 199\nPut it away";
    workshop.session("04", &answers).went_well().shows(&["exactly that of entry 1"]);
}
