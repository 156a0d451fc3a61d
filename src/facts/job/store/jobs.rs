//! All jobs of a store, whole or in brief, with those that cannot be read.
//!
//! It must not follow a link out of the store.

use std::io;
use std::path::Path;

use super::{StoreError, io_error, listed, open, stays_in};
use crate::job::brief::Brief;
use crate::job::entry::Journal;

/// A job in the store, whole or in brief, with why it cannot be read if so.
#[derive(Debug)]
pub struct Listed<T> {
    /// Its name.
    pub name: String,
    /// What was read.
    pub job: Result<T, StoreError>,
}

/// All jobs of a store in order of name; a store that is not there has none.
///
/// # Errors
/// When the folder cannot be read.
pub fn list(store: &Path) -> Result<Vec<Listed<Journal>>, StoreError> {
    each(store, |journal| journal)
}

/// The same in brief.
///
/// # Errors
/// When the folder cannot be read.
pub fn scan(store: &Path) -> Result<Vec<Listed<Brief>>, StoreError> {
    each(store, |journal| Brief::of(&journal))
}

fn each<T>(store: &Path, of: impl Fn(Journal) -> T) -> Result<Vec<Listed<T>>, StoreError> {
    let read = |name: &str| open_in(store, &store.join(format!("{name}.ron"))).map(&of);
    Ok(names(store)?.into_iter().map(|name| Listed { job: read(&name), name }).collect())
}

/// Reads a job of a store, unless it is a link to what lies elsewhere.
fn open_in(store: &Path, path: &Path) -> Result<Journal, StoreError> {
    stays_in(path, store)?;
    open(path)
}

/// The names of all jobs in order.
fn names(store: &Path) -> Result<Vec<String>, StoreError> {
    let all = match listed(store) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        other => other.map_err(io_error("read", store))?,
    };
    let mut names = Vec::new();
    for path in all {
        let is_job = path.extension().is_some_and(|e| e == "ron") && path.is_file();
        if let Some(stem) = path.file_stem().and_then(|s| s.to_str())
            && is_job
            && !stem.starts_with('.')
        {
            names.push(stem.to_owned());
        }
    }
    names.sort();
    Ok(names)
}
