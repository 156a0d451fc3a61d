//! The job store as the guided session sees it.

use std::path::{Path, PathBuf};

use super::card;
use super::context::Context;
use super::failure::Failure;
use super::from_log;
use super::log_args::{self, LogArgs};
use super::{lacking, letterhead, memory, output};
use crate::session::{FromFile, Logged, NotWritten, Notebook, Shelf, Spine};
use facts::job::brief::Brief;
use facts::job::entry::{Entry, Journal};
use facts::job::store::{self, Held};
use facts::knowledge::Knowledge;
use judge::memory::Memory;
use measure::readings::log::Options;
use pages::report::{Doc, Letterhead};

/// Jobs in a folder.
pub(super) struct Folder<'a> {
    pub(super) context: &'a Context,
    pub(super) store: PathBuf,
    pub(super) memory: Option<Memory>,
}

/// Makes a folder and those above it, where they are not there yet; the error is a sentence.
pub(super) fn make_folder(folder: &Path) -> Result<(), String> {
    std::fs::create_dir_all(folder)
        .map_err(|error| format!("could not make {}: {error}", folder.display()))
}

/// Takes hold of a file that is no job; its folder is made where it is not there yet.
///
/// # Errors
/// When another process holds it, or it cannot be written there.
pub(super) fn hold(path: &Path) -> Result<store::Hold, Failure> {
    if let Some(folder) = path.parent() {
        make_folder(folder).map_err(Failure::file)?;
    }
    Ok(store::hold(path)?)
}

impl Notebook for Held {
    fn journal(&self) -> &Journal {
        Held::journal(self)
    }

    fn append(&mut self, entry: Entry) -> Result<usize, String> {
        Held::append(self, entry).map_err(|error| error.to_string())
    }
}

/// A job that is only looked at, because it could not be taken. Each entry tries to take it again.
struct Looked {
    path: PathBuf,
    journal: Journal,
}

impl Notebook for Looked {
    fn journal(&self) -> &Journal {
        &self.journal
    }

    fn append(&mut self, entry: Entry) -> Result<usize, String> {
        let mut held = Held::take(&self.path).map_err(|error| error.to_string())?;
        if *held.journal() != self.journal {
            return Err("the job was changed meanwhile: choose it again to see how".to_owned());
        }
        let number = Held::append(&mut held, entry).map_err(|error| error.to_string())?;
        self.journal = Held::journal(&held).clone();
        Ok(number)
    }
}

impl Folder<'_> {
    /// Where a job is: in the store, or at a path, which need not be there.
    fn path(&self, name: &str) -> Result<PathBuf, String> {
        let path = store::locate(name, &self.store).map_err(|error| error.to_string())?;
        if path != Path::new(name) {
            store::stays_in(&path, &self.store).map_err(|error| error.to_string())?;
        }
        Ok(path)
    }
}

/// Writes a file that the session named; says where it is, in full.
fn put(file: &str, bytes: &[u8], replace: bool) -> Result<String, NotWritten> {
    let path = Path::new(file);
    if !replace && output::replaceable(path) {
        return Err(NotWritten::Exists);
    }
    output::write(path, bytes, replace).map_err(|f| NotWritten::Because(f.in_a_line()))?;
    Ok(std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned()).display().to_string())
}

impl Shelf for Folder<'_> {
    fn list(&self) -> Result<Vec<Spine>, String> {
        let listed = store::list(&self.store).map_err(|error| error.to_string())?;
        Ok(listed
            .into_iter()
            .map(|l| Spine { name: l.name, job: l.job.map_err(|error| error.to_string()) })
            .collect())
    }

    fn create(&mut self, name: &str, journal: &Journal) -> Result<(), String> {
        let path = store::locate(name, &self.store).map_err(|error| error.to_string())?;
        if path != Path::new(name) {
            // On the first job of a workshop the folder is not there yet.
            make_folder(&self.store)?;
        }
        store::create(&path, journal).map_err(|error| error.to_string())
    }

    fn take(&mut self, name: &str) -> Result<Box<dyn Notebook>, String> {
        let path = self.path(name)?;
        match Held::take(&path) {
            Ok(held) => Ok(Box::new(held)),
            Err(error) => Err(error.to_string()),
        }
    }

    fn look(&self, name: &str) -> Result<Box<dyn Notebook>, String> {
        let path = self.path(name)?;
        let journal = store::open(&path).map_err(|error| error.to_string())?;
        Ok(Box::new(Looked { path, journal }))
    }

    fn log(&self, file: &str, about: Logged<'_>) -> Result<FromFile, String> {
        let file = PathBuf::from(file);
        let asked = from_log::Asked {
            job: "JOB",
            file: &file,
            log: &LogArgs::default(),
            windows: &[],
            at: None,
            head: about.head,
        };
        let job = from_log::Job {
            knowledge: about.knowledge,
            journal: about.journal,
            timeline: about.timeline,
        };
        let reader = |options: &Options| log_args::read(&file, options);
        let gathered =
            from_log::gather(job, about.now, &asked, &reader).map_err(|f| f.in_a_line())?;
        Ok(FromFile { entries: gathered.entries, notes: gathered.notes })
    }

    fn past(&self) -> Vec<Brief> {
        // Only an offer: what cannot be read is not looked at.
        let scanned = store::scan(&self.store).unwrap_or_default();
        scanned.into_iter().filter_map(|scanned| scanned.job.ok()).collect()
    }

    fn recall(&self, knowledge: &Knowledge, journal: &Journal) -> Option<Knowledge> {
        let marked = lacking::mark(self.context, knowledge.clone());
        let recalled = self.memory.as_ref().and_then(|m| memory::recalled(&marked, m, journal));
        recalled.or_else(|| (!marked.lacking.is_empty()).then_some(marked))
    }

    fn never(&mut self, test: &str) -> Result<String, String> {
        let added = lacking::add(self.context, test);
        added.map(|path| path.display().to_string()).map_err(|failure| failure.in_a_line())
    }

    fn letterhead(&self) -> Letterhead {
        letterhead::read(self.context)
    }

    fn remembers(&self) -> bool {
        self.memory.is_some()
    }

    fn write(&mut self, file: &str, page: &Doc, replace: bool) -> Result<String, NotWritten> {
        let bytes = card::file_of(self.context, page, Path::new(file));
        put(file, &bytes.map_err(|failure| NotWritten::Because(failure.in_a_line()))?, replace)
    }

    fn write_table(&mut self, file: &str, text: &str, replace: bool) -> Result<String, NotWritten> {
        put(file, text.as_bytes(), replace)
    }
}
