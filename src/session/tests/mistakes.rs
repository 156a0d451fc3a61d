//! Wrong input, keys that go back, a disk that is full: nothing is lost by any of them.

use super::bench::{Workshop, opened};
use measure::units::Scale;

#[test]
fn readings_that_do_not_fit_are_asked_for_again() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200")
        + "\n200 200 hot 200 201 199\n200 200 3200 200 201 199\n200,200,320,200,201,199\n\
           200 200 320,5 open 201 199..240\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well().shows(&[
        "! 4 readings given, this engine has 6 cylinders: one per display, in order. Correct",
        "! Nothing was given: type 6 values",
        "! `hot` is not a reading: expected a number",
        "! `3200`: 3200 °C cannot be right here",
        "separate readings with spaces",
        "Saved as entry 1: readings at warm idle: 200, 200, 320, open, 201, 199..240 °C.",
    ]);
    assert_eq!(workshop.typed("old-boat").len(), 1);
}

#[test]
fn hot_readings_at_cold_soak_are_questioned() {
    let mut workshop = Workshop::new();
    let answers = "Old boat\n\nSix in line, port\n\ncold soak\n80 81 80 82 80 81\nno\n\
                   warm idle\n200 201 199 200 202 198\nPut it away";
    workshop.session("04", answers).went_well().shows(&["Is it really cold soaked?"]);
    assert_eq!(workshop.typed("old-boat"), ["temps --at idle 200 201 199 200 202 198"]);
}

#[test]
fn esc_goes_one_question_back_and_what_was_typed_stands() {
    let mut workshop = Workshop::new();
    let answers = "Old boat\npot 3 reads high\n<esc>\npot 2 reads high\nNone of these\n1\n17\n3\n\
                   petrol, an injector\ncoil for each\n<esc>\n\n<esc>\nwasted\n";
    let session = workshop.session("04", answers);
    // A three has no wasted spark, so the script's answer is wrong and nothing was opened.
    let wrong = session.ended.wrong.as_deref().expect("wrong");
    assert!(wrong.contains("line 14") && wrong.contains("What makes the spark?"), "{wrong}");
    session.shows(&[
        "? What is the complaint? pot 3 reads high",
        "(back)",
        "? What is the complaint? pot 2 reads high",
        "! `1` is no number from 2 to 16",
        "! `17` is no number from 2 to 16",
    ]);
    assert!(workshop.jobs.is_empty());
    assert!(session.ended.said.contains("nothing is kept"), "{}", session.ended.said);
}

#[test]
fn a_described_engine_is_the_one_described() {
    let mut workshop = Workshop::new();
    let answers = "Twin\n\nNone of these\n2\nin a V\ncarburettor\ndistributor\ncommon\nno\nair\n\
                   on the head\ntype J\na fixed collar\nno\nyes\n\n<esc>\ncold, but\n<ctrl-c>";
    workshop.session("04", answers).went_well();
    let journal = workshop.jobs["twin"].borrow().clone();
    let engine = journal.head.engine;
    assert_eq!(
        (engine.cylinders, engine.banks.len(), engine.probe_type.as_str(), engine.depth.as_str()),
        (2, 2, "J", "travels")
    );
    assert_eq!((engine.fuel.as_str(), engine.cooling.as_str()), ("carburettor", "air"));
    // Nothing was read, so how warm it is was asked.
    assert_eq!(workshop.typed("twin"), ["state cold"]);
}

#[test]
fn what_a_full_disk_refuses_is_said_and_all_before_it_is_safe() {
    let mut workshop = Workshop::new();
    workshop.room.set(1);
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter readings\nsteady cruise\n450 451 570 450 452 449\nTry again\nLeave this\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well().shows(&["! Could not write the job: no space left; this was not entered"]);
    assert_eq!(workshop.typed("old-boat").len(), 1);
    assert!(session.ended.said.contains("kept with 1 entry"), "{}", session.ended.said);
}

#[test]
fn what_a_full_disk_refuses_can_be_kept_elsewhere() {
    let mut workshop = Workshop::new();
    workshop.room.set(1);
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter readings\nsteady cruise\n450 451 570 450 452 449\nKeep the whole\n"
        + "/stick/boat.ron\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well().shows(&[
        "The whole job is kept in /stick/boat.ron; this session goes on there.",
        "Saved as entry 2: readings at steady cruise",
    ]);
    // Nothing is taken from where it was, nothing is missing where it is now.
    assert_eq!(workshop.typed("old-boat").len(), 1);
    assert_eq!(workshop.typed("/stick/boat.ron").len(), 2);
    let said = &session.ended.said;
    assert!(said.contains("/stick/boat.ron` is kept with 2 entries"), "{said}");
}

#[test]
fn load_waits_for_a_word_that_it_is_safe() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter readings\nfull load\nno\nfull load\nyes\n\n690 691 812 690 692 689\nPut it away";
    workshop.session("04", &answers).went_well().shows(&["nothing is run at full load"]);
    assert_eq!(
        workshop.typed("old-boat")[1..],
        ["confirm-load", "temps --at full 690 691 812 690 692 689"]
    );
}

#[test]
fn a_look_comes_before_the_remedy_that_would_hide_it() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter a remedy\nProbe too deep, cylinder 3\nyes\nSits deeper\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well().shows(&["wipes out evidence: first", "Enter that look first?"]);
    assert_eq!(workshop.typed("old-boat")[1..], ["found look-fit deeper --cylinder 3"]);
}

#[test]
fn fahrenheit_is_read_shown_and_kept_as_typed() {
    let mut workshop = Workshop::new();
    workshop.scale = Some(Scale::Fahrenheit);
    let answers = opened("", "392 392 608 392 394 200C") + "Put it away";
    workshop.session("04", &answers).went_well().shows(&[
        "Displays 1 to 6 at warm idle, °F:",
        "Saved as entry 1: readings at warm idle: 392, 392, 608, 392, 394, 392 °F.",
    ]);
    assert_eq!(workshop.typed("old-boat"), ["temps --at idle --units f 392 392 608 392 394 200C"]);
}

#[test]
fn a_file_that_is_there_is_not_lost() {
    let mut workshop = Workshop::new();
    workshop.pages.insert("sheet.txt".to_owned(), "precious".to_owned());
    let answers = opened("", "200 200 320 200 201 199")
        + "More\nWrite the handover\nsheet.txt\nno\nother.txt\nPut it away";
    workshop.session("04", &answers).went_well().shows(&["! Choose another name.", "other.txt"]);
    assert_eq!(workshop.pages["sheet.txt"], "precious");
    assert!(workshop.pages["other.txt"].starts_with("Handover sheet"));
}

#[test]
fn closing_without_proof_says_what_is_missing() {
    let mut workshop = Workshop::new();
    let answers = opened("", "200 200 320 200 201 199")
        + "More\nClose the job\nno\nMore\nClose the job\nyes\n<esc>\nOpen the job again\nPut it away";
    let session = workshop.session("04", &answers);
    session.went_well().shows(&["! Missing: no remedy has been entered yet", "not proven"]);
    assert_eq!(workshop.typed("old-boat")[1..], ["close --unproven", "reopen"]);
}

#[test]
fn esc_leads_out_of_every_question_about_parts() {
    let mut workshop = Workshop::new();
    // Back from the second place to the first, to the item, to what was done, to the main list.
    let answers = opened("", "200 200 320 200 201 199")
        + "Enter a part\ntwo of a kind\nprobes\ncylinder 3\n<esc>\n<esc>\n<esc>\n<esc>\nPut it away";
    workshop.session("04", &answers).went_well();
    // The odd one is known of a test of one's own; what it is exchanged with can be left open.
    let answers = "old-boat\nwarm\nEnter a test of my own\nExchange this plug\n\nDone\n<esc>\n\
                   <esc>\n<esc>\nPut it away";
    let session = workshop.session("05", answers);
    assert_eq!(session.ended.wrong, None, "{}", session.transcript);
    assert_eq!(workshop.typed("old-boat").len(), 1);
}

#[test]
fn the_complaint_is_asked_for_once_and_the_builders_limit_before_full_load() {
    let mut workshop = Workshop::new();
    // Words that say which, where and what are taken; others leave a question.
    let answers = "Old boat\nnumber 3, now and then, high on hills\nSix in line, port\n9 full high\n3 full load high\n\n\
                   full load\nyes\nhot\n870C\n690 691 712 690 692 689\nEnter readings\nfull load\n\
                   690 691 713 690 692 689\nPut it away";
    workshop.session("04", answers).went_well().shows(&[
        "! Cylinder 9 does not exist: this engine has 1 to 6. Correct the line",
        "The builder's limit, °C?",
        "! `hot` is not a reading",
        "Saved as entry 2",
        "Saved as entry 3: readings at full load",
        "Saved as entry 4: readings at full load",
    ]);
    let journal = workshop.jobs["old-boat"].borrow().clone();
    assert_eq!(journal.head.details.cylinder, Some(3));
    assert!(
        journal
            .head
            .typed
            .ends_with("--complaint-at full --complaint-cylinder 3 --complaint-does high")
    );
    assert_eq!(workshop.typed("old-boat")[1], "limits --builder-limit 870C");
}

#[test]
fn a_complaint_in_plain_words_is_taken_as_it_was_said_and_the_way_back_leads_to_it() {
    let mut workshop = Workshop::new();
    let answers = "Old boat\ncylinder 9 reads low at idle\nSix in line, port\n<esc>\n<esc>\n\
                   cylinder 4 reads low at idle\nSix in line, port\n\nwarm idle\n\
                   200 200 199 140 201 199\nPut it away";
    workshop.session("04", answers).went_well().shows(&[
        // A cylinder that is not there is asked about.
        "Which cylinder, at which point, what does it do? (back)",
        "Taken as: display 4, at warm idle, reads low.",
    ]);
    let details = workshop.jobs["old-boat"].borrow().head.details.clone();
    assert_eq!((details.cylinder, details.at.is_some()), (Some(4), true));
}

#[test]
fn an_engine_of_the_list_is_changed_on_the_way_back() {
    let mut workshop = Workshop::new();
    let answers = "Old boat\n\nSix in line, port\n<esc>\nThe one just named\n\n\n\nwasted\n\n\n\n\n\n\n\n\nyes\n\n<ctrl-c>";
    let session = workshop.session("04", answers);
    let kept = workshop.jobs.get("old-boat").unwrap_or_else(|| panic!("{}", session.transcript));
    let engine = kept.borrow().head.engine.clone();
    assert_eq!((engine.cylinders, engine.ignition.as_str()), (6, "wasted-spark"));
}

#[test]
fn the_scale_of_a_job_goes_on_with_it() {
    let mut workshop = Workshop { scale: Some(Scale::Fahrenheit), ..Workshop::new() };
    let first = workshop.session("04", &(opened("", "392 392 608 392 393 390") + "Put it away"));
    first.went_well();
    workshop.scale = None;
    let second = workshop.session(
        "05",
        "old-boat\nwarm\nEnter readings\nwarm idle\n392 393 607 391 393 391\nPut it away",
    );
    second.went_well().shows(&["392, 393, 607, 391, 393, 391 °F"]);
}

#[test]
fn a_look_that_the_advice_asks_for_is_asked_for_beside_a_remedy_of_ones_own_choice() {
    let mut workshop = Workshop::new();
    // The mark says so, but is not enough to prove it: the depth can be measured only before it is set.
    let answers = "Grey car\n\nFour in line, port\n\nsteady cruise\n652 648 628 650\n\
                   Enter readings\nwarm idle\n440 437 416 439\n\
                   Enter a test of my own\nLook at depth marks\ncylinder 3\nDone\nSits shallower\n\
                   Enter a remedy\nProbe not in far enough, cylinder 3\nyes\nWithin 2 mm\nPut it away";
    let session = workshop.session("04", answers);
    session.went_well().shows(&[
        "The remedy wipes out evidence: first pull the probe and measure its depth.",
        "Enter that look first?",
    ]);
    let last = workshop.typed("grey-car").last().cloned().unwrap_or_default();
    assert!(last.starts_with("found ") && last.ends_with("--cylinder 3"), "{last}");
}
