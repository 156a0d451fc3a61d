//! A vehicle's record, warning limits and balance from outside.

use serde_json::json;

use crate::bench::Bench;

/// A job of a healthy engine, closed as normal.
fn healthy(bench: &Bench, name: &str, day: &str, readings: &str) {
    let at = |line: &str| {
        let args: Vec<&str> = line.split_whitespace().collect();
        let now = format!("{day}T08:00:00Z");
        bench.bare(&[&args[..], &["--jobs", "jobs", "--now", &now]].concat()).succeeds();
    };
    at(&format!("open {name} --cylinders 4 --ignition wasted-spark --vehicle Barge --state warm"));
    at(&format!("temps {name} --at idle {readings}"));
    // Normal is what is level at every point that is safely read.
    let warmer: Vec<String> = readings
        .split_whitespace()
        .map(|t| (t.parse::<i32>().expect("a number") + 210).to_string())
        .collect();
    at(&format!("temps {name} --at cruise {}", warmer.join(" ")));
    at(&format!("record {name}"));
    at(&format!("close {name}"));
}

#[test]
fn a_job_of_a_known_vehicle_carries_its_history_and_undo_takes_it_out() {
    let bench = Bench::new();
    healthy(&bench, "one", "2026-01-05", "410 400 398 395");
    healthy(&bench, "two", "2026-02-05", "411 399 398 396");
    let opened = bench.run(
        "open three --cylinders 4 --ignition wasted-spark --vehicle barge --state warm --json",
    );
    let opened = opened.document(0);
    let note = opened["notes"].to_string();
    assert!(note.contains("2 earlier jobs of this vehicle"), "{note}");
    let text = Bench::read(&bench.job("three"));
    assert!(text.contains("format: 3") && text.contains("History("), "{text}");
    let vehicle = bench.run("vehicle BARGE --json").document(0);
    assert_eq!(vehicle["visits"].as_array().map(Vec::len), Some(3));
    assert_eq!(vehicle["visits"][2]["left_out"], json!("the job is still open"));
    assert_eq!(vehicle["usual"][0]["visits"], json!([2, 2, 2, 2]));
    bench.run("undo three").succeeds();
    let card = bench.run("card three");
    assert!(!card.out.contains("History of the vehicle"), "{}", card.out);
    bench.run("vehicle bargee").fails(
        2,
        "error: no job is of a vehicle `bargee`\n\
         hint: did you mean `barge`?\n\
         hint: `oddpot jobs` lists them; `oddpot open JOB --vehicle TEXT` names one\n",
    );
}

#[test]
fn limits_wait_for_a_good_end_and_are_harmless_as_a_table() {
    let bench = Bench::new();
    bench.run("open van --cylinders 4 --vehicle =1+1 --state warm").succeeds();
    bench.run("temps van --at cruise 620 618 540 619").succeeds();
    let refused = bench.run("limits van");
    assert_eq!((refused.status, refused.out.as_str()), (1, ""));
    assert!(refused.err.contains("neither verified nor recorded"), "{}", refused.err);
    healthy(&bench, "well", "2026-01-05", "410 400 398 395");
    let table = bench.run("limits well --csv -");
    table.succeeds();
    let lines: Vec<&str> = table.out.lines().collect();
    assert_eq!(lines.len(), 9, "{}", table.out);
    assert!(lines[0].starts_with("job,vehicle,display,channel,probes,point,usual_c,low_c,high_c"));
    let found = bench.run("limits well --builder-limit 900C --set --json").document(0);
    assert_eq!(found["builder_limit"], json!(900.0));
    for row in found["limits"].as_array().expect("rows") {
        assert!(row["false_alarms_per_hour"].as_f64().expect("a rate") <= 1e-3, "{row}");
    }
    // The table ends its lines as tables do, on standard output too.
    assert!(table.out.ends_with("\r\n") && !table.out.contains('\u{fffd}'), "{:?}", table.out);
    assert!(bench.run("card well").out.contains("Warning limits"));
    assert_eq!(bench.run("limits well --once-in 0").status, 2);
}

#[test]
fn limits_that_were_set_stand_whatever_is_read_later() {
    let bench = Bench::new();
    healthy(&bench, "well", "2026-01-05", "410 400 398 395");
    bench.run("limits well --once-in 500 --set").succeeds();
    let set = |card: String| {
        let from = card.find("Warning limits, ").expect("limits are on the card");
        let all = &card[from..];
        all[..all.find("Usual:").expect("what they mean")].to_owned()
    };
    let before = set(bench.run("card well").out);
    bench.run("reopen well").succeeds();
    bench.run("temps well --at idle 430 400 398 375").succeeds();
    bench.run("temps well --at cruise 640 620 618 615").succeeds();
    assert_eq!(set(bench.run("card well").out), before);
    assert!(bench.run("limits well").out.contains("steady cruise"));
}

#[test]
fn nothing_is_entered_where_there_are_no_limits() {
    let bench = Bench::new();
    healthy(&bench, "van", "2026-01-05", "410 400 398 395");
    bench.run("reopen van").succeeds();
    bench.run("temps van --at cruise 620 open 621 619").succeeds();
    let refused = bench.run("limits van --set");
    assert_eq!((refused.status, refused.out.as_str()), (1, ""));
    assert!(refused.err.contains("display 2 showed no steady number"), "{}", refused.err);
    let entries = bench.run("journal van --json").document(0)["entries"].as_array().map(Vec::len);
    assert_eq!(entries, Some(6));
}

#[test]
fn a_likely_comeback_is_named_before_the_work_is_done_again() {
    let bench = Bench::new();
    let open = |name: &str, day: &str| {
        let line = format!("open {name} --engine inline-six-port --vehicle barge --state warm");
        let now = format!("{day}T08:00:00Z");
        let args: Vec<&str> = line.split_whitespace().collect();
        bench.bare(&[&args[..], &["--jobs", "jobs", "--now", &now]].concat())
    };
    open("one", "2026-01-05").succeeds();
    bench.run("temps one --at idle 200 200 320 200 201 199").succeeds();
    bench.run("found one look-fit deeper --cylinder 3").succeeds();
    assert_eq!(bench.run("remedy one fit-deep@3").status, 0);
    bench.run("temps one --at idle 200 201 199 200 201 199").succeeds();
    bench.run("temps one --at cruise 450 452 449 451 453 448").succeeds();
    bench.run("close one").succeeds();
    let opened = open("two", "2026-02-05");
    assert!(
        opened.err.contains("probe too deep, cylinder 3 was remedied (proven"),
        "{}",
        opened.err
    );
    bench.run("temps two --at idle 200 200 320 200 201 199").succeeds();
    let page = bench.run("suspects two").out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("If it is probe too deep, cylinder 3, it is a comeback"), "{page}");
    assert!(page.contains("in job one (proven) (the same place)"), "{page}");
}

#[test]
fn a_balance_says_why_not_and_enters_nothing() {
    let bench = Bench::with_van();
    bench.run("temps van --at cruise 620 560 621 619").succeeds();
    let page = bench.run("balance van");
    assert_eq!((page.status, page.err.as_str()), (1, ""));
    assert!(page.out.contains("Nothing is trimmed now"), "{}", page.out);
    let refused = bench.run("balance van --trim 2=2");
    assert_eq!((refused.status, refused.out.as_str()), (1, ""));
    assert!(refused.err.starts_with("error: nothing is trimmed now"), "{}", refused.err);
    assert_eq!(bench.run("balance van --trim two").status, 2);
    assert_eq!(bench.run("balance van --sign 2=wet --by plug").status, 2);
    assert_eq!(bench.run("balance van --back").status, 2);
    let entries = bench.run("journal van --json").document(0)["entries"].as_array().map(Vec::len);
    assert_eq!(entries, Some(1));
}
