//! What can be saved of a damaged job file: every entry that is whole.
//!
//! Pure. The head must be whole, since without it no entry means anything; then each entry is taken
//! that can be read and fits. It must not guess at what is torn: what is lost is said, and an undo of
//! what is lost is lost with it.

use std::collections::BTreeMap;

use thiserror::Error;

use super::check;
use super::entry::{Journal, What};
use super::file::{self, FileError};

/// What was saved.
#[derive(Debug, Clone, PartialEq)]
pub struct Mended {
    /// The job without what is damaged.
    pub journal: Journal,
    /// Line where the damage begins, from 1.
    pub line: usize,
    /// What is wrong there.
    pub what: String,
    /// What is lost, or may be, in a sentence each.
    pub lost: Vec<String>,
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

/// Saves what is whole.
///
/// # Errors
/// When there is no damage, or it is in the head.
pub fn mend(bytes: &[u8]) -> Result<Mended, MendError> {
    let (text, foreign) = decoded(bytes);
    match file::read(&text) {
        Ok(_) if foreign.is_none() => return Err(MendError::Whole),
        Err(error @ FileError::Newer { .. }) => return Err(MendError::Newer(error)),
        Ok(_) | Err(_) => {}
    }
    let line_of = |at: usize| 1 + text[..at].matches('\n').count();
    let Some(start) = list(&text) else {
        return Err(MendError::Head("it ends before the list of entries".to_owned()));
    };
    let head = format!("{}])", &text[..start]);
    let journal = file::read(&head).map_err(|error| MendError::Head(error.to_string()))?;
    let mut saving = Saving { journal, numbers: BTreeMap::new(), old: 0, lost: Vec::new() };
    let mut damage: Option<(usize, String)> =
        foreign.map(|at| (line_of(at), "it is no text; it was read as Latin-1".to_owned()));
    let mut note = |at: usize, what: &str| {
        if damage.as_ref().is_none_or(|(line, _)| *line > line_of(at)) {
            damage = Some((line_of(at), what.to_owned()));
        }
    };
    let mut at = start;
    loop {
        let rest = &text[at..];
        let gap = rest.len() - rest.trim_start_matches(BETWEEN).len();
        let begin = at + gap;
        if let Some(end) = closed(&text, begin).filter(|_| text[begin..].starts_with('(')) {
            match saving.take(&text[begin..end]) {
                Ok(()) => {
                    at = end;
                    continue;
                }
                Err(what) => note(at, &what),
            }
        } else if whole_end(&text[begin..]) {
            break;
        } else {
            let early = text[begin..].trim().is_empty() || next(&text, begin + 1).is_none();
            note(at, if early { "the file ends too early" } else { "an entry does not end" });
        }
        // What cannot be read reaches to where the next entry can begin.
        let until = next(&text, begin + 1).unwrap_or(text.len());
        saving.lose(&text[begin..until], line_of(begin));
        at = until;
        if at == text.len() {
            break;
        }
    }
    let (line, what) = damage.unwrap_or((line_of(at), "the file ends too early".to_owned()));
    Ok(Mended { journal: saving.journal, line, what, lost: saving.lost })
}

/// What may stand between two entries.
const BETWEEN: [char; 5] = [',', ' ', '\n', '\r', '\t'];

/// A file as text, and where it first is none: such bytes are letters of an older kind.
fn decoded(bytes: &[u8]) -> (String, Option<usize>) {
    let (mut text, mut foreign) = (String::new(), None);
    for chunk in bytes.utf8_chunks() {
        text.push_str(chunk.valid());
        if !chunk.invalid().is_empty() {
            foreign.get_or_insert(text.len());
            text.extend(chunk.invalid().iter().map(|byte| char::from(*byte)));
        }
    }
    (text, foreign)
}

/// The journal as far as it is saved.
struct Saving {
    journal: Journal,
    /// Numbers of entries in the damaged file, and what they are now.
    numbers: BTreeMap<usize, usize>,
    /// Entries of the damaged file so far, lost ones too.
    old: usize,
    lost: Vec<String>,
}

impl Saving {
    /// Takes in an entry that can be read.
    fn take(&mut self, text: &str) -> Result<(), String> {
        let mut entry = file::entry(text)?;
        let number = self.old + 1;
        let now = |number: usize| self.numbers.get(&number).copied();
        // Numbers of entries speak of the file as it was.
        let about = match (&mut entry.what, &mut entry.instead) {
            (What::Undo { entry }, _) => Some(entry),
            (_, Some(earlier)) => Some(earlier),
            (_, None) => None,
        };
        if let Some(about) = about {
            match now(*about) {
                Some(number) => *about = number,
                None if *about < number && !self.lost.is_empty() => {
                    self.lost.push(format!(
                        "entry {number} speaks of entry {about}, which is lost: `{}` is left out",
                        entry.typed
                    ));
                    self.old = number;
                    return Ok(());
                }
                None => return Err(format!("it speaks of entry {about}, which is not before it")),
            }
        }
        let saved = self.journal.entries.len() + 1;
        check::whole(&self.journal.head.engine, saved, &entry).map_err(|e| e.to_string())?;
        self.journal.push(entry);
        self.old = number;
        self.numbers.insert(number, saved);
        Ok(())
    }

    /// Passes over what cannot be read.
    fn lose(&mut self, text: &str, line: usize) {
        if text.trim_matches(BETWEEN).is_empty() {
            return;
        }
        self.old += text.matches("time:").count().max(1);
        let typed = text.split_once("typed:").map(|(_, rest)| rest.trim_start_matches([' ', '"']));
        let typed = typed.map(|rest| rest.split(['"', '\n']).next().unwrap_or_default().to_owned());
        self.lost.push(match typed.filter(|typed| !typed.is_empty()) {
            Some(typed) => format!("line {line}: lost is `{typed}`"),
            None => format!("line {line}: what stands there cannot be read"),
        });
    }
}

/// Right behind the bracket that opens the list of entries.
fn list(text: &str) -> Option<usize> {
    let mut depth = 0_usize;
    for (at, mark) in brackets(text, 0) {
        match mark {
            b'[' if depth == 1 && text[..at].trim_end().ends_with("entries:") => {
                return Some(at + 1);
            }
            b'(' | b'[' | b'{' => depth += 1,
            _ => depth = depth.saturating_sub(1),
        }
    }
    None
}

/// Right behind the bracket that closes what opens at a place.
fn closed(text: &str, from: usize) -> Option<usize> {
    let mut depth = 0_usize;
    for (at, mark) in brackets(text, from) {
        match mark {
            b'(' | b'[' | b'{' => depth += 1,
            _ => {
                depth = depth.checked_sub(1)?;
                if depth == 0 {
                    return Some(at + 1);
                }
            }
        }
    }
    None
}

/// Whether nothing is left but the end of the list and the file.
fn whole_end(text: &str) -> bool {
    let left: String = text.chars().filter(|c| !c.is_whitespace() && *c != ',').collect();
    left == "])"
}

/// Where the next entry can begin: a bracket with the first field behind it.
fn next(text: &str, from: usize) -> Option<usize> {
    let from = (from..=text.len()).find(|at| text.is_char_boundary(*at))?;
    let after = &text[from..];
    after
        .match_indices('(')
        .map(|(at, _)| from + at)
        .find(|at| text[at + 1..].trim_start().starts_with("time:"))
}

/// Brackets from a place on, minding texts and comments, without a parser: the text may break off.
fn brackets(text: &str, from: usize) -> impl Iterator<Item = (usize, u8)> {
    let bytes = text.as_bytes();
    let mut at = from;
    std::iter::from_fn(move || {
        while at < bytes.len() {
            let here = at;
            at += 1;
            match bytes[here] {
                b'"' => {
                    while at < bytes.len() && bytes[at] != b'"' {
                        at += if bytes[at] == b'\\' { 2 } else { 1 };
                    }
                    at += 1;
                }
                b'/' if bytes.get(at) == Some(&b'/') => {
                    while at < bytes.len() && bytes[at] != b'\n' {
                        at += 1;
                    }
                }
                mark @ (b'(' | b'[' | b'{' | b')' | b']' | b'}') => return Some((here, mark)),
                _ => {}
            }
        }
        None
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture;
    use crate::job::entry::Entry;

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
    fn what_is_whole_is_saved_on_both_sides_of_the_damage() {
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
        for (index, bytes) in damaged.into_iter().enumerate() {
            let mended = mend(&bytes).expect("something is left");
            // The undo of what is lost is lost with it.
            let behind = if index < 3 { &[] } else { &whole.entries[5..] };
            let left = [&whole.entries[..3], behind].concat();
            assert_eq!(mended.journal.entries, left, "{:?}", mended.what);
            assert!(!mended.lost.is_empty());
            assert_eq!(mended.journal.head, whole.head);
            assert!(mended.line > 20, "{}", mended.line);
        }
    }

    #[test]
    fn numbers_of_entries_follow_those_that_are_left() {
        let mut whole = fixture::journal();
        let state = || fixture::entry(What::State(crate::job::entry::EngineState::Cold));
        whole.entries = vec![state(), state(), state()];
        whole.push(fixture::entry(What::Undo { entry: 3 }));
        whole.push(Entry { instead: Some(2), ..state() });
        let text = file::write(&whole).expect("text");
        let torn = text.replacen("State(", "Stat(", 1);
        let mended = mend(torn.as_bytes()).expect("saved");
        assert_eq!(mended.journal.entries.len(), 4);
        assert_eq!(mended.journal.entries[2].what, What::Undo { entry: 2 });
        assert_eq!(mended.journal.entries[3].instead, Some(1));
        assert_eq!(mended.lost.len(), 1);
    }

    #[test]
    fn a_letter_of_an_older_kind_loses_nothing() {
        let text = text().replacen("vehicle: \"", "vehicle: \"K?fer ", 1);
        let mut bytes = text.into_bytes();
        let at = bytes.iter().position(|byte| *byte == b'?').expect("there");
        bytes[at] = 0xe4;
        let mended = mend(&bytes).expect("saved");
        assert_eq!(mended.journal.entries, fixture::long_journal().entries);
        assert!(
            mended.journal.head.vehicle.starts_with("Käfer"),
            "{}",
            mended.journal.head.vehicle
        );
        assert!(mended.lost.is_empty() && mended.what.contains("Latin-1"), "{mended:?}");
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
