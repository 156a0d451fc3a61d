//! The engine that runs, on the page: its displays, STOP, and what has settled entered by a press.

use std::fmt::Write as _;
use std::io::Write as _;
use std::net::{TcpListener, TcpStream};

use serde_json::Value;

use super::client::{Device, Got, Served};
use crate::bench::Bench;

/// In-line six diesel, invented; see `tests/reference/log_fixture.py`.
const SIX: &[u8] = include_bytes!("../../fixtures/log-six.csv");
const OPEN: &str = "--cylinders 6 --fuel diesel --ignition none --state warm";

/// A logger that listens, and what it sends.
struct Logger(TcpListener);

impl Logger {
    fn new() -> Self {
        Self(TcpListener::bind("127.0.0.1:0").expect("a port"))
    }

    fn source(&self) -> String {
        format!("tcp:{}", self.0.local_addr().expect("an address"))
    }

    fn called(&self) -> TcpStream {
        self.0.accept().expect("a caller").0
    }
}

/// A bench with a job `van` of a six, served beside a log that comes by a connection.
fn beside(bench: &Bench, open: &str, options: &[&str]) -> (Served, TcpStream) {
    bench.run(&format!("open van {OPEN} {open}")).succeeds();
    let logger = Logger::new();
    let source = logger.source();
    let all = [&["--watch", &source, "--job", "van"], options].concat();
    let served = Served::start(bench, &all);
    (served, logger.called())
}

/// Looks until something is on the page; each look waits by itself for something new.
fn until(device: &Device<'_>, on: &str, there: impl Fn(&Got) -> bool) -> Got {
    let (mut news, mut row) = ("0".to_owned(), "0".to_owned());
    loop {
        let got = device.get(&format!("/now?news={news}&row={row}&on={on}"));
        assert_eq!(got.status, 200, "{}", got.body);
        if there(&got) {
            return got;
        }
        let count = |name: &str| {
            let after = got.body.split(&format!("{name}=\"")).nth(1).expect("a count");
            after.split('"').next().unwrap_or_default().to_owned()
        };
        (news, row) = (count("data-news"), count("data-row"));
    }
}

fn sets(bench: &Bench) -> Vec<Value> {
    let journal = bench.run("journal van --json").document(0);
    let entries = journal["entries"].as_array().expect("entries");
    let sets = entries.iter().filter(|entry| entry["what"]["Temps"].is_object());
    sets.map(|entry| entry["what"]["Temps"]["readings"].clone()).collect()
}

/// Rows of six displays at a warm idle, a second apart, from a moment on.
fn rows(from: u32, count: u32, second: f64) -> String {
    let mut text = String::new();
    for at in from..from + count {
        let _ = write!(text, "{at};800;8");
        for display in 1..=6 {
            let shake = f64::from((at * display) % 7) * 0.1;
            let level = if display == 2 { second } else { 160.0 + f64::from(display) };
            let _ = write!(text, ";{:.1}", level + shake);
        }
        text.push('\n');
    }
    text
}

const NAMES: &str = "time;rpm;load %;EGT 1;EGT 2;EGT 3;EGT 4;EGT 5;EGT 6\n";

#[test]
fn what_settles_is_entered_by_a_press_as_from_the_finished_file() {
    let bench = Bench::new();
    let (served, mut logger) = beside(&bench, "", &[]);
    let phone = served.first();
    logger.write_all(SIX).expect("sent");
    drop(logger);
    let ended = until(&phone, "live", |got| got.body.contains("The log has ended"));
    assert_eq!(ended.body.matches("Enter these readings").count(), 3, "{}", ended.text());
    let page = phone.get("/live");
    assert_eq!(page.body.matches("<svg").count(), 6, "{}", page.text());
    assert!(page.text().contains("settled at steady cruise: 348 339 353 342 294 350"));
    // In any order, and twice: each is entered once.
    for number in [1, 2, 3, 2, 1] {
        let got = phone.post("/enter", &format!("n={number}&on=live"));
        assert_eq!((got.status, got.header("Location")), (303, Some("/live")), "{}", got.text());
    }
    let page = phone.get("/live");
    assert!(page.text().contains("In the job as entry 3"), "{}", page.text());
    assert!(!page.body.contains("Enter these readings"), "{}", page.text());
    for none in ["n=9&on=live", "n=-1", "", "n=1e3&at=idle"] {
        assert_eq!(phone.post("/enter", none).status, 400, "{none}");
    }
    let other = Bench::new();
    other.run(&format!("open van {OPEN}")).succeeds();
    std::fs::write(other.path("six.csv"), SIX).expect("writable");
    other.run("temps van --from six.csv").succeeds();
    assert_eq!((sets(&bench), sets(&bench).len()), (sets(&other), 3));
}

#[test]
fn stop_is_on_every_page_with_the_row_that_asks_for_it() {
    let bench = Bench::new();
    bench.run("open bus --cylinders 4 --state warm").succeeds();
    let (served, mut logger) = beside(&bench, "--builder-limit 500", &[]);
    let phone = served.first();
    phone.begin();
    phone.picks("Which job?", "bus");
    logger.write_all((NAMES.to_owned() + &rows(0, 20, 162.0)).as_bytes()).expect("sent");
    let calm = until(&phone, "live", |got| got.body.contains("19 s, "));
    assert!(!calm.body.contains("heat stop"), "{}", calm.text());
    assert!(!phone.page().body.contains("id=\"live\""), "another job has no displays");
    // One row, and nothing after it.
    logger.write_all(rows(20, 1, 501.0).as_bytes()).expect("sent");
    let stop = until(&phone, "", |got| got.body.contains("heat stop"));
    let text = stop.text();
    assert!(text.contains("STOP van runs: ") && text.contains("limit is 500 °C"), "{text}");
    for path in ["/", "/live", "/card", "/take-in", "/photos", "/none"] {
        let got = phone.get(path);
        let (stop, job) = (got.body.find("heat stop"), got.body.find("class=\"job\""));
        assert!(
            stop.is_some_and(|stop| job.is_none_or(|job| stop < job)),
            "{path}: {}",
            got.text()
        );
    }
    assert!(phone.get("/live").body.contains("<title>STOP: "));
    let led = phone.get("/stop.csv");
    assert_eq!(led.header("Content-Disposition"), Some("attachment; filename=\"stop.csv\""));
    let mut lines = led.body.lines();
    assert!(lines.next().is_some_and(|head| head.starts_with("seconds,display 1")));
    assert!(lines.next_back().is_some_and(|last| last.starts_with("20.00,161")), "{}", led.body);
    // It ends when it has been cool for a while.
    logger.write_all(rows(21, 12, 162.0).as_bytes()).expect("sent");
    let cool = until(&phone, "live", |got| !got.body.contains("heat stop"));
    assert!(cool.text().contains("no longer too hot"), "{}", cool.text());
}

#[test]
fn the_session_of_the_job_has_the_displays_and_takes_what_has_settled() {
    let bench = Bench::new();
    let (served, mut logger) = beside(&bench, "", &["--at", "idle"]);
    let phone = served.first();
    phone.begin();
    phone.picks("Which job?", "van");
    while phone.page().question() == "How is the engine now?" {
        phone.picks("How is the engine now?", "warm");
    }
    let before = sets(&bench).len();
    logger.write_all((NAMES.to_owned() + &rows(0, 200, 60.0)).as_bytes()).expect("sent");
    // Another point ends the one before.
    let rest = rows(200, 60, 60.0).replace(";800;8;", ";2400;60;");
    logger.write_all(rest.as_bytes()).expect("sent");
    until(&phone, "job", |got| got.body.contains("action=\"/enter\""));
    let page = phone.page();
    assert!(page.body.contains("data-on=\"job\""));
    assert!(page.body.contains("below what is healthy"), "{}", page.text());
    let got = phone.post("/enter", "n=1&on=job");
    assert_eq!((got.status, got.header("Location")), (303, Some("/")), "{}", got.text());
    assert_eq!(sets(&bench).len(), before + 1);
    let page = phone.page();
    assert!(page.text().contains("Entered meanwhile as entry"), "{}", page.text());
    // Inside a question only what must stop the engine is shown.
    let inside = phone.picks("What now?", "Enter readings");
    assert!(!inside.body.contains("id=\"live\""), "{}", inside.text());
    assert!(inside.text().contains("Live readings of van"), "{}", inside.text());
}

#[test]
fn readings_from_before_a_work_are_not_entered_after_it() {
    let bench = Bench::new();
    let (served, mut logger) = beside(&bench, "", &[]);
    let phone = served.first();
    logger.write_all((NAMES.to_owned() + &rows(0, 200, 60.0)).as_bytes()).expect("sent");
    let rest = rows(200, 60, 60.0).replace(";800;8;", ";2400;60;");
    logger.write_all(rest.as_bytes()).expect("sent");
    until(&phone, "live", |got| got.body.contains("action=\"/enter\""));
    bench.run("exchange van probe 2 3").succeeds();
    let got = phone.post("/enter", "n=1&on=live&at=idle");
    assert_eq!(got.status, 400, "{}", got.text());
    assert!(got.text().contains("older than entry 1"), "{}", got.text());
    assert!(got.text().contains("hold the point once more"), "{}", got.text());
    assert_eq!(sets(&bench).len(), 0);
}

#[test]
fn what_settles_is_taken_by_itself_where_that_is_said() {
    let bench = Bench::new();
    let (served, mut logger) = beside(&bench, "", &["--take"]);
    let phone = served.first();
    logger.write_all(SIX).expect("sent");
    drop(logger);
    let ended = until(&phone, "live", |got| got.body.contains("The log has ended"));
    assert_eq!(ended.body.matches("In the job as entry").count(), 3, "{}", ended.text());
    assert_eq!(sets(&bench).len(), 3);
}

#[test]
fn a_log_that_does_not_go_with_the_engine_is_said_on_the_page() {
    let bench = Bench::new();
    bench.run("open van --cylinders 4 --state warm").succeeds();
    std::fs::write(bench.path("six.csv"), SIX).expect("writable");
    let served = Served::start(&bench, &["--watch", "six.csv", "--job", "van"]);
    let phone = served.first();
    let ended = until(&phone, "live", |got| got.body.contains("The log has ended"));
    assert!(ended.text().contains("6 displays, this engine has 4 cylinders"), "{}", ended.text());
}

#[test]
fn what_cannot_be_followed_is_said_before_anything_is_served() {
    let bench = Bench::new();
    bench.run("open van --cylinders 6 --state warm").succeeds();
    bench.run("open sold --cylinders 6 --state warm").succeeds();
    bench.run("close sold --unproven sold").succeeds();
    std::fs::write(bench.path("six.csv"), SIX).expect("writable");
    for (line, status, said) in [
        ("serve --port 0 --watch six.csv", 2, "--job <JOB>"),
        ("serve --port 0 --job van", 2, "--watch <SOURCE>"),
        ("serve --port 0 --take", 2, "--job <JOB>"),
        ("serve --port 0 --delimiter tab", 2, "no log to follow"),
        ("serve --port 0 --watch six.csv --job nobody", 3, "nobody"),
        ("serve --port 0 --watch six.csv --job ./van.ron", 2, "is a path"),
        ("serve --port 0 --watch six.csv --job sold --take", 2, "this job is closed"),
        ("serve --port 0 --watch tcp:127.0.0.1:1 --job van", 3, "no connection to 127.0.0.1:1"),
        ("serve --port 0 --watch jobs --job van", 3, "it is a folder"),
    ] {
        let run = bench.run(line);
        assert!(run.err.contains(said), "{line}\n{}", run.err);
        assert_eq!((run.status, &*run.out), (status, ""), "{line}\n{}", run.err);
    }
}

#[test]
fn without_a_log_there_is_no_engine_on_the_page() {
    let bench = Bench::with_van();
    let served = Served::start(&bench, &[]);
    let phone = served.first();
    for path in ["/live", "/now?news=0&row=0&on=live"] {
        let got = phone.get(path);
        assert!(got.status == 404 && got.text().contains("No log is followed"), "{}", got.text());
    }
    assert_eq!(phone.post("/enter", "n=1").status, 404);
    assert!(!phone.get("/").body.contains("Live readings"));
}
