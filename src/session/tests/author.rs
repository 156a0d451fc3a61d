//! Knowledge written question by question, read back by the loader.

use jiff::Timestamp;

use crate::session::author::{New, Shelves, Written, author};
use crate::session::{Asked, Medium, Purpose, Script, Settings, Stop};
use facts::knowledge::embedded::embedded;
use facts::knowledge::finding::any_error;
use facts::knowledge::{Knowledge, SourceText, load};
use measure::units::Scale;
use pages::report::{LocalTime, Style};

fn base() -> Knowledge {
    load(embedded(), &[]).0.expect("sound")
}

/// What a script of answers comes to, with the transcript.
fn written(knowledge: &Knowledge, new: New, answers: &str) -> (Asked<Written>, String) {
    let now = || Timestamp::UNIX_EPOCH;
    let settings = Settings {
        scale_said: false,
        scale: Scale::Celsius,
        width: 80,
        height: 20,
        style: Style::Plain,
        now: &now,
        local: &LocalTime::default(),
        again: "oddpot",
        purpose: Purpose::Complaint,
        medium: Medium::Terminal,
    };
    let parts = [("none".to_owned(), 0.0), ("small".to_owned(), 5.0)];
    let mut script = Script::new(answers);
    let shelves = Shelves { parts: &parts };
    let written = author(knowledge, new, shelves, &mut script, settings);
    assert!(written.is_err() || script.left() == 0, "answers are left:\n{}", script.transcript());
    // What was typed is as long as it is.
    for line in script.transcript().lines().filter(|line| !line.starts_with("? ")) {
        assert!(line.chars().count() <= 80, "too wide: {line}");
    }
    (written, script.transcript().to_owned())
}

/// The knowledge base with a text above it, which must be sound.
#[track_caller]
fn with(name: &str, text: &str) -> Knowledge {
    let (knowledge, findings) =
        load(embedded(), &[SourceText::new(name.to_owned(), text.to_owned())]);
    assert!(!any_error(&findings), "{findings:?}\n{text}");
    knowledge.expect("whole")
}

const CAUSE: &str = "\
Clamp on the runner loose

Fresh air is drawn in past the clamp and cools the probe.
Sensor side: fit of the probe
fit: 
one cylinder

zwölf
12
manifold-off + probes-new
2
3
its reading is off
pulled to the pipe's wall

-20 -8
-20 8
-35 15
-40 20
0.6
no
Tighten the clamp to its torque.
4 0
none
cool: + cold:
runner-visible
hot-exhaust
common practice
";

#[test]
fn a_cause_comes_out_as_it_was_answered() {
    let (written, transcript) = written(&base(), New::Cause, CAUSE);
    let written = written.expect("written");
    assert!(transcript.contains("! `zwölf` is no number: correct the line."), "{transcript}");
    assert!(transcript.contains("! A spread is not below 0: correct the line."), "{transcript}");
    assert_eq!(written.id, "clamp-on-the-runner");
    let knowledge = with("mine/causes/clamp.ron", &written.text);
    let cause = &knowledge.causes[knowledge.cause(&written.id).expect("there")];
    assert!((cause.weight - 12.0).abs() < 1e-12);
    assert_eq!(cause.recent.keys().collect::<Vec<_>>(), ["manifold-off", "probes-new"]);
    assert!(
        (cause.effects[0].exhaust.as_ref().expect("shifts").idle.expect("one").mean + 20.0).abs()
            < 1e-12
    );
    let remedy = cause.remedy.as_ref().expect("a remedy");
    assert_eq!(remedy.what, "Tighten the clamp to its torque.");
    assert!(written.text.starts_with("// A cause of this workshop's own"));
}

const TEST: &str = "\
Feel for a draught at the clamp
draught
look, listen
on one cylinder
idle:

gloves
2 0
none
Hold a wet finger beside the clamp, not on it.

hot-exhaust + rotating
A draught is felt.

Nothing is felt.


3 97
fit-leak
80 10
80 20

memory
";

#[test]
fn a_test_comes_out_with_its_table() {
    let (written, transcript) = written(&base(), New::Test, TEST);
    let written = written.expect("written");
    assert!(transcript.contains("! Together 90, where 100 (or 1) is wanted"), "{transcript}");
    assert_eq!(written.id, "draught");
    let knowledge = with("mine/tests/draught.ron", &written.text);
    let test = &knowledge.tests[knowledge.test("draught").expect("there")];
    let ids: Vec<&str> = test.outcomes.iter().map(|o| o.id.as_str()).collect();
    assert_eq!(ids, ["draught", "nothing"]);
    let row = &test.given[&knowledge.cause("fit-leak").expect("there")];
    assert!((row[0] - 0.8).abs() < 1e-9 && (test.default[1] - 0.97).abs() < 1e-9);
}

#[test]
fn an_engine_comes_out_as_it_was_described() {
    let answers = "Yard pump\n\n5\ndiesel\n\nno\ncoolant\n\n\n\nno\nyes\n";
    let (written, transcript) = written(&base(), New::Engine, answers);
    let written = written.unwrap_or_else(|stop| panic!("{stop:?}\n{transcript}"));
    let knowledge = with("mine/engines.ron", &written.text);
    let preset = knowledge.presets.iter().find(|p| p.id == "yard-pump").expect("there");
    assert_eq!((preset.engine.cylinders, preset.name.as_str()), (5, "Yard pump"));
}

#[test]
fn an_id_that_is_taken_is_asked_for_again_and_an_end_writes_nothing() {
    let (written, transcript) = written(&base(), New::Cause, "Probe\nfit-deep\nlook-fit\nA b\n");
    assert!(matches!(written, Err(Stop::Lost(_))));
    for said in ["! There is a cause `fit-deep` already", "! There is a test `look-fit` already"] {
        assert!(transcript.contains(said), "{transcript}");
    }
    assert!(transcript.contains("! `A b` is no id of small letters"), "{transcript}");
}
