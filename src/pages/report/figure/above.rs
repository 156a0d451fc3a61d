//! The engine seen from above: cylinders in their banks, what was read of each, and what is at a
//! cylinder that is not its own.
//!
//! The crankshaft is the broken line; cylinders are rings beside it, or on it where they stand in one
//! row. What stands out has a second ring and the word for it.

use super::super::doc::clean;
use super::super::wrap::{cells, wrap};
use super::font::{self, Weight};
use super::{
    Anchor, Ink, Look, Mark, Picture, SMALL, Stroke, TEXT, cut_cells, padded, to_the_right,
};

/// The figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Above {
    /// What the numbers are, as `warm idle, °C, entry 4`; empty without numbers.
    pub read: String,
    /// One bank, or two on either side of the crankshaft.
    pub banks: Vec<AboveBank>,
    /// What else is to be known, a line each.
    pub below: Vec<String>,
}

/// Cylinders in a row.
#[derive(Debug, Clone, PartialEq)]
pub struct AboveBank {
    /// Its name; empty where there is one bank.
    pub name: String,
    /// Its cylinders in order.
    pub seats: Vec<AboveSeat>,
}

/// A cylinder.
#[derive(Debug, Clone, PartialEq)]
pub struct AboveSeat {
    /// Its number.
    pub cylinder: String,
    /// When it fires, as `fires 3rd`.
    pub fires: String,
    /// What was read of it; empty if nothing was.
    pub reading: String,
    /// It stands out.
    pub odd: bool,
    /// What is here, or leads from here, that is not this cylinder's own.
    pub notes: Vec<String>,
}

/// The word beside a cylinder that stands out.
const ODD: &str = "odd";
/// Radius of a cylinder, and of the second ring of one that stands out.
const RING: f64 = 10.0;
const SECOND: f64 = 13.5;
/// From the crankshaft to the middle of a cylinder beside it, and to the words beside that.
const ASIDE: f64 = 24.0;
const WORDS: f64 = 42.0;
/// Cells of a terminal below which two banks stand one below the other.
const BESIDE: usize = 56;

/// On which side of a cylinder its words stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Left,
    Right,
}

impl Side {
    /// So much further from the crankshaft.
    fn out(self, x: f64, by: f64) -> f64 {
        match self {
            Self::Left => x - by,
            Self::Right => x + by,
        }
    }

    fn look(self, look: Look) -> Look {
        match self {
            Self::Left => look.end(),
            Self::Right => Look { anchor: Anchor::Start, ..look },
        }
    }
}

impl Above {
    pub(super) fn draw(&self, picture: &mut Picture) {
        if !self.read.is_empty() {
            picture.height += SMALL * 1.3;
            let read = font::cut(&self.read, picture.width, SMALL, Weight::Regular);
            picture.text((0.0, picture.height - 2.0), read, Look::new(SMALL).grey());
        }
        let two = self.banks.len() > 1;
        let shaft = if two { picture.width / 2.0 } else { SECOND + 2.0 };
        let places = |bank: usize| match (two, bank) {
            (true, 0) => (Side::Left, shaft - ASIDE, shaft - WORDS),
            (true, _) => (Side::Right, shaft + ASIDE, shaft + WORDS),
            (false, _) => (Side::Right, shaft, shaft + WORDS - ASIDE),
        };
        let room = if two { shaft - WORDS } else { picture.width - shaft - WORDS + ASIDE };
        if two {
            picture.height += SMALL * 1.4;
            for (bank, row) in self.banks.iter().enumerate().take(2) {
                let (side, _, words) = places(bank);
                let look = side.look(Look::new(SMALL).grey());
                let name = font::cut(&row.name, room, SMALL, Weight::Regular);
                picture.text((words, picture.height - 3.0), name, look);
            }
        }
        let top = picture.height;
        let rows = self.banks.iter().map(|bank| bank.seats.len()).max().unwrap_or(0);
        let mut tops = Vec::new();
        let mut y = top;
        for row in 0..rows {
            tops.push(y);
            let seats = self.banks.iter().filter_map(|bank| bank.seats.get(row));
            y += seats.map(|seat| seat.high(room)).fold(2.0 * SECOND + 3.0, f64::max);
        }
        let shaft_line = Stroke { ink: Ink::Rule, width: 1.4, dashed: true };
        picture.line((shaft, top), (shaft, y.max(top + 1.0)), shaft_line);
        for (bank, row) in self.banks.iter().enumerate().take(2) {
            let (side, x, words) = places(bank);
            for (seat, &top) in row.seats.iter().zip(&tops) {
                let middle = top + SECOND + 1.0;
                if two {
                    let from = side.out(shaft, 0.0);
                    picture.line((from, middle), (x, middle), Stroke::solid(Ink::Rule, 1.0));
                }
                seat.draw(picture, (x, middle), (words, room), side);
            }
        }
        picture.height = y + 2.0;
        for line in &self.below {
            for line in font::wrap(&font::shown(line), picture.width, TEXT, Weight::Regular) {
                picture.height += TEXT * 1.3;
                picture.text((0.0, picture.height - TEXT * 0.3), line, Look::new(TEXT));
            }
        }
    }

    pub(super) fn terminal(&self, width: usize) -> Vec<String> {
        let mut lines = Vec::new();
        let any_odd = self.banks.iter().flat_map(|bank| &bank.seats).any(|seat| seat.odd);
        let legend = if any_odd { "((n)) ODD stands out" } else { "" };
        let head: Vec<&str> =
            [self.read.as_str(), legend].into_iter().filter(|part| !part.is_empty()).collect();
        if !head.is_empty() {
            lines.extend(wrap(&clean(&head.join("; ")), width));
        }
        match self.banks.as_slice() {
            [left, right] if width >= BESIDE => beside(&mut lines, (left, right), width),
            banks => {
                for bank in banks {
                    if !bank.name.is_empty() {
                        lines.push(cut_cells(&bank.name, width));
                    }
                    row(&mut lines, bank, width);
                }
            }
        }
        for line in &self.below {
            lines.extend(wrap(&clean(line), width));
        }
        lines
    }
}

impl AboveSeat {
    /// Its notes in lines as wide as there is room.
    fn lines(&self, room: f64) -> Vec<String> {
        let text = font::shown(&self.notes.join(", "));
        let lines = font::wrap(&text, room, SMALL, Weight::Bold);
        lines.into_iter().filter(|line| !line.is_empty()).collect()
    }

    /// Points that it takes from the one below.
    fn high(&self, room: f64) -> f64 {
        let notes = super::points(self.lines(room).len());
        SECOND + 1.0 + TEXT * 0.5 + notes * SMALL * 1.25 + 4.0
    }

    fn draw(&self, picture: &mut Picture, (x, y): (f64, f64), words: (f64, f64), side: Side) {
        let (start, room) = words;
        let ring = |r: f64, fill, ink, thick| Mark::Circle {
            x,
            y,
            r,
            fill,
            line: Some(Stroke::solid(ink, thick)),
        };
        if self.odd {
            picture.add(ring(SECOND, Some(Ink::White), Ink::Alert, 1.4));
        }
        picture.add(ring(RING, Some(Ink::White), Ink::Black, 1.1));
        let number = font::cut(&self.cylinder, 2.0 * RING - 2.0, TEXT, Weight::Bold);
        picture.text((x, y + TEXT * 0.35), number, Look::new(TEXT).bold().middle());
        let base = y + TEXT * 0.35;
        let mut used = 0.0;
        let reading = Look::new(TEXT).bold();
        let reading = if self.odd { reading.alert() } else { reading };
        let small = Look::new(SMALL).grey();
        let odd = if self.odd { ODD } else { "" };
        for (text, look) in [
            (self.reading.as_str(), reading),
            (odd, Look::new(SMALL).bold().alert()),
            (&self.fires, small),
        ] {
            let text = font::cut(text, (room - used).max(0.0), look.size, look.weight);
            let wide = font::width(&text, look.size, look.weight);
            if text.is_empty() || used + wide > room {
                continue;
            }
            picture.text((side.out(start, used), base), text, side.look(look));
            used += wide + 5.0;
        }
        for (number, line) in (1..).zip(self.lines(room)) {
            let base = base + super::points(number) * SMALL * 1.25;
            picture.text((start, base), line, side.look(Look::new(SMALL).bold()));
        }
    }

    /// The cylinder's ring with characters.
    fn ring(&self) -> String {
        let number = clean(&self.cylinder);
        if self.odd { format!("(({number}))") } else { format!("({number})") }
    }

    fn word(&self) -> &'static str {
        if self.odd { "ODD" } else { "" }
    }
}

/// One bank: a cylinder a line, what is there behind it.
fn row(lines: &mut Vec<String>, bank: &AboveBank, width: usize) {
    let widest = |text: &dyn Fn(&AboveSeat) -> String, most: usize| {
        bank.seats.iter().map(|seat| cells(&text(seat))).max().unwrap_or(0).min(most)
    };
    let ring = widest(&|seat| seat.ring(), 8);
    let reading = widest(&|seat| clean(&seat.reading), 11);
    let word = widest(&|seat| seat.word().to_owned(), 3);
    let fires = widest(&|seat| clean(&seat.fires), 12);
    for seat in &bank.seats {
        // Rings stand about one middle, on the crankshaft.
        let sign = seat.ring();
        let before = ring.saturating_sub(cells(&sign)) / 2;
        let mut line = padded(&format!("{}{sign}", " ".repeat(before)), ring);
        if before > 0 {
            // What is harmless has lost the space before it.
            line = format!("{}{}", " ".repeat(before), padded(&sign, ring - before));
        }
        line = format!("{line}  {}", to_the_right(&seat.reading, reading));
        if word > 0 {
            line = format!("{line} {}", padded(seat.word(), word));
        }
        line = format!("{line}  {}", padded(&seat.fires, fires));
        let deep = cells(&line) + 2;
        let notes = clean(&seat.notes.join(", "));
        if notes.is_empty() || deep + 12 > width {
            lines.push(fitted(&line, width));
            if !notes.is_empty() {
                lines.extend(wrap(&notes, width - 4).into_iter().map(|note| format!("    {note}")));
            }
            continue;
        }
        for (index, note) in wrap(&notes, width - deep).into_iter().enumerate() {
            let start = if index == 0 { format!("{line}  ") } else { " ".repeat(deep) };
            lines.push(fitted(&format!("{start}{note}"), width));
        }
    }
}

/// Two banks on either side of the crankshaft.
fn beside(lines: &mut Vec<String>, (left, right): (&AboveBank, &AboveBank), width: usize) {
    let half = (width - 5) / 2;
    let mut put = |left: &str, right: &str, shaft: &str| {
        let line = format!("{}  {shaft}  {}", to_the_right(left, half), cut_line(right, half));
        lines.push(line.trim_end().to_owned());
    };
    put(&left.name, &right.name, " ");
    for at in 0..left.seats.len().max(right.seats.len()) {
        let (a, b) = (left.seats.get(at), right.seats.get(at));
        let joined = |parts: &[&str]| {
            let parts: Vec<&str> = parts.iter().copied().filter(|part| !part.is_empty()).collect();
            parts.join("  ")
        };
        let first = a.map_or_else(String::new, |s| {
            joined(&[&clean(&s.fires), s.word(), &clean(&s.reading), &s.ring()])
        });
        let second = b.map_or_else(String::new, |s| {
            joined(&[&s.ring(), &clean(&s.reading), s.word(), &clean(&s.fires)])
        });
        put(&first, &second, "|");
        let notes = |seat: Option<&AboveSeat>| -> Vec<String> {
            let text = seat.map_or_else(String::new, |seat| clean(&seat.notes.join(", ")));
            if text.is_empty() { Vec::new() } else { wrap(&text, half - 2) }
        };
        let (of_a, of_b) = (notes(a), notes(b));
        for line in 0..of_a.len().max(of_b.len()) {
            let get = |list: &[String]| list.get(line).cloned().unwrap_or_default();
            let second = get(&of_b);
            let second = if second.is_empty() { second } else { format!("  {second}") };
            put(&get(&of_a), &second, "|");
        }
    }
}

/// A line cut to some cells, the space before it kept.
fn cut_line(text: &str, width: usize) -> String {
    let shift = (text.len() - text.trim_start_matches(' ').len()).min(width);
    format!("{}{}", " ".repeat(shift), cut_cells(text, width - shift))
}

fn fitted(line: &str, width: usize) -> String {
    cut_line(line.trim_end(), width)
}
