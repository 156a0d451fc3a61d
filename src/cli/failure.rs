//! The one form in which a command fails.
//!
//! Library errors keep their own types; they become a [`Failure`] here, where kind and hints
//! are decided.

use serde_json::{Value, json};

use super::exit;
use facts::job::check::EntryError;
use facts::job::file::FileError;
use facts::job::store::StoreError;
use facts::job::typed::ValueError;
use facts::knowledge::show::NotFound;
use measure::engine::{EngineError, PlaceError};
use measure::names::nearest;

/// Why a command did nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Failure {
    kind: Kind,
    message: String,
    hints: Vec<String>,
    /// Something that was to be kept was not.
    pub(crate) lost: bool,
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
        Self { kind, message: message.into(), hints: Vec::new(), lost: false }
    }

    /// What was typed was to be kept and is not.
    fn not_entered(self) -> Self {
        Self { lost: true, ..self }
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
        self.lines().join("; ")
    }

    /// The same, a line each.
    pub(crate) fn lines(&self) -> Vec<String> {
        std::iter::once(&self.message).chain(&self.hints).cloned().collect()
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

/// Characters of a damaged line that are shown.
const LINE: usize = 160;

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        let message = error.to_string();
        match error {
            StoreError::BadName(_) | StoreError::LeadsOut(_) => Self::usage(message),
            StoreError::Exists(_) => Self::usage(message)
                .hint("choose another name, or go on with the job that is there"),
            StoreError::Missing(_) => Self::file(message)
                .hint("`oddpot jobs` lists the jobs, `oddpot open JOB ...` starts one"),
            StoreError::Locked { .. } => Self::file(message)
                .hint("close it there first, nothing was changed; reading it needs no leave")
                .not_entered(),
            StoreError::Replaced(_) => Self::file(message)
                .hint("nothing was changed: look at it with `oddpot journal JOB`")
                .not_entered(),
            StoreError::File { source: FileError::Syntax { line, text, .. }, .. } => {
                let mut shown: String = text.trim().chars().take(LINE).collect();
                if shown.len() < text.trim().len() {
                    shown.push('…');
                }
                Self::file(message)
                    .hint(format!("line {line} is: {shown}"))
                    .hint("the file was left as it is; `oddpot mend JOB` saves what is whole")
            }
            StoreError::Unconfirmed { .. } => {
                Self::file(message).hint("look with `oddpot journal JOB` before entering it again")
            }
            StoreError::File { .. } => Self::file(message).hint("the file was left as it is"),
            StoreError::Io { doing: "read" | "open", .. }
            | StoreError::Text(_)
            | StoreError::TooLarge(_) => Self::file(message),
            StoreError::Io { .. } => Self::file(message)
                .hint(
                    "the job is as it was; where the disk stays full or cannot be written, copy \
                     the file to another and give the copy's path as JOB",
                )
                .not_entered(),
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
            ValueError::Comma(_) | ValueError::NoJump(_) | ValueError::Order { .. } => failure,
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
