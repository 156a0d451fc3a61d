//! The journal as it was entered, with what became of each entry: `journal`.
//!
//! It must not leave an entry out.

use serde::Serialize;

use facts::job::entry::{Fate, Head, Journal, What};
use facts::job::read::standing;
use facts::job::timeline::{Closing, Standing};

/// `journal`.
#[derive(Debug, Serialize)]
pub(in crate::cli) struct JournalDocument<'a> {
    head: &'a Head,
    entries: Vec<EntryDocument<'a>>,
    closed: bool,
    proven: bool,
}

#[derive(Debug, Serialize)]
struct EntryDocument<'a> {
    entry: usize,
    time: String,
    typed: &'a str,
    stands: bool,
    what: &'a What,
    #[serde(skip_serializing_if = "Option::is_none")]
    instead: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    corrected_by: Option<usize>,
}

/// `journal`.
pub(in crate::cli) fn journal(journal: &Journal) -> JournalDocument<'_> {
    let entries = (1..).zip(&journal.entries).zip(journal.fates()).map(|((entry, kept), fate)| {
        let undo = matches!(kept.what, What::Undo { .. });
        EntryDocument {
            entry,
            time: kept.time.to_string(),
            typed: &kept.typed,
            stands: fate == Fate::Stands && !undo,
            what: &kept.what,
            instead: kept.instead,
            corrected_by: match fate {
                Fate::Corrected { by } => Some(by),
                _ => None,
            },
        }
    });
    let standing = standing(journal);
    JournalDocument {
        head: &journal.head,
        entries: entries.collect(),
        closed: matches!(standing, Standing::Closed(_)),
        proven: standing == Standing::Closed(Closing::Proven),
    }
}
