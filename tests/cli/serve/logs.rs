//! A log sent from the page: entered as `temps --from` enters the file, refused as it refuses it.

use super::client::{Device, Got, Served};
use crate::bench::Bench;

/// In-line six diesel, invented; see `tests/reference/log_fixture.py`.
const SIX: &[u8] = include_bytes!("../../fixtures/log-six.csv");
const OPEN: &str = "--cylinders 6 --fuel diesel --ignition none --state warm";

fn send(device: &Device<'_>, name: &str, log: &[u8], wanted: &str, at: &str) -> Got {
    let mut body = format!(
        "--x9\r\nContent-Disposition: form-data; name=\"do\"\r\n\r\n{wanted}\r\n--x9\r\n\
         Content-Disposition: form-data; name=\"at\"\r\n\r\n{at}\r\n--x9\r\n\
         Content-Disposition: form-data; name=\"log\"; filename=\"{name}\"\r\n\
         Content-Type: text/csv\r\n\r\n"
    )
    .into_bytes();
    body.extend_from_slice(log);
    body.extend(b"\r\n--x9--\r\n");
    let (host, cookie) = (&device.served.host, &device.cookie);
    let head = format!(
        "POST /log HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\n\
         Content-Type: multipart/form-data; boundary=x9\r\nContent-Length: {}\r\n\r\n",
        body.len()
    );
    let mut request = head.into_bytes();
    request.extend(body);
    device.served.raw(&request).expect("an answer")
}

/// A bench with a job `van` of a six, and a device that has it on the bench.
fn on_bench(served: &Served) -> Device<'_> {
    let phone = served.first();
    assert_eq!(phone.get("/log").status, 409, "there is no job yet");
    phone.begin();
    phone.picks("Which job?", "van");
    while phone.page().question() == "How is the engine now?" {
        phone.picks("How is the engine now?", "warm");
    }
    phone
}

/// What is in a job, but for when it was entered.
fn entries(bench: &Bench) -> Vec<String> {
    let journal = bench.run("journal van --json").document(0);
    let entries = journal["entries"].as_array().expect("entries").iter();
    entries.map(|entry| entry["what"].to_string()).collect()
}

#[test]
fn a_log_is_entered_as_from_the_file() {
    let bench = Bench::new();
    bench.run(&format!("open van {OPEN}")).succeeds();
    let served = Served::start(&bench, &[]);
    let phone = on_bench(&served);
    assert!(phone.get("/log").text().contains("Enter what has settled"));
    let shown = send(&phone, "../../six.csv", SIX, "show", "");
    assert_eq!(shown.status, 200, "{}", shown.text());
    assert!(shown.text().contains("steady cruise"), "{}", shown.text());
    let before = Bench::read(&bench.job("van"));
    let got = send(&phone, "../../six.csv", SIX, "enter", "");
    assert_eq!(got.status, 200, "{}", got.text());
    let other = Bench::new();
    std::fs::write(other.job("van"), before).expect("writable");
    std::fs::write(other.path("six.csv"), SIX).expect("writable");
    other.run("temps van --from six.csv").succeeds();
    assert_eq!(entries(&bench), entries(&other));
    // Once more, it has nothing new.
    let again = send(&phone, "six.csv", SIX, "enter", "");
    assert_eq!(again.status, 400, "{}", again.text());
    assert!(again.text().contains("has these windows of this log already"), "{}", again.text());
}

#[test]
fn what_is_no_log_is_refused_with_the_same_words() {
    let bench = Bench::new();
    bench.run(&format!("open van {OPEN}")).succeeds();
    let served = Served::start(&bench, &[]);
    let phone = on_bench(&served);
    let before = entries(&bench);
    let four = b"time;EGT 1;EGT 2;rpm\n0;400;401;800\n1;400;401;800\n2;400;401;800\n";
    for bytes in [&b"no log at all"[..], b"\0\x01\x02", four, &SIX[..300], b"a;b;c\n1;2;3\n"] {
        let got = send(&phone, "run.csv", bytes, "enter", "");
        assert_eq!(got.status, 400, "{}", got.text());
        std::fs::write(bench.path("run.csv"), bytes).expect("writable");
        let run = bench.run("temps van --from run.csv");
        assert_ne!(run.status, 0);
        let said = run.err.lines().next().unwrap_or_default().trim_start_matches("error: ");
        assert!(got.text().contains(said), "{said}\n{}", got.text());
    }
    for (bytes, wanted, at) in [(&b""[..], "enter", ""), (SIX, "enter", "uphill")] {
        let got = send(&phone, "run.csv", bytes, wanted, at);
        assert!(got.status == 400 && got.text().contains("Not taken"), "{}", got.text());
    }
    assert_eq!(entries(&bench), before);
    // More than there is room for is not even read.
    let (host, cookie) = (&served.host, &phone.cookie);
    let head = format!(
        "POST /log HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\n\
         Content-Length: 16777217\r\n\r\n"
    );
    assert_eq!(served.raw(head.as_bytes()).expect("an answer").status, 413);
}
