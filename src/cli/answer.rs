//! What a command answers, before it is printed in one form or the other.

use serde::Serialize;
use serde_json::{Value, json};

use super::exit;

/// An answer.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Answer {
    /// For people; ends with a line end.
    pub(crate) text: String,
    /// Bytes that are no text, printed in its place.
    pub(crate) bytes: Option<Vec<u8>>,
    /// For programs.
    pub(crate) json: Value,
    /// Remarks: to standard error beside the text, into the document of `--json`.
    pub(crate) notes: Vec<String>,
    /// Exit status.
    pub(crate) status: u8,
}

impl Answer {
    /// An answer that was "yes" or plain information.
    pub(crate) fn new(text: impl Into<String>, document: impl Serialize) -> Self {
        let mut text = text.into();
        if !text.is_empty() && !text.ends_with('\n') {
            text.push('\n');
        }
        let json = json!(document);
        Self { text, bytes: None, json, notes: Vec::new(), status: exit::DONE }
    }

    /// Bytes for a file or a pipe.
    pub(crate) fn raw(bytes: Vec<u8>) -> Self {
        Self { bytes: Some(bytes), ..Self::new("", json!({"ok": true})) }
    }

    /// Adds remarks.
    #[must_use]
    pub(crate) fn notes(mut self, notes: impl IntoIterator<Item = String>) -> Self {
        self.notes.extend(notes);
        self
    }

    /// The answer is "no" unless it holds.
    #[must_use]
    pub(crate) fn yes_if(mut self, holds: bool) -> Self {
        self.status = if holds { exit::DONE } else { exit::NO };
        self
    }

    /// The document of `--json`, remarks included.
    pub(crate) fn document(&self) -> Value {
        let mut document = self.json.clone();
        if let (Value::Object(fields), false) = (&mut document, self.notes.is_empty()) {
            // A page may have notes of its own, with entry numbers; these come after them.
            let list = fields.entry("notes").or_insert_with(|| json!([]));
            if let Value::Array(list) = list {
                list.extend(self.notes.iter().map(|note| json!(note)));
            }
        }
        document
    }
}
