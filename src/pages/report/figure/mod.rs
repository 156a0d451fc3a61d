//! Pictures: one model, drawn to SVG, to paper and to a terminal.
//!
//! A [`Figure`] is data in words and numbers that were worked out elsewhere. [`Figure::draw`]
//! lays it out as [`Mark`]s in points, and [`svg`] or the PDF renderer puts those down;
//! [`Figure::terminal`] draws the same with characters. Shape and words carry what is meant,
//! shades never alone. It must not know about engines, and the same figure gives the same bytes.

use measure::number::real;
mod above;
mod axis;
mod branches;
mod course;
pub mod font;
mod levels;
mod mark;
pub mod svg;
mod swap;
mod trace;
mod tree;

pub use above::{Above, AboveBank, AboveSeat};
pub use branches::{BranchLine, Branches};
pub use course::{Course, CourseRow};
pub use levels::{Level, LevelRow, LevelSet, Levels};
pub use mark::{Anchor, Ink, Look, Mark, Picture, Stroke};
pub use swap::{Swap, SwapRow};
pub use trace::{Trace, TraceLine};
pub use tree::{Tree, TreeNode};

/// Width for which a figure is laid out, in points, unless someone wants another: two stand side
/// by side on paper, one fills a phone.
pub const WIDTH: f64 = 340.0;

/// A picture with what a person who cannot see it is told.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it shows, in a few words.
    pub title: String,
    /// What there is to see in it, in a sentence or two.
    pub desc: String,
    /// Its data.
    pub chart: Chart,
}

/// Kinds of picture.
#[derive(Debug, Clone, PartialEq)]
pub enum Chart {
    /// Temperatures against the natural band.
    Levels(Levels),
    /// What an exchange moved and what the numbers did.
    Swap(Swap),
    /// Suspects over the course of a job.
    Course(Course),
    /// Temperatures over time.
    Trace(Trace),
    /// What to do, and what then.
    Branches(Branches),
    /// Groups and what is in them.
    Tree(Tree),
    /// The engine, its cylinders in their banks.
    Above(Above),
}

impl Figure {
    /// Lays the picture out for a width in points.
    #[must_use]
    pub fn draw(&self, width: f64) -> Picture {
        let mut picture = Picture::new(width);
        let title = font::wrap(&font::shown(&self.title), width, TITLE, font::Weight::Bold);
        for line in title.into_iter().filter(|line| !line.is_empty()) {
            picture.height += TITLE * 1.25;
            let at = (0.0, picture.height - TITLE * 0.3);
            picture.text(at, line, Look::new(TITLE).bold());
        }
        picture.height += 3.0;
        match &self.chart {
            Chart::Levels(chart) => chart.draw(&mut picture),
            Chart::Swap(chart) => chart.draw(&mut picture),
            Chart::Course(chart) => chart.draw(&mut picture),
            Chart::Trace(chart) => chart.draw(&mut picture),
            Chart::Branches(chart) => chart.draw(&mut picture),
            Chart::Tree(chart) => chart.draw(&mut picture),
            Chart::Above(chart) => chart.draw(&mut picture),
        }
        picture
    }

    /// What is said of the picture to who cannot see it.
    #[must_use]
    pub fn told(&self) -> String {
        let (title, desc) = (super::doc::clean(&self.title), super::doc::clean(&self.desc));
        if desc.is_empty() { title } else { format!("{title}. {desc}") }
    }

    /// Draws the picture with characters, without its title; no line is wider than `width` cells
    /// if that is 40 or more.
    #[must_use]
    pub fn terminal(&self, width: usize) -> Vec<String> {
        match &self.chart {
            Chart::Levels(chart) => chart.terminal(width),
            Chart::Swap(chart) => chart.terminal(width),
            Chart::Course(chart) => chart.terminal(width),
            Chart::Trace(chart) => chart.terminal(width),
            Chart::Branches(chart) => chart.terminal(width),
            Chart::Tree(chart) => chart.terminal(width),
            Chart::Above(chart) => chart.terminal(width),
        }
    }
}

/// Height of a figure's title, of its text and of its small print, in points.
const TITLE: f64 = 10.5;
const TEXT: f64 = 9.5;
const SMALL: f64 = 8.0;

/// A share as it can be drawn.
fn drawable(share: f64) -> f64 {
    if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 }
}

/// A small count as a number of points.
fn points(count: usize) -> f64 {
    real(count)
}

/// The cell of a place along a line of a terminal; places are clamped to the line before.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "small and not negative"
)]
fn cell(place: f64) -> usize {
    place.round() as usize
}

/// A text for a terminal cut to some cells and padded to them.
fn padded(text: &str, cells: usize) -> String {
    let text = cut_cells(text, cells);
    let used = super::wrap::cells(&text);
    format!("{text}{}", " ".repeat(cells - used))
}

/// A text for a terminal cut to some cells and moved to their right end.
fn to_the_right(text: &str, cells: usize) -> String {
    let text = cut_cells(text, cells);
    format!("{}{text}", " ".repeat(cells - super::wrap::cells(&text)))
}

/// A text cut to some cells of a terminal, two dots where something was left out.
fn cut_cells(text: &str, cells: usize) -> String {
    let text = super::doc::clean(text);
    if super::wrap::cells(&text) <= cells {
        return text;
    }
    let mut out = super::wrap::split_hard(&text, cells.saturating_sub(2).max(1)).swap_remove(0);
    out.truncate(out.trim_end().len());
    out + ".."
}

#[cfg(test)]
pub(in crate::report) mod tests;
