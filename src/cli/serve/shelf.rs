//! The jobs as the session on a page has them: shared with others, and held only while an entry is added.
//!
//! No name that was typed becomes a path, and no file is written but jobs of the store.

use std::path::{Path, PathBuf};

use crate::cli::folder::{Folder, make_folder};
use crate::session::{FromFile, Logged, NotWritten, Notebook, Shelf, Spine};
use facts::job::brief::Brief;
use facts::job::check;
use facts::job::entry::{Entry, Journal, What};
use facts::job::read::standing;
use facts::job::store::{self, Held};
use facts::job::timeline::Standing;
use facts::knowledge::Knowledge;
use pages::report::{Doc, Letterhead};

/// A job that others may enter things in as well.
#[derive(Debug)]
pub(super) struct Shared {
    path: PathBuf,
    /// As last read.
    journal: Journal,
}

impl Shared {
    pub(super) fn open(path: PathBuf) -> Result<Self, String> {
        let journal = store::open(&path).map_err(|error| error.to_string())?;
        Ok(Self { path, journal })
    }

    /// Whether a journal goes on from what was last read.
    fn goes_on(&self, now: &Journal) -> Result<(), String> {
        if now.head == self.journal.head && now.entries.starts_with(&self.journal.entries) {
            return Ok(());
        }
        Err(store::StoreError::Replaced(self.path.clone()).to_string())
    }
}

impl Notebook for Shared {
    fn journal(&self) -> &Journal {
        &self.journal
    }

    fn append(&mut self, entry: Entry) -> Result<usize, String> {
        // Read anew under the lock: what is added goes on from what is there, whoever entered it.
        let mut held = Held::take(&self.path).map_err(|error| error.to_string())?;
        let now = Held::journal(&held);
        self.goes_on(now)?;
        if now.entries.len() > self.journal.entries.len() {
            if hangs_on_the_whole(&entry) {
                return Err(
                    "another has entered something meanwhile, on which this hangs".to_owned()
                );
            }
            if standing(now) != Standing::Open && entry.what != What::Reopen {
                return Err("another has closed the job meanwhile".to_owned());
            }
        }
        let number = now.entries.len() + 1;
        check::whole(&now.head.engine, number, &entry).map_err(|error| error.to_string())?;
        let number = Held::append(&mut held, entry).map_err(|error| error.to_string())?;
        self.journal = Held::journal(&held).clone();
        Ok(number)
    }

    fn refresh(&mut self) -> Result<bool, String> {
        let now = store::open(&self.path).map_err(|error| error.to_string())?;
        self.goes_on(&now)?;
        let anew = now.entries.len() > self.journal.entries.len();
        self.journal = now;
        Ok(anew)
    }
}

/// Whether an entry says something of the job as it was seen, and not only what was done or read.
fn hangs_on_the_whole(entry: &Entry) -> bool {
    entry.instead.is_some()
        || matches!(
            entry.what,
            What::Close { .. } | What::Recorded | What::Undo { .. } | What::Reopen
        )
}

/// The jobs of the store.
pub(super) struct Rack<'a> {
    pub(super) folder: Folder<'a>,
}

impl Rack<'_> {
    /// Where a job of the store is; a path is none.
    fn path(&self, name: &str) -> Result<PathBuf, String> {
        named(name, &self.folder.store)
    }
}

/// Where a job of a store is, by its name alone.
pub(super) fn named(name: &str, folder: &Path) -> Result<PathBuf, String> {
    let path = store::locate(name, folder).map_err(|error| error.to_string())?;
    if path == Path::new(name) {
        return Err(format!("`{name}` is a path: a page names jobs of the store only"));
    }
    store::stays_in(&path, folder).map_err(|error| error.to_string())?;
    Ok(path)
}

impl Shelf for Rack<'_> {
    fn list(&self) -> Result<Vec<Spine>, String> {
        self.folder.list()
    }

    fn create(&mut self, name: &str, journal: &Journal) -> Result<(), String> {
        let path = self.path(name)?;
        make_folder(&self.folder.store)?;
        store::create(&path, journal).map_err(|error| error.to_string())
    }

    fn take(&mut self, name: &str) -> Result<Box<dyn Notebook>, String> {
        Ok(Box::new(Shared::open(self.path(name)?)?))
    }

    fn log(&self, _file: &str, _about: Logged<'_>) -> Result<FromFile, String> {
        Err("a page reads no files of the computer: `oddpot log` does".to_owned())
    }

    fn past(&self) -> Vec<Brief> {
        self.folder.past()
    }

    fn recall(&self, knowledge: &Knowledge, journal: &Journal) -> Option<Knowledge> {
        self.folder.recall(knowledge, journal)
    }

    fn never(&mut self, test: &str) -> Result<String, String> {
        self.folder.never(test)
    }

    fn letterhead(&self) -> Letterhead {
        self.folder.letterhead()
    }

    fn remembers(&self) -> bool {
        self.folder.remembers()
    }

    fn write(&mut self, _file: &str, _page: &Doc, _replace: bool) -> Result<String, NotWritten> {
        Err(NotWritten::Because("a page writes no files of the computer".to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two() -> (tempfile::TempDir, Shared, Shared) {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("van.ron");
        store::create(&path, &fixture::journal()).expect("created");
        let open = || Shared::open(path.clone()).expect("a job");
        let (one, other) = (open(), open());
        (folder, one, other)
    }

    #[test]
    fn what_two_enter_is_all_kept_in_order() {
        let (_folder, mut one, mut other) = two();
        assert_eq!(one.append(fixture::entry(What::LoadConfirmed)), Ok(1));
        assert_eq!(other.append(fixture::entry(What::LoadConfirmed)), Ok(2));
        assert_eq!(one.refresh(), Ok(true));
        assert_eq!(one.refresh(), Ok(false));
        assert_eq!(one.append(fixture::entry(What::LoadConfirmed)), Ok(3));
        assert_eq!(other.refresh(), Ok(true));
        assert_eq!(other.journal(), one.journal());
    }

    #[test]
    fn what_hangs_on_the_whole_is_not_entered_on_an_old_view() {
        let (_folder, mut one, mut other) = two();
        let close = || fixture::entry(What::Close { proven: false, reason: None });
        one.append(fixture::entry(What::LoadConfirmed)).expect("added");
        for what in
            [close(), fixture::entry(What::Recorded), fixture::entry(What::Undo { entry: 1 })]
        {
            assert!(other.append(what).is_err());
        }
        assert_eq!(other.refresh(), Ok(true));
        assert_eq!(other.append(close()), Ok(2));
        let late = one.append(fixture::entry(What::LoadConfirmed)).expect_err("closed");
        assert!(late.contains("closed the job"), "{late}");
        assert_eq!(one.journal().entries.len(), 1, "as it was");
    }

    #[test]
    fn nobody_is_kept_out_by_an_open_page() {
        let (folder, one, _) = two();
        let mut held = Held::take(&folder.path().join("van.ron")).expect("not held by a page");
        Held::append(&mut held, fixture::entry(What::LoadConfirmed)).expect("added");
        drop(one);
    }

    #[test]
    fn no_path_is_a_name() {
        let folder = tempfile::tempdir().expect("a folder");
        assert!(named("van 3", folder.path()).is_ok());
        for bad in ["../van", "/etc/passwd", "van.ron", "a/b", "..", ".van", "", "a\0b", "a\nb"] {
            assert!(named(bad, folder.path()).is_err(), "{bad}");
        }
    }
}
