//! A session on an engine that is well: balance and limits under the rules of the commands.

use super::bench::Workshop;

/// A launch with a trim for each cylinder, read at two points and written down as normal; display 2 low.
const WELL: &str = "\
Hire launch
service
Five in line, port injection, turbo


warm idle
403 392 399 398 400
Enter readings
steady cruise
624 605 619 618 620
Enter readings
steady cruise
625 606 620 617 620
Write it down
<esc>
";

#[test]
fn a_balance_goes_by_the_rules_of_the_command() {
    let mut workshop = Workshop::new();
    let before = WELL.replace("Write it down\n<esc>\n", "");
    let answers = format!(
        "{before}More: where\nBalance and limits\nGo on with the job\nWrite it down\n<esc>\n\
         Put it away for today"
    );
    let session = workshop.session("02", &answers);
    session
        .went_well()
        .shows(&["Nothing is trimmed now", "The job is neither verified nor recorded as normal."]);
}

#[test]
fn readings_of_a_balance_are_compared_and_trims_are_put_back() {
    let mut workshop = Workshop::new();
    // A first visit, so that the second has a history of its own.
    workshop.session("02", &format!("{WELL}Close the\nyes\nno\nPut it away")).went_well();
    let answers = format!(
        "Start a new job\n{WELL}Balance mixtures\n\
         Enter another trim\ncylinder 2\nthree\n1\n\
         Enter an independent sign of cylinder 2\nLeaner\nplug colour\n\
         Enter another trim\ncylinder 2\n3\n\
         Enter another trim\ncylinder 2\n-1\n\
         Set: cylinder 2\nyes\n624 611 620 618 620\n\
         Look at another\nfull load\nno\n\
         Every trim was put back\n\
         Go on with the job\nMore: where\nJournal\nPut it away for today"
    );
    let session = workshop.session("20", &answers);
    session.went_well().shows(&[
        "Compared with its own history: 1 earlier job, on the card.",
        "Display 2 is off: look for a sign",
        "Equal displays are not equal mixtures",
        "! `three` is no trim: type a number.",
        "! Cylinder 2 is not set to 1 % richer: there is no independent sign of its mixture yet",
        "Set cylinder 2 to 2 % richer, to measure what it does; expected at steady cruise:",
        "! Cylinder 2 is not set to 3 % richer: a step is at most 2 %",
        "! Cylinder 2 is not set to 1 % leaner: the first step is a richer one",
        "Was that set in the controller?",
        "Let it settle, then read all displays.",
        "as foreseen",
        "Saved as entry 9: ",
    ]);
    assert_eq!(session.transcript.matches("Equal displays are not equal").count(), 1);
    let typed = workshop.typed("hire-launch-2");
    assert_eq!(
        typed[5..],
        [
            "balance --sign 2=lean --by 'plug colour'",
            "balance --at cruise --trim 2=2",
            "temps --at cruise 624 611 620 618 620",
            "balance --back",
        ]
    );
}

#[test]
fn limits_are_set_with_the_builder_asked_and_a_table_written() {
    let mut workshop = Workshop::new();
    let answers = format!(
        "{WELL}Warning limits\nEnter the engine builder\nopen\n920\n\
         Rarer\nnever\n0\n2000\nAnother delay\n40\n\
         Write the table\n\nWrite the table\n\nno\nother.csv\n\
         They were set\nClose the\nyes\n\nWarning limits\nGo on\nPut it away"
    );
    let session = workshop.session("02", &answers);
    session.went_well().shows(&[
        "None is made up here",
        "! That is no temperature: type one number.",
        "Builder's limit: 920 °C for any display, at once",
        "! `never` is no number.",
        "! Limits: expected 1 to 1000000 hours",
        "Written to hire-launch-limits.csv.",
        "There is a `hire-launch-limits.csv`. Replace it?",
        "! Choose another name.",
        "Written to other.csv.",
        "Saved as entry 6: ",
    ]);
    assert_eq!(workshop.typed("hire-launch")[4], "limits --builder-limit 920");
    assert_eq!(workshop.typed("hire-launch")[5], "limits --once-in 2000 --delay 40 --set");
    let table = &workshop.pages["other.csv"];
    assert!(table.starts_with("job,vehicle,display,"), "{table}");
    assert_eq!(table.lines().count(), 11);
    assert!(workshop.pages["hire-launch-card.pdf"].contains("Warning limits, °C"));
}

#[test]
fn a_display_without_a_number_gets_no_limit_and_no_trim() {
    let mut workshop = Workshop::new();
    let answers = format!(
        "{}Enter readings\nsteady cruise\n624 open 620 617 620\nMore: where\nBalance and limits\n\
         Go on with the job\nPut it away",
        WELL.replace("Write it down\n<esc>\n", "")
    );
    workshop.session("02", &answers).went_well().shows(&["Display 2 shows no steady number."]);
    let answers = format!(
        "Start a new job\n{WELL}Enter readings\nsteady cruise\n624 open 620 617 620\n\
         Warning limits\nPut it away"
    );
    workshop.session("03", &answers).went_well().shows(&["! Display 2 showed no steady number"]);
}
