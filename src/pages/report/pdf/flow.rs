//! Blocks one below the other, page after page.
//!
//! A row of a table, a picture, a notice and a line of text stay whole; a heading stays with
//! what follows it.

use pdf_writer::types::ListNumbering;

use super::super::doc::{Bar, Block, Doc, NoticeKind, clean};
use super::super::figure::font::{self, Weight};
use super::super::figure::{Ink, Look, Mark, Picture, Stroke};
use super::Paper;
use super::photos::{HIGHEST, Placed, Sheets};
use super::table::Grid;
use super::tags::{Role, Tags};
use measure::number::real;

/// Edge of the paper left free.
pub(super) const MARGIN: f64 = 36.0;
/// Below the text, for the number of the page.
const FOOT: f64 = 12.0;
/// Height of text, of headings, of the title, of the foot.
pub(super) const TEXT: f64 = 8.0;
const HEADING: f64 = 10.0;
const TITLE: f64 = 16.0;
const PART: f64 = 13.0;
const SMALL: f64 = 7.0;
/// From one base line to the next, in heights of the type.
pub(super) const LEADING: f64 = 1.28;
/// Between blocks.
pub(super) const GAP: f64 = 3.0;
/// Share of the width that the name of a bar has.
const LABEL: f64 = 0.5;
/// Between two pictures beside each other.
pub(super) const GUTTER: f64 = 16.0;

/// The pages of a document without its photos.
#[cfg(test)]
pub(super) fn pages(doc: &Doc, paper: Paper) -> Vec<Picture> {
    with_full_size(doc, "", &[], paper).pages
}

/// Lays a document out, and after it pictures on pages of their own, none of them scaled.
#[must_use]
pub(super) fn with_full_size(doc: &Doc, part: &str, pictures: &[Picture], paper: Paper) -> Sheets {
    let mut flow = Flow::titled(&doc.title, paper);
    flow.y += 5.0;
    for (index, block) in doc.blocks.iter().enumerate() {
        flow.block(block, &doc.blocks[index + 1..]);
    }
    if !pictures.is_empty() {
        flow.block(&Block::Part(part.to_owned()), &[]);
        flow.y += 6.0;
    }
    for picture in pictures {
        flow.need(picture.height);
        let y = flow.y;
        flow.picture_at(&words_on(picture), picture, 1.0, (Flow::LEFT, y));
        flow.y += picture.height + 10.0;
    }
    flow.finish(if doc.foot.is_empty() { &doc.title } else { &doc.foot })
}

/// What stands on a picture of which nothing else is said.
fn words_on(picture: &Picture) -> String {
    let words = picture.marks.iter().filter_map(|mark| match mark {
        Mark::Text { text, .. } => Some(text.as_str()),
        _ => None,
    });
    words.collect::<Vec<_>>().join(" ")
}

/// Lays pictures out one below the other, as wide as the page allows, each with what is said of it to
/// who cannot see it.
#[must_use]
pub(super) fn album(title: &str, pictures: &[(String, Picture)], paper: Paper) -> Sheets {
    let mut flow = Flow::titled(title, paper);
    flow.y += 8.0;
    for (told, picture) in pictures {
        let scale = flow.width() / picture.width.max(1.0);
        let scale = scale.min(flow.high() * 0.94 / picture.height.max(1.0)).min(1.0);
        flow.need(picture.height * scale);
        let y = flow.y;
        flow.picture_at(told, picture, scale, (Flow::LEFT, y));
        flow.y += picture.height * scale + 10.0;
    }
    flow.finish(title)
}

/// Whether a paragraph only leads up to what follows it.
fn leads_in(text: &str) -> bool {
    text.trim_end().ends_with(':')
}

/// The page that is being filled.
pub(super) struct Flow {
    size: (f64, f64),
    pub(super) pages: Vec<Picture>,
    pub(super) photos: Vec<Placed>,
    pub(super) tags: Tags,
    /// A part has begun.
    in_part: bool,
    /// How far the page is filled.
    pub(super) y: f64,
}

impl Flow {
    fn new(paper: Paper) -> Self {
        let (pages, photos) = (Vec::new(), Vec::new());
        let (size, tags) = (paper.size(), Tags::new());
        let mut flow = Self { size, pages, photos, tags, in_part: false, y: 0.0 };
        flow.turn();
        flow
    }

    /// Begins a document with its title.
    fn titled(title: &str, paper: Paper) -> Self {
        let mut flow = Self::new(paper);
        flow.heading(1, title, TITLE);
        flow.rule(1.5);
        flow
    }

    /// Marks on the page that is being filled.
    fn marks(&self) -> usize {
        self.pages.last().map_or(0, |page| page.marks.len())
    }

    /// Begins an element.
    pub(super) fn begin(&mut self, role: Role) {
        self.tags.begin(role, self.marks());
    }

    /// Ends the innermost element.
    pub(super) fn end(&mut self) {
        self.tags.end(self.marks());
    }

    /// Puts down what is one element.
    pub(super) fn tagged(&mut self, role: Role, put: impl FnOnce(&mut Self)) {
        self.begin(role);
        put(self);
        self.end();
    }

    /// Puts down what says nothing new.
    pub(super) fn bare(&mut self, put: impl FnOnce(&mut Self)) {
        let before = self.tags.bare(true, self.marks());
        put(self);
        self.tags.bare(before, self.marks());
    }

    fn heading(&mut self, level: u8, text: &str, size: f64) {
        self.tagged(Role::Heading(level), |flow| flow.lines(text, 0.0, Look::new(size).bold()));
    }

    /// Begins a page.
    fn turn(&mut self) {
        let mut page = Picture::new(self.size.0);
        page.height = self.size.1;
        self.pages.push(page);
        self.tags.turn();
        self.y = MARGIN;
    }

    /// Left edge, and width between the edges.
    pub(super) const LEFT: f64 = MARGIN;

    pub(super) fn width(&self) -> f64 {
        self.size.0 - 2.0 * MARGIN
    }

    fn bottom(&self) -> f64 {
        self.size.1 - MARGIN - FOOT
    }

    /// Height of an empty page.
    pub(super) fn high(&self) -> f64 {
        self.bottom() - MARGIN
    }

    /// Begins a page if there is less room than that; says whether it did.
    pub(super) fn need(&mut self, high: f64) -> bool {
        let over = self.y + high > self.bottom() && self.y > MARGIN;
        if over {
            self.turn();
        }
        over
    }

    pub(super) fn page(&mut self) -> &mut Picture {
        if self.pages.is_empty() {
            self.turn();
        }
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    fn rule(&mut self, thick: f64) {
        let (x, y, right) = (Self::LEFT, self.y, Self::LEFT + self.width());
        self.page().line((x, y), (right, y), Stroke::solid(Ink::Black, thick));
    }

    /// One line of text at the current height, which it does not change.
    pub(super) fn put(&mut self, x: f64, text: &str, look: Look) {
        let y = self.y + look.size * 0.95;
        self.page().text((x, y), text, look);
    }

    /// Text in lines, standing in by `indent`.
    pub(super) fn lines(&mut self, text: &str, indent: f64, look: Look) {
        let room = self.width() - indent;
        for line in font::wrap(&font::shown(text), room, look.size, look.weight) {
            self.need(look.size * LEADING);
            self.put(Self::LEFT + indent, &line, look);
            self.y += look.size * LEADING;
        }
    }

    /// Text beside a mark at its first line, as an item of a list.
    fn hanging(&mut self, mark: (&str, Look), deep: f64, text: &str, look: Look) {
        self.need(look.size * LEADING);
        self.tagged(Role::Item, |flow| {
            flow.tagged(Role::Label, |flow| flow.put(Self::LEFT, mark.0, mark.1));
            flow.tagged(Role::Body, |flow| flow.lines(text, deep, look));
        });
    }

    /// Puts a block down; the blocks after it say how much must stay together with it.
    fn block(&mut self, block: &Block, next: &[Block]) {
        match block {
            Block::Part(text) => {
                if self.y > MARGIN {
                    self.turn();
                }
                if self.in_part {
                    self.end();
                }
                self.in_part = true;
                self.begin(Role::Part);
                self.heading(2, text, PART);
                self.rule(0.8);
                self.y += 3.0;
                return;
            }
            Block::Heading(text) => {
                self.y += 3.0;
                // The air below it counts too.
                let own = self.lines_high(text, HEADING, Weight::Bold) + 1.5;
                let together = own + self.start_of(next);
                self.need(together.min(self.high()));
                self.heading(if self.in_part { 3 } else { 2 }, text, HEADING);
                self.y += 1.0;
                return;
            }
            Block::Para(text) | Block::Foot(text) => {
                if leads_in(text) {
                    let together =
                        self.lines_high(text, TEXT, Weight::Regular) + GAP + self.start_of(next);
                    self.need(together.min(self.high()));
                }
                self.tagged(Role::Para, |flow| flow.lines(text, 0.0, Look::new(TEXT)));
            }
            Block::List { ordered, items } => {
                let numbering = if *ordered { ListNumbering::Decimal } else { ListNumbering::Disc };
                self.begin(Role::List(numbering));
                for (number, item) in (1..).zip(items) {
                    let mark = if *ordered { format!("{number}.") } else { "•".to_owned() };
                    let deep = if *ordered { 16.0 } else { 9.0 };
                    let look = Look::new(TEXT);
                    self.hanging((&mark, look), deep, item, look);
                }
                self.end();
            }
            Block::Table(table) => Grid::of(table, self.width()).put(self),
            Block::Fields(fields) => self.fields(fields),
            Block::Bars(bars) => self.bars(bars),
            Block::Figures(figures) => self.figures(figures),
            Block::Photos(photos) => self.photos(photos),
            Block::SignOff(names) => self.sign_off(names),
            Block::Notice(kind, text) => {
                self.tagged(Role::Para, |flow| flow.notice(*kind, text));
            }
            Block::Command(text) => self.tagged(Role::Para, |flow| flow.command(text)),
            Block::Drawing(lines) => self.drawing(lines),
        }
        self.y += GAP;
    }

    /// Height of a text in lines across the page.
    fn lines_high(&self, text: &str, size: f64, weight: Weight) -> f64 {
        let lines = font::wrap(&font::shown(text), self.width(), size, weight).len();
        real(lines) * size * LEADING
    }

    /// Height of the first piece of what follows that stays whole, with what leads up to it.
    fn start_of(&self, blocks: &[Block]) -> f64 {
        let line = TEXT * LEADING;
        let Some((block, next)) = blocks.split_first() else { return 0.0 };
        match block {
            // On a page of its own.
            Block::Part(_) => 0.0,
            Block::Heading(text) => {
                4.0 + self.lines_high(text, HEADING, Weight::Bold) + self.start_of(next)
            }
            Block::Para(text) if leads_in(text) => {
                self.lines_high(text, TEXT, Weight::Regular) + GAP + self.start_of(next)
            }
            Block::Para(_) | Block::Foot(_) | Block::Command(_) | Block::Drawing(_) => 2.0 * line,
            Block::List { items, .. } if items.is_empty() => self.start_of(next),
            Block::Table(table) => Grid::of(table, self.width()).start().min(self.high()),
            Block::Fields(fields) if fields.is_empty() => self.start_of(next),
            Block::Photos(_) => HIGHEST,
            Block::List { .. } | Block::Fields(_) => line,
            Block::Bars(bars) => bars.first().map_or_else(
                || self.start_of(next),
                |bar| {
                    let room = self.width() * LABEL - 8.0;
                    let text = font::shown(&bar.label);
                    real(font::wrap(&text, room, TEXT, Weight::Regular).len()) * line
                },
            ),
            Block::Figures(figures) => figures.first().map_or_else(
                || self.start_of(next),
                |figure| {
                    let (picture, scale) = self.picture(figure, figures.len() == 1);
                    picture.height * scale
                },
            ),
            Block::SignOff(_) => 28.0,
            Block::Notice(kind, text) => self.notice_high(*kind, text),
        }
    }

    /// Names with values; two short ones that follow each other share a line.
    fn fields(&mut self, fields: &[(String, String)]) {
        let look = Look::new(TEXT);
        let names = fields.iter().map(|(name, _)| font::width(&clean(name), TEXT, look.weight));
        let deep = (names.fold(0.0, f64::max) + 10.0).min(self.width() / 3.0);
        let half = f64::midpoint(self.width(), GUTTER);
        let short = |field: Option<&(String, String)>| {
            let Some((name, value)) = field else { return false };
            let fits =
                |text: &str, room| font::width(&font::shown(text), TEXT, look.weight) <= room;
            fits(name, deep - 6.0) && fits(value, half - deep - GUTTER)
        };
        let mut at = 0;
        self.begin(Role::List(ListNumbering::None));
        while let Some((name, value)) = fields.get(at) {
            self.need(TEXT * LEADING);
            let two = short(fields.get(at)) && short(fields.get(at + 1));
            let top = self.y;
            let name = font::cut(name, deep - 4.0, TEXT, look.weight);
            self.hanging((&name, look.grey()), deep, value, look);
            if let (true, Some((other, beside))) = (two, fields.get(at + 1)) {
                let below = std::mem::replace(&mut self.y, top);
                let x = Self::LEFT + half;
                self.tagged(Role::Item, |flow| {
                    flow.tagged(Role::Label, |flow| flow.put(x, other, look.grey()));
                    flow.tagged(Role::Body, |flow| flow.put(x + deep, beside, look));
                });
                self.y = below;
                at += 1;
            }
            at += 1;
        }
        self.end();
    }

    fn bars(&mut self, bars: &[Bar]) {
        let width = self.width();
        let (label, long) = (width * LABEL, width * 0.22);
        let look = Look::new(TEXT);
        self.begin(Role::List(ListNumbering::None));
        for bar in bars {
            let lines = font::wrap(&font::shown(&bar.label), label - 8.0, TEXT, look.weight);
            self.need(TEXT * LEADING * f64::from(u32::try_from(lines.len()).unwrap_or(1)));
            let x = Self::LEFT + label;
            let share = if bar.value.is_finite() { bar.value.clamp(0.0, 1.0) } else { 0.0 };
            let y = self.y;
            self.begin(Role::Item);
            self.page().fill((x, y + 1.5), ((long * share).max(0.6), TEXT * 0.8), Ink::Black);
            let base = y + TEXT * LEADING - 0.5;
            self.page().line((x, base), (x + long, base), Stroke::solid(Ink::Rule, 0.5));
            let room = width - label - long - 8.0;
            let text = font::cut(&bar.text, room, TEXT, look.weight);
            self.tagged(Role::Label, |flow| {
                for line in lines {
                    flow.put(Self::LEFT, &line, look);
                    flow.y += TEXT * LEADING;
                }
            });
            let below = std::mem::replace(&mut self.y, y);
            self.tagged(Role::Body, |flow| flow.put(x + long + 8.0, &text, look));
            self.y = below;
            self.end();
        }
        self.end();
    }

    /// All beside each other if there is room.
    fn sign_off(&mut self, names: &[String]) {
        let look = Look::new(TEXT);
        let count = f64::from(u32::try_from(names.len().clamp(1, 3)).unwrap_or(1));
        let wide = (self.width() - (count - 1.0) * GUTTER) / count;
        for three in names.chunks(3) {
            self.need(28.0);
            self.y += 16.0;
            let mut x = Self::LEFT;
            for name in three {
                let name = font::cut(name, wide * 0.5, TEXT, look.weight);
                let used = font::width(&name, TEXT, look.weight) + 4.0;
                let date = x + wide * 0.68;
                self.tagged(Role::Para, |flow| {
                    flow.put(x, &name, look);
                    flow.put(date, "date", look);
                });
                let y = self.y + TEXT;
                let thin = Stroke::solid(Ink::Black, 0.6);
                self.page().line((x + used, y), (date - 4.0, y), thin);
                self.page().line((date + 22.0, y), (x + wide, y), thin);
                x += wide + GUTTER;
            }
            self.y += 10.0;
        }
    }

    /// How far the text of a notice stands in, and the word before it.
    fn notice_deep(kind: NoticeKind) -> (f64, String) {
        let word = format!("{}:", kind.word());
        (8.0 + font::width(&word, TEXT, Weight::Bold) + 4.0, word)
    }

    fn notice_high(&self, kind: NoticeKind, text: &str) -> f64 {
        let room = self.width() - Self::notice_deep(kind).0;
        let lines = font::wrap(&font::shown(text), room, TEXT, Weight::Regular).len();
        (real(lines) * TEXT * LEADING).min(self.high())
    }

    fn notice(&mut self, kind: NoticeKind, text: &str) {
        let look = Look::new(TEXT);
        let (ink, first) = match kind {
            NoticeKind::Stop | NoticeKind::Watch | NoticeKind::Caution => {
                (Ink::Alert, look.bold().alert())
            }
            NoticeKind::Rule | NoticeKind::Doubt | NoticeKind::Mind => (Ink::Black, look.bold()),
        };
        let (deep, word) = Self::notice_deep(kind);
        self.need(self.notice_high(kind, text));
        let (top, pages) = (self.y, self.pages.len());
        self.put(Self::LEFT + 8.0, &word, first);
        self.lines(text, deep, look);
        if self.pages.len() == pages {
            let size = (2.5, self.y - top - 1.0);
            self.bare(|flow| flow.page().fill((Self::LEFT, top + 0.5), size, ink));
        }
        self.y -= 2.0;
    }

    fn command(&mut self, text: &str) {
        let look = Look::new(TEXT);
        let room = self.width() - 12.0;
        for line in font::wrap(&font::shown(text), room, TEXT, look.weight) {
            self.need(TEXT * LEADING + 2.0);
            let (y, wide) = (self.y, self.width());
            let high = TEXT * LEADING + 0.5;
            self.bare(|flow| flow.page().fill((Self::LEFT, y - 0.5), (wide, high), Ink::Pale));
            self.put(Self::LEFT + 6.0, &line, look);
            self.y += TEXT * LEADING;
        }
        self.y -= 2.0;
    }

    /// Numbers the pages.
    fn finish(mut self, title: &str) -> Sheets {
        let count = self.pages.len();
        let (left, right) = (Self::LEFT, Self::LEFT + self.width());
        let y = self.size.1 - MARGIN + 2.0;
        // The foot belongs to the paper, on every page.
        self.tags.foot(&self.pages);
        for (number, page) in (1..).zip(&mut self.pages) {
            let look = Look::new(SMALL).grey();
            page.text(
                (left, y),
                font::cut(title, right - left - 80.0, SMALL, Weight::Regular),
                look,
            );
            page.text((right, y), format!("page {number} of {count}"), look.end());
        }
        Sheets { pages: self.pages, photos: self.photos, tags: self.tags }
    }
}
