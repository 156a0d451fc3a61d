//! Commissioning from outside: page, order, findings, the record and what a later job makes of it.

use serde_json::{Value, json};

use crate::bench::{Bench, Run};

/// Runs a line on a day of its own.
fn on(bench: &Bench, day: &str, line: &str) -> Run {
    let args: Vec<&str> = line.split_whitespace().collect();
    let now = format!("{day}T08:00:00Z");
    bench.bare(&[&args[..], &["--jobs", "jobs", "--now", &now]].concat())
}

const OPEN: &str = "--engine inline-four-port --vehicle Launch";

/// Everything a record asks for, closed: cylinder 3 of this invented engine reads 16 °C above its mates.
fn commissioned(bench: &Bench, day: &str) {
    let lines = [
        &format!("open new {OPEN} --recent probes-new --state cold-soaked"),
        "found new polarity rises --cylinder 1",
        "found new polarity rises --cylinder 2",
        "found new polarity rises --cylinder 3",
        "found new polarity rises --cylinder 4",
        "temps new --at cold 18.0 18.4 17.9 18.3 --air 18.5",
        "fit new --depths 20 20 20.5 20",
        "temps new --at idle 402 396 414 400",
        "temps new --at cruise 622 615 637 619",
        "record new",
        "limits new --set",
        "close new",
    ];
    for line in lines {
        on(bench, day, line).succeeds();
    }
}

#[test]
fn the_page_says_the_next_step_and_the_line_that_enters_it() {
    let bench = Bench::new();
    bench.run("open van --cylinders 4 --vehicle Van --state cold-soaked").succeeds();
    let mut entered = 0;
    let mut steps = Vec::new();
    // Whatever the page gives to type is typed, with numbers in the place of what is read.
    loop {
        let page = bench.run("commission van");
        page.succeeds();
        assert!(page.out.lines().count() <= 22, "{}", page.out);
        let document = bench.run("commission van --json").document(0);
        let Some(next) = document["next"].as_str().map(str::to_owned) else {
            assert_eq!(document["done"], json!(true), "{document:#}");
            break;
        };
        steps.push(next);
        let typed = page.out.lines().filter_map(|line| line.trim().strip_prefix("oddpot "));
        for line in typed {
            let line = line
                .replace("RESULT", "rises")
                .replace(
                    "T1 T2 T3 T4",
                    if line.contains("cold") { "18 18 18 18" } else { "620 618 621 619" },
                )
                .replace("--air T", "--air 18")
                .replace("D1 D2 D3 D4", "20 20 20 20");
            bench.run(&line).succeeds();
        }
        entered += 1;
        assert!(entered < 20, "{steps:?}");
    }
    let one = ["identity"; 4].into_iter();
    let rest = ["cold-soak", "fit", "idle", "cruise", "record", "limits", "close"];
    assert_eq!(steps, one.chain(rest).collect::<Vec<_>>());
}

#[test]
fn what_is_found_stops_it_and_the_job_goes_on_as_any_other() {
    let bench = Bench::new();
    bench.run("open van --cylinders 4 --vehicle Van --state cold-soaked").succeeds();
    bench.run("found van polarity another-rises --cylinder 1 --partner 2").succeeds();
    let page = bench.run("commission van");
    page.succeeds();
    assert!(page.out.starts_with("Commissioning stops: something was found\n"), "{}", page.out);
    assert!(page.out.contains("Display 1 did not answer as its cylinder's"), "{}", page.out);
    assert!(page.out.contains("    oddpot next van\n"), "{}", page.out);
    let document = bench.run("commission van --json").document(0);
    assert_eq!((&document["next"], &document["done"]), (&Value::Null, &json!(false)));
    assert_eq!(document["troubles"][0]["kind"], json!("not-its-own"));
    let next = bench.run("next van --json").document(0);
    assert_ne!(next["kind"], json!("stop"), "{next:#}");
    bench.run("remedy van lead-crossed@1-2").succeeds();
    let document = bench.run("commission van --json").document(0);
    assert_eq!(document["next"], json!("identity"), "{document:#}");
}

#[test]
fn a_thermometer_goes_with_a_cold_engine_and_is_held_against_the_displays() {
    let bench = Bench::new();
    bench.run("open van --cylinders 4 --vehicle Van --state cold-soaked").succeeds();
    bench
        .run("temps van --at idle 400 401 402 399 --air 18")
        .fails(2, "error: `--air` goes with `--at cold`, not with idle\n");
    let refused = bench.run("temps van --at cold 18 18 18 18 --air open");
    assert_eq!((refused.status, refused.out.as_str()), (2, ""));
    assert!(refused.err.contains("`open` is no temperature"), "{}", refused.err);
    let entered = bench.run("temps van --at cold 26 26 26 26 --air 64.4F");
    entered.succeeds();
    assert!(entered.out.contains("18.0 °C beside it"), "{}", entered.out);
    assert!(Bench::read(&bench.job("van")).contains("air: 18"), "it is kept");
    let cold = &bench.run("commission van --json").document(0)["cold"];
    assert_eq!((&cold["agrees"], &cold["beyond"]), (&json!(false), &json!([1, 2, 3, 4])));
    let page = bench.run("commission van").out;
    assert!(page.contains("oddpot found van box-check RESULT"), "{page}");
}

#[test]
fn the_sheet_is_written_in_every_form_and_says_what_is_missing() {
    let bench = Bench::new();
    commissioned(&bench, "2026-01-05");
    let sheet = bench.run("commission new --sheet").out;
    for text in [
        "complete: later jobs",
        "0.5 °C apart",
        "Warning limits",
        "How the probes sit",
        "Commissioned by",
    ] {
        assert!(sheet.contains(text), "{text}\n{sheet}");
    }
    for (file, start) in
        [("a.md", "# Commissioning sheet"), ("a.html", "<!DOCTYPE"), ("a.pdf", "%PDF-")]
    {
        bench.run(&format!("commission new -o {file}")).succeeds();
        let bytes = std::fs::read(bench.path(file)).expect("written");
        assert!(bytes.starts_with(start.as_bytes()), "{file}");
    }
    bench.run("open half --cylinders 4 --state warm").succeeds();
    let sheet = bench.run("commission half --format md").out;
    assert!(sheet.contains("not complete, still to do: which display is whose"), "{sheet}");
    let page = bench.run("commission half").out;
    assert!(page.contains("No vehicle was named"), "{page}");
    let refused = bench.run("commission -o a.pdf");
    assert_eq!((refused.status, refused.out.as_str()), (2, ""));
    assert_eq!(bench.run("commission half --builder-limit stuck").status, 2);
    assert!(bench.run("commission").out.contains("oddpot commission JOB"));
}

/// Faults that came to cylinder 3 of the commissioned engine months later, by cause and place, with what is read
/// then at idle and at cruise. Invented, of a size that beside its mates hardly shows, since 3 was the
/// hottest: the probe slid out by 6 mm (sized by the stem model at 20 mm in 42 mm), and others.
const LATER: [(&str, &str, &str, &str); 6] = [
    ("fit-shallow", "3", "402 396 372 400", "622 615 612 619"),
    ("inj-lean", "3", "402 396 391 400", "622 615 594 619"),
    ("exh-leak", "3", "402 396 384 400", "622 615 607 619"),
    ("probe-drift", "3", "402 396 397 400", "622 615 610 619"),
    ("air-leak", "3", "402 396 374 400", "622 615 615 619"),
    ("lead-crossed", "3-4", "402 396 400 414", "622 615 619 637"),
];

/// Rank and probability of the cause, and probability that nothing is wrong, of a later job.
fn judged(recorded: bool, fault: (&str, &str, &str, &str)) -> (usize, f64, f64) {
    let (cause, place, idle, cruise) = fault;
    let bench = Bench::new();
    if recorded {
        commissioned(&bench, "2026-01-05");
    }
    for line in [
        format!("open later {OPEN} --state warm"),
        format!("temps later --at idle {idle}"),
        format!("temps later --at cruise {cruise}"),
    ] {
        on(&bench, "2026-06-05", &line).succeeds();
    }
    let suspects = bench.run("suspects later --json").document(0);
    let causes = suspects["causes"].as_array().expect("causes");
    let own = |c: &Value| c["id"] == cause && c["place"] == place;
    let at = causes.iter().position(own).expect("a suspect");
    let chance = |value: &Value| value.as_f64().expect("a chance");
    (at + 1, chance(&causes[at]["probability"]), chance(&suspects["healthy"]))
}

#[test]
#[expect(clippy::print_stdout, reason = "the table of docs/numbers.md")]
fn what_came_since_is_ranked_by_the_record_and_hidden_without_it() {
    for fault in LATER {
        let (with, without) = (judged(true, fault), judged(false, fault));
        println!("{} | {} | {with:.3?} | {without:.3?}", fault.0, fault.1);
        assert!(with.0 <= without.0, "{fault:?}: {with:?} with the record, {without:?} without");
        assert!(
            with.1 > 3.0 * without.1,
            "{fault:?}: {with:?} with the record, {without:?} without"
        );
        assert!(
            with.2 < without.2 - 0.1,
            "{fault:?}: {with:?} with the record, {without:?} without"
        );
    }
}

#[test]
fn a_crossing_is_rarer_after_a_commissioning_until_the_wiring_was_worked_on() {
    let bench = Bench::new();
    commissioned(&bench, "2026-01-05");
    let opened = on(&bench, "2026-06-05", &format!("open known {OPEN} --state warm"));
    assert!(opened.err.contains("commissioned on 2026-01-05"), "{}", opened.err);
    let worked = format!("open worked {OPEN} --state warm --recent wiring-worked");
    on(&bench, "2026-06-05", &worked).succeeds();
    on(&bench, "2026-06-05", "open strange --engine inline-four-port --state warm").succeeds();
    let crossed = |job: &str| {
        let suspects = bench.run(&format!("suspects {job} --json")).document(0);
        let causes = suspects["causes"].as_array().expect("causes").clone();
        let of = causes.iter().filter(|c| c["id"] == "lead-crossed");
        of.filter_map(|c| c["probability"].as_f64()).sum::<f64>()
    };
    let (known, worked, strange) = (crossed("known"), crossed("worked"), crossed("strange"));
    assert!(known < 0.3 * strange, "{known} known, {strange} strange");
    assert!(worked > strange, "{worked} worked on, {strange} strange");
    let page = bench.run("vehicle Launch").out;
    assert!(page.contains("Commissioned"), "{page}");
    assert!(Bench::read(&bench.job("known")).contains("format: 8"));
}
