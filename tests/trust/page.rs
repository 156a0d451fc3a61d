//! The page and the terminal enter in one job at once, and both are killed at random moments.
//!
//! What was said to be entered must be there, once, whoever entered it; what was not said is there whole and
//! once, or not at all. Readings carry a number by which each is known again.

use std::collections::BTreeMap;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::time::Duration;

use facts::job::entry::{Reading, What};
use facts::job::store;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::{kills, program};

/// The program as it serves, and a device that is in.
struct Page {
    child: Child,
    host: String,
    cookie: String,
}

/// What comes between two marks.
fn between<'a>(text: &'a str, open: &str, close: &str) -> Option<&'a str> {
    text.split_once(open)?.1.split_once(close).map(|(inside, _)| inside)
}

fn asks(host: &str, request: &str) -> Option<String> {
    let mut stream = TcpStream::connect(host).ok()?;
    stream.write_all(request.as_bytes()).ok()?;
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).ok()?;
    let text = String::from_utf8_lossy(&answer).into_owned();
    text.contains("\r\n\r\n").then_some(text)
}

impl Page {
    fn start(folder: &Path) -> Self {
        let mut child = program(folder)
            .args(["--jobs", "jobs", "serve", "--port", "0", "--json"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("it runs");
        let mut line = String::new();
        let mut out = BufReader::new(child.stdout.take().expect("piped"));
        out.read_line(&mut line).expect("an address");
        let address = between(&line, "http://", "\"").expect("an address").to_owned();
        let (host, key) = address.split_once("/in?key=").expect("a key");
        let mut page = Self { child, host: host.to_owned(), cookie: String::new() };
        let admitted = page.post("/in", &format!("key={key}")).expect("an answer");
        let cookie = between(&admitted, "Set-Cookie: ", ";").expect("a cookie");
        cookie.clone_into(&mut page.cookie);
        page
    }

    fn get(&self) -> Option<String> {
        let Self { host, cookie, .. } = self;
        let request = format!("GET / HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n\r\n");
        loop {
            let got = asks(host, &request)?;
            if !got.contains("<title>Working it out") {
                return Some(got);
            }
        }
    }

    fn post(&self, path: &str, form: &str) -> Option<String> {
        let Self { host, cookie, .. } = self;
        let request = format!(
            "POST {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\n\
             Content-Length: {}\r\n\r\n{form}",
            form.len()
        );
        asks(host, &request)
    }

    /// Answers the question that is asked; the page after it.
    fn answers(&self, page: &str, fields: &str) -> Option<String> {
        let number = between(page, "name=\"n\" value=\"", "\"")?;
        self.post("/answer", &format!("n={number}&{fields}"))?;
        self.get()
    }

    /// Takes the option that begins with a text.
    fn picks(&self, page: &str, label: &str) -> Option<String> {
        let mut options = page.split("name=\"choice\"").skip(1);
        let option = options.find(|option| {
            between(option, "<span>", "</span>").is_some_and(|own| own.starts_with(label))
        })?;
        let value = between(option, "value=\"", "\"")?;
        self.answers(page, &format!("choice={value}"))
    }

    /// Goes to the main question of the job.
    fn takes_up(&self) -> Option<String> {
        self.post("/begin", "for=complaint")?;
        let mut page = self.picks(&self.get()?, "van")?;
        while page.contains(">How is the engine now?</h1>") {
            page = self.picks(&page, "warm")?;
        }
        Some(page)
    }

    /// Enters readings; whether it said that they are.
    fn enters(&self, page: &str, first: &str) -> Option<(String, bool)> {
        let page = self.picks(page, "Enter readings")?;
        let page = self.picks(&page, "warm idle")?;
        let page = self.answers(&page, &format!("v1={first}&v2=410&v3=390&v4=405"))?;
        let said = page.contains("Saved as entry");
        Some((page, said))
    }
}

/// So many sets of each number are in the job.
fn kept(folder: &Path) -> BTreeMap<u32, usize> {
    let journal = store::open(&folder.join("jobs/van.ron"))
        .expect("killed writers leave a job that can be read");
    let mut kept = BTreeMap::new();
    for entry in &journal.entries {
        let What::Temps { readings, .. } = &entry.what else { continue };
        let [Reading::Degrees(first), _, _, _] = readings[..] else {
            panic!("half a set: {readings:?}")
        };
        *kept.entry(number_of(first.value())).or_default() += 1;
    }
    kept
}

/// The number of a set is in its first reading, in tenths above 400 °C.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "small and above nought"
)]
fn number_of(first: f64) -> u32 {
    ((first - 400.0) * 10.0).round() as u32
}

fn first_of(number: u32) -> String {
    format!("{:.1}", 400.0 + f64::from(number) / 10.0)
}

/// What goes on at once.
struct Round<'a> {
    folder: &'a Path,
    page: &'a Page,
    next: &'a AtomicU32,
    over: AtomicBool,
    /// Numbers that were said to be entered.
    said: Mutex<Vec<u32>>,
    terminal: Mutex<Option<Child>>,
}

impl Round<'_> {
    fn number(&self) -> u32 {
        self.next.fetch_add(1, Ordering::Relaxed)
    }

    fn says(&self, number: u32) {
        self.said.lock().expect("no panic").push(number);
    }

    fn on_the_page(&self) -> Option<()> {
        let mut page = self.page.takes_up()?;
        while !self.over.load(Ordering::Relaxed) {
            let number = self.number();
            let (after, said) = self.page.enters(&page, &first_of(number))?;
            if said {
                self.says(number);
            }
            page = after;
        }
        Some(())
    }

    fn on_the_terminal(&self) {
        while !self.over.load(Ordering::Relaxed) {
            let number = self.number();
            let first = first_of(number);
            let mut child = program(self.folder)
                .args([
                    "--jobs", "jobs", "temps", "van", "--at", "idle", &first, "410", "390", "405",
                ])
                .stdout(Stdio::piped())
                .spawn()
                .expect("it runs");
            let mut out = child.stdout.take().expect("piped");
            *self.terminal.lock().expect("no panic") = Some(child);
            let mut said = String::new();
            let _ = out.read_to_string(&mut said);
            if let Some(mut child) = self.terminal.lock().expect("no panic").take() {
                let _ = child.wait();
            }
            if said.starts_with("entry ") && said.ends_with('\n') {
                self.says(number);
            }
        }
    }
}

#[expect(clippy::print_stderr, reason = "says what was tried, for the record")]
#[test]
fn nothing_that_page_and_terminal_enter_at_once_is_lost_to_kills() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    std::fs::create_dir(folder.join("jobs")).expect("a store");
    let open = ["--jobs", "jobs", "open", "van", "--cylinders", "4", "--state", "warm"];
    assert!(program(folder).args(open).output().expect("it runs").status.success());
    let mut random = Pcg64Mcg::seed_from_u64(17);
    let next = AtomicU32::new(1);
    let mut said: Vec<u32> = Vec::new();
    let (mut killed, mut all_said, mut unsaid) = (0_u64, 0_usize, 0_usize);
    // Of the short form few: each begins a page anew.
    let wanted = if kills() > super::USUAL { kills() } else { super::USUAL / 3 };
    while killed < wanted {
        let mut page = Page::start(folder);
        let moment = Duration::from_millis(random.random_range(20..400));
        let round = Round {
            folder,
            page: &page,
            next: &next,
            over: AtomicBool::new(false),
            said: Mutex::default(),
            terminal: Mutex::default(),
        };
        let mut server = None;
        std::thread::scope(|scope| {
            scope.spawn(|| round.on_the_page());
            scope.spawn(|| round.on_the_terminal());
            std::thread::sleep(moment);
            // The one that serves is killed by its number: its handle is in use.
            server = Some(signal(&round.page.child));
            if let Some(child) = round.terminal.lock().expect("no panic").as_mut() {
                killed += u64::from(child.kill().is_ok());
            }
            round.over.store(true, Ordering::Relaxed);
        });
        killed += u64::from(server == Some(true));
        said.extend(round.said.into_inner().expect("no panic"));
        let _ = page.child.wait();
        let kept = kept(folder);
        for number in &said {
            assert_eq!(kept.get(number), Some(&1), "{number} was said to be entered");
        }
        assert!(kept.values().all(|count| *count == 1), "one is there twice: {kept:?}");
        if kept.len() > 40 {
            all_said += said.len();
            unsaid += kept.len() - said.len();
            std::fs::remove_file(folder.join("jobs/van.ron")).expect("removed");
            assert!(program(folder).args(open).output().expect("it runs").status.success());
            said.clear();
            next.store(1, Ordering::Relaxed);
        }
    }
    all_said += said.len();
    eprintln!(
        "{killed} kills of page and terminal at once, {all_said} entries said, {unsaid} kept without having been \
         said; 0 lost, 0 twice, 0 torn"
    );
}

/// Kills a process whose handle is shared.
fn signal(child: &Child) -> bool {
    let number = child.id().to_string();
    let killed = std::process::Command::new("kill").args(["-KILL", &number]).status();
    killed.is_ok_and(|status| status.success())
}
