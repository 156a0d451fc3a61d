//! An exchange: what moved where, and what the numbers did.

use super::axis::{Axis, apart};
use super::font::{self, Weight};
use super::{Anchor, Ink, Look, Mark, Picture, SMALL, Stroke, TEXT, padded, to_the_right};

/// The figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Swap {
    /// Sign of the unit.
    pub unit: &'static str,
    /// The two places.
    pub places: [String; 2],
    /// What was at each place before; after it they have changed.
    pub items: [String; 2],
    /// What stands under the numbers before and after.
    pub when: [String; 2],
    /// A row for each display.
    pub rows: Vec<SwapRow>,
    /// What the numbers did, in a sentence.
    pub outcome: String,
}

/// What a display showed before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct SwapRow {
    /// Its name.
    pub label: String,
    /// What it showed, as text.
    pub texts: [String; 2],
    /// The same as numbers, where it showed one.
    pub values: [Option<f64>; 2],
    /// It stands out before, after.
    pub odd: [bool; 2],
    /// The exchange was about it.
    pub involved: bool,
}

impl SwapRow {
    /// The numbers that can be drawn.
    fn numbers(&self) -> [Option<f64>; 2] {
        self.values.map(|value| value.filter(|v| v.is_finite()))
    }
}

/// With more displays than this only those that count are labelled.
const LABELLED: usize = 5;
/// Height of the two halves.
const HIGH: f64 = 72.0;

impl Swap {
    pub(super) fn draw(&self, picture: &mut Picture) {
        let top = picture.height + 4.0;
        let left = picture.width * 0.46;
        self.boxes(picture, top, left);
        self.slopes(picture, top, left + 16.0);
        picture.height = top + HIGH + SMALL + 8.0;
        let lines = font::wrap(&font::shown(&self.outcome), picture.width, TEXT, Weight::Regular);
        for line in lines {
            picture.height += TEXT * 1.3;
            let at = (0.0, picture.height - TEXT * 0.3);
            picture.text(at, line, Look::new(TEXT));
        }
    }

    /// The items at their places before, crossing over to where they are after.
    fn boxes(&self, picture: &mut Picture, top: f64, wide: f64) {
        let (w, h) = (wide * 0.36, 17.0);
        let rows = [top + 15.0, top + 15.0 + h + 22.0];
        for (row, place) in rows.iter().zip(&self.places) {
            let text = font::cut(place, wide, SMALL, Weight::Regular);
            picture.text((0.0, row - 3.0), text, Look::new(SMALL).grey());
        }
        let middle = |row: usize| rows[row] + h / 2.0;
        for (row, stroke) in
            [(0, Stroke::solid(Ink::Black, 1.2)), (1, Stroke::dashed(Ink::Black, 1.2))]
        {
            let (from, to) = ((w + 1.0, middle(row)), (wide - w - 1.0, middle(1 - row)));
            picture.line(from, to, stroke);
            picture.head(from, to, Ink::Black);
        }
        for (row, &top) in rows.iter().enumerate() {
            for (x, item) in [(0.0, row), (wide - w, 1 - row)] {
                picture.frame((x, top), (w, h), Some(Ink::White), Stroke::solid(Ink::Black, 0.9));
                let text = font::cut(&self.items[item], w - 4.0, SMALL, Weight::Bold);
                let at = (x + w / 2.0, middle(row) + SMALL * 0.35);
                picture.text(at, text, Look::new(SMALL).bold().middle());
            }
        }
        let under = top + HIGH + SMALL;
        picture.text((0.0, under), "before", Look::new(SMALL).grey());
        picture.text((wide, under), "after", Look::new(SMALL).grey().end());
    }

    /// A line for each display from its number before to its number after.
    fn slopes(&self, picture: &mut Picture, top: f64, left: f64) {
        let label = 44.0;
        let ends = [left + label, picture.width - label];
        let all = || self.rows.iter().flat_map(SwapRow::numbers).flatten();
        let axis = Axis::over(all(), top + HIGH - 4.0, top + 4.0);
        for (x, when) in ends.into_iter().zip(&self.when) {
            picture.line((x, top), (x, top + HIGH), Stroke::solid(Ink::Rule, 0.8));
            let at = (x, top + HIGH + SMALL);
            let when = font::cut(when, label * 1.8, SMALL, Weight::Regular);
            picture.text(at, when, Look::new(SMALL).grey().middle());
        }
        picture.text((left, top + HIGH + SMALL), self.unit, Look::new(SMALL).grey());
        for row in self.rows.iter().filter(|row| !row.involved) {
            self.slope(picture, &axis, row, ends);
        }
        for row in self.rows.iter().filter(|row| row.involved) {
            self.slope(picture, &axis, row, ends);
        }
        for side in 0..2 {
            let shown: Vec<(&SwapRow, f64)> = self
                .rows
                .iter()
                .filter(|row| self.rows.len() <= LABELLED || row.involved || row.odd[side])
                .map(|row| (row, row.numbers()[side].map_or(top + HIGH, |value| axis.at(value))))
                .collect();
            let places: Vec<f64> = shown.iter().map(|(_, y)| *y).collect();
            let places = apart(&places, SMALL * 1.05, top + 2.0, top + HIGH - 4.0);
            for ((row, _), y) in shown.iter().zip(places) {
                let text = format!("{}: {}", row.label, row.texts[side]);
                let mut look = Look::new(SMALL);
                if row.involved {
                    look = look.bold();
                }
                if row.odd[side] {
                    look = look.alert();
                }
                let (x, anchor) = if side == 0 {
                    (ends[0] - 5.0, Anchor::End)
                } else {
                    (ends[1] + 5.0, Anchor::Start)
                };
                let text = font::cut(&text, label - 5.0, SMALL, look.weight);
                picture.text((x, y + SMALL * 0.35), text, Look { anchor, ..look });
            }
        }
    }

    #[expect(clippy::unused_self, reason = "reads like its neighbours")]
    fn slope(&self, picture: &mut Picture, axis: &Axis, row: &SwapRow, ends: [f64; 2]) {
        let [Some(before), Some(after)] = row.numbers() else { return };
        let (from, to) = ((ends[0], axis.at(before)), (ends[1], axis.at(after)));
        let (stroke, radius) = if row.involved {
            (Stroke::solid(Ink::Black, 1.8), 2.6)
        } else {
            (Stroke::solid(Ink::Rule, 1.0), 1.6)
        };
        picture.line(from, to, stroke);
        for (x, y) in [from, to] {
            picture.add(Mark::Circle { x, y, r: radius, fill: Some(stroke.ink), line: None });
        }
    }

    pub(super) fn terminal(&self, width: usize) -> Vec<String> {
        let mut lines = Vec::new();
        for (place, (before, after)) in self
            .places
            .iter()
            .zip([(&self.items[0], &self.items[1]), (&self.items[1], &self.items[0])])
        {
            lines.extend(super::super::wrap::wrap(
                &super::super::doc::clean(&format!("{place}: {before} -> {after}")),
                width,
            ));
        }
        let when = format!("{} -> {}, {}", self.when[0], self.when[1], self.unit);
        lines.push(super::cut_cells(&format!("display   {when}"), width));
        for row in &self.rows {
            let change = match row.numbers() {
                [Some(before), Some(after)] => format!("{:+.0}", after - before),
                _ => String::new(),
            };
            let mut notes = Vec::new();
            match row.odd {
                [true, true] => notes.push("odd before and after"),
                [true, false] => notes.push("odd before"),
                [false, true] => notes.push("odd after"),
                [false, false] => {}
            }
            if row.involved {
                notes.push("exchanged");
            }
            let line = format!(
                "{}{} -> {} {change:>6}  {}",
                padded(&row.label, 8),
                to_the_right(&row.texts[0], 8),
                to_the_right(&row.texts[1], 8),
                notes.join(", ")
            );
            lines.push(super::cut_cells(&line, width));
        }
        lines.extend(super::super::wrap::wrap(&super::super::doc::clean(&self.outcome), width));
        lines
    }
}
