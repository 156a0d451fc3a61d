//! `watch`: a log followed while it is written.

use std::io::Write as _;
use std::net::TcpListener;
use std::process::Stdio;

use serde_json::Value;

use crate::bench::Bench;

/// In-line six diesel, invented; see `tests/reference/log_fixture.py`.
const SIX: &[u8] = include_bytes!("../fixtures/log-six.csv");

fn with_log(options: &str) -> Bench {
    let bench = Bench::new();
    std::fs::write(bench.path("six.csv"), SIX).expect("writable");
    bench
        .run(&format!(
            "open van --cylinders 6 --fuel diesel --ignition none --state warm {options}"
        ))
        .succeeds();
    bench
}

/// The documents of a run, one after the other.
fn documents(out: &str) -> Vec<Value> {
    let all = serde_json::Deserializer::from_str(out).into_iter::<Value>();
    all.map(|document| document.expect("a document")).collect()
}

fn of<'a>(documents: &'a [Value], event: &str) -> Vec<&'a Value> {
    documents.iter().filter(|document| document["event"] == event).collect()
}

#[test]
fn what_settles_is_shown_with_the_line_that_enters_it() {
    let bench = with_log("");
    let run = bench.run("watch six.csv --job van --until-end");
    assert_eq!((run.status, &*run.err), (0, ""));
    insta::assert_snapshot!(run.out, @r"
    6 displays, Abgas Zyl 1 to Abgas Zyl 6; speed Drehzahl; load Last
    4 min: settled at warm idle: 166 162 169 164 137 167
          oddpot temps van --at idle 166.5 162 168.6 163.6 136.9 167.3
    8 min: settled at steady cruise: 348 339 353 342 294 350
          oddpot temps van --at cruise 348.4 338.9 352.8 342.5 294.3 350.2
    11 min: settled at full load: 520 506 527 511 440 523
          oddpot temps van --at full 520.1 505.9 526.6 511.1 439.6 522.7
    800 rows, 3 points settled, 0 times STOP
    ");
}

#[test]
fn what_settles_is_entered_as_from_the_finished_file() {
    let bench = with_log("");
    let watched = bench.run("watch six.csv --job van --take --at cruise --until-end --json");
    let watched = documents(&watched.out);
    let settled = of(&watched, "settled");
    assert_eq!(settled.iter().map(|set| &set["entry"]).collect::<Vec<_>>(), [1, 2, 3]);
    let journal = bench.run("journal van --json").document(0);
    let kept = |journal: &Value| -> Vec<Value> {
        let entries = journal["entries"].as_array().expect("entries");
        let sets = entries.iter().filter(|entry| entry["what"]["temps"].is_object());
        sets.map(|entry| entry["what"]["temps"]["readings"].clone()).collect()
    };
    let taken = kept(&journal);
    let other = with_log("");
    other.run("temps van --from six.csv").succeeds();
    assert_eq!(taken, kept(&other.run("journal van --json").document(0)));
    // The finished file has nothing that is not in the job.
    let again = bench.run("temps van --from six.csv --at cruise --window 1,2,3");
    assert_eq!(again.status, 2);
    assert!(again.err.contains("has these windows of this log already"), "{}", again.err);
}

#[test]
fn a_stop_is_said_at_once_and_what_led_to_it_is_kept() {
    let bench = with_log("--builder-limit 500");
    let run = bench.run("watch six.csv --job van --until-end --record stop.csv");
    assert_eq!((run.status, &*run.err), (0, ""));
    let stops: Vec<&str> = run.out.lines().filter(|line| line.contains("STOP: ")).collect();
    assert_eq!(stops.len(), 1, "{}", run.out);
    assert!(stops[0].contains("the builder's limit is 500 °C"), "{}", run.out);
    let kept = Bench::read(&bench.path("stop.csv"));
    let hot = |line: &str| {
        line.split(',').skip(1).take(6).any(|v| v.parse::<f64>().is_ok_and(|v| v >= 500.0))
    };
    let lines: Vec<&str> = kept.lines().skip(1).collect();
    let first = lines.iter().position(|line| hot(line)).expect("a hot row");
    let seconds = |line: &str| line.split(',').next().and_then(|s| s.parse::<f64>().ok());
    let (begun, last) = (seconds(lines[first]), seconds(lines[lines.len() - 1]));
    assert!(first >= 100 && begun.zip(last).is_some_and(|(a, b)| b - a >= 29.0), "{kept}");
    assert!(
        stops[0].starts_with(&format!("{} min", (begun.expect("a time") / 60.0).round())),
        "{}",
        stops[0]
    );
    // It is not written over.
    let again = bench.run("watch six.csv --job van --until-end --record stop.csv");
    assert!(again.out.contains("stop.csv is there already: nothing was written"), "{}", again.out);
    assert_eq!(Bench::read(&bench.path("stop.csv")), kept);
}

#[test]
fn rows_come_by_a_connection_and_by_standard_input_too() {
    let bench = with_log("");
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = listener.local_addr().expect("an address");
    let logger = std::thread::spawn(move || {
        let (mut stream, _) = listener.accept().expect("a caller");
        SIX.chunks(97).for_each(|bytes| stream.write_all(bytes).expect("sent"));
    });
    let run = bench.run(&format!("watch tcp:{address} --job van --json"));
    logger.join().expect("all was sent");
    let network = documents(&run.out);
    let job = bench.job("van").display().to_string();
    let mut command = bench.command();
    let piped = command.args(["watch", "-", "--job", &job, "--json"]).stdin(Stdio::piped());
    let mut child = piped.spawn().expect("it runs");
    child.stdin.take().expect("a pipe").write_all(SIX).expect("written");
    let output = child.wait_with_output().expect("it ends");
    let input = documents(&String::from_utf8_lossy(&output.stdout));
    let values = |all: &[Value]| {
        of(all, "settled").into_iter().map(|set| set["readings"].clone()).collect::<Vec<_>>()
    };
    assert_eq!(values(&network).len(), 3);
    assert_eq!(values(&network), values(&input));
}

#[test]
fn what_cannot_be_watched_is_said() {
    let bench = with_log("");
    bench.run("open four --cylinders 4").succeeds();
    for (line, status, said) in [
        ("watch nothing.csv --job van --until-end", 3, "could not read nothing.csv"),
        ("watch tcp:127.0.0.1:1 --job van", 3, "no connection to 127.0.0.1:1"),
        ("watch six.csv --take", 2, "--job <JOB>"),
        ("watch six.csv --job four --until-end", 2, "6 displays, this engine has 4 cylinders"),
        ("watch six.csv --job van --record six.csv --until-end", 2, "is what is read here"),
        ("watch six.csv --job nobody", 3, "nobody"),
    ] {
        let run = bench.run(line);
        assert!(run.err.contains(said), "{line}\n{}", run.err);
        assert_eq!(run.status, status, "{line}\n{}", run.err);
    }
}

/// A job in °F: the line that enters a set is of the job's own scale, whatever is shown.
#[test]
fn the_line_to_type_is_of_the_scale_of_the_job() {
    let bench = Bench::new();
    std::fs::write(bench.path("six.csv"), SIX).expect("writable");
    let six = "--cylinders 6 --fuel diesel --ignition none --state warm";
    bench.run(&format!("open van {six} --units f")).succeeds();
    let run = bench.run("watch six.csv --job van --until-end --units c --json");
    let found = documents(&run.out);
    let settled = of(&found, "settled");
    assert_eq!(settled[1]["readings"][0], "348.4");
    let line = settled[1]["line"].as_str().expect("a line");
    assert!(line.starts_with("oddpot temps van --at cruise 659.1 "), "{line}");
    bench.run(line.trim_start_matches("oddpot ")).succeeds();
}

/// A set that cannot be entered is said, and the engine watched on.
#[test]
fn a_set_that_cannot_be_entered_does_not_end_the_watch() {
    let bench = with_log("--builder-limit 500");
    let held = std::fs::File::create(bench.path("jobs/van.ron.lock")).expect("a lock");
    held.lock().expect("held by another");
    let run = bench.run("watch six.csv --job van --take --until-end");
    assert_eq!(run.status, 0, "{}{}", run.out, run.err);
    assert!(run.out.contains("STOP: ") && run.out.contains("another"), "{}", run.out);
}
