//! Strangers: nothing lets them in, and nothing they send stops the page.

use std::io::{Read as _, Write as _};

use super::client::{Device, Served, answer, encoded};
use crate::bench::Bench;

fn served() -> (Bench, Served) {
    let bench = Bench::with_van();
    let served = Served::start(&bench, &[]);
    (bench, served)
}

/// The page still answers whoever was let in.
#[track_caller]
fn lives(device: &Device<'_>) {
    assert_eq!(device.get("/").status, 200);
}

/// Every path there is, and some there are not.
const PATHS: [&str; 19] = [
    "/",
    "/poll?n=1",
    "/card",
    "/job.ron",
    "/take-in",
    "/invite",
    "/answer",
    "/begin",
    "/end",
    "/anew",
    "/forget",
    "/none",
    "/photos",
    "/photo?e=1&n=1",
    "/live",
    "/now?news=0&row=0&on=live",
    "/enter",
    "/stop.csv",
    "/log",
];

#[test]
fn without_a_key_nothing_is_to_be_had() {
    let (bench, served) = served();
    let phone = served.first();
    let before = Bench::read(&bench.job("van"));
    for path in PATHS {
        for cookie in ["", "oddpot-1=0", &"x".repeat(4_000), "oddpot-8137=", "=", ";;;"] {
            let host = &served.host;
            let get = format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n\r\n");
            let got = served.raw(get.as_bytes()).expect("an answer");
            assert_eq!(got.status, 403, "{path}");
            assert!(!got.body.contains("van") && !got.head.contains("Set-Cookie"), "{path}");
            assert_eq!(served.post(path, cookie, "n=1&choice=0").status, 403, "{path}");
        }
    }
    assert_eq!(Bench::read(&bench.job("van")), before);
    lives(&phone);
}

#[test]
fn an_old_key_a_guessed_key_and_a_cookie_of_before_let_nobody_in() {
    let (_bench, served) = served();
    let phone = served.first();
    let old = served.post("/in", "", &format!("key={}", served.key));
    assert_eq!((old.status, old.header("Set-Cookie")), (403, None));
    // A look at the address alone spends nothing and lets nobody in.
    let host = &served.host;
    let looked = format!("GET /in?key={} HTTP/1.1\r\nHost: {host}\r\n\r\n", served.key);
    let looked = served.raw(looked.as_bytes()).expect("an answer");
    assert_eq!((looked.status, looked.header("Set-Cookie")), (200, None));
    let mut limited = 0;
    for guess in 0..200 {
        let got = served.post("/in", "", &format!("key={guess:032x}"));
        assert!(matches!(got.status, 403 | 429), "{}", got.status);
        limited += usize::from(got.status == 429);
    }
    assert!(limited > 150, "{limited}");
    let value = phone.cookie.split('=').nth(1).expect("a value").to_owned();
    for cookie in [
        phone.cookie.replace(&value, &value[1..]),
        phone.cookie.replace(&value, &value.to_uppercase()),
        phone.cookie.replace(&value, &format!("{value}0")),
        phone.cookie.replace("oddpot", "Oddpot"),
    ] {
        if cookie != phone.cookie {
            let device = Device { served: &served, cookie };
            assert_eq!(device.get("/").status, 403, "{}", device.cookie);
        }
    }
    lives(&phone);
}

#[test]
fn a_forged_host_or_origin_is_turned_away() {
    let (bench, served) = served();
    let phone = served.first();
    phone.begin();
    let before = Bench::read(&bench.job("van"));
    let (host, cookie) = (&served.host, &phone.cookie);
    let port = host.split(':').nth(1).expect("a port");
    for forged in
        ["evil.example", &format!("evil.example:{port}"), "127.0.0.1", "", &format!("{host}.evil")]
    {
        let get = format!("GET / HTTP/1.1\r\nHost: {forged}\r\nCookie: {cookie}\r\n\r\n");
        assert_eq!(served.raw(get.as_bytes()).expect("an answer").status, 421, "{forged}");
    }
    let none = format!("GET / HTTP/1.1\r\nCookie: {cookie}\r\n\r\n");
    assert_eq!(served.raw(none.as_bytes()).expect("an answer").status, 421);
    for forged in [
        "Origin: http://evil.example\r\n".to_owned(),
        "Origin: null\r\n".to_owned(),
        format!("Origin: https://{host}\r\n"),
        format!("Origin: http://localhost:{port}\r\n"),
        String::new(),
    ] {
        for path in PATHS.into_iter().chain(["/in"]) {
            let sent = format!(
                "POST {path} HTTP/1.1\r\nHost: {host}\r\n{forged}Cookie: {cookie}\r\nContent-Length: 0\r\n\r\n"
            );
            assert_eq!(
                served.raw(sent.as_bytes()).expect("an answer").status,
                403,
                "{path} {forged}"
            );
        }
    }
    assert_eq!(Bench::read(&bench.job("van")), before);
    assert_eq!(phone.page().question(), "Which job?", "the session is where it was");
}

#[test]
fn what_is_too_much_is_turned_away_before_it_is_read() {
    let (_bench, served) = served();
    let phone = served.first();
    let (host, cookie) = (&served.host, &phone.cookie);
    let post = |path: &str, length: &str| {
        let head = format!(
            "POST {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\n\
             Content-Length: {length}\r\n\r\n"
        );
        served.raw(head.as_bytes()).expect("an answer").status
    };
    for path in ["/answer", "/take-in", "/in"] {
        assert_eq!(post(path, "1073741824"), 413, "{path}");
        assert_eq!(post(path, "99999999999999999999999"), 413, "{path}");
        assert_eq!(post(path, "-1"), 400, "{path}");
    }
    // A stranger's body is not waited for at all.
    let stranger = format!(
        "POST /take-in HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nContent-Length: 1000000\r\n\r\n"
    );
    assert_eq!(served.raw(stranger.as_bytes()).expect("an answer").status, 403);
    let long = format!("GET /{} HTTP/1.1\r\n\r\n", "a".repeat(100_000));
    assert_eq!(served.raw(long.as_bytes()).expect("an answer").status, 431);
    let many = format!("GET / HTTP/1.1\r\n{}\r\n", "x: y\r\n".repeat(5_000));
    assert_eq!(served.raw(many.as_bytes()).expect("an answer").status, 431);
    let fields = "a=b&".repeat(5_000);
    assert_eq!(phone.post("/answer", &fields).status, 400);
    let line = format!("n=1&line={}", "x".repeat(60_000));
    phone.begin();
    assert_eq!(phone.post("/answer", &line).status, 400);
    lives(&phone);
}

#[test]
fn what_is_no_request_is_answered_so_or_not_at_all() {
    let (_bench, served) = served();
    let phone = served.first();
    for bytes in [
        &b"\0\0\0\0\r\n\r\n"[..],
        b"GET\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
        b"GET / HTTP/9.9\r\n\r\n",
        b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
        b"POST / HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
        b"GET / HTTP/1.1\r\n \r\n\r\n",
        b"\r\n\r\n\r\n",
    ] {
        let mut stream = served.connect();
        let _ = stream.write_all(bytes);
        let _ = stream.shutdown(std::net::Shutdown::Write);
        if let Some(got) = answer(&mut stream) {
            assert!((400..500).contains(&got.status), "{bytes:?}: {}", got.status);
        }
    }
    lives(&phone);
}

#[test]
fn paths_lead_nowhere() {
    let (_bench, served) = served();
    let phone = served.first();
    phone.begin();
    for path in [
        "/../jobs/van.ron",
        "/jobs/van.ron",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/..%2f..%2fetc%2fpasswd",
        "//etc/passwd",
        "/card/../../etc/passwd",
        "/job.ron/../../../etc/passwd",
        "/van.ron",
        "http://evil.example/",
        "/\u{0}",
    ] {
        let got = phone.get(path);
        assert!(matches!(got.status, 400 | 404), "{path}: {}", got.status);
        assert!(!got.body.contains("root:") && !got.body.contains("format:"), "{path}");
    }
    // A vehicle's name is no path either.
    phone.picks("Which job?", "Start a new job");
    phone.types("Which vehicle or engine?", "../../../etc/passwd");
    phone.types("What is the complaint?", "/dev/zero");
    phone.picks("What engine is it?", "Four in line, port");
    phone.types("Which cylinder, at which point, what does it do?", "");
    let page = phone.page();
    phone.answers(&page, "");
    assert_eq!(
        phone.get("/job.ron").header("Content-Disposition"),
        Some("attachment; filename=\"etc-passwd.ron\"")
    );
}

#[test]
fn script_in_every_field_stays_text() {
    let (_bench, served) = served();
    let phone = served.first();
    let nasty = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'";
    let clean = |got: &super::client::Got| {
        assert_eq!(got.body.matches("<script>").count(), 1, "{}", got.body);
        assert!(
            !got.body.contains("<img") && !got.body.contains("alert(1)</script><"),
            "{}",
            got.body
        );
        let policy = got.header("Content-Security-Policy").expect("a policy");
        assert!(policy.starts_with("default-src 'none'") && !policy.contains("unsafe"), "{policy}");
    };
    clean(&phone.begin());
    clean(&phone.get(&format!("/?find={}", encoded(nasty))));
    clean(&served.post("/in", "", &format!("key={}", encoded(nasty))));
    let host = &served.host;
    let door = format!("GET /in?key={} HTTP/1.1\r\nHost: {host}\r\n\r\n", encoded(nasty));
    clean(&served.raw(door.as_bytes()).expect("an answer"));
    phone.picks("Which job?", "Start a new job");
    clean(&phone.types("Which vehicle or engine?", nasty));
    clean(&phone.types("What is the complaint?", nasty));
    phone.picks("What engine is it?", "Four in line, port");
    clean(&phone.types("Which cylinder, at which point, what does it do?", nasty));
    phone.types("Which cylinder, at which point, what does it do?", "");
    let page = phone.page();
    phone.answers(&page, "");
    phone.picks("Exhaust readings: how does the engine run?", "warm idle");
    clean(
        &phone.values(
            "Displays 1 to 4 at warm idle, °C:",
            &format!("1 {} 3 4", nasty.replace(' ', "")),
        ),
    );
    clean(&phone.values("Displays 1 to 4 at warm idle, °C:", "512 505 441 509"));
    clean(&phone.get("/card"));
}

#[test]
fn slow_ones_do_not_keep_others_out() {
    let (_bench, served) = served();
    let phone = served.first();
    // More than there are places; none of them ever says what it wants.
    let slow: Vec<_> = (0..150)
        .map(|n| {
            let mut stream = served.connect();
            let _ = stream.write_all(if n % 2 == 0 { b"GET / HT" } else { b"" });
            stream
        })
        .collect();
    lives(&phone);
    phone.begin();
    // The first of them were cut to make room.
    let mut first = slow.into_iter().next().expect("one");
    let mut rest = Vec::new();
    let _ = first.read_to_end(&mut rest);
    lives(&phone);
}

#[test]
fn ten_thousand_requests_are_answered() {
    let (_bench, served) = served();
    let phone = served.first();
    phone.begin();
    let served = &served;
    let host = &served.host;
    let cookie = &phone.cookie;
    std::thread::scope(|scope| {
        for worker in 0..4 {
            scope.spawn(move || {
                for n in 0..2_500 {
                    let request = match (worker + n) % 4 {
                        0 => format!("GET / HTTP/1.1\r\nHost: {host}\r\n\r\n"),
                        1 => format!(
                            "GET /poll?n=1 HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n\r\n"
                        ),
                        2 => format!("GET /in?key={n} HTTP/1.1\r\nHost: {host}\r\n\r\n"),
                        _ => "\0\r\n\r\n".to_owned(),
                    };
                    let got = served.raw(request.as_bytes());
                    assert!(got.is_some(), "request {n} of {worker}");
                }
            });
        }
    });
    lives(&phone);
    assert_eq!(phone.page().question(), "Which job?");
}

#[test]
fn sessions_are_bounded() {
    let bench = Bench::with_van();
    let mut served = Served::start(&bench, &[]);
    let mut cookies = vec![served.first().cookie];
    for _ in 0..9 {
        served.typed.write_all(b"\n").expect("typed");
        let (_, key) = served.given();
        cookies.push(served.admit(&key).cookie);
    }
    let devices: Vec<Device<'_>> =
        cookies.into_iter().map(|cookie| Device { served: &served, cookie }).collect();
    let begun: Vec<u16> =
        devices.iter().map(|d| d.post("/begin", "for=complaint").status).collect();
    assert_eq!(begun, [303, 303, 303, 303, 303, 303, 303, 303, 503, 503]);
    assert_eq!(devices[0].post("/end", "").status, 303);
    assert!(
        devices[0].page().text().contains("no job was opened")
            || devices[0].page().text().contains("No job was opened")
    );
    assert_eq!(devices[9].post("/begin", "for=complaint").status, 303);
}
