//! A document on paper, as PDF.
//!
//! [`flow`] lays the blocks out as marks on pages, [`write`] puts the marks into a file with the
//! glyphs they need. Text can be searched and copied; the same document gives the same bytes.

mod flow;
mod table;
mod write;

use super::doc::{Doc, clean};
use super::figure::Picture;
use crate::named_enum;

named_enum! {
    /// Sizes of paper.
    Paper, "paper" {
        /// 210 × 297 mm.
        A4 = "a4",
        /// 8.5 × 11 inches.
        Letter = "letter",
    }
}

impl Paper {
    /// Width and height in points.
    #[must_use]
    pub fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (595.28, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// Writes a document as PDF.
#[must_use]
pub fn render(doc: &Doc, paper: Paper) -> Vec<u8> {
    write::file(&clean(&doc.title), &flow::pages(doc, paper))
}

/// Writes one picture as PDF, on a page of its own size.
#[must_use]
pub fn picture(title: &str, picture: &Picture) -> Vec<u8> {
    let margin = 24.0;
    let mut page = Picture::new(picture.width + 2.0 * margin);
    page.height = picture.height + 2.0 * margin;
    page.marks = picture.marks.iter().map(|mark| mark.placed(1.0, margin, margin)).collect();
    write::file(&clean(title), &[page])
}

#[cfg(test)]
mod tests;
