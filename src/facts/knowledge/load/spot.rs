//! Rows as they were read, with what is needed to find their places again.

use std::ops::Range;

use crate::knowledge::codes::Code;
use crate::knowledge::finding::Finding;
use crate::knowledge::outline::{Step, outline};
use crate::knowledge::sources::SourceText;

/// Which row of which list of which text.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot<'a> {
    pub(super) file: &'a SourceText,
    pub(super) list: &'static str,
    pub(super) index: usize,
}

/// A row and its spot.
#[derive(Debug)]
pub(super) struct Row<'a, T> {
    pub(super) spot: Spot<'a>,
    pub(super) value: T,
}

/// A value within a row.
#[derive(Debug, Clone, Copy)]
pub(super) struct At<'a, 'p> {
    spot: Spot<'a>,
    path: &'p [Step],
    last: Option<Step>,
}

impl<'a> Spot<'a> {
    /// The value that the steps lead to from the row.
    pub(super) fn at<'p>(self, path: &'p [Step]) -> At<'a, 'p> {
        At { spot: self, path, last: None }
    }

    /// A finding about a row that is missing from this one's list, at the list's end.
    pub(super) fn missing(self, code: Code, message: impl Into<String>) -> Finding {
        let text = self.file.text();
        let end = outline(text).follow(text, &[Step::Field(self.list)]).range.end;
        Finding::new(code, message).at(self.file, end.saturating_sub(1)..end, "missing here")
    }
}

impl<'a> At<'a, '_> {
    /// The value at a position of this one.
    pub(super) fn nth(self, n: usize) -> Self {
        Self { last: Some(Step::Nth(n)), ..self }
    }

    /// The text it is in.
    pub(super) fn file(self) -> &'a SourceText {
        self.spot.file
    }

    /// Its place in the text. Walks the whole text, so it is for findings only.
    pub(super) fn range(self) -> Range<usize> {
        let text = self.spot.file.text();
        let mut steps = vec![Step::Field(self.spot.list), Step::Nth(self.spot.index)];
        steps.extend_from_slice(self.path);
        steps.extend(self.last);
        outline(text).follow(text, &steps).range.clone()
    }

    /// A finding here.
    pub(super) fn finding(
        self,
        code: Code,
        message: impl Into<String>,
        label: impl Into<String>,
    ) -> Finding {
        Finding::new(code, message).at(self.file(), self.range(), label)
    }
}

/// A finding about a row that is missing from a list, of which some row may be known.
pub(super) fn missing_from(
    list: Option<Spot<'_>>,
    code: Code,
    message: impl Into<String>,
) -> Finding {
    match list {
        Some(spot) => spot.missing(code, message),
        None => Finding::new(code, message),
    }
}
