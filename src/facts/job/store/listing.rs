//! What is in a folder.
//!
//! The standard library panics where a folder cannot be closed, as on a share that went away; nothing
//! hangs on that here.

use std::io;
use std::path::{Path, PathBuf};

/// The paths of all that is in a folder, in no order.
///
/// # Errors
/// When it cannot be read.
#[cfg(unix)]
pub fn listed(folder: &Path) -> io::Result<Vec<PathBuf>> {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt as _;

    let opened = std::fs::File::open(folder)?;
    let mut paths = Vec::new();
    for item in rustix::fs::Dir::read_from(&opened)? {
        let item = item?;
        let name = item.file_name().to_bytes();
        if name != b"." && name != b".." {
            paths.push(folder.join(OsStr::from_bytes(name)));
        }
    }
    Ok(paths)
}

/// The paths of all that is in a folder, in no order.
///
/// # Errors
/// When it cannot be read.
#[cfg(not(unix))]
pub fn listed(folder: &Path) -> io::Result<Vec<PathBuf>> {
    std::fs::read_dir(folder)?.map(|item| Ok(item?.path())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_listed_and_a_file_is_none() {
        let folder = tempfile::tempdir().expect("a folder");
        assert!(listed(folder.path()).expect("listed").is_empty());
        let path = folder.path().join("ü.ron");
        std::fs::write(&path, "").expect("written");
        assert_eq!(listed(folder.path()).expect("listed"), std::slice::from_ref(&path));
        assert!(listed(&path).is_err());
        let missing = listed(&folder.path().join("none")).expect_err("missing");
        assert_eq!(missing.kind(), io::ErrorKind::NotFound);
    }
}
