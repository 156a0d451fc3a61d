//! Writing whole: a reader sees the old text or the new one, and nothing between.
//!
//! It takes no lock, and must not know what is written but that a job is.

use std::fs;
use std::io;
use std::path::Path;

use super::disk::{Disk, Real, TEMPORARY};
use super::listing::listed;
use super::{StoreError, io_error};
use crate::job::entry::Journal;
use crate::job::file;

/// Removes what a killed process left half-written beside a job; only under its lock.
pub(super) fn clear_away(path: &Path) {
    let prefix = temporary_prefix(path);
    let Ok(all) = listed(folder_of(path)) else { return };
    for item in all {
        let name = item.file_name().unwrap_or_default().to_string_lossy();
        let middle = name.strip_prefix(&prefix).and_then(|rest| rest.strip_suffix(TEMPORARY));
        // Of a job `van.ron.x` they begin alike; what is between has no dot.
        if middle.is_some_and(|middle| !middle.contains('.')) {
            // Nobody misses it, and the next to hold the job tries again.
            let _ = fs::remove_file(&item);
        }
    }
}

/// Writes any text whole: to a temporary file beside it, flushed, renamed, the folder flushed.
///
/// # Errors
/// When it cannot be written; what was there is then as it was.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    put(&Real, path, bytes, Target::Replace)
}

/// Writes a text whole to a file that is not there yet.
///
/// # Errors
/// When it is there, or cannot be written.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    put(&Real, path, bytes, Target::New)
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Target {
    /// Must not be there.
    New,
    /// May be there.
    Replace,
}

pub(super) fn write(
    disk: &impl Disk,
    path: &Path,
    journal: &Journal,
    target: Target,
) -> Result<(), StoreError> {
    put(disk, path, file::write(journal)?.as_bytes(), target)
}

pub(super) fn put(
    disk: &impl Disk,
    path: &Path,
    bytes: &[u8],
    target: Target,
) -> Result<(), StoreError> {
    let folder = folder_of(path);
    let mut temporary =
        disk.temporary(folder, &temporary_prefix(path)).map_err(io_error("write in", folder))?;
    disk.write(&mut temporary, bytes).map_err(io_error("write", path))?;
    disk.permit_like(&temporary, path).map_err(io_error("keep the permissions of", path))?;
    // Before the rename: a name must never lead to a file that is not whole.
    disk.flush(&temporary).map_err(io_error("flush", path))?;
    disk.place(temporary, path, target == Target::Replace).map_err(|error| {
        if error.kind() == io::ErrorKind::AlreadyExists {
            StoreError::Exists(path.to_owned())
        } else {
            io_error("replace", path)(error)
        }
    })?;
    disk.flush_folder(folder)
        .map_err(|source| StoreError::Unconfirmed { path: path.to_owned(), source })
}

/// Temporary files of a path begin with its name, so that they can be told from others'.
fn temporary_prefix(path: &Path) -> String {
    let name = path.file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
    format!(".{name}.")
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}
