//! Job files on disk: where they are, reading, writing whole, locking.
//!
//! The only part of the core that touches files. A job is written to a temporary file in the
//! same folder, flushed and renamed, so that a reader sees the old text or the new one and
//! nothing between. A lock on a side file keeps two writers apart; readers need none.

mod disk;
mod error;
mod held;
mod jobs;
mod listing;
mod lock;
#[cfg(test)]
mod simulated;
#[cfg(test)]
mod tests;
mod whole;

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::entry::Journal;
use super::file;
use disk::{Disk, Real};
pub use error::StoreError;
use error::io_error;
pub use held::{Held, Hold, hold};
pub use jobs::{Listed, list, scan};
pub use listing::listed;
use lock::lock;
use whole::{Target, write};
pub use whole::{write_new, write_whole};

/// No job is larger; a device or a wrong file must not fill the memory.
const LARGEST: u64 = 16 * 1024 * 1024;

/// Where a job is: a path as given, or a name in the store.
///
/// # Errors
/// When it is neither a path nor a lawful name.
pub fn locate(job: &str, store: &Path) -> Result<PathBuf, StoreError> {
    let is_path = job.contains(std::path::is_separator)
        || Path::new(job).extension().is_some_and(|extension| extension == "ron");
    if is_path {
        return Ok(PathBuf::from(job));
    }
    let lawful = |c: char| c.is_alphanumeric() || " -_.".contains(c);
    if job.trim() != job || job.is_empty() || job.starts_with('.') || !job.chars().all(lawful) {
        return Err(StoreError::BadName(job.to_owned()));
    }
    Ok(store.join(format!("{job}.ron")))
}

/// Refuses a name of the store whose file is a link to somewhere else.
///
/// # Errors
/// When it leads out.
pub fn stays_in(path: &Path, store: &Path) -> Result<(), StoreError> {
    let (Ok(path_to), Ok(store)) = (fs::canonicalize(path), fs::canonicalize(store)) else {
        // What is not there is found out when it is used.
        return Ok(());
    };
    if path_to.starts_with(store) { Ok(()) } else { Err(StoreError::LeadsOut(path.to_owned())) }
}

/// Reads a job.
///
/// # Errors
/// When it is missing, unreadable, of a newer form, or broken.
pub fn open(path: &Path) -> Result<Journal, StoreError> {
    open_on(&Real, path)
}

fn open_on(disk: &impl Disk, path: &Path) -> Result<Journal, StoreError> {
    let bytes = read_on(disk, path)?;
    let text = String::from_utf8(bytes).map_err(|error| {
        let source = io::Error::new(io::ErrorKind::InvalidData, error.utf8_error());
        io_error("read as text", path)(source)
    })?;
    file::read(&text).map_err(|source| StoreError::File { path: path.to_owned(), source })
}

fn read_on(disk: &impl Disk, path: &Path) -> Result<Vec<u8>, StoreError> {
    let bytes = match disk.read(path, LARGEST + 1) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return Err(StoreError::Missing(path.to_owned()));
        }
        other => other.map_err(io_error("read", path))?,
    };
    if bytes.len() as u64 > LARGEST {
        return Err(StoreError::TooLarge(path.to_owned()));
    }
    Ok(bytes)
}

/// The bytes of a file that should be a job, whatever they are.
///
/// # Errors
/// When it is missing, unreadable or too large to be one.
pub fn raw(path: &Path) -> Result<Vec<u8>, StoreError> {
    read_on(&Real, path)
}

/// Writes a new job.
///
/// # Errors
/// When there is one already, another session holds it, or it cannot be written.
pub fn create(path: &Path, journal: &Journal) -> Result<(), StoreError> {
    if path.exists() {
        return Err(StoreError::Exists(path.to_owned()));
    }
    let _lock = lock(path)?;
    write(&Real, path, journal, Target::New)
}
