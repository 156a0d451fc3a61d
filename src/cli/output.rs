//! Files that a person named with `-o` and the like: the one way in which any command writes one.
//!
//! Never written over unasked; never in the place of a link, a device or a pipe; never over a job,
//! knowledge, a memory or a lock, which have commands of their own.

use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use super::failure::Failure;
use facts::job::file::HEADER;
use facts::job::store::{StoreError, write_new, write_whole};

/// Endings of files that are written by commands of their own, and what they are.
const OWN: [(&str, &str); 5] = [
    ("ron", "a job or knowledge"),
    ("lock", "the lock of a job"),
    ("memory", "the workshop's memory"),
    ("cannot", "the workshop's list of tests that cannot be done"),
    ("letterhead", "what the workshop prints on its cards"),
];

/// Writes a file that is not there yet, or with `force` over a plain one.
///
/// # Errors
/// When something is there and must stay, the folder is not there, or it cannot be written.
pub(super) fn write(path: &Path, bytes: &[u8], force: bool) -> Result<(), Failure> {
    let shown = path.display();
    folder(path)?;
    let written = match fs::symlink_metadata(path) {
        Err(_) => write_new(path, bytes),
        Ok(there) if there.is_dir() => {
            return Err(Failure::usage(format!("{shown} is a folder: nothing was written"))
                .hint("give the name of a file in it"));
        }
        // A link, a device or a pipe is nobody's page, whatever was said.
        Ok(there) if !there.is_file() => {
            return Err(Failure::usage(format!("{shown} is no plain file: nothing was written"))
                .hint("give a file name that is not there yet"));
        }
        Ok(_) if own(path).is_some() => {
            let what = own(path).unwrap_or_default();
            return Err(Failure::usage(format!("{shown} is {what}: nothing was written"))
                .hint("give another name"));
        }
        Ok(_) if !force => {
            return Err(Failure::usage(format!("{shown} is there already: nothing was written"))
                .hint("give another name, or `--force` to write over it"));
        }
        Ok(there) if there.permissions().readonly() => {
            return Err(Failure::usage(format!("{shown} is read-only: nothing was written"))
                .hint("give another name, or allow it to be written"));
        }
        Ok(_) => write_whole(path, bytes),
    };
    written.map_err(|error| match error {
        StoreError::Exists(_) => Failure::usage(format!("{shown} is there already")),
        StoreError::Unconfirmed { .. } => Failure::from(error),
        StoreError::Io { source, .. } => {
            Failure::file(format!("could not write {shown}: {source}"))
        }
        other => Failure::file(format!("could not write {shown}: {other}")),
    })
}

/// The same, never over what the page was made from.
///
/// # Errors
/// As [`write`], and when both are one file.
pub(super) fn write_beside(
    from: &Path,
    path: &Path,
    bytes: &[u8],
    force: bool,
) -> Result<(), Failure> {
    not_itself(from, path)?;
    write(path, bytes, force)
}

/// Refuses to write over what a page is made from.
///
/// # Errors
/// When both are one file.
pub(super) fn not_itself(from: &Path, path: &Path) -> Result<(), Failure> {
    if same(from, path) {
        let shown = path.display();
        return Err(Failure::usage(format!("{shown} is what is read here: nothing was written"))
            .hint("give another name"));
    }
    Ok(())
}

/// Whether a file may be written over by who says so.
pub(super) fn replaceable(path: &Path) -> bool {
    fs::symlink_metadata(path).is_ok_and(|there| there.is_file()) && own(path).is_none()
}

/// Refuses a file whose folder is not there.
///
/// # Errors
/// When it is missing or no folder.
pub(super) fn folder(path: &Path) -> Result<(), Failure> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => return Ok(()),
    };
    let shown = folder.display();
    match fs::metadata(folder) {
        Ok(there) if there.is_dir() => Ok(()),
        Ok(_) => Err(Failure::file(format!("{shown} is no folder: nothing was written"))),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            Err(Failure::file(format!("there is no folder {shown}: nothing was written"))
                .hint("make it first, or give another name"))
        }
        Err(error) => Err(Failure::file(format!("could not look into {shown}: {error}"))),
    }
}

/// What can be written, for [`form`].
pub(super) struct Forms<'a, F> {
    /// The form of a file without an ending, and of standard output.
    pub(super) usual: F,
    /// Endings that are not the name of their form.
    pub(super) endings: &'a [(&'a str, F)],
    /// What is written, as `a page`.
    pub(super) what: &'a str,
    /// The endings in words.
    pub(super) named: &'a str,
}

/// The form of what is written: as said, else what the ending of the file's name asks for.
///
/// # Errors
/// When the ending is that of no form.
pub(super) fn form<F: Copy + FromStr>(
    said: Option<F>,
    file: Option<&Path>,
    forms: &Forms<'_, F>,
) -> Result<F, Failure> {
    if let Some(said) = said {
        return Ok(said);
    }
    let ending = file.and_then(Path::extension).map(|e| e.to_string_lossy().to_lowercase());
    let Some(ending) = ending else { return Ok(forms.usual) };
    let known = forms.endings.iter().find(|(known, _)| *known == ending).map(|(_, form)| *form);
    known.or_else(|| F::from_str(&ending).ok()).ok_or_else(|| {
        Failure::usage(format!("`.{ending}` is no form of {}", forms.what))
            .hint(format!("use a name that ends in {}, or say `--format`", forms.named))
    })
}

/// What a file is that has commands of its own.
fn own(path: &Path) -> Option<&'static str> {
    let mut begins = Vec::new();
    let most = HEADER.len() as u64;
    let read = File::open(path).and_then(|file| file.take(most).read_to_end(&mut begins));
    if read.is_ok() && begins == HEADER.as_bytes() {
        return Some("a job");
    }
    let ending = path.extension()?.to_str()?.to_lowercase();
    OWN.iter().find(|(own, _)| *own == ending).map(|(_, what)| *what)
}

fn same(a: &Path, b: &Path) -> bool {
    let whole = |path: &Path| -> Option<PathBuf> { fs::canonicalize(path).ok() };
    whole(a).is_some_and(|a| whole(b) == Some(a))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_written_over_unasked() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("van.txt");
        let text = || fs::read_to_string(&path).expect("text");
        assert!(write(&path, b"one", false).is_ok());
        assert!(write(&path, b"two", false).is_err());
        assert_eq!(text(), "one");
        assert!(write(&path, b"two", true).is_ok());
        assert_eq!(text(), "two");
        assert!(write_beside(&path, &path, b"three", true).is_err());
        assert!(write(folder.path(), b"three", true).is_err());
        assert_eq!(text(), "two");
    }

    #[test]
    fn what_has_commands_of_its_own_stays_even_with_force() {
        let folder = tempfile::tempdir().expect("a folder");
        let job = folder.path().join("job.txt");
        fs::write(&job, format!("{HEADER}(format: 1")).expect("written");
        assert!(write(&job, b"page", true).is_err());
        for name in ["van.ron", "van.ron.lock", "workshop.memory", "VAN.RON"] {
            let path = folder.path().join(name);
            fs::write(&path, "precious").expect("written");
            let said = write(&path, b"page", true).expect_err("refused").text();
            assert!(said.contains(name), "{said}");
            assert_eq!(fs::read_to_string(&path).expect("text"), "precious");
        }
    }

    #[cfg(unix)]
    #[test]
    fn links_are_left_alone_even_with_force() {
        let folder = tempfile::tempdir().expect("a folder");
        let (path, link) = (folder.path().join("log.csv"), folder.path().join("card.txt"));
        fs::write(&path, "log").expect("written");
        std::os::unix::fs::symlink(&path, &link).expect("a link");
        assert!(write(&link, b"card", true).is_err());
        assert!(link.is_symlink());
        assert_eq!(fs::read_to_string(&path).expect("text"), "log");
        assert!(write(Path::new("/dev/null"), b"card", true).is_err());
    }
}
