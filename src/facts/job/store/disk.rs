//! The file operations that a job's safety hangs on, and their real form.
//!
//! Few and plain, so that tests can put a disk in their place that fails, forgets what was not
//! flushed, or stops between any two of them. It must not know what is written.

use std::fs::{self, File, Permissions};
use std::io::{self, Read, Write};
use std::path::Path;

use tempfile::NamedTempFile;

/// A place that keeps files.
pub(super) trait Disk {
    /// A file that has no name yet that matters.
    type Temporary;

    /// The bytes of a file, `limit` at the most.
    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>>;

    /// Makes a temporary file in a folder, its name beginning so.
    fn temporary(&self, folder: &Path, prefix: &str) -> io::Result<Self::Temporary>;

    /// Writes bytes to it.
    fn write(&self, temporary: &mut Self::Temporary, bytes: &[u8]) -> io::Result<()>;

    /// Gives it the permissions that another file has, if there is one.
    fn permit_like(&self, temporary: &Self::Temporary, path: &Path) -> io::Result<()>;

    /// Sees to it that what was written outlives a power cut.
    fn flush(&self, temporary: &Self::Temporary) -> io::Result<()>;

    /// Gives it its name, in the place of a file of that name only if `replace`.
    fn place(&self, temporary: Self::Temporary, path: &Path, replace: bool) -> io::Result<()>;

    /// Sees to it that the names in a folder outlive a power cut.
    fn flush_folder(&self, folder: &Path) -> io::Result<()>;
}

/// The machine's own.
#[derive(Debug, Clone, Copy)]
pub(super) struct Real;

/// How the name of every temporary file ends.
pub(super) const TEMPORARY: &str = ".tmp";

impl Disk for Real {
    type Temporary = NamedTempFile;

    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        // A pipe would be waited for, and a device read without end.
        if !fs::metadata(path)?.is_file() {
            return Err(io::Error::other("it is no plain file"));
        }
        let mut bytes = Vec::new();
        File::open(path)?.take(limit).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn temporary(&self, folder: &Path, prefix: &str) -> io::Result<NamedTempFile> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(prefix).suffix(TEMPORARY);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // A temporary file is private unless told otherwise; the umask trims this.
            builder.permissions(Permissions::from_mode(0o666));
        }
        // Its hidden name is nothing to be told; why it could not be made is.
        builder.tempfile_in(folder).map_err(|error| {
            let why = error.get_ref().and_then(std::error::Error::source).map(ToString::to_string);
            let kind = error.kind();
            why.map_or(error, |why| io::Error::new(kind, why))
        })
    }

    fn write(&self, temporary: &mut NamedTempFile, bytes: &[u8]) -> io::Result<()> {
        temporary.write_all(bytes)
    }

    fn permit_like(&self, temporary: &NamedTempFile, path: &Path) -> io::Result<()> {
        let old: Option<Permissions> = fs::metadata(path).map(|m| m.permissions()).ok();
        old.map_or(Ok(()), |old| temporary.as_file().set_permissions(old))
    }

    fn flush(&self, temporary: &NamedTempFile) -> io::Result<()> {
        temporary.as_file().sync_all()
    }

    fn place(&self, temporary: NamedTempFile, path: &Path, replace: bool) -> io::Result<()> {
        let placed =
            if replace { temporary.persist(path) } else { temporary.persist_noclobber(path) };
        placed.map(drop).map_err(|failed| failed.error)
    }

    fn flush_folder(&self, folder: &Path) -> io::Result<()> {
        // Elsewhere a folder cannot be opened as a file, and needs no flush.
        #[cfg(unix)]
        File::open(folder)?.sync_all()?;
        #[cfg(not(unix))]
        let _ = folder;
        Ok(())
    }
}
