//! Commissioning asked step by step: whole, broken off, with a finding on the way.

use super::bench::Workshop;
use crate::session::Purpose;

fn workshop() -> Workshop {
    Workshop { purpose: Purpose::Commission, ..Workshop::new() }
}

/// A launch that nobody complains of, its probes just fitted; nothing is named at first.
const OPENED: &str = "# nothing is named at first

Hire launch
Five in line, port injection, turbo


cold soaked
";

const IDENTITY: &str = "Do it: which display
This display rises
This display rises
This display rises
This display rises
This display rises
";

#[test]
fn every_step_is_asked_in_its_order_and_the_sheet_is_written() {
    let mut workshop = workshop();
    let answers = format!(
        "{OPENED}{IDENTITY}\
         Do it: cold soak\n18 18.4 17.9 18.2\n18 18.4 17.9 18.2 18.1\nhot\n18.5\n\
         Leave it out, go on: warm idle\n403 398 401 398 400\n\
         Do it: steady cruise\n624 612 619 618 620\n\
         Do it: write it down\n\
         Do it: set warning limits\nThey were set\n\
         Do it: close\nyes\n<esc>\nyes\nlaunch.md\n\
         Put it away"
    );
    let session = workshop.session("02", &answers);
    session.went_well().shows(&[
        "An engine that is believed sound is gone through once",
        "! The record is found again by the vehicle's name: type one.",
        "The job is open and kept as `hire-launch`.",
        "Commissioning, next: which display is whose",
        "hot-air gun",
        "What did it show on cylinder 5?",
        "Commissioning, next: cold soak",
        "! 4 readings given",
        "! `hot` is not a reading",
        "Commissioning, next: how deep the probes sit",
        "0.5 °C apart of 6.0 °C allowed; 0.4 °C below the thermometer",
        "Commissioning, next: steady cruise",
        "how deep the probes sit (passed over)",
        "Commissioning, next: write it down as normal",
        "Commissioning, next: set warning limits",
        "Commissioning, next: close the job",
        "job closed, normal for this engine",
        "Written to launch.md.",
    ]);
    assert!(workshop.pages["launch.md"].contains("complete: later jobs"), "{:?}", workshop.pages);
    let typed = workshop.typed("hire-launch");
    assert_eq!(typed[0], "found polarity rises --cylinder 1");
    assert_eq!(
        typed[5..7],
        [
            "temps --at cold 18 18.4 17.9 18.2 18.1 --air 18.5",
            "temps --at idle 403 398 401 398 400",
        ]
    );
}

#[test]
fn broken_off_it_goes_on_where_it_was_and_undo_takes_the_last_step_back() {
    let mut workshop = workshop();
    let answers = format!("{OPENED}{IDENTITY}<esc>\nUndo\nPut it away for today");
    workshop.session("02", &answers).went_well().shows(&[
        "Commissioning, next: cold soak",
        "undone: entry 5",
        "Commissioning, next: which display is whose",
    ]);
    let again = "hire-launch\ncold soaked\nDo it: which display\nThis display rises\n\
                 Do it: cold soak\n<esc>\nSomething is wrong\nMore: where\nCommission this engine\n\
                 Put it away for today";
    workshop.session("03", again).went_well().shows(&[
        "Last entry, 4",
        "display 5 to do",
        "Commissioning, next: cold soak",
    ]);
}

#[test]
fn what_is_found_is_told_and_worked_on_as_in_any_other_job() {
    let mut workshop = workshop();
    let answers = format!(
        "{OPENED}Do it: which display\nAnother display rises\n2\n\
         Enter a remedy\nLeads of two cylinders crossed, cylinders 1 and 2\nyes\n<esc>\n\
         Do it: which display\nThis display rises\nThis display rises\nThis display rises\n\
         This display rises\nThis display rises\nPut it away for today"
    );
    let session = workshop.session("02", &answers);
    session.went_well().shows(&[
        "Commissioning stops: something was found",
        "Display 1 did not answer as its cylinder's: another display rises (entry 1).",
        "Leads of two cylinders crossed",
        "Commissioning, next: which display is whose",
        "Commissioning, next: cold soak",
    ]);
}
