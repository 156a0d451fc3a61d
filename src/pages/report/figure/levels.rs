//! Temperatures of all displays at one running point, before and after, against the band in
//! which healthy ones keep.

use super::super::doc::clean;
use super::super::wrap::cells;
use super::axis::{Axis, number};
use super::font::{self, Weight};
use super::{
    Ink, Look, Mark, Picture, SMALL, Stroke, TEXT, cell, cut_cells, padded, points, to_the_right,
};

/// The figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Levels {
    /// Sign of the unit.
    pub unit: &'static str,
    /// What a row is, as `display`.
    pub of: &'static str,
    /// What the band is, as `healthy ones keep in here`.
    pub within: &'static str,
    /// One reading set, or two: before and after.
    pub sets: Vec<LevelSet>,
    /// A row for each display.
    pub rows: Vec<LevelRow>,
}

/// What a set of marks is.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelSet {
    /// As `before`, over its column.
    pub name: String,
    /// As `before, entry 1`.
    pub long: String,
    /// Between these healthy displays keep.
    pub band: Option<(f64, f64)>,
}

impl LevelSet {
    /// The band, if it can be drawn.
    fn band(&self) -> Option<(f64, f64)> {
        self.band.filter(|(lo, hi)| lo.is_finite() && hi.is_finite())
    }
}

/// A display.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelRow {
    /// Its name.
    pub label: String,
    /// What it showed, one for each set.
    pub values: Vec<Level>,
}

/// What a display showed.
#[derive(Debug, Clone, PartialEq)]
pub enum Level {
    /// A steady number.
    Number(f64),
    /// A number that jumps.
    Range(f64, f64),
    /// A word in its place.
    Word(String),
}

impl Level {
    fn numbers(&self) -> Vec<f64> {
        match self {
            Self::Number(value) if value.is_finite() => vec![*value],
            Self::Range(lo, hi) if lo.is_finite() && hi.is_finite() => vec![*lo, *hi],
            _ => Vec::new(),
        }
    }

    fn text(&self) -> String {
        if let Self::Word(word) = self {
            return clean(word);
        }
        let numbers: Vec<String> =
            self.numbers().iter().map(|value| format!("{value:.0}")).collect();
        numbers.join("..")
    }

    /// On which side of the band it is.
    fn side(&self, band: Option<(f64, f64)>) -> Side {
        let (Some((lo, hi)), numbers) = (band, self.numbers()) else { return Side::Within };
        if numbers.iter().any(|&n| n < lo) {
            Side::Below
        } else if numbers.iter().any(|&n| n > hi) {
            Side::Above
        } else {
            Side::Within
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Below,
    Within,
    Above,
}

/// Room for the names of displays, for a column of numbers, height of a row for each set.
const NAMES: f64 = 44.0;
const COLUMN: f64 = 46.0;
const LANE: f64 = 11.0;

/// Cells of a column of numbers on a terminal, at most.
const WIDEST: usize = 10;

impl Levels {
    fn all(&self) -> impl Iterator<Item = f64> + '_ {
        let values = self.rows.iter().flat_map(|row| &row.values).flat_map(Level::numbers);
        values.chain(self.sets.iter().filter_map(LevelSet::band).flat_map(|(lo, hi)| [lo, hi]))
    }

    /// The last set's mark is filled, so that one alone is.
    fn filled(&self, set: usize) -> bool {
        set + 1 == self.sets.len()
    }

    pub(super) fn draw(&self, picture: &mut Picture) {
        let count = self.sets.len();
        let columns = COLUMN * points(count);
        let axis = Axis::over(self.all(), NAMES + 6.0, picture.width - columns - 6.0);
        self.legend(picture);
        let head = picture.height + SMALL;
        picture.text((0.0, head), self.of, Look::new(SMALL).grey());
        for (index, set) in self.sets.iter().enumerate() {
            let right = picture.width - COLUMN * points(count - 1 - index);
            let name = font::cut(&set.name, COLUMN - 4.0, SMALL, Weight::Regular);
            picture.text((right, head), name, Look::new(SMALL).grey().end());
        }
        let top = head + 4.0;
        let row_height = LANE * points(count).max(1.4);
        let bottom = top + row_height * points(self.rows.len());
        self.bands(picture, &axis, top, bottom);
        for (index, row) in self.rows.iter().enumerate() {
            let y = top + row_height * points(index);
            if index > 0 {
                picture.line((0.0, y), (picture.width, y), Stroke::solid(Ink::Pale, 0.6));
            }
            let middle = y + row_height / 2.0 + TEXT * 0.35;
            let label = font::cut(&row.label, NAMES - 2.0, TEXT, Weight::Bold);
            picture.text((0.0, middle), label, Look::new(TEXT).bold());
            for (set, level) in row.values.iter().enumerate().take(count) {
                let lane = y + row_height * (points(set) + 0.5) / points(count);
                self.mark(picture, &axis, (set, level), lane);
                let right = picture.width - COLUMN * points(count - 1 - set);
                let noticed = Look::new(TEXT).bold().alert();
                let (text, look) = match (level, level.side(self.sets[set].band())) {
                    // No steady number is odd by itself.
                    (Level::Word(_), _) => (level.text(), noticed),
                    (Level::Range(..), _) => {
                        (level.text().replace("..", "–"), Look { size: SMALL, ..noticed })
                    }
                    (_, Side::Within) => (level.text(), Look::new(TEXT)),
                    (_, Side::Below) => (format!("▼ {}", level.text()), noticed),
                    (_, Side::Above) => (format!("▲ {}", level.text()), noticed),
                };
                let text = font::cut(&text, COLUMN, look.size, look.weight);
                picture.text((right, middle), text, look.end());
            }
        }
        self.scale(picture, &axis, bottom);
    }

    /// What the marks mean, each beside its own.
    fn legend(&self, picture: &mut Picture) {
        let mut x = 0.0;
        let y = picture.height + SMALL;
        for (index, set) in self.sets.iter().enumerate() {
            self.point(picture, (x + 3.5, y - SMALL * 0.35), index, false);
            let room = picture.width / points(self.sets.len()) - 16.0;
            let long = font::cut(&set.long, room, SMALL, Weight::Regular);
            picture.text((x + 10.0, y), &long, Look::new(SMALL).grey());
            x += 20.0 + font::width(&long, SMALL, Weight::Regular);
        }
        picture.height = y + 3.0;
        let y = picture.height + SMALL;
        let banded = self.sets.iter().filter(|set| set.band().is_some()).count();
        if banded == 0 {
            return;
        }
        let (at, size) = ((0.0, y - SMALL * 0.75), (14.0, SMALL * 0.9));
        picture.fill(at, size, Ink::Pale);
        let mut text = self.within.to_owned();
        if banded > 1 {
            text = format!("{text} (dashed: {})", self.sets[0].name);
        }
        let outside = self.rows.iter().any(|row| {
            let sides = row.values.iter().zip(&self.sets).map(|(v, set)| v.side(set.band()));
            sides.into_iter().any(|side| side != Side::Within)
        });
        if outside {
            text += "; ▼ ▲ outside it";
        }
        let text = font::cut(&text, picture.width - 18.0, SMALL, Weight::Regular);
        picture.text((18.0, y), text, Look::new(SMALL).grey());
        picture.height = y + 4.0;
    }

    fn bands(&self, picture: &mut Picture, axis: &Axis, top: f64, bottom: f64) {
        for (index, set) in self.sets.iter().enumerate().rev() {
            let Some((lo, hi)) = set.band() else { continue };
            let (from, to) = (axis.at(lo), axis.at(hi));
            if self.filled(index) {
                picture.fill((from, top), (to - from, bottom - top), Ink::Pale);
            } else {
                for x in [from, to] {
                    picture.line((x, top), (x, bottom), Stroke::dashed(Ink::Grey, 0.8));
                }
            }
        }
    }

    fn mark(&self, picture: &mut Picture, axis: &Axis, (set, level): (usize, &Level), y: f64) {
        match level.numbers()[..] {
            [value] => {
                let odd = level.side(self.sets[set].band()) != Side::Within;
                self.point(picture, (axis.at(value), y), set, odd);
            }
            [lo, hi] => {
                let (from, to) = (axis.at(lo), axis.at(hi));
                picture.line((from, y), (to, y), Stroke::solid(Ink::Black, 1.6));
                for x in [from, to] {
                    picture.line((x, y - 3.5), (x, y + 3.5), Stroke::solid(Ink::Black, 1.6));
                }
            }
            _ => {}
        }
    }

    fn point(&self, picture: &mut Picture, (x, y): (f64, f64), set: usize, odd: bool) {
        let ink = if odd { Ink::Alert } else { Ink::Black };
        if self.filled(set) {
            picture.fill((x - 3.0, y - 3.0), (6.0, 6.0), ink);
        } else {
            let line = Some(Stroke::solid(ink, 1.3));
            picture.add(Mark::Circle { x, y, r: 3.2, fill: Some(Ink::White), line });
        }
    }

    fn scale(&self, picture: &mut Picture, axis: &Axis, bottom: f64) {
        let y = bottom + 1.0;
        let right = picture.width - COLUMN * points(self.sets.len());
        picture.line((NAMES, y), (right, y), Stroke::solid(Ink::Rule, 0.8));
        for tick in axis.ticks(6) {
            let x = axis.at(tick);
            picture.line((x, y), (x, y + 3.0), Stroke::solid(Ink::Rule, 0.8));
            picture.text((x, y + 11.0), number(tick), Look::new(SMALL).grey().middle());
        }
        picture.text((0.0, y + 11.0), self.unit, Look::new(SMALL).grey());
        picture.height = y + 14.0;
    }

    pub(super) fn terminal(&self, width: usize) -> Vec<String> {
        let names = 4;
        let texts: Vec<Vec<String>> = self
            .rows
            .iter()
            .map(|row| {
                let cells = row.values.iter().zip(&self.sets);
                cells
                    .map(|(level, set)| match level.side(set.band()) {
                        Side::Within => level.text(),
                        Side::Below => format!("low {}", level.text()),
                        Side::Above => format!("high {}", level.text()),
                    })
                    .map(|text| cut_cells(&text, WIDEST))
                    .collect()
            })
            .collect();
        let names_of: Vec<String> =
            self.sets.iter().map(|set| cut_cells(&set.name, WIDEST)).collect();
        let column = |set: usize| {
            let used = texts.iter().filter_map(|row| row.get(set)).map(|text| cells(text));
            used.max().unwrap_or(0).max(cells(&names_of[set])) + 1
        };
        let columns: Vec<usize> = (0..self.sets.len()).map(column).collect();
        let room = width.saturating_sub(names + 2 + columns.iter().sum::<usize>()).max(10);
        let last = f64::from(u16::try_from(room - 1).unwrap_or(u16::MAX));
        let axis = Axis::over(self.all(), 0.0, last);
        let marks: Vec<String> = self
            .sets
            .iter()
            .enumerate()
            .map(|(index, set)| format!("{} {}", self.letter(index), set.long))
            .collect();
        let banded = self.sets.last().is_some_and(|set| set.band().is_some());
        let band = if banded { format!("; [..] {}", self.within) } else { String::new() };
        let mut lines = super::super::wrap::wrap(
            &format!("{}; {}{band}", self.unit, clean(&marks.join(", "))),
            width,
        );
        let heads: String =
            names_of.iter().zip(&columns).map(|(name, &wide)| to_the_right(name, wide)).collect();
        lines.push(format!("{}{}{heads}", padded("", names), padded("", room + 2)));
        for (row, texts) in self.rows.iter().zip(&texts) {
            let strip = self.strip(row, &axis, room);
            let shown: String =
                texts.iter().zip(&columns).map(|(text, &wide)| to_the_right(text, wide)).collect();
            lines.push(format!("{}|{strip}|{shown}", padded(&row.label, names)));
        }
        let mut scale = vec![' '; room];
        for tick in axis.ticks(room / 8) {
            let text = number(tick);
            let start = cell(axis.at(tick)).saturating_sub(text.len() / 2);
            if start + text.len() <= room {
                scale.splice(start..start + text.len(), text.chars());
            }
        }
        let scale: String = scale.into_iter().collect();
        lines.push(format!("{} {}", padded("", names), scale.trim_end()));
        lines
    }

    /// The mark of a set on a terminal.
    fn letter(&self, set: usize) -> char {
        if self.filled(set) { '#' } else { 'o' }
    }

    fn strip(&self, row: &LevelRow, axis: &Axis, room: usize) -> String {
        let mut strip = vec![' '; room];
        if let Some((lo, hi)) = self.sets.last().and_then(LevelSet::band) {
            let (from, to) = (cell(axis.at(lo)), cell(axis.at(hi)));
            strip[from..=to].fill('.');
            strip[from] = '[';
            strip[to] = ']';
        }
        for (set, level) in row.values.iter().enumerate().take(self.sets.len()) {
            let places: Vec<usize> = level.numbers().iter().map(|&v| cell(axis.at(v))).collect();
            if let [from, to] = places[..] {
                strip[from..=to].fill('-');
            }
            for place in places {
                strip[place] = self.letter(set);
            }
        }
        strip.into_iter().collect()
    }
}
