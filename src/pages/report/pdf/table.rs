//! A table on paper: columns that fit, rows that stay whole, its head again on every page.

use super::super::doc::{Align, Table};
use super::super::figure::font::{self, Weight};
use super::super::figure::{Ink, Look, Stroke};
use super::flow::{Flow, LEADING, TEXT};
use super::tags::Role;
use measure::number::real;

/// Between two columns.
const GAP: f64 = 9.0;
/// A column gives way no further than this, unless its words are narrower.
const NARROW: f64 = 46.0;
/// Air above and below the text of a row.
const AIR: f64 = 0.9;

/// A table broken into lines.
pub(super) struct Grid {
    widths: Vec<f64>,
    sides: Vec<Align>,
    head: Vec<Vec<String>>,
    rows: Vec<Vec<Vec<String>>>,
}

impl Grid {
    /// Fits a table into a width.
    pub(super) fn of(table: &Table, room: f64) -> Self {
        let names: Vec<String> = table.columns.iter().map(|(name, _)| font::shown(name)).collect();
        let rows: Vec<Vec<String>> = table
            .rows
            .iter()
            .map(|row| {
                (0..names.len()).map(|i| font::shown(row.get(i).map_or("", |c| c))).collect()
            })
            .collect();
        let widths = widths(&names, &rows, room);
        let broken = |row: &[String], weight| -> Vec<Vec<String>> {
            row.iter().zip(&widths).map(|(cell, &w)| font::wrap(cell, w, TEXT, weight)).collect()
        };
        Self {
            head: broken(&names, Weight::Bold),
            rows: rows.iter().map(|row| broken(row, Weight::Regular)).collect(),
            sides: table.columns.iter().map(|(_, side)| *side).collect(),
            widths,
        }
    }

    /// Height of its head and its first row, with the rows that go on with it.
    pub(super) fn start(&self) -> f64 {
        let mut rows = self.rows.iter();
        let first = rows.next().map_or(0.0, |row| height(row));
        let further: f64 = rows.take_while(|row| goes_on(row)).map(|row| height(row)).sum();
        height(&self.head) + first + further + 2.0
    }

    /// Puts the table down.
    pub(super) fn put(&self, flow: &mut Flow) {
        flow.need(self.start().min(flow.high()));
        flow.begin(Role::Table);
        flow.tagged(Role::Row, |flow| self.head(flow, Some(&Role::Head)));
        // What is higher than a page must be broken all the same.
        let most = flow.high() - height(&self.head) - 4.0;
        for (index, row) in self.rows.iter().enumerate() {
            // Rows that go on with what the one before is about stay with it.
            let further = self.rows[index + 1..].iter().take_while(|row| goes_on(row));
            let together = height(row) + further.map(|row| height(row)).sum::<f64>();
            let together = if goes_on(row) { 0.0 } else { together.min(most) };
            for part in parts(row, most) {
                if flow.need(height(&part).max(together)) {
                    flow.bare(|flow| self.head(flow, None));
                }
                flow.tagged(Role::Row, |flow| {
                    self.row(flow, &part, Look::new(TEXT), Some(&Role::Cell));
                    self.rule(flow, Stroke::solid(Ink::Pale, 0.6));
                });
            }
        }
        flow.end();
    }

    /// The names of the columns; once it is part of the table, on further pages it decorates.
    fn head(&self, flow: &mut Flow, role: Option<&Role>) {
        self.row(flow, &self.head, Look::new(TEXT).bold(), role);
        self.rule(flow, Stroke::solid(Ink::Black, 0.8));
    }

    fn rule(&self, flow: &mut Flow, stroke: Stroke) {
        let wide = self.widths.iter().map(|w| w + GAP).sum::<f64>() - GAP;
        let (x, y) = (Flow::LEFT, flow.y);
        flow.page().line((x, y), (x + wide, y), stroke);
    }

    fn row(&self, flow: &mut Flow, row: &[Vec<String>], look: Look, role: Option<&Role>) {
        let top = flow.y;
        let mut x = Flow::LEFT;
        for ((cell, width), side) in row.iter().zip(&self.widths).zip(&self.sides) {
            flow.y = top + AIR;
            let lines = |flow: &mut Flow| {
                for line in cell {
                    match side {
                        Align::Left => flow.put(x, line, look),
                        Align::Right => flow.put(x + width, line, look.end()),
                    }
                    flow.y += TEXT * LEADING;
                }
            };
            match role {
                Some(role) => flow.tagged(role.clone(), lines),
                None => lines(flow),
            }
            x += width + GAP;
        }
        flow.y = top + height(row);
    }
}

fn height(row: &[Vec<String>]) -> f64 {
    let lines = row.iter().map(Vec::len).max().unwrap_or(0);
    f64::from(u32::try_from(lines).unwrap_or(0)) * TEXT * LEADING + 2.0 * AIR
}

/// Whether a row goes on with what the one above is about: its first cell is empty.
fn goes_on(row: &[Vec<String>]) -> bool {
    row.first().is_some_and(|cell| cell.iter().all(String::is_empty))
}

/// A row in pieces no higher than a page.
fn parts(row: &[Vec<String>], most: f64) -> Vec<Vec<Vec<String>>> {
    if height(row) <= most {
        return vec![row.to_vec()];
    }
    let mut lines = 1;
    while real(lines + 1) * TEXT * LEADING + 2.0 * AIR <= most {
        lines += 1;
    }
    let count = row.iter().map(|cell| cell.len().div_ceil(lines)).max().unwrap_or(1);
    let piece = |n: usize| {
        row.iter()
            .map(|cell| cell.chunks(lines).nth(n).map_or_else(Vec::new, <[_]>::to_vec))
            .collect()
    };
    (0..count).map(piece).collect()
}

/// Natural widths while there is room; else the widest column gives way, down to its longest word.
fn widths(names: &[String], rows: &[Vec<String>], room: f64) -> Vec<f64> {
    let count = f64::from(u32::try_from(names.len().max(1)).unwrap_or(1));
    let room = room - GAP * (count - 1.0);
    let mut natural = vec![4.0; names.len()];
    let mut least = vec![4.0; names.len()];
    let head = std::iter::once((names, Weight::Bold));
    for (row, weight) in head.chain(rows.iter().map(|row| (row.as_slice(), Weight::Regular))) {
        for (index, cell) in row.iter().enumerate() {
            // A hair more, so that rounding breaks no line.
            natural[index] = f64::max(natural[index], font::width(cell, TEXT, weight) + 0.01);
            let words = cell.split(' ').map(|word| font::width(word, TEXT, weight) + 0.01);
            least[index] = f64::max(least[index], words.fold(0.0, f64::max).min(NARROW));
        }
    }
    if least.iter().sum::<f64>() > room {
        return vec![(room / count).max(1.0); names.len()];
    }
    let mut over = natural.iter().sum::<f64>() - room;
    while over > 0.0 {
        let can = |i: &usize| natural[*i] > least[*i];
        let widest =
            (0..natural.len()).filter(can).max_by(|&a, &b| natural[a].total_cmp(&natural[b]));
        let Some(widest) = widest else { break };
        let step = over.min(natural[widest] - least[widest]).min(2.0);
        natural[widest] -= step;
        over -= step.max(1e-6);
    }
    natural
}
