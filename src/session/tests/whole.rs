//! Sessions from the first question to the last, as they look.

use super::bench::{Workshop, opened};

#[test]
fn a_probe_too_deep_from_complaint_to_card() {
    let mut workshop = Workshop::new();
    let answers = opened("New probes or bosses", "200 200 320 200 201 199")
        + "Enter a test of my own\nLook at depth marks\ncylinder 3\nDone\nSits deeper\n\
           Enter a remedy\nProbe too deep, cylinder 3\nyes\n201 199 203 200 201 198\nTake the readings\n452 449 455 450 451 447\n\
           Close the job\n\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well();
    assert_eq!(
        workshop.typed("old-boat"),
        [
            "temps --at idle 200 200 320 200 201 199",
            "found look-fit deeper --cylinder 3",
            "remedy fit-deep@3",
            "temps --at idle 201 199 203 200 201 198",
            "temps --at cruise 452 449 455 450 451 447",
            "close",
        ]
    );
    assert!(workshop.pages["old-boat-card.pdf"].starts_with("Job card"));
    insta::assert_snapshot!("depth_fault", session.transcript);
}

#[test]
fn a_healthy_engine_is_written_down_and_left_alone() {
    let mut workshop = Workshop::new();
    // In words of his own, so that the question what it is about is asked, and left empty.
    let said = "pot 3 reads high, he says\nSix in line, port\n\n";
    let answers = opened("", "201 196 207 199 203 198")
        .replace("pot 3 reads high\nSix in line, port\n", said)
        + "Enter readings\nsteady cruise\n455 448 462 451 457 449\n\
           Enter a test of my own\nLook at depth marks\ncylinder 3\nDone\nAll alike\n\
           Enter a test of my own\nTug and tap\ncylinder 3\nDone\nNothing changes\n\
           Write it down as normal\nyes\n<esc>\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well();
    let typed = workshop.typed("old-boat");
    assert_eq!(typed[4..], ["record", "close"]);
    insta::assert_snapshot!("healthy", session.transcript);
}

#[test]
fn yesterdays_job_goes_on_where_it_stopped() {
    let mut workshop = Workshop::new();
    // The terminal is lost in the middle of an exchange: what was done is kept.
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter a part\ntwo of a kind\nleads, at the display box\ndisplay 3\ndisplay 1";
    let first = workshop.session("04", &answers);
    assert!(first.ended.said.contains("kept with 2 entries"), "{}", first.ended.said);
    assert!(first.ended.said.contains("type `oddpot`"), "{}", first.ended.said);
    let second = workshop.session(
        "05",
        "old-boat\ncold soaked\nMore\nWhere everything is\nno\nEnter readings\nwarm idle\n\
         321 201 199 200 202 198\nMore\nWhere everything is\nyes\n<ctrl-c>",
    );
    second.went_well().shows(&[
        "old-boat (open, last entry 2026-05-04 08:30 UTC): pot 3 reads high",
        "Last entry, 2: exchanged the leads of displays 3 and 1 at the box.",
        "Saved as entry 3: engine is cold soaked.",
        "Box end of lead 3 is now at display 1.",
        "To put everything back:",
        "Saved as entry 4",
        "Saved as entry 5: exchanged the leads of displays 3 and 1 at the box.",
    ]);
    assert!(second.ended.said.contains("kept with 5 entries"), "{}", second.ended.said);
}

#[test]
fn depths_measured_all_round_find_the_one_that_differs() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "More\nProbe-fit sheet\nDepths past\n14 14 2o 14 14 14\n14 14 25 14 14 14\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well().shows(&[
        "`2o`: expected millimetres, as `20` or `20,5`. Correct the line",
        "Saved as entry 2: depths past the inner wall: 14, 14, 25, 14, 14, 14 mm.",
        "the probe of cylinder 3 sits 11.0 mm deeper than the others",
        "Probe too deep, cylinder 3 (9",
        "Next: at cylinder 3, set the probe to the same measured depth as the others",
    ]);
    assert_eq!(workshop.typed("old-boat")[1], "fit --depths 14 14 25 14 14 14");
}

#[test]
fn readings_are_taken_from_a_log() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter readings\nthey were logged\ndrvie.csv\ndrive.csv\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well().shows(&[
        "Could not read drvie.csv: it is not there. Correct the line",
        "A note on the file.",
        "Saved as entry 2: readings at warm idle: 200",
        "Saved as entry 3: readings at steady cruise: 450",
    ]);
    assert_eq!(workshop.typed("old-boat")[1], "temps --from drive.csv --at idle --window 1");
}

#[test]
fn an_undo_takes_the_last_entry_back_and_the_suspects_with_it() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter a test of my own\nLook at depth marks\ncylinder 3\nDone\nSits deeper\n\
           Undo the last entry\nUndo the last entry\nMore\nJournal\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well().shows(&[
        "Saved as entry 2: look at depth marks",
        ", was ",
        "Saved as entry 3: undone: entry 2: look at depth marks",
        ", was ",
        "Saved as entry 4: undone: entry 1: readings at warm idle",
        "Nothing has been read or found yet",
        "taken back",
    ]);
    assert!(workshop.jobs["old-boat"].borrow().standing().is_empty());
}

#[test]
fn a_verdict_in_words_and_a_part_renewed() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter a part\ntwo of a kind\nleads, at the probes\ncylinder 3\ncylinder 2\nin words\n\
           odd reading moved\nEnter a part\nreplaced by a known good\nlead: a known good\ncylinder 2\n\
           nothing yet\nPut it away";
    workshop.session("04", &answers).went_well();
    assert_eq!(
        workshop.typed("old-boat")[1..],
        [
            "exchange lead-at-probe 3 2",
            "found swap-at-probe moved --cylinder 3 --partner 2",
            "remake lead-at-probe 2 --new",
        ]
    );
}
