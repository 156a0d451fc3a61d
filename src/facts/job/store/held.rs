//! What this process alone may write to: a job, or another file beside the jobs, until it is let go.
//!
//! It must not add to a file that lost what was read from it.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use super::disk::{Disk, Real};
use super::lock::lock;
use super::whole::{Target, clear_away, write};
use super::{StoreError, io_error, open, open_on};
use crate::job::entry::{Entry, Journal};

/// A job that this process alone may write to, until dropped.
#[derive(Debug)]
pub struct Held {
    path: PathBuf,
    journal: Journal,
    _lock: File,
}

impl Held {
    /// Takes hold of a job and reads it.
    ///
    /// # Errors
    /// As [`open`], and when another session holds it.
    pub fn take(path: &Path) -> Result<Self, StoreError> {
        // The rename would put a plain file in the place of a link.
        let path = match fs::canonicalize(path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Err(StoreError::Missing(path.to_owned()));
            }
            other => other.map_err(io_error("open", path))?,
        };
        let lock = lock(&path)?;
        clear_away(&path);
        Ok(Self { journal: open(&path)?, path, _lock: lock })
    }

    /// The job as last read or written.
    #[must_use]
    pub fn journal(&self) -> &Journal {
        &self.journal
    }

    /// Adds an entry to the file and gives its number.
    ///
    /// # Errors
    /// When the file can no longer be read, does not go on from what was read, or cannot be
    /// written; it is then as it was.
    pub fn append(&mut self, entry: Entry) -> Result<usize, StoreError> {
        self.journal = append_on(&Real, &self.path, &self.journal, entry)?;
        Ok(self.journal.entries.len())
    }
}

/// The job with an entry more, on the disk when this returns.
pub(super) fn append_on(
    disk: &impl Disk,
    path: &Path,
    known: &Journal,
    entry: Entry,
) -> Result<Journal, StoreError> {
    // An editor does not ask for the lock; what it saved meanwhile must not be lost. What it took
    // away must not be built upon.
    let mut journal = open_on(disk, path)?;
    if journal.head != known.head || !journal.entries.starts_with(&known.entries) {
        return Err(StoreError::Replaced(path.to_owned()));
    }
    journal.push(entry);
    write(disk, path, &journal, Target::Replace)?;
    Ok(journal)
}

/// A file beside the jobs that this process alone may write to, until dropped.
#[derive(Debug)]
pub struct Hold {
    _lock: File,
}

/// Takes hold of a file that is no job; it need not be there yet.
///
/// # Errors
/// When another process holds it, or its folder cannot be written.
pub fn hold(path: &Path) -> Result<Hold, StoreError> {
    let hold = Hold { _lock: lock(path)? };
    clear_away(path);
    Ok(hold)
}
