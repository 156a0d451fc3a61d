//! Scripts of answers through the guided session: it ends, and what was entered can be read.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use super::base;
use facts::job::entry::{Entry, Journal};
use facts::job::file;
use jiff::Timestamp;
use measure::units::Scale;
use oddpot::session::{
    FromFile, Logged, NotWritten, Notebook, Script, Settings, Shelf, Spine, run,
};
use pages::report::{Doc, Style};

#[derive(Default)]
struct Memory(BTreeMap<String, Rc<RefCell<Journal>>>);

struct Kept(Journal, Rc<RefCell<Journal>>);

impl Notebook for Kept {
    fn journal(&self) -> &Journal {
        &self.0
    }

    fn append(&mut self, entry: Entry) -> Result<usize, String> {
        self.0.push(entry);
        self.1.replace(self.0.clone());
        Ok(self.0.entries.len())
    }
}

impl Shelf for Memory {
    fn list(&self) -> Result<Vec<Spine>, String> {
        let jobs = self.0.iter();
        Ok(jobs.map(|(n, j)| Spine { name: n.clone(), job: Ok(j.borrow().clone()) }).collect())
    }

    fn create(&mut self, name: &str, journal: &Journal) -> Result<(), String> {
        self.0.insert(name.to_owned(), Rc::new(RefCell::new(journal.clone())));
        Ok(())
    }

    fn take(&mut self, name: &str) -> Result<Box<dyn Notebook>, String> {
        let job = self.0.get(name).ok_or("no such job")?;
        Ok(Box::new(Kept(job.borrow().clone(), job.clone())))
    }

    fn log(&self, _: &str, _: Logged<'_>) -> Result<FromFile, String> {
        Err("there are no logs here".to_owned())
    }

    fn write(&mut self, file: &str, _: &Doc, _: bool) -> Result<String, NotWritten> {
        Ok(file.to_owned())
    }
}

/// Puts the bytes to it.
///
/// # Panics
/// When what must hold does not.
pub fn put(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let mut shelf = Memory::default();
    let mut script = Script::new(text);
    let now = || Timestamp::UNIX_EPOCH;
    let settings = Settings {
        scale_said: false,
        scale: Scale::Celsius,
        width: 80,
        height: 20,
        style: Style::Plain,
        now: &now,
        local: &pages::report::LocalTime::default(),
        again: "oddpot",
        purpose: oddpot::session::Purpose::Complaint,
        medium: oddpot::session::Medium::Terminal,
    };
    let _ = run(base(), &mut shelf, &mut script, settings);
    for job in shelf.0.values() {
        let text = file::write(&job.borrow()).expect("a job can be written");
        assert!(file::read(&text).is_ok(), "{text}");
    }
}
