//! A workshop in memory: its shelf, its clock, and a person who answers from a script.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::OnceLock;

use jiff::{SignedDuration, Timestamp};

use crate::session::{
    Asked, Asker, Ended, FromFile, Line, Logged, Medium, NotWritten, Notebook, Purpose, Script,
    Settings, Shelf, Spine, run,
};
use facts::job::brief::{Brief, key};
use facts::job::entry::{Entry, Journal};
use facts::knowledge::Knowledge;
use facts::knowledge::embedded::embedded;
use facts::knowledge::load;
use judge::memory::{Memory, moved, standing};
use measure::units::Scale;
use pages::report::{Doc, LocalTime, Style, text};

/// Lines of text between two prompts that a screen of 24 lines has room for.
const HEIGHT: usize = 20;
const WIDTH: usize = 80;

/// The knowledge base, loaded once.
fn knowledge() -> &'static Knowledge {
    static LOADED: OnceLock<Knowledge> = OnceLock::new();
    LOADED.get_or_init(|| load(embedded(), &[]).0.expect("the built-in knowledge base is whole"))
}

/// Jobs, pages, and how a disk may fail.
#[derive(Debug, Clone, Default)]
pub(super) struct Workshop {
    pub(super) jobs: BTreeMap<String, Rc<RefCell<Journal>>>,
    pub(super) pages: BTreeMap<String, String>,
    /// Entries that the disk still has room for.
    pub(super) room: Rc<Cell<usize>>,
    pub(super) scale: Option<Scale>,
    pub(super) memory: Option<Memory>,
    /// Tests that can never be done.
    pub(super) never: Vec<String>,
    pub(super) purpose: Purpose,
}

struct Kept {
    journal: Journal,
    disk: Rc<RefCell<Journal>>,
    room: Rc<Cell<usize>>,
}

impl Notebook for Kept {
    fn journal(&self) -> &Journal {
        &self.journal
    }

    fn append(&mut self, entry: Entry) -> Result<usize, String> {
        let Some(left) = self.room.get().checked_sub(1) else {
            return Err("could not write the job: no space left".to_owned());
        };
        self.room.set(left);
        self.journal.push(entry);
        self.disk.replace(self.journal.clone());
        Ok(self.journal.entries.len())
    }
}

impl Shelf for Workshop {
    fn list(&self) -> Result<Vec<Spine>, String> {
        Ok(self
            .jobs
            .iter()
            .map(|(name, job)| Spine { name: name.clone(), job: Ok(job.borrow().clone()) })
            .collect())
    }

    fn create(&mut self, name: &str, journal: &Journal) -> Result<(), String> {
        self.jobs.insert(name.to_owned(), Rc::new(RefCell::new(journal.clone())));
        Ok(())
    }

    fn take(&mut self, name: &str) -> Result<Box<dyn Notebook>, String> {
        let disk = self.jobs.get(name).ok_or("there is no such job")?.clone();
        let journal = disk.borrow().clone();
        Ok(Box::new(Kept { journal, disk, room: self.room.clone() }))
    }

    fn log(&self, file: &str, about: Logged<'_>) -> Result<FromFile, String> {
        if file != "drive.csv" {
            return Err(format!("could not read {file}: it is not there"));
        }
        let count = usize::from(about.timeline.engine.cylinders);
        let entry = |at: &str, level: f64| {
            let what = fixture::temps(at, fixture::degrees(&vec![level; count]));
            (format!("temps --from {file} --at {at} --window 1"), what)
        };
        Ok(FromFile {
            entries: vec![entry("idle", 200.0), entry("cruise", 450.0)],
            notes: vec!["a note on the file".to_owned()],
        })
    }

    fn past(&self) -> Vec<Brief> {
        self.jobs.values().map(|job| Brief::of(&job.borrow())).collect()
    }

    fn recall(&self, knowledge: &Knowledge, journal: &Journal) -> Option<Knowledge> {
        let head = &journal.head;
        let counts = self.memory.as_ref()?.counts(Some(&key(head)));
        let standing = standing(knowledge, &counts);
        Some(moved(knowledge, &standing, &head.engine, &head.recent))
    }

    fn never(&mut self, test: &str) -> Result<String, String> {
        self.never.push(test.to_owned());
        Ok("the list".to_owned())
    }

    fn remembers(&self) -> bool {
        self.memory.is_some()
    }

    fn write(&mut self, file: &str, page: &Doc, replace: bool) -> Result<String, NotWritten> {
        if self.pages.contains_key(file) && !replace {
            return Err(NotWritten::Exists);
        }
        self.pages.insert(file.to_owned(), text::render(page, WIDTH, Style::Plain));
        Ok(file.to_owned())
    }

    fn write_table(&mut self, file: &str, text: &str, replace: bool) -> Result<String, NotWritten> {
        if self.pages.contains_key(file) && !replace {
            return Err(NotWritten::Exists);
        }
        self.pages.insert(file.to_owned(), text.to_owned());
        Ok(file.to_owned())
    }
}

/// A script whose screen is measured.
struct Watched {
    script: Script,
    since_question: usize,
}

impl Watched {
    fn asked(&mut self) {
        self.since_question = 0;
    }
}

impl Asker for Watched {
    fn say(&mut self, text: &str) -> Asked<()> {
        assert!(text.ends_with('\n'), "{text:?}");
        let lines = text.lines().count();
        assert!(lines <= HEIGHT + 1, "{lines} lines at once:\n{text}");
        self.since_question += lines;
        self.script.say(text)
    }

    fn more(&mut self) -> Asked<()> {
        self.asked();
        self.script.more()
    }

    fn choose(&mut self, question: &str, options: &[String], start: usize) -> Asked<usize> {
        self.asked();
        for option in options {
            assert!(option.chars().count() <= WIDTH - 2, "an option wraps: {option}");
        }
        self.script.choose(question, options, start)
    }

    fn choose_many(&mut self, question: &str, options: &[String]) -> Asked<Vec<usize>> {
        self.asked();
        self.script.choose_many(question, options)
    }

    fn line(&mut self, line: Line<'_>) -> Asked<String> {
        self.asked();
        assert!(line.help.chars().count() <= WIDTH - 2, "help wraps: {}", line.help);
        self.script.line(line)
    }
}

/// What came of a session.
pub(super) struct Session {
    pub(super) transcript: String,
    pub(super) ended: Ended,
    /// Answers that were not asked for.
    pub(super) left: usize,
}

impl Workshop {
    pub(super) fn new() -> Self {
        Self { room: Rc::new(Cell::new(usize::MAX)), ..Self::default() }
    }

    /// Runs a session of answers, one a line; the day says when.
    pub(super) fn session(&mut self, day: &str, answers: &str) -> Session {
        let start: Timestamp = format!("2026-05-{day}T08:00:00Z").parse().expect("a time");
        let entries = Cell::new(0);
        // Each entry comes ten minutes after the one before.
        let now = || {
            entries.set(entries.get() + 1);
            start.saturating_add(SignedDuration::from_mins(10 * entries.get())).expect("a time")
        };
        let settings = Settings {
            scale: self.scale.unwrap_or(Scale::Celsius),
            scale_said: self.scale.is_some(),
            width: WIDTH,
            height: HEIGHT,
            style: Style::Plain,
            now: &now,
            local: &LocalTime::default(),
            again: "oddpot",
            purpose: self.purpose,
            medium: Medium::Terminal,
        };
        let mut watched =
            Watched { script: Script::new(answers.trim_start_matches('\n')), since_question: 0 };
        let ended = run(knowledge(), self, &mut watched, settings);
        let transcript = watched.script.transcript().to_owned();
        for line in transcript.lines() {
            assert!(line.chars().count() <= WIDTH, "too wide: {line}");
            assert_eq!(line.trim_end(), line, "blanks at the end");
        }
        Session { transcript, ended, left: watched.script.left() }
    }

    /// What was typed for the entries of a job, as it is on disk.
    pub(super) fn typed(&self, name: &str) -> Vec<String> {
        self.jobs[name].borrow().entries.iter().map(|entry| entry.typed.clone()).collect()
    }
}

impl Session {
    /// The answers fitted and were all used.
    #[track_caller]
    pub(super) fn went_well(&self) -> &Self {
        assert_eq!(self.ended.wrong, None, "{}", self.transcript);
        assert_eq!(self.left, 0, "answers are left:\n{}", self.transcript);
        self
    }

    /// All of these were shown, in this order, wherever lines were broken.
    #[track_caller]
    pub(super) fn shows(&self, texts: &[&str]) -> &Self {
        let words: Vec<&str> = self.transcript.split_whitespace().collect();
        let whole = words.join(" ");
        let mut rest = whole.as_str();
        for text in texts {
            let Some(at) = rest.find(text) else {
                panic!("`{text}` is not shown, or not in this order:\n{}", self.transcript)
            };
            rest = &rest[at + text.len()..];
        }
        self
    }
}

/// Answers that open a job on a six with port injection and give its first readings.
pub(super) fn opened(recent: &str, readings: &str) -> String {
    format!("Old boat\npot 3 reads high\nSix in line, port\n{recent}\nwarm idle\n{readings}\n")
}
