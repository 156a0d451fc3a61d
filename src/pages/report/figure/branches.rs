//! A plan as a small tree: do this; if that shows, then this.

use super::font::{self, Weight};
use super::{Ink, Look, Picture, SMALL, Stroke, TEXT};

/// The figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Branches {
    /// What to do.
    pub step: String,
    /// What it takes, under it.
    pub takes: String,
    /// What it can show, most probable first.
    pub lines: Vec<BranchLine>,
}

/// What a step can show and what follows.
#[derive(Debug, Clone, PartialEq)]
pub struct BranchLine {
    /// What is seen, as a clause after "if".
    pub seen: String,
    /// How probable it is.
    pub chance: String,
    /// What is then to be thought, empty if nothing new.
    pub leads: String,
    /// What to do then, and what that can show.
    pub then: Option<Box<Branches>>,
}

/// How far a branch stands in, and the gap between branches.
const INDENT: f64 = 14.0;
const GAP: f64 = 6.0;

impl Branches {
    pub(super) fn draw(&self, picture: &mut Picture) {
        picture.height += 1.0;
        self.at(picture, 0.5);
        picture.height += 2.0;
    }

    /// Draws step and branches from `x` to the right edge, downwards from the picture's height.
    fn at(&self, picture: &mut Picture, x: f64) {
        let room = picture.width - x - 0.5;
        let top = picture.height;
        let lines = font::wrap(&font::shown(&self.step), room - 10.0, TEXT, Weight::Bold);
        let small = font::wrap(&font::shown(&self.takes), room - 10.0, SMALL, Weight::Regular);
        let mut y = top + 3.0;
        let mut texts = Vec::new();
        for line in lines {
            y += TEXT * 1.25;
            texts.push((y - TEXT * 0.25, line, Look::new(TEXT).bold()));
        }
        for line in small.into_iter().filter(|line| !line.is_empty()) {
            y += SMALL * 1.3;
            texts.push((y - SMALL * 0.25, line, Look::new(SMALL).grey()));
        }
        let stroke = Stroke::solid(Ink::Black, 1.0);
        picture.frame((x, top), (room, y + 4.0 - top), Some(Ink::White), stroke);
        for (y, line, look) in texts {
            picture.text((x + 5.0, y), line, look);
        }
        picture.height = y + 4.0;
        let (trunk, from) = (x + 6.0, picture.height);
        let mut last = from;
        for branch in &self.lines {
            picture.height += GAP;
            last = picture.height + TEXT * 0.75;
            picture.line((trunk, last), (x + INDENT + 2.0, last), stroke);
            branch.draw(picture, x + INDENT + 6.0);
        }
        if !self.lines.is_empty() {
            picture.line((trunk, from), (trunk, last), stroke);
        }
    }

    pub(super) fn terminal(&self, width: usize) -> Vec<String> {
        let mut lines = Vec::new();
        self.put(&mut lines, "", width);
        lines
    }

    fn put(&self, lines: &mut Vec<String>, before: &str, width: usize) {
        let takes =
            if self.takes.is_empty() { String::new() } else { format!(" ({})", self.takes) };
        hang(lines, (before, before), "", &format!("[{}]{takes}", self.step), width);
        for (index, branch) in self.lines.iter().enumerate() {
            let trunk = if index + 1 == self.lines.len() { "   " } else { "|  " };
            let below = format!("{before}{trunk}");
            let first = format!("{before}+- ");
            let text = format!("if {} ({})", branch.seen, branch.chance);
            hang(lines, (&first, &below), "", &text, width);
            if !branch.leads.is_empty() {
                hang(lines, (&below, &below), "", &branch.leads, width);
            }
            if let Some(then) = &branch.then {
                then.put(lines, &below, width);
            }
        }
    }
}

impl BranchLine {
    fn draw(&self, picture: &mut Picture, x: f64) {
        let room = picture.width - x;
        let put = |picture: &mut Picture, text: &str, look: Look| {
            for line in font::wrap(&font::shown(text), room, look.size, look.weight) {
                picture.height += look.size * 1.25;
                let y = picture.height - look.size * 0.25;
                picture.text((x, y), line, look);
            }
        };
        put(picture, &format!("if {} – {}", self.seen, self.chance), Look::new(TEXT));
        if !self.leads.is_empty() {
            put(picture, &self.leads, Look::new(SMALL).grey());
        }
        if let Some(then) = &self.then {
            picture.height += 3.0;
            then.at(picture, x);
        }
    }
}

/// Adds a text, its first line after one mark and the others after another.
fn hang(
    lines: &mut Vec<String>,
    (first, other): (&str, &str),
    deeper: &str,
    text: &str,
    width: usize,
) {
    let room = width.saturating_sub(first.len().max(other.len()) + deeper.len()).max(12);
    let text = super::super::doc::clean(text);
    for (index, line) in super::super::wrap::wrap(&text, room).into_iter().enumerate() {
        let mark = if index == 0 { first } else { other };
        lines.push(format!("{mark}{line}"));
    }
}
