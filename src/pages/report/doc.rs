//! The document every page is made of, before it is text, Markdown or anything else.
//!
//! Blocks hold plain text without any mark-up, as it was typed: a renderer passes every string
//! through [`clean`] and its own escaping. It must not know about engines.

use super::figure::Figure;

/// A page.
#[derive(Debug, Clone, PartialEq)]
pub struct Doc {
    /// Title.
    pub title: String,
    /// What stands at the foot of every printed page beside its number; empty: the title.
    pub foot: String,
    /// What follows, in order.
    pub blocks: Vec<Block>,
    /// On a terminal no empty line parts the blocks.
    pub tight: bool,
}

/// A piece of a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A part for a reader of its own: a new page on paper, with headings under it.
    Part(String),
    /// A heading under the title, or under the part that it stands in.
    Heading(String),
    /// A paragraph.
    Para(String),
    /// A list.
    List {
        /// Numbered from 1.
        ordered: bool,
        /// Items.
        items: Vec<String>,
    },
    /// A table.
    Table(Table),
    /// Names with values.
    Fields(Vec<(String, String)>),
    /// Shares drawn as bars.
    Bars(Vec<Bar>),
    /// Pictures, side by side where there is room.
    Figures(Vec<Figure>),
    /// Photos, side by side where there is room; in forms that cannot show them what they are of.
    Photos(Vec<Photograph>),
    /// Lines to sign, by who signs.
    SignOff(Vec<String>),
    /// Something not to be overlooked.
    Notice(NoticeKind, String),
    /// A line to type, exactly.
    Command(String),
    /// Lines that stand under each other as they are, as a plot does.
    Drawing(Vec<String>),
    /// Where the rest of a cut page is found.
    Foot(String),
}

/// Why a notice is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoticeKind {
    /// The engine must stop.
    Stop,
    /// The engine must be watched.
    Watch,
    /// Someone or something can be hurt.
    Caution,
    /// A rule of the trade holds something back.
    Rule,
    /// The answer is weaker than it looks.
    Doubt,
    /// What was given cannot be used, or something besides is to be known.
    Mind,
}

impl NoticeKind {
    /// The word in front of the notice.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Stop => "STOP",
            Self::Watch => "WATCH",
            Self::Caution => "Caution",
            Self::Rule => "Rule",
            Self::Doubt => "Doubt",
            Self::Mind => "Mind",
        }
    }
}

/// A photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Photograph {
    /// What it is of, or beside.
    pub about: String,
    /// The picture.
    pub image: Image,
}

/// Where a picture is.
#[derive(Debug, Clone, PartialEq)]
pub enum Image {
    /// In the page itself.
    Inside {
        /// Its form as browsers name it.
        media: &'static str,
        /// The file.
        bytes: Vec<u8>,
    },
    /// At an address of the same place as the page.
    At(String),
}

/// On which side of its column a cell stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// Rows and columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Name and side of each column.
    pub columns: Vec<(String, Align)>,
    /// Rows; a missing cell is empty, one too many is not shown.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// A table without rows yet.
    pub fn new<'a>(columns: impl IntoIterator<Item = (&'a str, Align)>) -> Self {
        Self {
            columns: columns.into_iter().map(|(name, align)| (name.to_owned(), align)).collect(),
            rows: Vec::new(),
        }
    }
}

/// A share drawn as a bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// What it is the share of.
    pub label: String,
    /// From 0 to 1.
    pub value: f64,
    /// The share in words and figures.
    pub text: String,
}

impl Doc {
    /// An empty page.
    pub fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), foot: String::new(), blocks: Vec::new(), tight: false }
    }

    /// Adds photos under a heading of their own, unless there are none.
    pub fn add_photos(&mut self, photos: Vec<Photograph>) {
        if !photos.is_empty() {
            self.heading("Photos");
            self.blocks.push(Block::Photos(photos));
        }
    }

    /// Begins a part.
    pub(super) fn part(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Part(text.into()));
    }

    /// Adds a heading.
    pub(super) fn heading(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Heading(text.into()));
    }

    /// Adds a paragraph.
    pub(super) fn para(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Para(text.into()));
    }

    /// Adds a list with bullets, unless it is empty.
    pub(super) fn bullets(&mut self, items: Vec<String>) {
        if !items.is_empty() {
            self.blocks.push(Block::List { ordered: false, items });
        }
    }

    /// Adds a numbered list, unless it is empty.
    pub(super) fn numbered(&mut self, items: Vec<String>) {
        if !items.is_empty() {
            self.blocks.push(Block::List { ordered: true, items });
        }
    }

    /// Adds a table, unless it has no rows.
    pub(super) fn table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.blocks.push(Block::Table(table));
        }
    }

    /// Adds names with values; those without a value are left out.
    pub(super) fn fields<'a>(&mut self, fields: impl IntoIterator<Item = (&'a str, String)>) {
        let fields: Vec<(String, String)> = fields
            .into_iter()
            .filter(|(_, value)| !value.trim().is_empty())
            .map(|(name, value)| (name.to_owned(), value))
            .collect();
        if !fields.is_empty() {
            self.blocks.push(Block::Fields(fields));
        }
    }

    /// Puts a notice before everything else, if there is one.
    pub(super) fn first(&mut self, notice: Option<(NoticeKind, String)>) {
        if let Some((kind, text)) = notice {
            self.blocks.insert(0, Block::Notice(kind, text));
        }
    }

    /// Adds pictures, unless there are none.
    pub(super) fn figures(&mut self, figures: Vec<Figure>) {
        if !figures.is_empty() {
            self.blocks.push(Block::Figures(figures));
        }
    }

    /// Adds a notice.
    pub(super) fn notice(&mut self, kind: NoticeKind, text: impl Into<String>) {
        self.blocks.push(Block::Notice(kind, text.into()));
    }
}

/// Makes text harmless to a terminal and to a layout: one line, no control characters, nothing
/// invisible, nothing that turns the direction of writing.
///
/// Line breaks and tabs become spaces; what else is taken out leaves `U+FFFD`, so that a
/// reader sees that something was there.
#[must_use]
pub fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim().chars() {
        out.push(match c {
            '\n' | '\r' | '\t' | '\u{b}' | '\u{c}' | '\u{85}' | '\u{2028}' | '\u{2029}' => ' ',
            c if is_harmful(c) => '\u{fffd}',
            c => c,
        });
    }
    out.trim().to_owned()
}

/// The same for a line of a drawing: the space before it stays.
#[must_use]
pub(super) fn clean_line(text: &str) -> String {
    let shift = text.len() - text.trim_start_matches(' ').len();
    format!("{}{}", " ".repeat(shift), clean(text))
}

/// Whether a terminal obeys it, or a reader cannot see it.
#[must_use]
pub fn is_harmful(c: char) -> bool {
    c.is_control() || is_invisible(c)
}

/// Format characters: zero width, direction, variation selectors, tags, annotations.
fn is_invisible(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}'
        | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}'
        | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}' | '\u{1d173}'..='\u{1d17a}'
        | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use super::clean;

    #[test]
    fn text_becomes_one_harmless_line() {
        for (given, expected) in [
            ("plain text", "plain text"),
            ("two\r\nlines\tand a tab", "two  lines and a tab"),
            ("\u{1b}[31mred", "\u{fffd}[31mred"),
            ("bell\u{7}", "bell\u{fffd}"),
            ("\u{9b}31m", "\u{fffd}31m"),
            ("turned \u{202e}round", "turned \u{fffd}round"),
            (" \n ", ""),
        ] {
            assert_eq!(clean(given), expected, "{given:?}");
        }
    }
}
