//! Where jobs are kept, as the session sees it.
//!
//! The command line stands a folder behind it, a test keeps jobs in memory. An entry that
//! was added is safe whatever happens after.

use jiff::Timestamp;

use facts::job::brief::Brief;
use facts::job::entry::{Entry, Journal, What};
use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use pages::report::{Doc, Letterhead};

/// A job that entries can be added to.
pub trait Notebook {
    /// Everything entered so far.
    fn journal(&self) -> &Journal;

    /// Adds an entry for good and gives its number.
    ///
    /// # Errors
    /// Why it could not be kept; the job is then as it was.
    fn append(&mut self, entry: Entry) -> Result<usize, String>;

    /// Reads what others have entered meanwhile; whether there was anything.
    ///
    /// # Errors
    /// Why it cannot be read; the job is then as it was.
    fn refresh(&mut self) -> Result<bool, String> {
        Ok(false)
    }
}

/// A job as it is listed.
#[derive(Debug, Clone, PartialEq)]
pub struct Spine {
    /// Its name.
    pub name: String,
    /// What is in it, or why it cannot be read.
    pub job: Result<Journal, String>,
}

/// Why a page was not written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotWritten {
    /// There is a file of that name.
    Exists,
    /// Something else, in words.
    Because(String),
}

/// What a log is wanted for.
#[derive(Debug, Clone, Copy)]
pub struct Logged<'a> {
    /// The knowledge base.
    pub knowledge: &'a Knowledge,
    /// The job.
    pub journal: &'a Journal,
    /// What follows from it.
    pub timeline: &'a Timeline,
    /// The time now.
    pub now: Timestamp,
    /// The log is of head probes, fitted beside those of the complaint.
    pub head: bool,
}

/// What was taken from a log.
#[derive(Debug, Clone, PartialEq)]
pub struct FromFile {
    /// As typed, and as entries.
    pub entries: Vec<(String, What)>,
    /// What is to be said of it.
    pub notes: Vec<String>,
}

/// All jobs.
pub trait Shelf {
    /// The jobs in order of name.
    ///
    /// # Errors
    /// Why they cannot be listed.
    fn list(&self) -> Result<Vec<Spine>, String>;

    /// Keeps a new job, by name, or elsewhere by the path of a file.
    ///
    /// # Errors
    /// Why it could not be kept.
    fn create(&mut self, name: &str, journal: &Journal) -> Result<(), String>;

    /// Takes a job to write to, so that nobody else does.
    ///
    /// # Errors
    /// Why it cannot be had.
    fn take(&mut self, name: &str) -> Result<Box<dyn Notebook>, String>;

    /// A job to look at that could not be taken; what is entered is refused until it can be.
    ///
    /// # Errors
    /// Why it cannot be read either.
    fn look(&self, name: &str) -> Result<Box<dyn Notebook>, String> {
        Err(format!("`{name}` cannot be read"))
    }

    /// What a data log has for a job: entries as typed, and what is to be said of it.
    ///
    /// # Errors
    /// Why nothing can be taken from it.
    fn log(&self, file: &str, about: Logged<'_>) -> Result<FromFile, String>;

    /// Closed jobs in brief, for what readings like a job's came to before; none where nobody looks.
    fn past(&self) -> Vec<Brief> {
        Vec::new()
    }

    /// The knowledge base as the workshop's memory moves it for a job, if there is a memory that has
    /// something to say.
    fn recall(&self, _knowledge: &Knowledge, _journal: &Journal) -> Option<Knowledge> {
        None
    }

    /// Keeps that a test cannot be done in this workshop; says where.
    ///
    /// # Errors
    /// Why it could not be kept.
    fn never(&mut self, test: &str) -> Result<String, String> {
        Err(format!("that `{test}` can never be done cannot be kept here"))
    }

    /// What stands on every card of the workshop.
    fn letterhead(&self) -> Letterhead {
        Letterhead::default()
    }

    /// Whether minutes that a test took are remembered, so that it is worth asking for them.
    fn remembers(&self) -> bool {
        false
    }

    /// Writes a page to a file, its form by the ending of the name; says where it is.
    ///
    /// # Errors
    /// Why it was not written.
    fn write(&mut self, file: &str, page: &Doc, replace: bool) -> Result<String, NotWritten>;

    /// Writes a table to a file as it is; says where it is.
    ///
    /// # Errors
    /// Why it was not written.
    fn write_table(
        &mut self,
        file: &str,
        _text: &str,
        _replace: bool,
    ) -> Result<String, NotWritten> {
        Err(NotWritten::Because(format!("`{file}` cannot be written here")))
    }
}
