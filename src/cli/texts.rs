//! Texts from files that a person named: bounded, so that no file fills the memory.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::failure::Failure;
use facts::job::store;

/// No file that people write is larger.
pub(super) const LARGEST: u64 = 16 << 20;
/// A folder of knowledge is not a disk.
const MOST_FILES: usize = 1000;
/// The same for the folders in it.
const MOST_FOLDERS: usize = 200;

/// What is wrong with a folder or a file in it.
pub(super) type Refused = (PathBuf, io::Error);

fn odd(what: impl Into<String>) -> io::Error {
    io::Error::other(what.into())
}

/// The text of a file.
///
/// # Errors
/// When it cannot be read, is too large, or is no text.
pub(super) fn text(path: &Path) -> io::Result<String> {
    bounded(File::open(path)?, LARGEST)
}

/// The text of anything that is read, up to a number of bytes.
///
/// # Errors
/// When it cannot be read, is larger, or is no text.
pub(super) fn bounded(from: impl Read, largest: u64) -> io::Result<String> {
    let mut bytes = Vec::new();
    from.take(largest + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > largest {
        return Err(odd(format!("it is over {} MiB, which no such file is", largest >> 20)));
    }
    String::from_utf8(bytes).map_err(|error| {
        io::Error::new(
            io::ErrorKind::InvalidData,
            format!("it is no text ({})", error.utf8_error()),
        )
    })
}

/// The text of a short file that the program keeps for people to read; nothing where it cannot be read.
pub(super) fn kept(path: &Path, largest: u64) -> String {
    // A pipe would be waited for, for ever.
    let plain = fs::metadata(path).is_ok_and(|there| there.is_file());
    let text = plain.then(|| bounded(File::open(path)?, largest));
    text.and_then(Result::ok).unwrap_or_default()
}

/// The answers of a session that come from a file.
///
/// # Errors
/// When it cannot be read.
pub(super) fn answers(path: &Path) -> Result<String, Failure> {
    text(path).map_err(|error| no_answers(&path.display().to_string(), &error))
}

/// That answers could not be read from somewhere.
pub(super) fn no_answers(from: &str, error: &io::Error) -> Failure {
    Failure::file(format!("could not read the answers in {from}: {error}"))
}

/// Paths and texts of all RON files in a folder and the folders in it, in order of path.
///
/// Links are followed, a folder reached twice is looked at once.
///
/// # Errors
/// The first thing that cannot be read, or is no plain file, and a folder that holds too many.
pub(super) fn ron_files(folder: &Path) -> Result<Vec<(PathBuf, String)>, Refused> {
    let at = |path: &Path| {
        let path = path.to_owned();
        move |error: io::Error| (path, error)
    };
    let mut waiting = vec![folder.to_owned()];
    let mut seen = BTreeSet::new();
    let mut paths = Vec::new();
    while let Some(next) = waiting.pop() {
        if !seen.insert(fs::canonicalize(&next).map_err(at(&next))?) {
            continue;
        }
        for path in store::listed(&next).map_err(at(&next))? {
            if path.is_dir() {
                waiting.push(path);
            } else if path.extension().is_some_and(|e| e == "ron") {
                paths.push(path);
            }
        }
        if paths.len() > MOST_FILES || seen.len() + waiting.len() > MOST_FOLDERS {
            let error = odd(format!(
                "it holds over {MOST_FILES} RON files or {MOST_FOLDERS} folders: give the folder of \
                 the knowledge files themselves"
            ));
            return Err((folder.to_owned(), error));
        }
    }
    paths.sort();
    let mut left = 4 * LARGEST;
    paths
        .into_iter()
        .map(|path| {
            // A pipe would be waited for.
            if !fs::metadata(&path).map_err(at(&path))?.is_file() {
                return Err((path, odd("it is no plain file")));
            }
            let text = text(&path).map_err(at(&path))?;
            left = left.saturating_sub(text.len() as u64);
            if left == 0 {
                return Err((folder.to_owned(), odd("its files are too large together")));
            }
            Ok((path, text))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_large_file_and_one_that_is_no_text_are_refused() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.ron");
        let said = || text(&path).expect_err("refused").to_string();
        let file = File::create(&path).expect("made");
        file.set_len(LARGEST + 1).expect("sparse");
        assert_eq!(said(), "it is over 16 MiB, which no such file is");
        fs::write(&path, b"(\xff)").expect("written");
        assert!(said().starts_with("it is no text"), "{}", said());
    }

    #[cfg(unix)]
    #[test]
    fn links_in_a_circle_end() {
        use std::os::unix::fs::symlink;
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("a.ron"), "()").expect("written");
        for name in ["b", "c", "d"] {
            symlink(folder.path(), folder.path().join(name)).expect("link");
        }
        assert_eq!(ron_files(folder.path()).expect("read").len(), 1);
    }

    #[test]
    fn too_many_files_are_not_read() {
        let folder = tempfile::tempdir().expect("a folder");
        for n in 0..=MOST_FILES {
            fs::write(folder.path().join(format!("{n}.ron")), "").expect("written");
        }
        let (path, error) = ron_files(folder.path()).expect_err("refused");
        assert_eq!(path, folder.path());
        assert!(error.to_string().contains("over 1000 RON files"), "{error}");
    }
}
