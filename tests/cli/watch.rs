//! `watch`: a log followed while it is written.

use std::fmt::Write as _;
use std::io::{BufRead as _, Write as _};
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
        let sets = entries.iter().filter(|entry| entry["what"]["Temps"].is_object());
        sets.map(|entry| entry["what"]["Temps"]["readings"].clone()).collect()
    };
    let taken = kept(&journal);
    assert_eq!(taken.len(), 3);
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

/// Whoever follows a log once more, from its beginning, enters nothing twice.
#[test]
fn what_was_taken_before_is_not_taken_again() {
    let bench = with_log("");
    for _ in 0..2 {
        bench.run("watch six.csv --job van --take --until-end").succeeds();
    }
    let journal = bench.run("journal van --json").document(0);
    assert_eq!(journal["entries"].as_array().map(Vec::len), Some(3), "{journal}");
    let again = bench.run("watch six.csv --job van --take --until-end");
    assert!(again.out.contains("it is in the job already, as entry 2"), "{}", again.out);
}

/// A limit that is entered while the engine runs holds from then on.
#[test]
fn what_others_enter_meanwhile_is_gone_by() {
    let bench = with_log("");
    let job = bench.job("van").display().to_string();
    let mut command = bench.command();
    let piped = command.args(["watch", "-", "--job", &job, "--json"]).stdin(Stdio::piped());
    let mut child = piped.spawn().expect("it runs");
    let mut input = child.stdin.take().expect("a pipe");
    let names = SIX.split_inclusive(|byte| *byte == b'\n').take(3).collect::<Vec<_>>().concat();
    input.write_all(&names).expect("written");
    // It goes on and on, until nobody reads any more.
    let logger = std::thread::spawn(move || {
        for second in 0_u64.. {
            if writeln!(input, "{second};700;9,0;350,5;351;349;352;350;{}", 350 + second % 2)
                .is_err()
            {
                return;
            }
        }
    });
    let mut out = std::io::BufReader::new(child.stdout.take().expect("its output"));
    let mut line = String::new();
    out.read_line(&mut line).expect("the form");
    bench.run("commission van --builder-limit 300").succeeds();
    while !line.contains("\"stop\"") {
        line.clear();
        assert!(out.read_line(&mut line).expect("a line") > 0, "it has ended");
    }
    assert!(line.contains("limit is 300 °C"), "{line}");
    let _ = child.kill();
    let _ = child.wait();
    drop(out);
    logger.join().expect("it ends when nobody reads");
}

/// Twelve thousand rows of sixteen displays, a hundred a second: what settles is what the finished file has, and
/// STOP comes with its row. `tests/bench/live.py` does the same with millions.
#[test]
fn many_rows_come_to_what_the_finished_file_has() {
    const HOT: u32 = 9_000;
    let bench = Bench::new();
    bench.run("open rig --cylinders 16 --state warm --builder-limit 900").succeeds();
    let mut text = String::from("time,rpm,load %");
    (1..=16).for_each(|display| write!(text, ",EGT {display}").expect("written"));
    for at in 0..12_000_u32 {
        let (speed, load, level) = [(800, 12, 210.0), (2400, 45, 420.0)][(at / 6_000) as usize];
        write!(text, "\n{:.2},{speed},{load}", f64::from(at) / 100.0).expect("written");
        for display in 0..16 {
            let shake = f64::from((at * (display + 3)) % 23) * 0.05;
            let shown =
                if (at, display) == (HOT, 4) { 905.0 } else { level + f64::from(display) + shake };
            write!(text, ",{shown:.1}").expect("written");
        }
    }
    text.push('\n');
    std::fs::write(bench.path("run.csv"), text).expect("writable");
    let watched = documents(&bench.run("watch run.csv --job rig --until-end --json").out);
    let stops: Vec<&Value> = of(&watched, "stop").iter().map(|stop| &stop["seconds"]).collect();
    assert_eq!(stops, [&Value::from(f64::from(HOT) / 100.0)]);
    let settled = of(&watched, "settled");
    let log = bench.run("log run.csv --json").document(0);
    let windows = log["windows"].as_array().expect("windows");
    assert_eq!((settled.len(), windows.len()), (2, 2));
    let mut numbers = 0;
    for (set, window) in settled.iter().zip(windows) {
        assert_eq!((&set["from_s"], &set["to_s"]), (&window["from_s"], &window["to_s"]));
        let shown = set["readings"].as_array().expect("readings");
        let found = window["displays"].as_array().expect("displays");
        for (reading, display) in shown.iter().zip(found) {
            // The display of the one wild row jumps, and is no number.
            let Some(read) = reading.as_str().and_then(|r| r.parse::<f64>().ok()) else { continue };
            let mean = display["mean"].as_f64().expect("a mean");
            assert!((read - mean).abs() < 0.051, "{read} {mean}");
            numbers += 1;
        }
    }
    assert_eq!(numbers, 2 * 16 - 1);
}
