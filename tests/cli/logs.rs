//! `log` and `temps --from`, on an invented log and on bad ones.

use std::fmt::Write as _;

use serde_json::{Value, json};

use crate::bench::Bench;

/// In-line six diesel, invented; see `tests/reference/log_fixture.py`.
const SIX: &[u8] = include_bytes!("../fixtures/log-six.csv");
const HASH: &str = "b5db79cec251daa8acd69c392138ca1bfb51342a9b885ae1842fcb3ccbbecdb3";

fn with_log() -> Bench {
    let bench = Bench::new();
    std::fs::write(bench.path("six.csv"), SIX).expect("writable");
    bench
        .run(
            "open van --cylinders 6 --layout inline --fuel diesel --ignition none \
             --intake plenum --induction natural --cooling liquid --probes exhaust \
             --probe-type K --depth stays --state cold-soaked",
        )
        .succeeds();
    bench
}

fn journal(bench: &Bench) -> Value {
    bench.run("journal van --json").document(0)["entries"].clone()
}

#[test]
fn a_log_is_shown_with_what_was_detected_and_when_to_read_again() {
    let bench = with_log();
    let run = bench.run("log six.csv --detail");
    run.succeeds();
    assert_eq!(run.err, "");
    for said in [
        "Log six.csv: 3 settled windows\n",
        "Rows:     800 in 13 min\n",
        "Written:  windows-1252, `;`, decimal comma (--encoding, --delimiter, --decimal)\n",
        "Time:     `Zeit`, seconds (--time, --time-in)\n",
        "Displays: 6, from `Abgas Zyl 1` to `Abgas Zyl 6`, °C",
        "Speed:    `Drehzahl` (--speed)\n",
        "warm idle        701     9   165.0  5: -30\n",
        "steady cruise   1500    46   345.4  5: -54\n",
        "full load       2200    94   515.6  5: -80\n",
        "Not settled, 652 to 800 s\n",
        "Wait about 111 s more",
        "In the first two minutes from cold display 5 rose late.\n",
        "At the step to a higher speed,",
        "oddpot temps JOB --from six.csv\n",
    ] {
        assert!(run.out.contains(said), "{said}\n{}", run.out);
    }
    assert!(run.out.lines().all(|line| line.chars().count() <= 80), "{}", run.out);
}

#[test]
fn the_document_of_a_log_has_its_figures() {
    let bench = with_log();
    let document = bench.run("log six.csv --json").document(0);
    assert_eq!(document["sha256"], HASH);
    assert_eq!(document["form"]["decimal"], ",");
    assert_eq!(document["form"]["header_line"], 2);
    assert_eq!((&document["rows"], &document["rows_left_out"]), (&json!(800), &json!(0)));
    let windows = document["windows"].as_array().expect("a list");
    let points: Vec<&str> = windows.iter().filter_map(|w| w["point"].as_str()).collect();
    assert_eq!(points, ["idle", "cruise", "full"]);
    let fifth = &windows[1]["displays"][4];
    assert_eq!((&fifth["state"], &fifth["count"]), (&json!("settled"), &json!(151)));
    assert!((fifth["median"].as_f64().expect("a number") - 294.7).abs() < 0.006, "{fifth}");
    assert!(fifth["standard_error"].as_f64().expect("a number") < 1.0, "{fifth}");
    assert_eq!(document["behaviour"]["cold_start"]["displays"][4], "late");
    assert_eq!(document["behaviour"]["step_of_speed"]["displays"][4]["state"], "slower");
    let last = &document["unsettled"][0];
    assert!((last["more_s"].as_f64().expect("a number") - 111.0).abs() < 5.0, "{last}");
}

#[test]
fn a_log_comes_through_standard_input_and_in_fahrenheit() {
    use std::io::Write as _;
    use std::process::Stdio;
    let bench = Bench::new();
    let mut child = bench
        .command()
        .args(["log", "-", "--json", "--scale", "f"])
        .stdin(Stdio::piped())
        .spawn()
        .expect("it runs");
    child.stdin.take().expect("a pipe").write_all(SIX).expect("written");
    let output = child.wait_with_output().expect("it ends");
    let document: Value = serde_json::from_slice(&output.stdout).expect("a document");
    assert_eq!((&document["file"], &document["sha256"]), (&json!("standard input"), &json!(HASH)));
    let mean = document["windows"][1]["displays"][0]["mean"].as_f64().expect("a number");
    assert!((mean - (348.4 - 32.0) / 1.8).abs() < 0.2, "{mean}");
}

#[test]
fn settled_windows_are_entered_and_the_diagnosis_runs_on_them() {
    let bench = with_log();
    bench.run("temps van --from six.csv").gives(
        0,
        "entry 1: readings at warm idle: 166, 162, 169, 164, 137, 167 °C, from six.csv,\n\
         163 to 255 s\n\
         entry 2: readings at steady cruise: 348, 339, 353, 342, 294, 350 °C, from\n\
         six.csv, 344 to 495 s\n\
         entry 3: readings at full load: 520, 506, 527, 511, 440, 523 °C, from six.csv,\n\
         551 to 645 s\n\
         entry 4: by the log: watch the first two minutes from a cold start, cylinder 5:\n\
         rises late or slowly.\n\
         entry 5: by the log: step from idle to cruise and watch it follow, cylinder 5:\n\
         moves after the others.\n\
         entry 6: by the log: log the scatter at two speeds, cylinder 5: no worse than\n\
         the others.\n\
         entry 7: by the log: hold the point and watch it settle, cylinder 5: stands\n\
         still and stays odd.\n",
        "",
    );
    let entries = journal(&bench);
    let what = &entries[1]["what"]["Temps"];
    assert_eq!(what["from"]["sha256"], HASH);
    assert_eq!((&what["from"]["file"], &what["from"]["from"]), (&json!("six.csv"), &json!(344.0)));
    assert_eq!(what["from"]["errors"].as_array().map(Vec::len), Some(6));
    assert_eq!(entries[1]["typed"], "temps --from six.csv --at cruise --window 2");
    assert!(entries[3]["typed"].as_str().is_some_and(|t| t.ends_with("(from six.csv)")));
    // The job stands without its log.
    std::fs::remove_file(bench.path("six.csv")).expect("removed");
    let suspects = bench.run("suspects van --json").document(0);
    assert_eq!(suspects["odd_display"], 5);
    let first = &suspects["causes"][0];
    assert_eq!((&first["id"], &first["cylinder"]), (&json!("fit-shallow"), &json!(5)));
    assert!(first["probability"].as_f64().expect("a number") > 0.7, "{first}");
    let card = bench.run("card van");
    assert!(card.out.contains("- Entry 2: six.csv, 344 to 495 s, SHA-256"), "{}", card.out);
    assert!(card.out.contains(&HASH[..40]), "{}", card.out);
    bench.run("undo van").succeeds();
    bench.run("next van").succeeds();
}

#[test]
fn windows_and_points_can_be_chosen() {
    let bench = with_log();
    let run = bench.run("temps van --from six.csv --window 2 --at full --json");
    let document = run.document(0);
    let entries = document["entries"].as_array().expect("a list");
    assert_eq!(
        entries[0]["said"],
        "readings at full load: 348, 339, 353, 342, 294, 350 °C, from six.csv, 344 to 495 s"
    );
    bench.run("temps van --from six.csv --window 4").fails(
        2,
        "error: the log has no window 4: it has 1 to 3\nhint: `oddpot log six.csv` shows them\n",
    );
    let both = bench.run("temps van --from six.csv --at idle 1 2 3 4 5 6");
    assert!(both.status == 2 && both.err.contains("cannot be used with"), "{both:?}");
    let neither = bench.run("temps van --at idle");
    assert!(neither.status == 2 && neither.err.contains("<VALUE>"), "{neither:?}");
    bench.run("temps van --at idle 1 2 3 4 5 6 --delimiter ;").fails(
        2,
        "error: how a log is written was said, but no log was given\nhint: `--from FILE` names it\n",
    );
}

#[test]
fn another_number_of_displays_is_refused_with_the_columns() {
    let bench = with_log();
    bench.run("open four --cylinders 4").succeeds();
    bench.run("temps four --from six.csv").fails(
        2,
        "error: the log has 6 displays, this engine has 4 cylinders: taken were `Abgas Zyl 1`, \
         `Abgas Zyl 2`, `Abgas Zyl 3`, `Abgas Zyl 4`, `Abgas Zyl 5`, `Abgas Zyl 6`\n\
         hint: `--display N=COLUMN`, once for each, says which columns the displays are\n\
         hint: the other columns are `Zeit`, `Drehzahl`, `Last`\n",
    );
    let args = [
        "temps",
        "four",
        "--from",
        "six.csv",
        "--window",
        "2",
        "--display",
        "1=Abgas Zyl 3",
        "--display",
        "2=Abgas Zyl 1",
        "--display",
        "3=9",
        "--display",
        "4=Abgas Zyl 4",
    ];
    let run = bench.run_args(&args);
    run.succeeds();
    assert!(
        run.out.starts_with("entry 1: readings at steady cruise: 353, 348, 350, 342 °C"),
        "{}",
        run.out
    );
}

/// The first minutes of the invented log.
fn cut(bench: &Bench, lines: usize) {
    let end: usize = SIX.split_inclusive(|b| *b == b'\n').take(lines).map(<[u8]>::len).sum();
    std::fs::write(bench.path("short.csv"), &SIX[..end]).expect("writable");
}

#[test]
fn a_log_that_had_not_settled_is_refused_with_the_wait() {
    let bench = with_log();
    cut(&bench, 70);
    let run = bench.run("temps van --from short.csv");
    assert_eq!((run.status, run.out.as_str()), (1, ""));
    for said in [
        "error: no display has settled long enough anywhere in this log\n",
        "hint: `oddpot log short.csv` shows each display\n",
        "hint: `--at warming` enters what it showed last as a warming engine",
    ] {
        assert!(run.err.contains(said), "{said}\n{}", run.err);
    }
    let run = bench.run("temps van --from short.csv --at warming");
    run.succeeds();
    assert!(run.out.starts_with("entry 1: readings at warming up: "), "{}", run.out);
    let document = bench.run("log short.csv --json").document(0);
    assert_eq!(document["findings"][1]["code"], "not-settled");
}

#[test]
fn bad_files_are_refused_with_their_reason() {
    let bench = with_log();
    for (name, text, status, said) in [
        ("empty.csv", "", 2, "error: empty.csv: the file is empty\n"),
        (
            "words.csv",
            "a,b\nc,d\n",
            2,
            "error: words.csv: no row of numbers in the first 200 lines\n",
        ),
        (
            "binary.csv",
            "\u{0}\u{1}\u{2}",
            2,
            "error: binary.csv: the file is no text: it holds zero bytes\n",
        ),
        ("text.csv", "only words\n", 2, "error: text.csv: no table: no delimiter"),
        (
            "time.csv",
            "EGT 1,EGT 2\n5,4\n4,4\n",
            2,
            "error: time.csv: no column of time among `EGT 1`, `EGT 2`\nhint: `--time COLUMN` says which it is\n",
        ),
    ] {
        bench.write(name, text);
        let run = bench.run_args(&["log", name]);
        assert_eq!((run.status, run.out.as_str()), (status, ""), "{name}");
        assert!(run.err.starts_with(said), "{name}\n{}", run.err);
        let run = bench.run_args(&["temps", "van", "--from", name]);
        assert_eq!(run.status, status, "{name}");
    }
    let gone = bench.run("log gone.csv");
    assert_eq!(gone.status, 3);
    assert!(gone.err.starts_with("error: could not read gone.csv: "), "{}", gone.err);
    let folder = bench.run("log jobs");
    assert_eq!(folder.status, 3);
    assert!(folder.err.starts_with("error: could not read jobs: it is a folder"), "{}", folder.err);
}

#[test]
fn bad_rows_are_named_and_noted_when_entered() {
    let bench = with_log();
    let mut text = SIX.to_vec();
    // A row of line 404 loses a column, another's number becomes a word.
    let at = |text: &[u8], line: usize| -> usize {
        text.split_inclusive(|b| *b == b'\n').take(line - 1).map(<[u8]>::len).sum()
    };
    let start = at(&text, 404);
    text.splice(start..start, b"5;1500\r\n".iter().copied());
    let start = at(&text, 410);
    let end = at(&text, 411);
    let row = b"406;1500;46,0;348,0;open;352,0;342,0;294,0;350,0\r\n";
    text.splice(start..end, row.iter().copied());
    std::fs::write(bench.path("bad.csv"), text).expect("writable");
    let run = bench.run("log bad.csv");
    assert!(run.out.contains("line 404: the row has 2 columns, the header has 9"), "{}", run.out);
    assert!(
        run.out.contains("line 410, column 5: `open` is no number, in column `Abgas"),
        "{}",
        run.out
    );
    assert!(run.out.contains("1 row left out"), "{}", run.out);
    let run = bench.run("temps van --from bad.csv --window 2");
    run.succeeds();
    assert!(run.err.contains("note: line 404 of the log: the row has 2 columns"), "{}", run.err);
}

#[test]
fn a_window_is_entered_once() {
    let bench = with_log();
    bench.run("temps van --from six.csv --window 2").succeeds();
    bench.run("temps van --from six.csv --window 2").fails(
        2,
        "error: the job has these windows of this log already\nhint: `oddpot undo` takes entries \
         back\n",
    );
    let run = bench.run("temps van --from six.csv");
    run.succeeds();
    assert!(run.err.contains("note: window 2 is in the job already: left out\n"), "{}", run.err);
    let sets = journal(&bench)
        .as_array()
        .map(|all| all.iter().filter(|entry| entry["what"].get("Temps").is_some()).count());
    assert_eq!(sets, Some(3));
}

#[test]
fn a_point_said_alone_takes_the_windows_that_look_like_it() {
    let bench = with_log();
    let document = bench.run("temps van --from six.csv --at cruise --json").document(0);
    let said = document["entries"][0]["said"].as_str().expect("text");
    assert!(said.starts_with("readings at steady cruise: 348, "), "{said}");
    bench.run("temps van --from six.csv --at cold").fails(
        2,
        "error: no window of the log looks like cold\n\
         hint: name the window as well: `--window N` with `--at POINT`\n\
         hint: `oddpot log six.csv` shows them\n",
    );
    let text = Bench::read(&bench.job("van"));
    assert!(text.contains("format: 2,"), "older programs cannot read what is in it");
}

/// The invented log without its column of speed.
fn without_speed(bench: &Bench) {
    let text: Vec<u8> = SIX
        .split_inclusive(|b| *b == b'\n')
        .flat_map(|line| {
            let mut fields: Vec<&[u8]> = line.split(|b| *b == b';').collect();
            if fields.len() > 2 {
                fields.drain(1..3);
            }
            fields.join(&b';')
        })
        .collect();
    std::fs::write(bench.path("bare.csv"), text).expect("writable");
}

#[test]
fn without_speed_the_point_must_be_said_for_windows_that_are_alike() {
    let bench = with_log();
    without_speed(&bench);
    let run = bench.run("temps van --from bare.csv");
    assert_eq!(run.status, 2);
    assert!(
        run.err.starts_with(
            "error: the running point of window 1 is not known: the log has no speed\n"
        ),
        "{}",
        run.err
    );
    let run = bench.run("temps van --from bare.csv --at idle");
    assert_eq!(run.status, 2);
    assert!(run.err.contains("so they are not all at one running point\n"), "{}", run.err);
    bench.run("temps van --from bare.csv --at cruise --window 2").succeeds();
}

/// A four with speed, load and supply, invented: idle, then cruise. Display 2 steps by 15 °C as
/// electric loads are switched, display 3 scatters ten times as much at the higher speed.
fn noisy() -> String {
    use std::fmt::Write as _;
    let shake = |seed: f64| ((seed * 12.9898).sin() * 43_758.547).fract();
    let mut text = String::from(
        "Time [s],RPM,Load [%],Battery [V],EGT 1 [°C],EGT 2 [°C],EGT 3 [°C],EGT 4 [°C]\n",
    );
    for i in 0..1600 {
        let t = f64::from(i) * 0.25;
        let (speed, load, level) = if t < 200.0 { (850, 10, 300.0) } else { (2600, 50, 550.0) };
        let fan = if (t / 20.0).rem_euclid(2.0) < 1.0 { 0.0 } else { 1.0 };
        let _ = write!(text, "{t},{speed},{load},{:.2}", 13.9 - 0.5 * fan);
        for display in 0..4_u32 {
            let own = f64::from(display);
            let scatter = if display == 2 { if t < 200.0 { 1.0 } else { 18.0 } } else { 0.6 };
            let step = if display == 1 { 15.0 * fan } else { 0.0 };
            let _ =
                write!(text, ",{:.1}", level + 4.0 * own + step + scatter * shake(t + 900.0 * own));
        }
        text.push('\n');
    }
    text
}

#[test]
fn scatter_and_steps_become_outcomes_and_are_no_states_as_well() {
    let bench = Bench::with_van();
    bench.write("noisy.csv", &noisy());
    let run = bench.run("temps van --from noisy.csv --json");
    assert_eq!(run.status, 0, "{}", run.err);
    let entries = journal(&bench);
    let entries = entries.as_array().expect("a list");
    let sets = entries.iter().filter_map(|e| e["what"]["Temps"]["readings"].as_array());
    let numbers = sets.clone().flatten().filter(|r| r.get("Degrees").is_some()).count();
    assert_eq!((sets.count(), numbers), (2, 8), "{entries:?}");
    let found = |test: &str| -> Vec<(String, u64)> {
        entries
            .iter()
            .map(|e| &e["what"]["Logged"])
            .filter(|f| f["test"] == test)
            .map(|f| {
                (
                    f["outcome"].as_str().expect("text").to_owned(),
                    f["cylinder"].as_u64().expect("one"),
                )
            })
            .collect()
    };
    assert!(found("scatter-speed").contains(&("with-speed".to_owned(), 3)), "{entries:?}");
    assert!(found("load-electric").contains(&("steps".to_owned(), 2)), "{entries:?}");
    assert!(!found("scatter-speed").iter().any(|f| *f == ("all-speeds".to_owned(), 2)));
}

/// A log at one point, each row made from its number.
fn four_with(name: &str, third: impl Fn(u32) -> String) -> Bench {
    let bench = Bench::new();
    let mut text = String::from("Time [s],EGT 1 [°C],EGT 2 [°C],EGT 3 [°C],EGT 4 [°C]\n");
    for row in 0..400_u32 {
        let shake = |seed: u32| f64::from((row * 7919 + seed * 104_729) % 97) / 16.0;
        let _ = writeln!(
            text,
            "{:.1},{:.1},{:.1},{},{:.1}",
            f64::from(row) / 2.0,
            500.0 + shake(1),
            498.0 + shake(2),
            third(row),
            503.0 + shake(3)
        );
    }
    std::fs::write(bench.path(name), text).expect("writable");
    bench.run("open van --engine inline-four-port --state warm").succeeds();
    bench
}

#[test]
fn what_a_log_says_of_a_display_itself_is_no_clean_number() {
    let drops = four_with("drops.csv", |row| if row % 2 == 0 { "ERR" } else { "501.0" }.to_owned());
    let run = drops.run("temps van --at idle --from drops.csv");
    assert!(run.out.contains("open"), "{}", run.out);
    assert!(run.err.contains("display 3 showed no number in many rows"), "{}", run.err);
    let still = four_with("still.csv", |_| "501.0".to_owned());
    let run = still.run("temps van --at idle --from still.csv");
    assert!(run.out.contains("stuck"), "{}", run.out);
    assert!(run.err.contains("display 3 stood dead still"), "{}", run.err);
    // Figures that cannot be read are an error with its cell, and nothing is entered.
    let bad = four_with("bad.csv", |_| "1.018:5".to_owned());
    let run = bad.run("temps van --at idle --from bad.csv");
    assert_eq!((run.status, run.out.as_str()), (2, ""), "{}", run.err);
    assert!(run.err.contains("line 2, column 4 of the log: `1.018:5` is no number"), "{}", run.err);
    assert_eq!(journal(&bad).as_array().map(Vec::len), Some(0));
}
