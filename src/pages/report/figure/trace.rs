//! Temperatures over time, and where they settled.

use super::axis::{Axis, apart, number};
use super::font::{self, Weight};
use super::{Ink, Look, Mark, Picture, SMALL, Stroke, cell};

/// The figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Sign of the unit.
    pub unit: &'static str,
    /// A course for each display.
    pub lines: Vec<TraceLine>,
    /// From and to, s: where readings had settled.
    pub windows: Vec<(f64, f64)>,
}

/// The course of one display.
#[derive(Debug, Clone, PartialEq)]
pub struct TraceLine {
    /// Its name, short: it stands at the end of the line.
    pub label: String,
    /// Seconds and values, in order of time; what is no number is a gap.
    pub samples: Vec<(f64, f64)>,
}

const HIGH: f64 = 130.0;
const LEFT: f64 = 34.0;
/// Room for the names of the lines.
const NAMES: f64 = 24.0;
/// A line is well away from the others at this distance.
const CLEAR: f64 = 12.0;
/// Rows of the plot on a terminal.
const ROWS: usize = 12;

impl TraceLine {
    /// The stretches without a gap.
    fn stretches(&self) -> Vec<Vec<(f64, f64)>> {
        self.samples
            .split(|(time, value)| !time.is_finite() || !value.is_finite())
            .filter(|stretch| !stretch.is_empty())
            .map(<[_]>::to_vec)
            .collect()
    }
}

impl Trace {
    fn axes(&self, x: (f64, f64), y: (f64, f64)) -> (Axis, Axis) {
        let all = || self.lines.iter().flat_map(|line| &line.samples);
        (Axis::tight(all().map(|s| s.0), x.0, x.1), Axis::over(all().map(|s| s.1), y.0, y.1))
    }

    fn windows(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.windows.iter().copied().filter(|(from, to)| from.is_finite() && to.is_finite())
    }

    pub(super) fn draw(&self, picture: &mut Picture) {
        let top = picture.height + SMALL + 3.0;
        let bottom = top + HIGH;
        let right = picture.width - NAMES;
        let (time, value) = self.axes((LEFT, right), (bottom, top));
        picture.text((0.0, top - 3.0), self.unit, Look::new(SMALL).grey());
        for (from, to) in self.windows() {
            let (from, to) = (time.at(from.min(to)), time.at(from.max(to)));
            picture.fill((from, top), ((to - from).max(0.5), HIGH), Ink::Pale);
        }
        if self.windows().next().is_some() {
            picture.fill((LEFT, top - 3.0 - SMALL * 0.75), (14.0, SMALL * 0.9), Ink::Pale);
            picture.text((LEFT + 18.0, top - 3.0), "settled", Look::new(SMALL).grey());
        }
        picture.line((LEFT, top), (LEFT, bottom), Stroke::solid(Ink::Rule, 0.8));
        picture.line((LEFT, bottom), (right, bottom), Stroke::solid(Ink::Rule, 0.8));
        for tick in value.ticks(7) {
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
        self.courses(picture, &time, &value, right);
        picture.text((0.0, bottom + 11.0), "s", Look::new(SMALL).grey());
        picture.height = bottom + 14.0;
    }

    /// The lines, each with its name where it ends.
    fn courses(&self, picture: &mut Picture, time: &Axis, value: &Axis, right: f64) {
        let mut names: Vec<(String, f64)> = Vec::new();
        for (index, line) in self.lines.iter().enumerate() {
            // Neighbours differ in shade and in being broken, and the name stands at the end.
            let ink = if index % 2 == 0 { Ink::Black } else { Ink::Grey };
            let stroke = Stroke { ink, width: 1.1, dashed: index % 3 == 1 };
            for stretch in line.stretches() {
                let points: Vec<(f64, f64)> =
                    stretch.iter().map(|&(t, v)| (time.at(t), value.at(v))).collect();
                if let Some(&(_, y)) = points.last() {
                    names.retain(|(name, _)| *name != line.label);
                    names.push((line.label.clone(), y));
                }
                if points.len() > 1 {
                    picture.add(Mark::Line { points, stroke });
                }
            }
        }
        // Where a line is well away from all others its name stands beside it.
        for (line, (x, y)) in self
            .lines
            .iter()
            .zip(self.apart_at(time, value))
            .filter_map(|(line, at)| Some((line, at?)))
        {
            names.retain(|(name, _)| *name != line.label);
            let look = Look::new(SMALL).bold();
            let name = font::cut(&line.label, NAMES - 4.0, SMALL, Weight::Bold);
            picture.text((x, y - 3.0), name, look.middle());
        }
        let places: Vec<f64> = names.iter().map(|(_, y)| *y).collect();
        let high = picture.height + SMALL + 3.0;
        let places = apart(&places, SMALL, high + 4.0, high + HIGH - 2.0);
        let room = places.len() <= 16;
        for ((name, _), y) in names.iter().zip(places).filter(|_| room) {
            let name = font::cut(name, NAMES - 4.0, SMALL, Weight::Bold);
            let at = (right + 4.0, y.max(high) + SMALL * 0.35);
            picture.text(at, name, Look::new(SMALL).bold());
        }
    }

    /// For each line the settled place where it is farthest from every other one, if that is far
    /// enough for a name.
    fn apart_at(&self, time: &Axis, value: &Axis) -> Vec<Option<(f64, f64)>> {
        let height = |line: &TraceLine, index: usize| {
            let (t, v) = line.samples.get(index).copied()?;
            (t.is_finite() && v.is_finite()).then(|| (time.at(t), value.at(v)))
        };
        let edges = (time.at(f64::NEG_INFINITY) + NAMES, time.at(f64::INFINITY) - NAMES);
        let spans: Vec<(f64, f64)> =
            self.windows().map(|(a, b)| (time.at(a.min(b)), time.at(a.max(b)))).collect();
        self.lines
            .iter()
            .enumerate()
            .map(|(own, line)| {
                let mut best: Option<(f64, (f64, f64))> = None;
                for index in 0..line.samples.len() {
                    let Some((x, y)) = height(line, index) else { continue };
                    let others = self.lines.iter().enumerate().filter(|(other, _)| *other != own);
                    let gap = others
                        .filter_map(|(_, other)| height(other, index))
                        .map(|(_, there)| (there - y).abs())
                        .fold(f64::INFINITY, f64::min);
                    let settled = spans.is_empty() || spans.iter().any(|(a, b)| *a <= x && x <= *b);
                    let inside = edges.0 <= x && x <= edges.1 && settled;
                    if inside && gap.is_finite() && best.is_none_or(|(widest, _)| gap > widest) {
                        best = Some((gap, (x, y)));
                    }
                }
                best.filter(|(gap, _)| *gap >= CLEAR).map(|(_, at)| at)
            })
            .collect()
    }

    pub(super) fn terminal(&self, width: usize) -> Vec<String> {
        let names = 7;
        let room = width.saturating_sub(names + 1).max(10);
        let end = |count: usize| f64::from(u16::try_from(count - 1).unwrap_or(u16::MAX));
        let (time, value) = self.axes((0.0, end(room)), (end(ROWS), 0.0));
        let mut cells = vec![vec![' '; room]; ROWS];
        for line in &self.lines {
            let mark = super::cut_cells(&line.label, 8).chars().next();
            let mark = mark.filter(char::is_ascii_graphic).unwrap_or('*');
            for (t, v) in line.stretches().into_iter().flatten() {
                let spot = &mut cells[cell(value.at(v))][cell(time.at(t))];
                *spot = if *spot == ' ' || *spot == mark { mark } else { '*' };
            }
        }
        let mut labels = vec![String::new(); ROWS];
        for tick in value.ticks(ROWS / 2) {
            labels[cell(value.at(tick))] = number(tick);
        }
        let mut lines = vec![format!("{} (* where two meet, = settled)", self.unit)];
        for (label, row) in labels.iter().zip(cells) {
            let row: String = row.into_iter().collect();
            lines.push(format!("{label:>names$}|{}", row.trim_end()));
        }
        let mut rule = vec!['-'; room];
        for (from, to) in self.windows() {
            rule[cell(time.at(from.min(to)))..=cell(time.at(from.max(to)))].fill('=');
        }
        lines.push(format!("{:names$}+{}", "", rule.into_iter().collect::<String>()));
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
        lines
    }
}
