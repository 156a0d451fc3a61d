//! Text laid out for a screen: blocks of lines that are kept together on a page.

use pages::report::{Block, Doc, NoticeKind, Style, clean, text, wrap};

/// Blocks of lines, an empty line between them; and the same as a page, for where there are no lines.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sheet {
    width: usize,
    blocks: Vec<Vec<String>>,
    doc: Doc,
}

impl Sheet {
    /// An empty one.
    pub(super) fn new(width: usize) -> Self {
        Self { width: width.max(text::LEAST_WIDTH), blocks: Vec::new(), doc: Doc::new("") }
    }

    /// A page of a report.
    pub(super) fn of(doc: &Doc, width: usize, style: Style) -> Self {
        let mut sheet = Self::new(width);
        sheet.page(doc, style);
        sheet
    }

    /// Adds a page of a report below what stands there.
    pub(super) fn page(&mut self, doc: &Doc, style: Style) {
        if !doc.title.is_empty() {
            self.doc.blocks.push(Block::Heading(doc.title.clone()));
        }
        self.doc.blocks.extend(doc.blocks.iter().cloned());
        self.block();
        for line in text::render(doc, self.width, style).lines() {
            if line.is_empty() {
                self.block();
            } else {
                self.push(line.to_owned());
            }
        }
    }

    /// The whole as a page.
    pub(super) fn doc(&self) -> &Doc {
        &self.doc
    }

    /// Lines it takes on one screen.
    pub(super) fn height(&self) -> usize {
        self.pages(usize::MAX).iter().map(|page| page.lines().count()).sum()
    }

    /// Lines of the last screen that it takes.
    pub(super) fn last_page(&self, height: usize) -> usize {
        self.pages(height).last().map_or(0, |page| page.lines().count())
    }

    /// Begins a block.
    pub(super) fn block(&mut self) {
        if self.blocks.last().is_none_or(|block| !block.is_empty()) {
            self.blocks.push(Vec::new());
        }
    }

    /// Adds an empty line.
    pub(super) fn gap(&mut self) {
        self.push(String::new());
    }

    fn push(&mut self, line: String) {
        if self.blocks.is_empty() {
            self.blocks.push(Vec::new());
        }
        if let Some(block) = self.blocks.last_mut() {
            block.push(line);
        }
    }

    /// Adds text.
    pub(super) fn line(&mut self, text: &str) {
        self.item("", text);
    }

    /// Adds text behind a mark, its further lines under the first.
    pub(super) fn item(&mut self, mark: &str, text: &str) {
        self.put(mark, text);
        let deep = mark.chars().count();
        let lines = wrap(&clean(text), self.width.saturating_sub(deep));
        for (index, line) in lines.iter().enumerate() {
            let start = if index == 0 { mark.to_owned() } else { " ".repeat(deep) };
            self.push(format!("{start}{line}").trim_end().to_owned());
        }
    }

    /// Adds text behind a mark to the page, as what the mark makes of it.
    fn put(&mut self, mark: &str, text: &str) {
        let (blocks, text) = (&mut self.doc.blocks, text.to_owned());
        let numbered = mark.trim().strip_suffix('.').is_some_and(|n| n.parse::<usize>().is_ok());
        match (mark.trim(), blocks.last_mut()) {
            ("", _) => blocks.push(Block::Para(text)),
            ("!", _) => blocks.push(Block::Notice(NoticeKind::Mind, text)),
            (_, Some(Block::List { ordered, items })) if *ordered == numbered => items.push(text),
            ("-", _) => blocks.push(Block::List { ordered: false, items: vec![text] }),
            _ if numbered => blocks.push(Block::List { ordered: true, items: vec![text] }),
            (name, Some(Block::Fields(fields))) => {
                fields.push((name.trim_end_matches(':').to_owned(), text));
            }
            (name, _) => {
                let name = name.trim_end_matches(':').to_owned();
                blocks.push(Block::Fields(vec![(name, text)]));
            }
        }
    }

    /// Adds an empty line below everything, where a question follows.
    pub(super) fn foot(&mut self) {
        if let Some(block) = self.blocks.iter_mut().rev().find(|block| !block.is_empty()) {
            block.push(String::new());
        }
    }

    /// Text for screens of so many lines; blocks are kept whole where they fit.
    pub(super) fn pages(&self, height: usize) -> Vec<String> {
        let mut pages: Vec<Vec<&str>> = Vec::new();
        for block in self.blocks.iter().filter(|block| !block.is_empty()) {
            match pages.last_mut() {
                Some(page) if page.len() + 1 + block.len() <= height => {
                    page.push("");
                    page.extend(block.iter().map(String::as_str));
                }
                _ => {
                    for part in block.chunks(height.max(1)) {
                        pages.push(part.iter().map(String::as_str).collect());
                    }
                }
            }
        }
        pages.into_iter().map(|page| page.join("\n") + "\n").collect()
    }
}

/// Bytes of a broken word that are given up for a whole one.
const NEAR: usize = 12;

/// Shortens text to so many characters, at a space where one is near.
#[must_use]
pub fn short(text: &str, room: usize) -> String {
    let text = clean(text);
    if text.chars().count() <= room {
        return text;
    }
    let mut cut: String = text.chars().take(room.saturating_sub(1)).collect();
    if let Some(space) = cut.rfind(' ').filter(|space| *space > 0 && cut.len() - space <= NEAR) {
        cut.truncate(space);
    }
    cut.truncate(cut.trim_end_matches([' ', ',', ';', ':']).len());
    cut.push('…');
    cut
}

/// What was marked, as it stands behind the question: each by name while there is room.
#[must_use]
pub fn marked(names: &[&str], room: usize) -> String {
    match names {
        [] => "none".to_owned(),
        [one] => short(one, room),
        [first, others @ ..] => {
            let whole = names.join("; ");
            if whole.chars().count() <= room {
                return whole;
            }
            let more = format!(" and {} more", others.len());
            short(first, room.saturating_sub(more.chars().count())) + &more
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_stay_whole_where_a_page_has_room() {
        let mut sheet = Sheet::new(40);
        for size in [3, 3, 9] {
            sheet.block();
            (0..size).for_each(|n| sheet.line(&format!("{size}.{n}")));
        }
        let sizes: Vec<usize> = sheet.pages(7).iter().map(|page| page.lines().count()).collect();
        assert_eq!(sizes, [7, 7, 2]);
    }

    #[test]
    fn marks_hang_and_text_is_cut() {
        let mut sheet = Sheet::new(40);
        sheet.item("Takes  ", "one two three four five six seven eight nine");
        let pages = sheet.pages(9);
        assert_eq!(pages, ["Takes  one two three four five six seven\n       eight nine\n"]);
        assert_eq!(short("a long label", 9), "a long…");
        assert_eq!(short("unbreakablelabel", 7), "unbrea…");
        assert_eq!(short("short", 7), "short");
        assert_eq!(marked(&[], 30), "none");
        assert_eq!(marked(&["New probes", "Wiring"], 30), "New probes; Wiring");
        assert_eq!(marked(&["New probes", "Wiring", "Box"], 21), "New probes and 2 more");
    }
}
