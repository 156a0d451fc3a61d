//! The one form in which a command fails.
//!
//! Library errors keep their own types; they become a [`Failure`] here, where kind and hints
//! are decided.

use serde_json::{Value, json};

use super::exit;
use crate::engine::{EngineError, PlaceError};
use crate::job::check::EntryError;
use crate::job::file::FileError;
use crate::job::store::StoreError;
use crate::job::typed::ValueError;
use crate::knowledge::show::NotFound;
use crate::names::nearest;

/// Why a command did nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Failure {
    kind: Kind,
    message: String,
    hints: Vec<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// Bad use or bad input.
    Usage,
    /// The answer is "no".
    No,
    /// A file.
    File,
}

impl Failure {
    /// Bad use or bad input.
    pub(crate) fn usage(message: impl Into<String>) -> Self {
        Self::of(Kind::Usage, message)
    }

    /// The answer is "no".
    pub(crate) fn no(message: impl Into<String>) -> Self {
        Self::of(Kind::No, message)
    }

    /// A file could not be read, written or locked.
    pub(crate) fn file(message: impl Into<String>) -> Self {
        Self::of(Kind::File, message)
    }

    /// A word that is in no list, with the nearest that is.
    pub(crate) fn unknown<'a>(
        what: &str,
        given: &str,
        known: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        let near = nearest(given, known);
        Self::usage(format!("unknown {what} `{given}`"))
            .hints(near.map(|name| format!("did you mean `{name}`?")))
    }

    fn of(kind: Kind, message: impl Into<String>) -> Self {
        Self { kind, message: message.into(), hints: Vec::new() }
    }

    /// Adds what to do.
    #[must_use]
    pub(crate) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }

    /// Adds any number of hints.
    #[must_use]
    pub(crate) fn hints(mut self, hints: impl IntoIterator<Item = String>) -> Self {
        self.hints.extend(hints);
        self
    }

    /// Adds hints before those that are there.
    #[must_use]
    pub(crate) fn hints_first(mut self, hints: impl IntoIterator<Item = String>) -> Self {
        self.hints.splice(0..0, hints);
        self
    }

    /// The exit status.
    pub(crate) fn status(&self) -> u8 {
        match self.kind {
            Kind::Usage => exit::USAGE,
            Kind::No => exit::NO,
            Kind::File => exit::FILE,
        }
    }

    /// For people in the midst of a session, hints behind it.
    pub(crate) fn in_a_line(&self) -> String {
        std::iter::once(&self.message).chain(&self.hints).cloned().collect::<Vec<_>>().join("; ")
    }

    /// For people, hints on lines of their own.
    pub(crate) fn text(&self) -> String {
        let mut text = format!("error: {}\n", self.message);
        for hint in &self.hints {
            text.push_str("hint: ");
            text.push_str(hint);
            text.push('\n');
        }
        text
    }

    /// For programs.
    pub(crate) fn json(&self) -> Value {
        let kind = match self.kind {
            Kind::Usage => "usage",
            Kind::No => "no",
            Kind::File => "file",
        };
        json!({
            "ok": false,
            "error": {"kind": kind, "message": self.message, "hints": self.hints},
        })
    }
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        let message = error.to_string();
        match error {
            StoreError::BadName(_) | StoreError::LeadsOut(_) => Self::usage(message),
            StoreError::Exists(_) => Self::usage(message)
                .hint("choose another name, or go on with the job that is there"),
            StoreError::Missing(_) => Self::file(message)
                .hint("`oddpot jobs` lists the jobs, `oddpot open JOB ...` starts one"),
            StoreError::Locked(_) => {
                Self::file(message).hint("close it there first, nothing was changed")
            }
            StoreError::File { source: FileError::Syntax { line, text, .. }, .. } => {
                Self::file(message).hint(format!("line {line} is: {}", text.trim())).hint(
                    "the file was left as it is; `oddpot mend JOB` saves what stands before it",
                )
            }
            StoreError::Unconfirmed { .. } => {
                Self::file(message).hint("look with `oddpot journal JOB` before entering it again")
            }
            StoreError::File { .. } => Self::file(message).hint("the file was left as it is"),
            StoreError::Io { .. } | StoreError::Text(_) | StoreError::TooLarge(_) => {
                Self::file(message)
            }
        }
    }
}

impl From<ValueError> for Failure {
    fn from(error: ValueError) -> Self {
        let failure = Self::usage(error.to_string());
        match error {
            ValueError::Impossible { .. } => {
                failure.hint("for °F add `--units f`, or write `1205F`")
            }
            ValueError::Count(_) | ValueError::NotReading(_) => {
                failure.hint("a display without a number is `open`, `stuck` or `falling`")
            }
            ValueError::Comma(_) | ValueError::NoJump(_) => failure,
        }
    }
}

macro_rules! bad_input {
    ($($error:ty),+) => {
        $(impl From<$error> for Failure {
            fn from(error: $error) -> Self {
                Self::usage(error.to_string())
            }
        })+
    };
}

bad_input!(EntryError, EngineError, PlaceError, NotFound);
