//! What can be saved of a damaged job file: everything before the damage.
//!
//! Pure. The head must be whole, since without it no entry means anything; then entries are
//! taken as long as they are whole. It must not guess at what is torn.

use thiserror::Error;

use super::check;
use super::entry::{Entry, Journal};
use super::file::{self, FileError};

/// What was saved.
#[derive(Debug, Clone, PartialEq)]
pub struct Mended {
    /// The job up to the damage.
    pub journal: Journal,
    /// Line of the damage, from 1.
    pub line: usize,
    /// What is wrong there.
    pub what: String,
}

/// Why nothing can be saved.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum MendError {
    /// There is no damage.
    #[error("the job is whole: there is nothing to mend")]
    Whole,
    /// A newer program's file is not damaged.
    #[error(transparent)]
    Newer(FileError),
    /// The damage is in front of the first entry.
    #[error("the damage is in the head of the file, before the first entry: {0}")]
    Head(String),
}

/// Saves what stands before the damage.
///
/// # Errors
/// When there is no damage, or it is in the head.
pub fn mend(bytes: &[u8]) -> Result<Mended, MendError> {
    // A torn file may hold anything; text ends where it is none.
    let (text, torn) = match std::str::from_utf8(bytes) {
        Ok(text) => (text, None),
        Err(error) => {
            let (good, _) = bytes.split_at(error.valid_up_to());
            (std::str::from_utf8(good).unwrap_or_default(), Some("it is no text from here on"))
        }
    };
    match file::read(text) {
        Ok(_) if torn.is_none() => return Err(MendError::Whole),
        Err(error @ FileError::Newer { .. }) => return Err(MendError::Newer(error)),
        Ok(_) | Err(_) => {}
    }
    let outline = outline(text);
    let Some(start) = outline.list else {
        return Err(MendError::Head("it ends before the list of entries".to_owned()));
    };
    let head = format!("{}])", &text[..start]);
    let mut journal = file::read(&head).map_err(|error| MendError::Head(error.to_string()))?;
    let mut from = start;
    let mut what = torn.unwrap_or("the file ends too early").to_owned();
    for end in outline.entries {
        match file::entry(text[from..end].trim_start_matches([',', ' ', '\n', '\r', '\t'])) {
            Ok(entry) => {
                if let Err(error) = fits(&journal, &entry) {
                    what = error;
                    break;
                }
                journal.entries.push(entry);
                from = end;
            }
            Err(error) => {
                what = error;
                break;
            }
        }
    }
    let line = 1 + text[..from].matches('\n').count();
    Ok(Mended { journal, line, what })
}

fn fits(journal: &Journal, entry: &Entry) -> Result<(), String> {
    let number = journal.entries.len() + 1;
    check::whole(&journal.head.engine, number, entry).map_err(|error| error.to_string())
}

/// Where the list of entries begins, and where each whole entry ends.
struct Outline {
    /// Right behind the bracket that opens it.
    list: Option<usize>,
    /// Right behind each.
    entries: Vec<usize>,
}

/// Follows brackets, minding texts and comments, without a parser: the text may break off.
fn outline(text: &str) -> Outline {
    let mut outline = Outline { list: None, entries: Vec::new() };
    let mut depth = 0_usize;
    let bytes = text.as_bytes();
    let mut at = 0;
    while at < bytes.len() {
        match bytes[at] {
            b'"' => {
                at += 1;
                while at < bytes.len() && bytes[at] != b'"' {
                    at += if bytes[at] == b'\\' { 2 } else { 1 };
                }
            }
            b'/' if bytes.get(at + 1) == Some(&b'/') => {
                while at < bytes.len() && bytes[at] != b'\n' {
                    at += 1;
                }
            }
            b'(' | b'{' => depth += 1,
            b'[' => {
                depth += 1;
                let named = text[..at].trim_end().ends_with("entries:");
                if depth == 2 && named && outline.list.is_none() {
                    outline.list = Some(at + 1);
                }
            }
            b')' | b']' | b'}' => {
                depth = depth.saturating_sub(1);
                if depth == 2 && outline.list.is_some() {
                    outline.entries.push(at + 1);
                }
                if depth == 1 && outline.list.is_some() {
                    break;
                }
            }
            _ => {}
        }
        at += 1;
    }
    outline
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::job::fixture;

    fn text() -> String {
        file::write(&fixture::long_journal()).expect("text")
    }

    #[test]
    fn a_whole_job_needs_no_mending() {
        assert_eq!(mend(text().as_bytes()), Err(MendError::Whole));
        let newer = text().replace("format: 1", "format: 99");
        assert!(matches!(mend(newer.as_bytes()), Err(MendError::Newer(_))));
    }

    #[test]
    fn what_stands_before_the_damage_is_saved() {
        let text = text();
        let whole = fixture::long_journal();
        // Damage in the fourth entry, of several kinds.
        let at = text.match_indices("time:").nth(3).expect("four entries").0;
        let with = |piece: &[u8]| [&text.as_bytes()[..at], piece].concat();
        let damaged = [
            with(b""),
            with(&[0; 400]),
            with(b"\xff\xfe and so on"),
            text.replacen("Exchange(", "Xchange(", 1).into_bytes(),
            text.replacen("b: 3", "b: 9", 1).into_bytes(),
        ];
        for bytes in damaged {
            let mended = mend(&bytes).expect("something is left");
            assert_eq!(mended.journal.entries, whole.entries[..3], "{:?}", mended.what);
            assert_eq!(mended.journal.head, whole.head);
            assert!(mended.line > 20, "{}", mended.line);
        }
    }

    #[test]
    fn without_a_head_nothing_can_be_saved() {
        let text = text();
        for bytes in [&b""[..], b"(format: 1, head: (", &text.as_bytes()[..200]] {
            assert!(matches!(mend(bytes), Err(MendError::Head(_))));
        }
    }

    proptest! {
        #[test]
        fn cut_anywhere_a_part_of_the_journal_is_left(cut in 0_usize..20_000) {
            let text = text();
            let bytes = &text.as_bytes()[..cut.min(text.len())];
            if let Ok(mended) = mend(bytes) {
                let whole = fixture::long_journal();
                prop_assert_eq!(&mended.journal.head, &whole.head);
                prop_assert!(whole.entries.starts_with(&mended.journal.entries));
            }
        }

        #[test]
        fn no_bytes_bring_it_down(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
            let _ = mend(&bytes);
        }

        #[test]
        fn a_byte_changed_anywhere_loses_nothing_before_it(
            at in 0_usize..20_000, byte in any::<u8>(),
        ) {
            let text = text();
            let mut bytes = text.clone().into_bytes();
            let at = at % bytes.len();
            bytes[at] = byte;
            if let Ok(mended) = mend(&bytes) {
                let before = text[..at].matches("time:").count().saturating_sub(1);
                let whole = fixture::long_journal();
                let kept = mended.journal.entries.len().min(before);
                prop_assert!(kept == before, "{} of {}", kept, before);
                prop_assert_eq!(&mended.journal.entries[..before], &whole.entries[..before]);
            }
        }
    }
}
