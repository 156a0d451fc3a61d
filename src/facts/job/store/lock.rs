//! The lock of a job: one process writes, the others wait a little and then say who holds it.
//!
//! It must not read or write the job itself.

use std::fs::{self, File, TryLockError};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::{StoreError, io_error};

/// How often a lock that is held is tried again, and how long it is waited between: two seconds in
/// all, so that commands in a row do not refuse each other.
const TRIES: u32 = 80;
const BETWEEN: Duration = Duration::from_millis(25);

/// Longest name of a machine that is told.
const NAME: usize = 64;

/// Takes the lock of a job. It is on a side file, since the rename puts another file in the
/// job's place; the side file stays, for removing it would let two sessions hold two locks.
pub(super) fn lock(path: &Path) -> Result<File, StoreError> {
    let mut side = path.as_os_str().to_owned();
    side.push(".lock");
    let side = PathBuf::from(side);
    // A link that came with a stranger's folder must not choose what is opened for writing.
    if side.is_symlink() {
        let source = io::Error::other("it is a link, which no lock is: remove it");
        return Err(io_error("lock", &side)(source));
    }
    // A pipe would be waited for, for ever.
    if side.metadata().is_ok_and(|there| !there.is_file()) {
        let source = io::Error::other("it is no plain file, which a lock is: remove it");
        return Err(io_error("lock", &side)(source));
    }
    let handle = File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&side)
        .map_err(io_error("lock", &side))?;
    let mut tries = TRIES;
    loop {
        match handle.try_lock() {
            Ok(()) => {
                leave_word(&handle);
                return Ok(handle);
            }
            // Another command holds it for some milliseconds only.
            Err(TryLockError::WouldBlock) if tries > 0 => {
                tries -= 1;
                std::thread::sleep(BETWEEN);
            }
            Err(TryLockError::WouldBlock) => {
                return Err(StoreError::Locked { path: path.to_owned(), holder: holder(&side) });
            }
            Err(TryLockError::Error(source)) => return Err(io_error("lock", &side)(source)),
        }
    }
}

/// Writes into the lock who holds it. A full disk may have no room for that, which is no reason
/// not to hold it.
fn leave_word(mut lock: &File) {
    let name = fs::read_to_string("/proc/sys/kernel/hostname").unwrap_or_default();
    let on = match name.trim() {
        "" => String::new(),
        name => format!(" on {}", name.chars().take(NAME).collect::<String>()),
    };
    let _ = lock
        .set_len(0)
        .and_then(|()| lock.write_all(format!("process {}{on}\n", std::process::id()).as_bytes()));
}

/// Who holds a lock and since when, in brackets; empty if that cannot be told.
fn holder(side: &Path) -> String {
    let mut word = Vec::new();
    let read = File::open(side).and_then(|file| file.take(2 * NAME as u64).read_to_end(&mut word));
    let word = String::from_utf8_lossy(&word);
    // A lock from elsewhere may hold anything.
    let word: String = word.trim().chars().filter(|c| !c.is_control()).collect();
    if read.is_err() || word.is_empty() {
        return String::new();
    }
    let since = fs::metadata(side).and_then(|about| about.modified()).ok();
    let since = since.and_then(|time| jiff::Timestamp::try_from(time).ok());
    let since =
        since.map_or_else(String::new, |t| format!(", since {}", t.strftime("%Y-%m-%d %H:%M UTC")));
    format!(" ({word}{since})")
}
