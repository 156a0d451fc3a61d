//! A document on paper, as PDF.
//!
//! `flow` lays the blocks out as marks on pages, `tags` keeps what each mark is part of, `write` puts
//! them into a file with the glyphs they need. Text can be searched, copied and read aloud in order;
//! the same document gives the same bytes.

mod flow;
mod photos;
mod pictures;
mod table;
mod tags;
mod write;

use super::doc::{Doc, clean};
use super::figure::Picture;
use measure::named_enum;

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

    /// Width in points between the edges that are left free.
    #[must_use]
    pub fn inside(self) -> f64 {
        self.size().0 - 2.0 * flow::MARGIN
    }
}

/// Writes a document as PDF.
#[must_use]
pub fn render(doc: &Doc, paper: Paper) -> Vec<u8> {
    write::file(&clean(&doc.title), flow::with_full_size(doc, "", &[], paper), false)
}

/// Writes a document as PDF with pictures after it on pages of their own, at their full size: a
/// length in them is that length on paper. None may be larger than [`Paper::inside`].
#[must_use]
pub fn with_full_size(doc: &Doc, part: &str, pictures: &[Picture], paper: Paper) -> Vec<u8> {
    write::file(&clean(&doc.title), flow::with_full_size(doc, part, pictures, paper), true)
}

/// Writes pictures as PDF, one below the other, each whole, with what is said of it to who cannot see it.
#[must_use]
pub fn album(title: &str, pictures: &[(String, Picture)], paper: Paper) -> Vec<u8> {
    write::file(&clean(title), flow::album(title, pictures, paper), false)
}

#[cfg(test)]
mod tests;
