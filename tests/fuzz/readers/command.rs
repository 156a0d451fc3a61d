//! Command lines, a word a line: refused or understood, never a panic.

/// Puts the bytes to it.
///
/// # Panics
/// When what must hold does not.
pub fn put(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let words = std::iter::once("oddpot").chain(text.lines());
    if let Err(error) = oddpot::cli::command().try_get_matches_from(words) {
        let _ = error.render().to_string();
    }
}
