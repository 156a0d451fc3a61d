//! A document as text for a terminal.
//!
//! No line is wider than asked for, no character controls the terminal (apart from our own
//! styles), and the plain form says all that the styled one does.

use super::doc::{Align, Bar, Block, Doc, NoticeKind, Table, clean};
use super::figure::Figure;
use super::style::{Role, Style};
use super::table::{GAP, fit};
use super::wrap::{cells, split_hard, wrap};

/// Width where none is known.
pub const USUAL_WIDTH: usize = 80;
/// No narrower than this, whatever is asked for.
pub const LEAST_WIDTH: usize = 40;

/// Marks of a full bar: one for each ten per cent.
const BAR: usize = 10;

/// Writes a document for a terminal of `width` cells (at least [`LEAST_WIDTH`]).
#[must_use]
pub fn render(doc: &Doc, width: usize, style: Style) -> String {
    let mut page = Page { width: width.max(LEAST_WIDTH), indent: 0, style, out: String::new() };
    // That the engine must stop stands above the title.
    let (first, rest) = match doc.blocks.split_first() {
        Some((Block::Notice(NoticeKind::Stop | NoticeKind::Watch, _), rest)) => {
            (doc.blocks.first(), rest)
        }
        _ => (None, doc.blocks.as_slice()),
    };
    if let Some(notice) = first {
        page.block(notice);
        if !doc.tight {
            page.line("");
        }
    }
    let title = wrap(&clean(&doc.title), page.width);
    let rule = title.iter().map(|line| cells(line)).max().unwrap_or(0);
    for line in title {
        page.line(&style.paint(Role::Title, &line));
    }
    page.line(&"=".repeat(rule));
    let mut before: Option<&Block> = None;
    for block in rest {
        if !doc.tight && before.is_some_and(|before| parted(before, block)) {
            page.line("");
        }
        page.block(block);
        before = Some(block);
    }
    page.out
}

/// A drawing's spaces matter, at its left edge too.
fn harmless(line: &str) -> String {
    let shift = line.len() - line.trim_start_matches(' ').len();
    format!("{}{}", " ".repeat(shift), clean(line))
}

/// Whether an empty line stands between two blocks.
fn parted(before: &Block, after: &Block) -> bool {
    !matches!(
        (before, after),
        (Block::Heading(_) | Block::Part(_), _)
            | (Block::Command(_), Block::Para(_))
            | (Block::Notice(..), Block::Notice(..))
            | (Block::Para(_) | Block::Command(_), Block::Command(_))
            | (Block::Para(_), Block::List { .. } | Block::Fields(_))
    )
}

struct Page {
    width: usize,
    indent: usize,
    style: Style,
    out: String,
}

impl Page {
    fn line(&mut self, text: &str) {
        let text = text.trim_end();
        if !text.is_empty() {
            self.out.push_str(&" ".repeat(self.indent));
            self.out.push_str(text);
        }
        self.out.push('\n');
    }

    fn room(&self) -> usize {
        self.width - self.indent
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Part(text) => {
                self.indent = 0;
                self.line("");
                let lines = wrap(&clean(text), self.width);
                let rule = lines.iter().map(|line| cells(line)).max().unwrap_or(0);
                for line in lines {
                    self.line(&self.style.paint(Role::Title, &line));
                }
                self.line(&"-".repeat(rule));
            }
            Block::Heading(text) => {
                self.indent = 0;
                for line in wrap(&clean(text), self.width) {
                    let line = self.style.paint(Role::Heading, &line);
                    self.line(&line);
                }
                self.indent = 2;
            }
            Block::Para(text) => self.hanging("", None, text),
            Block::Foot(text) => {
                self.indent = 0;
                self.hanging("", None, text);
            }
            Block::List { ordered, items } => {
                let digits = items.len().to_string().len();
                for (number, item) in (1..).zip(items) {
                    let mark =
                        if *ordered { format!("{number:>digits$}. ") } else { "- ".to_owned() };
                    self.hanging(&mark, None, item);
                }
            }
            Block::Table(table) => self.table(table),
            Block::Fields(fields) => self.fields(fields),
            Block::Bars(bars) => self.bars(bars),
            Block::Figures(figures) => self.figures(figures),
            Block::Photos(photos) => {
                for photo in photos {
                    self.hanging("- ", None, &photo.about);
                }
            }
            Block::SignOff(names) => self.sign_off(names),
            Block::Notice(kind, text) => {
                let role = match kind {
                    NoticeKind::Stop | NoticeKind::Watch | NoticeKind::Caution => Role::Caution,
                    NoticeKind::Rule | NoticeKind::Doubt | NoticeKind::Mind => Role::Rule,
                };
                self.hanging(&format!("{}: ", kind.word()), Some(role), text);
            }
            Block::Command(text) => self.command(text),
            Block::Drawing(lines) => {
                for line in lines {
                    let line: String = harmless(line).chars().take(self.room()).collect();
                    self.line(&line);
                }
            }
        }
    }

    /// Text after a mark, its further lines under the first.
    fn hanging(&mut self, mark: &str, role: Option<Role>, text: &str) {
        let deep = cells(mark);
        for (index, line) in wrap(&clean(text), self.room() - deep).iter().enumerate() {
            let start = match (index, role) {
                (0, Some(role)) => self.style.paint(role, mark),
                (0, None) => mark.to_owned(),
                _ => " ".repeat(deep),
            };
            self.line(&format!("{start}{line}"));
        }
    }

    fn table(&mut self, table: &Table) {
        let names: Vec<String> = table.columns.iter().map(|(name, _)| clean(name)).collect();
        let rows: Vec<Vec<String>> =
            table.rows.iter().map(|row| row.iter().map(|cell| clean(cell)).collect()).collect();
        let all = std::iter::once(&names).chain(&rows).map(Vec::as_slice);
        let Some(widths) = fit(names.len(), all, self.room()) else {
            self.stacked(&names, &rows);
            return;
        };
        self.row(table, &names, &widths, Some(Role::Heading));
        let rule: Vec<String> = widths.iter().map(|&w| "-".repeat(w)).collect();
        self.row(table, &rule, &widths, None);
        for row in &rows {
            self.row(table, row, &widths, None);
        }
    }

    fn row(&mut self, table: &Table, row: &[String], widths: &[usize], role: Option<Role>) {
        let empty = String::new();
        let columns: Vec<Vec<String>> = widths
            .iter()
            .enumerate()
            .map(|(index, &width)| wrap(row.get(index).unwrap_or(&empty), width))
            .collect();
        let height = columns.iter().map(Vec::len).max().unwrap_or(0);
        for at in 0..height {
            let mut line = String::new();
            for (index, &width) in widths.iter().enumerate() {
                let cell = columns[index].get(at).unwrap_or(&empty);
                let pad = " ".repeat(width.saturating_sub(cells(cell)));
                let cell = role.map_or_else(|| cell.clone(), |role| self.style.paint(role, cell));
                match table.columns[index].1 {
                    Align::Left => line.extend([cell, pad]),
                    Align::Right => line.extend([pad, cell]),
                }
                if index + 1 < widths.len() {
                    line.push_str(&" ".repeat(GAP));
                }
            }
            self.line(&line);
        }
    }

    /// A table too wide for its room: a row becomes a line for each filled cell.
    fn stacked(&mut self, names: &[String], rows: &[Vec<String>]) {
        for row in rows {
            let mut mark = "- ";
            for (name, cell) in names.iter().zip(row).filter(|(_, cell)| !cell.is_empty()) {
                let text = if name.is_empty() { cell.clone() } else { format!("{name}: {cell}") };
                self.hanging(mark, None, &text);
                mark = "  ";
            }
        }
    }

    fn fields(&mut self, fields: &[(String, String)]) {
        let most = self.room() / 3;
        let names: Vec<String> =
            fields.iter().map(|(name, _)| format!("{}:", clean(name))).collect();
        let deep = names.iter().map(|name| cells(name)).max().unwrap_or(0);
        let deep = deep.min(most);
        for (name, (_, value)) in names.iter().zip(fields) {
            if cells(name) > deep {
                self.hanging("", None, name);
                self.hanging(&" ".repeat(deep + 1), None, value);
            } else {
                let pad = " ".repeat(deep - cells(name) + 1);
                self.hanging(&format!("{name}{pad}"), None, value);
            }
        }
    }

    fn bars(&mut self, bars: &[Bar]) {
        let labels: Vec<String> = bars.iter().map(|bar| clean(&bar.label)).collect();
        let texts: Vec<String> = bars.iter().map(|bar| clean(&bar.text)).collect();
        let widest = |list: &[String]| list.iter().map(|text| cells(text)).max().unwrap_or(0);
        let text_width = widest(&texts).min(self.room() / 3);
        let beside = self.room() - BAR - text_width - 2 * GAP;
        let narrow = beside < 40 && widest(&labels) > beside;
        // In a narrow page the bar stands under its label.
        let label_width = if narrow { 2 } else { widest(&labels).min(beside) };
        for ((bar, label), text) in bars.iter().zip(&labels).zip(&texts) {
            let mut label = wrap(label, if narrow { self.room() } else { label_width });
            if narrow {
                for line in std::mem::take(&mut label) {
                    self.line(&line);
                }
            }
            let text = wrap(text, text_width);
            for at in 0..label.len().max(text.len()) {
                let part = |lines: &[String]| lines.get(at).cloned().unwrap_or_default();
                let (label, text) = (part(&label), part(&text));
                let marks = if at == 0 { filled(bar.value) } else { 0 };
                let after_label = " ".repeat(label_width.saturating_sub(cells(&label)) + GAP);
                let after_bar = " ".repeat(BAR - marks + GAP);
                let marks = self.style.paint(Role::Bar, &"#".repeat(marks));
                self.line(&format!("{label}{after_label}{marks}{after_bar}{text}"));
            }
        }
    }

    fn figures(&mut self, figures: &[Figure]) {
        for (index, figure) in figures.iter().enumerate() {
            if index > 0 {
                self.line("");
            }
            for line in wrap(&clean(&figure.title), self.room()) {
                let line = self.style.paint(Role::Heading, &line);
                self.line(&line);
            }
            for line in figure.terminal(self.room()) {
                self.line(&line);
            }
        }
    }

    fn sign_off(&mut self, names: &[String]) {
        let most = self.room() / 3;
        let names: Vec<String> =
            names.iter().map(|name| wrap(&clean(name), most).swap_remove(0)).collect();
        let deep = names.iter().map(|name| cells(name)).max().unwrap_or(0);
        let date = " date ";
        let dots = (self.room() - deep - 1 - date.len()).min(52);
        for name in &names {
            let pad = " ".repeat(deep.saturating_sub(cells(name)) + 1);
            let (long, short) = (".".repeat(dots * 2 / 3), ".".repeat(dots / 3));
            self.line(&format!("{name}{pad}{long}{date}{short}"));
        }
    }

    /// A command keeps its words; where it must be broken a shell reads it as one line.
    fn command(&mut self, text: &str) {
        let indent = 4;
        let deeper = "  ";
        let room = self.room() - indent - 2;
        let mut lines: Vec<String> = Vec::new();
        let mut line = String::new();
        for word in shell_words(&clean(text)) {
            let pieces = split_hard(word, room - deeper.len());
            for (index, piece) in pieces.into_iter().enumerate() {
                let space = if index == 0 && !line.is_empty() { " " } else { "" };
                if cells(&line) + space.len() + cells(&piece) > room {
                    lines.push(format!("{line}{space}\\"));
                    // A word that is cut must go on at the margin to stay one word.
                    line = if index == 0 { format!("{deeper}{piece}") } else { piece };
                } else {
                    line.push_str(space);
                    line.push_str(&piece);
                }
            }
        }
        lines.push(line);
        for line in lines {
            let line = self.style.paint(Role::Command, &line);
            self.line(&format!("{}{line}", " ".repeat(indent)));
        }
    }
}

/// The words of a command line; what stands in single quotes is one word, since a line end
/// inside would belong to it.
fn shell_words(line: &str) -> Vec<&str> {
    let mut words = Vec::new();
    let (mut start, mut quoted, mut escaped) = (0, false, false);
    for (at, c) in line.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' if !quoted => escaped = true,
            '\'' => quoted = !quoted,
            ' ' if !quoted => {
                words.push(&line[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    words.push(&line[start..]);
    words
}

/// Number of marks for a share; something that is not nil shows one.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "between 0 and a small length by the clamp"
)]
fn filled(value: f64) -> usize {
    let marks = (value.clamp(0.0, 1.0) * BAR as f64).round() as usize;
    if value > 0.005 { marks.max(1) } else { marks }
}

#[cfg(test)]
mod tests {
    use super::shell_words;

    #[test]
    fn quotes_keep_a_word_together() {
        let line = r"open van --complaint 'it'\''s low' --vehicle 'a van'";
        let words = ["open", "van", "--complaint", r"'it'\''s low'", "--vehicle", "'a van'"];
        assert_eq!(shell_words(line), words);
        assert_eq!(shell_words("a  b"), ["a", "", "b"]);
    }
}
