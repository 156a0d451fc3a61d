//! What people type: readings, lengths, names of jobs.

use std::path::Path;

use facts::job::{store, typed};
use measure::units::Scale;

/// Puts the bytes to it.
///
/// # Panics
/// When what must hold does not.
pub fn put(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let words: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
    for scale in [Scale::Celsius, Scale::Fahrenheit] {
        let count = u8::try_from(words.len()).unwrap_or(u8::MAX);
        if let Ok(readings) = typed::readings(&words, scale, count) {
            for reading in readings {
                // A temperature that was let in is one that can be.
                assert!(reading.middle().is_none_or(f64::is_finite));
            }
        }
    }
    for word in &words {
        let _ = typed::millimetres(word);
    }
    if let Ok(path) = store::locate(text, Path::new("store"))
        && path != Path::new(text)
    {
        // A name never leads out of the store.
        assert_eq!(path.parent(), Some(Path::new("store")), "{text:?}");
    }
}
