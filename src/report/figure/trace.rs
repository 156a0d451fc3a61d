//! A temperature over time, and where it settles.

use super::axis::{Axis, number};
use super::{Ink, Look, Mark, Picture, SMALL, Stroke, cell};

/// The figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Sign of the unit.
    pub unit: &'static str,
    /// Seconds and values, in order of time.
    pub samples: Vec<(f64, f64)>,
    /// The level it settles at, and how near to that counts as there.
    pub level: Option<(f64, f64)>,
    /// The second from which it is steady.
    pub settled: Option<f64>,
}

const HIGH: f64 = 110.0;
const LEFT: f64 = 34.0;
/// Rows of the plot on a terminal.
const ROWS: usize = 10;

impl Trace {
    fn axes(&self, x: (f64, f64), y: (f64, f64)) -> (Axis, Axis) {
        let level =
            self.level.into_iter().flat_map(|(level, within)| [level - within, level + within]);
        let values = self.samples.iter().map(|s| s.1).chain(level);
        (
            Axis::over(self.samples.iter().map(|s| s.0).chain(self.settled), x.0, x.1),
            Axis::over(values, y.0, y.1),
        )
    }

    fn finite(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.samples.iter().copied().filter(|(t, v)| t.is_finite() && v.is_finite())
    }

    pub(super) fn draw(&self, picture: &mut Picture) {
        let top = picture.height + SMALL + 3.0;
        let bottom = top + HIGH;
        let right = picture.width - 12.0;
        let (time, value) = self.axes((LEFT, right), (bottom, top));
        picture.text((0.0, top - 3.0), self.unit, Look::new(SMALL).grey());
        if let Some((level, within)) = self.level.filter(|(l, w)| l.is_finite() && w.is_finite()) {
            let (up, down) = (value.at(level + within), value.at(level - within));
            picture.fill((LEFT, up), (right - LEFT, down - up), Ink::Pale);
            let y = value.at(level);
            picture.line((LEFT, y), (right, y), Stroke::dashed(Ink::Grey, 0.8));
        }
        picture.line((LEFT, top), (LEFT, bottom), Stroke::solid(Ink::Rule, 0.8));
        picture.line((LEFT, bottom), (right, bottom), Stroke::solid(Ink::Rule, 0.8));
        for tick in value.ticks(6) {
            let y = value.at(tick);
            picture.line((LEFT - 3.0, y), (LEFT, y), Stroke::solid(Ink::Rule, 0.8));
            let at = (LEFT - 5.0, y + SMALL * 0.35);
            picture.text(at, number(tick), Look::new(SMALL).grey().end());
        }
        for tick in time.ticks(7) {
            let x = time.at(tick);
            picture.line((x, bottom), (x, bottom + 3.0), Stroke::solid(Ink::Rule, 0.8));
            picture.text((x, bottom + 11.0), number(tick), Look::new(SMALL).grey().middle());
        }
        let points: Vec<(f64, f64)> =
            self.finite().map(|(t, v)| (time.at(t), value.at(v))).collect();
        if points.len() > 1 {
            picture.add(Mark::Line { points, stroke: Stroke::solid(Ink::Black, 1.2) });
        }
        if let Some(settled) = self.settled.filter(|s| s.is_finite()) {
            let x = time.at(settled);
            picture.line((x, top), (x, bottom), Stroke::solid(Ink::Alert, 1.2));
            let look = Look::new(SMALL).bold().alert();
            // The word stands where there is room for it.
            let (at, look) = if x > picture.width / 2.0 {
                ((x - 4.0, top + SMALL), look.end())
            } else {
                ((x + 4.0, top + SMALL), look)
            };
            picture.text(at, "steady from here", look);
        }
        picture.text((0.0, bottom + 11.0), "s", Look::new(SMALL).grey());
        picture.height = bottom + 14.0;
    }

    pub(super) fn terminal(&self, width: usize) -> Vec<String> {
        let names = 7;
        let room = width.saturating_sub(names + 1).max(10);
        let end = |count: usize| f64::from(u16::try_from(count - 1).unwrap_or(u16::MAX));
        let (time, value) = self.axes((0.0, end(room)), (end(ROWS), 0.0));
        let mut cells = vec![vec![' '; room]; ROWS];
        if let Some((level, _)) = self.level.filter(|(l, _)| l.is_finite()) {
            cells[cell(value.at(level))].fill('.');
        }
        if let Some(settled) = self.settled.filter(|s| s.is_finite()) {
            for row in &mut cells {
                row[cell(time.at(settled))] = '|';
            }
        }
        for (t, v) in self.finite() {
            cells[cell(value.at(v))][cell(time.at(t))] = '*';
        }
        let mut labels = vec![String::new(); ROWS];
        for tick in value.ticks(ROWS / 2) {
            labels[cell(value.at(tick))] = number(tick);
        }
        let mut lines = vec![self.unit.to_owned()];
        for (label, row) in labels.iter().zip(cells) {
            let row: String = row.into_iter().collect();
            lines.push(format!("{label:>names$}|{}", row.trim_end()));
        }
        let mut scale = vec![' '; room];
        for tick in time.ticks(room / 10) {
            let text = number(tick);
            let start = cell(time.at(tick)).saturating_sub(text.len() / 2);
            if start + text.len() <= room {
                scale.splice(start..start + text.len(), text.chars());
            }
        }
        let scale: String = scale.into_iter().collect();
        lines.push(format!("{:>names$} {}", "s", scale.trim_end()));
        if self.level.is_some() || self.settled.is_some() {
            let level = self.level.map(|(level, _)| format!(".... settles at {level:.0}"));
            let settled = self.settled.map(|s| format!("| steady from {s:.0} s"));
            let notes: Vec<String> = [level, settled].into_iter().flatten().collect();
            lines.push(super::cut_cells(&notes.join(", "), width));
        }
        lines
    }
}
