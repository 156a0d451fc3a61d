//! The program serving, and a device that asks it as a browser would.

use std::fmt::Write as _;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Child, ChildStdin, ChildStdout, Stdio};

use serde_json::Value;

use crate::bench::Bench;

/// The program, ended when dropped.
pub(super) struct Served {
    child: Child,
    out: BufReader<ChildStdout>,
    pub(super) typed: ChildStdin,
    /// As `127.0.0.1:8137`.
    pub(super) host: String,
    /// The key that was given out first.
    pub(super) key: String,
}

/// An answer.
#[derive(Debug)]
pub(super) struct Got {
    pub(super) status: u16,
    pub(super) head: String,
    pub(super) body: String,
}

/// A browser's cookie, and where it is for.
pub(super) struct Device<'a> {
    pub(super) served: &'a Served,
    pub(super) cookie: String,
}

impl Served {
    pub(super) fn start(bench: &Bench, options: &[&str]) -> Self {
        let mut child = bench
            .command()
            .args(["serve", "--port", "0", "--json", "--jobs", "jobs"])
            .args(["--now", "2026-03-02T08:00:00Z"])
            .args(options)
            .stdin(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .expect("it runs");
        let out = BufReader::new(child.stdout.take().expect("its output"));
        let typed = child.stdin.take().expect("its input");
        let mut served = Self { child, out, typed, host: String::new(), key: String::new() };
        let (host, key) = served.given();
        (served.host, served.key) = (host, key);
        served
    }

    /// The next address that is given out, as its host and its key.
    pub(super) fn given(&mut self) -> (String, String) {
        loop {
            let mut line = String::new();
            assert!(self.out.read_line(&mut line).expect("a line") > 0, "it has ended");
            let document: Value = serde_json::from_str(&line).expect("a document");
            // What a followed log says comes in between.
            let Some(address) = document["address"].as_str() else { continue };
            let (host, key) = address["http://".len()..].split_once("/in?key=").expect("a key");
            return (host.to_owned(), key.to_owned());
        }
    }

    /// Sends bytes as they are and reads the answer to its end; none where nothing came.
    pub(super) fn raw(&self, bytes: &[u8]) -> Option<Got> {
        let mut stream = TcpStream::connect(&self.host).expect("connected");
        // The answer may come before all of it is sent.
        let _ = stream.write_all(bytes);
        answer(&mut stream)
    }

    pub(super) fn connect(&self) -> TcpStream {
        TcpStream::connect(&self.host).expect("connected")
    }

    /// A post as a page of its own sends it.
    pub(super) fn post(&self, path: &str, cookie: &str, form: &str) -> Got {
        let host = &self.host;
        let request = format!(
            "POST {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{form}",
            form.len()
        );
        self.raw(request.as_bytes()).expect("an answer")
    }

    /// Trades a key for a cookie.
    pub(super) fn admit(&self, key: &str) -> Device<'_> {
        let got = self.post("/in", "", &format!("key={key}"));
        assert_eq!(got.status, 303, "{}", got.body);
        let cookie = got.header("Set-Cookie").expect("a cookie");
        assert!(cookie.ends_with("; Path=/; HttpOnly; SameSite=Strict"), "{cookie}");
        let cookie = cookie.split(';').next().unwrap_or_default().to_owned();
        Device { served: self, cookie }
    }

    /// A device that is let in by the first key.
    pub(super) fn first(&self) -> Device<'_> {
        self.admit(&self.key)
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Reads an answer to its end.
pub(super) fn answer(stream: &mut TcpStream) -> Option<Got> {
    let mut bytes = Vec::new();
    // A connection that is cut may end in an error after the answer.
    let _ = stream.read_to_end(&mut bytes);
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let (head, body) = text.split_once("\r\n\r\n")?;
    let status = head.split(' ').nth(1)?.parse().ok()?;
    Some(Got { status, head: head.to_owned(), body: body.to_owned() })
}

impl Got {
    pub(super) fn header(&self, name: &str) -> Option<&str> {
        self.head.lines().find_map(|line| line.strip_prefix(name)?.strip_prefix(": "))
    }

    /// The question of a page.
    pub(super) fn question(&self) -> String {
        between(&self.body, "<h1 id=\"q\">", "</h1>").map(plain).unwrap_or_default()
    }

    fn number(&self) -> String {
        between(&self.body, "name=\"n\" value=\"", "\"").unwrap_or("0").to_owned()
    }

    /// Options with their values.
    pub(super) fn options(&self) -> Vec<(String, String)> {
        let mut options = Vec::new();
        for piece in self.body.split("name=\"choice\"").skip(1) {
            let value = between(piece, "value=\"", "\"").unwrap_or_default();
            let label = between(piece, "<span>", "</span>").map(plain).unwrap_or_default();
            options.push((label, value.to_owned()));
        }
        options
    }

    /// The text of a page without its tags.
    pub(super) fn text(&self) -> String {
        let body = self.body.split("<body").nth(1).unwrap_or(&self.body);
        let body = body.split("<script>").next().unwrap_or_default();
        let mut text = String::new();
        for piece in body.split('<').skip(1) {
            text.push_str(piece.split_once('>').map_or("", |(_, text)| text));
            text.push(' ');
        }
        plain(&text).split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

fn between<'a>(text: &'a str, open: &str, close: &str) -> Option<&'a str> {
    text.split_once(open)?.1.split_once(close).map(|(inside, _)| inside)
}

fn plain(text: &str) -> String {
    let text = text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"");
    text.replace("&amp;", "&")
}

/// A word as a form has it.
pub(super) fn encoded(text: &str) -> String {
    text.bytes().fold(String::new(), |mut encoded, byte| {
        let _ = write!(encoded, "%{byte:02x}");
        encoded
    })
}

impl Device<'_> {
    pub(super) fn get(&self, path: &str) -> Got {
        let (host, cookie) = (&self.served.host, &self.cookie);
        let request = format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n\r\n");
        self.served.raw(request.as_bytes()).expect("an answer")
    }

    pub(super) fn post(&self, path: &str, form: &str) -> Got {
        self.served.post(path, &self.cookie, form)
    }

    /// The page as it is.
    pub(super) fn page(&self) -> Got {
        loop {
            let got = self.get("/");
            assert_eq!(got.status, 200, "{}", got.body);
            // As a browser does: each look waits by itself as long as one request may.
            if !got.body.contains("<title>Working it out") {
                return got;
            }
        }
    }

    pub(super) fn begin(&self) -> Got {
        assert_eq!(self.post("/begin", "for=complaint").status, 303);
        self.page()
    }

    /// Answers the question of a page with fields; the page that follows.
    pub(super) fn answers(&self, page: &Got, fields: &str) -> Got {
        let got = self.post("/answer", &format!("n={}&{fields}", page.number()));
        assert_eq!(got.status, 303, "{}: {}", page.question(), got.text());
        self.page()
    }

    /// Types a line.
    pub(super) fn types(&self, question: &str, line: &str) -> Got {
        let page = self.page();
        assert_eq!(page.question(), question);
        self.answers(&page, &format!("line={}", encoded(line)))
    }

    /// Enters a value for each display.
    pub(super) fn values(&self, question: &str, values: &str) -> Got {
        let page = self.page();
        assert_eq!(page.question(), question);
        let fields: Vec<String> = (1..)
            .zip(values.split(' '))
            .map(|(place, value): (u8, _)| match value {
                "open" | "stuck" | "falling" => format!("v{place}=&s{place}={value}"),
                _ => format!("v{place}={}&s{place}=", encoded(value)),
            })
            .collect();
        self.answers(&page, &fields.join("&"))
    }

    /// Takes the only option that begins with a text.
    pub(super) fn picks(&self, question: &str, label: &str) -> Got {
        let page = self.page();
        assert_eq!(page.question(), question, "{}", page.text());
        let options = page.options();
        let mut fit = options.iter().filter(|(option, _)| option.starts_with(label));
        let (_, value) = fit.next().unwrap_or_else(|| panic!("no {label} of {options:?}"));
        self.answers(&page, &format!("choice={value}"))
    }

    /// Opens a new job of a four in line, warm, and enters readings at idle.
    pub(super) fn opens(&self, vehicle: &str, readings: &str) -> Got {
        self.begin();
        if self.page().question() == "Which job?" {
            self.picks("Which job?", "Start a new job");
        }
        self.types("Which vehicle or engine?", vehicle);
        self.types("What is the complaint?", "display 3 reads low");
        self.picks("What engine is it?", "Four in line, port");
        let page = self.page();
        assert_eq!(page.question(), "What was done lately? Mark all that apply.");
        self.answers(&page, "");
        self.picks("Exhaust readings: how does the engine run?", "warm idle");
        self.values("Displays 1 to 4 at warm idle, °C:", readings)
    }
}
