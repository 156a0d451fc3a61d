//! Job files from strangers: read, judged, written and mended without a panic.

use facts::job::{file, mend};

/// Puts the bytes to it.
///
/// # Panics
/// When what must hold does not.
pub fn put(bytes: &[u8]) {
    if let Ok(text) = std::str::from_utf8(bytes)
        && let Ok(journal) = file::read(text)
    {
        // What was read can be written, and reads as the same.
        let again = file::write(&journal).expect("a journal can be written");
        assert_eq!(file::read(&again).as_ref(), Ok(&journal));
    }
    if let Ok(mended) = mend::mend(bytes) {
        let text = file::write(&mended.journal).expect("a mended job can be written");
        assert!(file::read(&text).is_ok());
    }
}
