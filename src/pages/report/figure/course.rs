//! Suspects over the course of a job: a small bar for each suspect after each entry.

use std::fmt::Write;

use super::font::{self, Weight};
use super::{Ink, Look, Picture, SMALL, Stroke, drawable, padded, points, to_the_right};
use measure::percent::percent;

/// The figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// What each column stands after, short: the number of an entry.
    pub columns: Vec<String>,
    /// A row for each suspect.
    pub rows: Vec<CourseRow>,
}

/// A suspect.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseRow {
    /// Its name.
    pub label: String,
    /// Its share after each entry, from 0 to 1.
    pub shares: Vec<f64>,
}

/// Height of a row, and of a full bar in it.
const ROW: f64 = 25.0;
const BAR: f64 = 20.0;
/// A column is no wider.
const WIDEST: f64 = 26.0;
/// Columns that a narrow picture has room for.
const MOST: usize = 14;

impl Course {
    /// The columns that are shown: all, or as many of the last as there is room for.
    fn shown(&self, most: usize) -> std::ops::Range<usize> {
        self.columns.len().saturating_sub(most)..self.columns.len()
    }

    pub(super) fn draw(&self, picture: &mut Picture) {
        let names = picture.width * 0.34;
        let last = 50.0;
        let shown = self.shown(MOST);
        let room = picture.width - names - last;
        let wide = (room / points(shown.len().max(1))).min(WIDEST);
        let top = picture.height;
        for (index, row) in self.rows.iter().enumerate() {
            let base = top + ROW * (points(index) + 1.0) - 2.0;
            let lines = font::wrap(&font::shown(&row.label), names - 8.0, SMALL, Weight::Regular);
            let mut y = base - if lines.len() > 1 { SMALL * 1.2 } else { 0.0 } - 2.0;
            let two = lines.len() > 2;
            for (n, line) in lines.into_iter().take(2).enumerate() {
                let line = if two && n == 1 {
                    font::cut(&format!("{line} …"), names - 8.0, SMALL, Weight::Regular)
                } else {
                    line
                };
                picture.text((0.0, y), line, Look::new(SMALL));
                y += SMALL * 1.2;
            }
            for (column, share) in row.shares[clamped(&shown, row)].iter().enumerate() {
                let share = drawable(*share);
                let x = names + wide * points(column);
                let high = (BAR * share).max(0.5);
                let now = column + 1 == shown.len();
                let ink = if now { Ink::Black } else { Ink::Grey };
                picture.fill((x + 1.5, base - high), (wide - 3.0, high), ink);
            }
            let right = names + wide * points(shown.len());
            picture.line((names, base), (right, base), Stroke::solid(Ink::Rule, 0.6));
            if let Some(share) = row.shares.last() {
                let look = Look::new(SMALL).bold();
                picture.text((right + 4.0, base - 1.0), percent(drawable(*share)), look);
            }
        }
        let y = top + ROW * points(self.rows.len()) + SMALL + 1.0;
        for (column, label) in self.columns[shown.clone()].iter().enumerate() {
            let x = names + wide * (points(column) + 0.5);
            let label = font::cut(label, wide - 1.0, SMALL, Weight::Regular);
            picture.text((x, y), label, Look::new(SMALL).grey().middle());
        }
        picture.text((0.0, y), "after entry (0: at first)", Look::new(SMALL).grey());
        let right = names + wide * points(shown.len());
        picture.text((right + 4.0, y), "now", Look::new(SMALL).grey());
        picture.height = y + 4.0;
    }

    pub(super) fn terminal(&self, width: usize) -> Vec<String> {
        let cells = 4;
        let names = (width * 2 / 5).max(16);
        let shown = self.shown(((width - names) / cells).max(1));
        let heads: String =
            self.columns[shown.clone()].iter().map(|c| to_the_right(c, cells)).collect();
        let mut lines = vec![format!("{}{heads}", padded("% after entry (0: at first)", names))];
        for row in &self.rows {
            let mut shares = String::new();
            for share in &row.shares[clamped(&shown, row)] {
                let _ = write!(shares, "{:>cells$.0}", drawable(*share) * 100.0);
            }
            lines.push(format!("{}{shares}", padded(&row.label, names)));
        }
        lines
    }
}

/// The columns as far as a row has them.
fn clamped(shown: &std::ops::Range<usize>, row: &CourseRow) -> std::ops::Range<usize> {
    let end = shown.end.min(row.shares.len());
    shown.start.min(end)..end
}
