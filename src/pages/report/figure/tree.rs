//! Groups and what is in them, with shares laid over: the fault tree.

use super::font::{self, Weight};
use super::{Ink, Look, Mark, Picture, SMALL, Stroke, drawable, padded, points};
use measure::percent::percent;

/// The figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    /// What stands at the root.
    pub root: String,
    /// Every node after its parent; those of one parent in the order they are drawn in.
    pub nodes: Vec<TreeNode>,
    /// Shares are shown.
    pub shares: bool,
}

/// A group, or something in one.
#[derive(Debug, Clone, PartialEq)]
pub struct TreeNode {
    /// Index of the group it is in; `None` under the root.
    pub parent: Option<usize>,
    /// Its name.
    pub label: String,
    /// In small print after it.
    pub note: String,
    /// Its share, from 0 to 1.
    pub share: f64,
}

/// Height of a row, width of the column of a group, room for a share.
const ROW: f64 = 14.0;
const GROUP: f64 = 112.0;
const SHARE: f64 = 104.0;
/// From this share up something stands out.
const STANDS_OUT: f64 = 0.1;

/// A share as short as it goes.
fn short(share: f64) -> String {
    percent(drawable(share)).replace("under ", "<").replace("over ", ">").replace(' ', "\u{a0}")
}

/// A node with where it is drawn.
struct Placed<'a> {
    node: &'a TreeNode,
    depth: usize,
    leaf: bool,
    /// Row, from 0; that of a group is the middle of what is in it.
    row: f64,
}

impl Tree {
    /// Children of a node, in order.
    fn below(&self, parent: Option<usize>) -> Vec<usize> {
        let all = self.nodes.iter().enumerate();
        all.filter(|(_, node)| node.parent == parent).map(|(index, _)| index).collect()
    }

    /// Places leaves one to a row and groups at the middle of their own.
    fn placed(&self) -> Vec<(usize, Placed<'_>)> {
        let mut out = Vec::new();
        let mut row = 0.0;
        self.place(None, 0, &mut row, &mut out);
        out
    }

    fn place<'a>(
        &'a self,
        parent: Option<usize>,
        depth: usize,
        row: &mut f64,
        out: &mut Vec<(usize, Placed<'a>)>,
    ) -> Option<(f64, f64)> {
        let mut span: Option<(f64, f64)> = None;
        for index in self.below(parent) {
            let node = &self.nodes[index];
            let inner = self.place(Some(index), depth + 1, row, out);
            let middle = inner.map_or(*row, |(first, last)| f64::midpoint(first, last));
            if inner.is_none() {
                *row += 1.0;
            }
            out.push((index, Placed { node, depth, leaf: inner.is_none(), row: middle }));
            span = Some(span.map_or((middle, middle), |(first, _)| (first, middle)));
        }
        span
    }

    pub(super) fn draw(&self, picture: &mut Picture) {
        let placed = self.placed();
        let top = picture.height + 6.0;
        let y = |row: f64| top + ROW * (row + 0.5);
        let depth = placed.iter().map(|(_, p)| p.depth).max().unwrap_or(0);
        // Leaves stand in the last column, so that their names are one below the other.
        let x = |p: &Placed<'_>| {
            if p.leaf { GROUP * points(depth) } else { GROUP * points(p.depth) }
        };
        let rows = placed.iter().filter(|(_, p)| p.leaf).count();
        let share_at = picture.width - if self.shares { SHARE } else { 0.0 };
        for (_, p) in &placed {
            let parent = p.node.parent.and_then(|parent| placed.iter().find(|(i, _)| *i == parent));
            let Some((_, parent)) = parent else { continue };
            let from = (x(parent) + GROUP - 20.0, y(parent.row));
            let to = (x(p) - 3.0, y(p.row));
            let stroke = self.stroke(p.node);
            let bend = from.0 + 8.0;
            let points = vec![from, (bend, from.1), (bend, to.1), to];
            picture.add(Mark::Line { points, stroke });
        }
        for (_, p) in &placed {
            self.node(picture, p, (x(p), y(p.row)), share_at);
        }
        picture.height = top + ROW * points(rows) + 4.0;
    }

    /// A line is thick where it leads to what stands out.
    fn stroke(&self, node: &TreeNode) -> Stroke {
        if self.shares && node.share >= STANDS_OUT {
            Stroke::solid(Ink::Black, 1.8)
        } else {
            Stroke::solid(Ink::Rule, 0.8)
        }
    }

    fn node(&self, picture: &mut Picture, p: &Placed<'_>, (x, y): (f64, f64), share_at: f64) {
        let node = p.node;
        let stands_out = self.shares && node.share >= STANDS_OUT;
        let base = y + SMALL * 0.35;
        let weight = if stands_out || !p.leaf { Weight::Bold } else { Weight::Regular };
        let ink = if self.shares && drawable(node.share) < 0.005 { Ink::Grey } else { Ink::Black };
        let look = Look { weight, ink, ..Look::new(SMALL) };
        if !p.leaf {
            self.group(picture, node, (x, y));
            return;
        }
        let label = font::cut(&node.label, share_at - x - 4.0, SMALL, weight);
        let used = font::width(&label, SMALL, weight) + 8.0;
        picture.text((x, base), label, look);
        let room = share_at - x - used - 6.0;
        if room > 40.0 && !node.note.is_empty() {
            let size = SMALL - 1.5;
            let small = font::cut(&node.note, room, size, Weight::Regular);
            picture.text((x + used, base), small, Look::new(size).grey());
        }
        if self.shares {
            let long = (SHARE - 30.0) * drawable(node.share);
            if drawable(node.share) >= 0.005 {
                let ink = if stands_out { Ink::Black } else { Ink::Grey };
                picture.fill((share_at, y - 4.0), (long.max(0.8), 8.0), ink);
            }
            let text = short(node.share);
            picture.text((picture.width, base), text, look.end());
        }
    }

    /// A group in a box, its share after its name.
    fn group(&self, picture: &mut Picture, node: &TreeNode, (x, y): (f64, f64)) {
        let share = if self.shares { format!(" {}", short(node.share)) } else { String::new() };
        let wide = GROUP - 20.0;
        let text = font::shown(&format!("{}{share}", node.label));
        let mut lines = font::wrap(&text, wide - 6.0, SMALL, Weight::Bold);
        if lines.len() > 2 {
            lines.truncate(1);
            let room = wide - 6.0 - font::width(&share, SMALL, Weight::Bold);
            let rest = text.trim_start_matches(lines[0].as_str()).trim_end_matches(&share);
            lines.push(font::cut(rest, room, SMALL, Weight::Bold) + &share);
        }
        let count = points(lines.len());
        let high = 4.0 + 9.0 * count;
        let line = Stroke { ink: Ink::Black, ..self.stroke(node) };
        picture.frame((x, y - high / 2.0), (wide, high), Some(Ink::White), line);
        for (n, line) in lines.into_iter().enumerate() {
            let base = y + SMALL * 0.35 + 9.0 * (points(n) - (count - 1.0) / 2.0);
            picture.text((x + 3.0, base), line, Look::new(SMALL).bold());
        }
    }

    pub(super) fn terminal(&self, width: usize) -> Vec<String> {
        let mut lines = vec![super::cut_cells(&self.root, width)];
        self.put(None, "", width, &mut lines);
        lines
    }

    fn put(&self, parent: Option<usize>, before: &str, width: usize, lines: &mut Vec<String>) {
        let below = self.below(parent);
        for (count, &index) in below.iter().enumerate() {
            let node = &self.nodes[index];
            // Where it is narrow the names have the room of the bars.
            let room = width.saturating_sub(before.len() + 3);
            let bars = room >= 40;
            let beside = if bars { 21 } else { 10 };
            let name = if self.shares { room.saturating_sub(beside).max(6) } else { room };
            let share = if self.shares {
                let marks = super::cell(drawable(node.share) * 10.0);
                format!(
                    " {:>9} {}",
                    percent(drawable(node.share)),
                    "#".repeat(if bars { marks } else { 0 })
                )
            } else {
                String::new()
            };
            let label = padded(&node.label, name);
            lines.push(format!("{before}+- {label}{share}").trim_end().to_owned());
            let deeper = if count + 1 == below.len() { "   " } else { "|  " };
            self.put(Some(index), &format!("{before}{deeper}"), width, lines);
        }
    }
}
