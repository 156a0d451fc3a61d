//! Bytes of something that grows: a file that is being written, standard input, a connection.
//!
//! Waits for more; a file that was cut off or put in the place of another is begun anew. It must not look into
//! what it gives.

use std::fs::{self, File};
use std::io::{self, Read, Seek, SeekFrom};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

/// Between two looks at a file that has not grown.
const LOOK: Duration = Duration::from_millis(100);

/// A file that is followed.
pub(super) struct Tail {
    path: PathBuf,
    /// `None` until it is there.
    file: Option<File>,
    at: u64,
    /// The last byte that was given ended a line.
    whole: bool,
    /// It is read to its end and no further.
    to_the_end: bool,
}

impl Tail {
    /// One that is not there yet is waited for, unless it is read to its end.
    pub(super) fn open(path: &Path, to_the_end: bool) -> io::Result<Self> {
        let file = match File::open(path) {
            Ok(file) => Some(file),
            Err(error) if error.kind() == io::ErrorKind::NotFound && !to_the_end => None,
            Err(error) => return Err(error),
        };
        if fs::metadata(path).is_ok_and(|there| there.is_dir()) {
            return Err(io::Error::other("it is a folder"));
        }
        Ok(Self { path: path.to_owned(), file, at: 0, whole: true, to_the_end })
    }

    /// Whether it is not there yet.
    pub(super) fn waits(&self) -> bool {
        self.file.is_none()
    }

    /// Whether another file stands in its place, or it was cut off: then it is begun anew.
    fn begun_anew(&mut self) -> io::Result<bool> {
        // Between the two there may be none for a moment.
        let Ok(there) = fs::metadata(&self.path) else { return Ok(false) };
        match &mut self.file {
            Some(file) if same(&file.metadata()?, &there) => {
                if there.len() >= self.at {
                    return Ok(false);
                }
                file.seek(SeekFrom::Start(0))?;
            }
            other => {
                let Ok(file) = File::open(&self.path) else { return Ok(false) };
                *other = Some(file);
            }
        }
        self.at = 0;
        Ok(true)
    }
}

/// Whether two looks were at one file.
#[cfg(unix)]
fn same(a: &fs::Metadata, b: &fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    (a.dev(), a.ino()) == (b.dev(), b.ino())
}

/// Without numbers of files a new one is known by its being shorter.
#[cfg(not(unix))]
fn same(_: &fs::Metadata, _: &fs::Metadata) -> bool {
    true
}

impl Read for Tail {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        loop {
            if into.is_empty() {
                return Ok(0);
            }
            let read = self.file.as_mut().map_or(Ok(0), |file| file.read(into))?;
            if read > 0 {
                self.at += read as u64;
                self.whole = into[read - 1] == b'\n';
                return Ok(read);
            }
            if self.to_the_end {
                return Ok(0);
            }
            if self.begun_anew()? {
                // What was torn is no beginning of the first line.
                if !self.whole {
                    self.whole = true;
                    into[0] = b'\n';
                    return Ok(1);
                }
                continue;
            }
            thread::sleep(LOOK);
        }
    }
}

/// Where rows come from.
pub(super) enum Rows {
    /// A file.
    File(Tail),
    /// Standard input.
    Input(io::Stdin),
    /// A connection.
    Network(TcpStream),
}

impl Read for Rows {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        match self {
            Self::File(tail) => tail.read(into),
            Self::Input(input) => input.read(into),
            Self::Network(stream) => stream.read(into),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::io::Write as _;

    use super::*;

    /// Reads until so many bytes have come.
    fn some(tail: &mut Tail, count: usize) -> Vec<u8> {
        let mut all = Vec::new();
        while all.len() < count {
            let mut buffer = [0; 64];
            let read = tail.read(&mut buffer).expect("a file");
            all.extend_from_slice(&buffer[..read]);
        }
        all
    }

    #[test]
    fn a_file_that_is_cut_off_or_replaced_is_begun_anew_on_a_line_of_its_own() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("run.csv");
        assert!(Tail::open(&path, true).is_err());
        let mut tail = Tail::open(&path, false).expect("waited for");
        assert!(tail.waits());
        fs::write(&path, "t;1\n0;5").expect("written");
        assert_eq!(some(&mut tail, 7), b"t;1\n0;5");
        let mut file = fs::OpenOptions::new().append(true).open(&path).expect("a file");
        file.write_all(b"1\n").expect("written");
        assert_eq!(some(&mut tail, 2), b"1\n");
        fs::write(&path, "1;7").expect("cut off");
        assert_eq!(some(&mut tail, 3), b"1;7");
        fs::remove_file(&path).expect("removed");
        fs::write(&path, "t;1;2\n").expect("another");
        assert_eq!(some(&mut tail, 7), b"\nt;1;2\n");
    }

    #[test]
    fn a_file_is_read_to_its_end_where_that_is_asked() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("run.csv");
        fs::write(&path, "t;1\n").expect("written");
        let mut whole = Tail::open(&path, true).expect("a file");
        assert_eq!(some(&mut whole, 4), b"t;1\n");
        assert_eq!(whole.read(&mut [0; 8]).expect("an end"), 0);
    }
}
