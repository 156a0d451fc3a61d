//! Files that a person named with `-o`: never written over unasked, never in the place of a device.

use std::fs;
use std::path::Path;

use super::failure::Failure;
use crate::job::store::{write_new, write_whole};

/// Writes a file that is not there yet, or with `force` over a plain one.
///
/// # Errors
/// When something is there and must stay, or it cannot be written.
pub(super) fn write(path: &Path, bytes: &[u8], force: bool) -> Result<(), Failure> {
    let shown = path.display();
    match fs::symlink_metadata(path) {
        Err(_) => Ok(write_new(path, bytes)?),
        // A link, a device or a pipe is nobody's page, whatever was said.
        Ok(there) if !there.is_file() => {
            Err(Failure::usage(format!("{shown} is no plain file: nothing was written"))
                .hint("give a file name that is not there yet"))
        }
        Ok(_) if force => Ok(write_whole(path, bytes)?),
        Ok(_) => Err(Failure::usage(format!("{shown} is there already: nothing was written"))
            .hint("give another name, or `--force` to write over it")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_written_over_unasked() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("van.ron");
        let text = || fs::read_to_string(&path).expect("text");
        assert!(write(&path, b"one", false).is_ok());
        assert!(write(&path, b"two", false).is_err());
        assert_eq!(text(), "one");
        assert!(write(&path, b"two", true).is_ok());
        assert_eq!(text(), "two");
        assert!(write(folder.path(), b"three", true).is_err());
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
