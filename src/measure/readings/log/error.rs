//! Why a log cannot be read at all, in sentences.

use std::io;

use thiserror::Error;

use super::parse;
use super::sniff::{MOST_COLUMNS, MOST_DISPLAYS};

/// Why nothing can be read from a log.
#[derive(Debug, Error)]
pub enum LogError {
    /// The reader failed.
    #[error("{0}")]
    Io(#[from] io::Error),
    /// Nothing in it.
    #[error("the file is empty")]
    Empty,
    /// No text.
    #[error("the file is no text: it holds zero bytes")]
    Binary,
    /// A line that never ends.
    #[error("line 1 is longer than 1 MiB: this is no log of rows")]
    LongLine,
    /// One column only.
    #[error("no table: no delimiter (`,`, `;`, tab, `|`) parts the lines into like columns")]
    NoTable,
    /// Far too many columns.
    #[error("more than {MOST_COLUMNS} columns")]
    TooManyColumns {
        /// How many there are, at least.
        given: usize,
    },
    /// A table of words.
    #[error("no row of numbers in the first 200 lines")]
    NoNumbers,
    /// No time.
    #[error("no column of time among {}", list(.names))]
    NoTime {
        /// Names of the columns.
        names: Vec<String>,
    },
    /// Too few displays, or too many.
    #[error("{}, among {}", displays(*.found), list(.names))]
    NoDisplays {
        /// How many were found.
        found: usize,
        /// Names of the columns.
        names: Vec<String>,
    },
    /// A number left out.
    #[error("no column for display {number} among {}", list(.names))]
    MissingDisplay {
        /// The display.
        number: u32,
        /// Names of the columns.
        names: Vec<String>,
    },
    /// A column that was told and is not there.
    #[error("no column `{given}` among {}", list(.names))]
    NoSuchColumn {
        /// What was told.
        given: String,
        /// Names of the columns.
        names: Vec<String>,
    },
    /// Rows, but none that could be used.
    #[error("no row could be used: {first}")]
    NoRows {
        /// What was wrong with the first.
        first: String,
    },
}

fn displays(found: usize) -> String {
    match found {
        0 => "no column is a display of a cylinder".to_owned(),
        1 => "one display only; an odd one needs others".to_owned(),
        more => format!("{more} displays, more than {MOST_DISPLAYS}"),
    }
}

/// Names for a message.
fn list(names: &[String]) -> String {
    let shown: Vec<String> =
        names.iter().take(20).map(|name| format!("`{}`", parse::shown(name))).collect();
    let more = names.len().saturating_sub(20);
    let tail = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{}{tail}", shown.join(", "))
}
