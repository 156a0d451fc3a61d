//! Job files on disk: where they are, reading, writing whole, locking.
//!
//! The only part of the core that touches files. A job is written to a temporary file in the
//! same folder, flushed and renamed, so that a reader sees the old text or the new one and
//! nothing between. A lock on a side file keeps two writers apart; readers need none.

mod disk;
mod listing;
mod lock;
#[cfg(test)]
mod simulated;

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::brief::Brief;
use super::entry::{Entry, Journal};
use super::file::{self, FileError};
use disk::{Disk, Real, TEMPORARY};
pub use listing::listed;
use lock::lock;

/// No job is larger; a device or a wrong file must not fill the memory.
const LARGEST: u64 = 16 * 1024 * 1024;

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

fn io_error(doing: &'static str, path: &Path) -> impl FnOnce(io::Error) -> StoreError {
    let path = path.to_owned();
    move |source| StoreError::Io { doing, path, source }
}

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
fn append_on(
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

/// Removes what a killed process left half-written beside a job; only under its lock.
fn clear_away(path: &Path) {
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
enum Target {
    /// Must not be there.
    New,
    /// May be there.
    Replace,
}

fn write(
    disk: &impl Disk,
    path: &Path,
    journal: &Journal,
    target: Target,
) -> Result<(), StoreError> {
    put(disk, path, file::write(journal)?.as_bytes(), target)
}

fn put(disk: &impl Disk, path: &Path, bytes: &[u8], target: Target) -> Result<(), StoreError> {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;
    use crate::job::entry::What;

    #[test]
    fn names_stay_in_the_store_and_paths_are_taken_as_given() {
        let store = Path::new("store");
        let name = |job| locate(job, store).map_err(|e| e.to_string());
        assert_eq!(name("van 3"), Ok(store.join("van 3.ron")));
        assert_eq!(name("Käfer_1.2"), Ok(store.join("Käfer_1.2.ron")));
        assert_eq!(name("./van"), Ok(PathBuf::from("./van")));
        assert_eq!(name("van.ron"), Ok(PathBuf::from("van.ron")));
        for bad in ["", ".", "..", ".van", "van?", " van", "a:b", "a\nb"] {
            assert!(name(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn entries_are_added_and_nothing_else_is_left_behind() {
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("van.ron");
        create(&path, &fixture::journal()).expect("created");
        assert!(matches!(create(&path, &fixture::journal()), Err(StoreError::Exists(_))));
        let mut held = Held::take(&path).expect("held");
        assert_eq!(held.append(fixture::entry(What::Reopen)).expect("added"), 1);
        assert_eq!(held.append(fixture::entry(What::Recorded)).expect("added"), 2);
        assert_eq!(&open(&path).expect("read"), held.journal());
        let mut left: Vec<_> = fs::read_dir(folder.path())
            .expect("folder")
            .map(|item| item.expect("item").file_name())
            .collect();
        left.sort();
        assert_eq!(left, ["van.ron", "van.ron.lock"]);
    }

    #[test]
    fn a_second_writer_is_kept_out_until_the_first_lets_go() {
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("van.ron");
        create(&path, &fixture::journal()).expect("created");
        let first = Held::take(&path).expect("held");
        let error = Held::take(&path).expect_err("held").to_string();
        let process = format!(" (process {}", std::process::id());
        assert!(error.contains(&process) && error.ends_with(" UTC)"), "{error}");
        assert!(open(&path).is_ok(), "reading needs no lock");
        drop(first);
        assert!(Held::take(&path).is_ok());
    }

    #[test]
    fn what_an_editor_saved_meanwhile_is_not_lost() {
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("van.ron");
        create(&path, &fixture::journal()).expect("created");
        let mut held = Held::take(&path).expect("held");
        let mut edited = fixture::journal();
        edited.entries.push(fixture::entry(What::LoadConfirmed));
        fs::write(&path, file::write(&edited).expect("text")).expect("saved");
        assert_eq!(held.append(fixture::entry(What::Reopen)).expect("added"), 2);
        fs::write(&path, "(broken").expect("saved");
        assert!(held.append(fixture::entry(What::Reopen)).is_err());
        assert_eq!(fs::read_to_string(&path).expect("read"), "(broken");
    }

    #[test]
    fn nothing_is_added_to_a_file_that_lost_what_was_entered() {
        let folder = tempfile::tempdir().expect("folder");
        let path = folder.path().join("van.ron");
        create(&path, &fixture::journal()).expect("created");
        let older = fs::read(&path).expect("read");
        let mut held = Held::take(&path).expect("held");
        held.append(fixture::entry(What::Reopen)).expect("added");
        // As a service does that brings an older copy from another machine.
        fs::write(&path, &older).expect("saved");
        let error = held.append(fixture::entry(What::Recorded)).expect_err("replaced");
        assert!(matches!(error, StoreError::Replaced(_)), "{error}");
        assert_eq!(fs::read(&path).expect("read"), older);
        // What was entered here can still be had.
        assert_eq!(held.journal().entries.len(), 1);
    }

    #[cfg(unix)]
    #[test]
    fn a_lock_that_is_no_file_is_not_waited_for() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("van.ron");
        create(&path, &fixture::journal()).expect("created");
        fs::remove_file(folder.path().join("van.ron.lock")).expect("removed");
        let made =
            std::process::Command::new("mkfifo").arg(folder.path().join("van.ron.lock")).status();
        if made.is_ok_and(|made| made.success()) {
            let error = Held::take(&path).expect_err("no lock").to_string();
            assert!(error.contains("it is no plain file"), "{error}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_lock_that_is_a_link_leads_nowhere() {
        let folder = tempfile::tempdir().expect("folder");
        let (path, other) = (folder.path().join("van.ron"), folder.path().join("other"));
        create(&path, &fixture::journal()).expect("created");
        fs::remove_file(folder.path().join("van.ron.lock")).expect("removed");
        fs::write(&other, "precious").expect("saved");
        std::os::unix::fs::symlink(&other, folder.path().join("van.ron.lock")).expect("link");
        let error = Held::take(&path).expect_err("refused").to_string();
        assert!(error.contains("it is a link, which no lock is"), "{error}");
        assert_eq!(fs::read_to_string(&other).expect("read"), "precious");
    }

    #[cfg(unix)]
    #[test]
    fn permissions_and_links_are_kept() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("folder");
        let (path, link) = (folder.path().join("van.ron"), folder.path().join("l.ron"));
        create(&path, &fixture::journal()).expect("created");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("set");
        std::os::unix::fs::symlink(&path, &link).expect("link");
        let mut held = Held::take(&link).expect("held");
        held.append(fixture::entry(What::Reopen)).expect("added");
        let mode = fs::metadata(&path).expect("there").permissions().mode();
        assert_eq!(mode & 0o777, 0o640);
        assert!(fs::symlink_metadata(&link).expect("there").is_symlink());
    }

    #[test]
    fn a_store_lists_its_jobs_and_the_broken_ones_too() {
        let folder = tempfile::tempdir().expect("folder");
        assert!(list(&folder.path().join("none")).expect("empty").is_empty());
        create(&folder.path().join("b.ron"), &fixture::journal()).expect("created");
        fs::write(folder.path().join("a.ron"), "(").expect("saved");
        fs::write(folder.path().join("notes.txt"), "").expect("saved");
        let listed = list(folder.path()).expect("listed");
        let brief: Vec<_> = listed.iter().map(|l| (&*l.name, l.job.is_ok())).collect();
        assert_eq!(brief, [("a", false), ("b", true)]);
        let scanned = scan(folder.path()).expect("scanned");
        assert!(scanned[0].job.is_err());
        assert_eq!(scanned[1].job.as_ref().ok(), Some(&Brief::of(&fixture::journal())));
    }
}
