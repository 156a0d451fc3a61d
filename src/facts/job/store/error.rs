//! Why a job cannot be used, in words that say what was tried and where.
//!
//! It must not touch a file.

use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::LARGEST;
use crate::job::file::FileError;

/// Why a job cannot be used.
#[derive(Debug, Error)]
pub enum StoreError {
    /// A name that could lead out of the store.
    #[error(
        "`{0}` is not a job name: use letters, digits, spaces, `-`, `_` and `.`, not first; a path \
         has a separator or ends in `.ron`"
    )]
    BadName(String),
    /// No such job.
    #[error("there is no job at {}", .0.display())]
    Missing(PathBuf),
    /// The job is there already.
    #[error("there is a job at {} already: nothing was changed", .0.display())]
    Exists(PathBuf),
    /// Too large to be a job.
    #[error("{} is over {} MiB, which no job is: it was not read", .0.display(), LARGEST >> 20)]
    TooLarge(PathBuf),
    /// A link in the store that leads out of it.
    #[error("{} is a link out of the job store: give the path it leads to", .0.display())]
    LeadsOut(PathBuf),
    /// Written, but the disk did not confirm that it would outlive a power cut.
    #[error("{} was written, but the disk did not confirm it: {source}", .path.display())]
    Unconfirmed {
        /// Where.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Another process holds the lock.
    #[error("another session holds this job: {}{holder}", .path.display())]
    Locked {
        /// The job.
        path: PathBuf,
        /// Who, as ` (process 12 on bench, since 2026-03-02 08:00 UTC)`; empty if that is not known.
        holder: String,
    },
    /// What was read here is no longer what the file holds.
    #[error(
        "{} no longer holds what was entered here: another program, or a service that copies files \
         between machines, put another file in its place",
        .0.display()
    )]
    Replaced(PathBuf),
    /// The operating system refused.
    #[error("could not {doing} {}: {source}", .path.display())]
    Io {
        /// What was tried, as "read".
        doing: &'static str,
        /// Where.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The file is there but is not a job that can be used.
    #[error("{}: {source}", .path.display())]
    File {
        /// Where.
        path: PathBuf,
        /// What is wrong.
        source: FileError,
    },
    /// The journal could not be turned into text.
    #[error("could not write the job as text: {0}")]
    Text(#[from] ron::Error),
}

pub(super) fn io_error(doing: &'static str, path: &Path) -> impl FnOnce(io::Error) -> StoreError {
    let path = path.to_owned();
    move |source| StoreError::Io { doing, path, source }
}
