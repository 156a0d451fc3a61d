//! Blocks one below the other, page after page.
//!
//! A row of a table, a picture, a notice and a line of text stay whole; a heading stays with
//! what follows it.

use super::super::doc::{Bar, Block, Doc, NoticeKind, Photograph, clean};
use super::super::figure::font::{self, Weight};
use super::super::figure::{Chart, Figure, Ink, Look, Picture, Stroke, WIDTH};
use super::Paper;
use super::photos::{HIGHEST, Placed, Sheets, taken, within};
use super::table::Grid;
use crate::number::real;
use crate::photo::Raster;

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
const GAP: f64 = 3.0;
/// Share of the width that the name of a bar has.
const LABEL: f64 = 0.5;
/// Between two pictures beside each other.
const GUTTER: f64 = 16.0;

/// The pages of a document without its photos.
#[cfg(test)]
pub(super) fn pages(doc: &Doc, paper: Paper) -> Vec<Picture> {
    with_full_size(doc, "", &[], paper).pages
}

/// Lays a document out, and after it pictures on pages of their own, none of them scaled.
#[must_use]
pub(super) fn with_full_size(doc: &Doc, part: &str, pictures: &[Picture], paper: Paper) -> Sheets {
    let mut flow = Flow::new(paper);
    flow.lines(&doc.title, 0.0, Look::new(TITLE).bold());
    flow.rule(1.5);
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
        flow.page().marks.extend(picture.marks.iter().map(|mark| mark.placed(1.0, Flow::LEFT, y)));
        flow.y += picture.height + 10.0;
    }
    let photos = std::mem::take(&mut flow.photos);
    Sheets { pages: flow.finish(if doc.foot.is_empty() { &doc.title } else { &doc.foot }), photos }
}

/// Lays pictures out one below the other, as wide as the page allows.
#[must_use]
pub(super) fn album(title: &str, pictures: &[Picture], paper: Paper) -> Vec<Picture> {
    let mut flow = Flow::new(paper);
    flow.lines(title, 0.0, Look::new(TITLE).bold());
    flow.rule(1.5);
    flow.y += 8.0;
    for picture in pictures {
        let scale = flow.width() / picture.width.max(1.0);
        let scale = scale.min(flow.high() * 0.94 / picture.height.max(1.0)).min(1.0);
        flow.need(picture.height * scale);
        let y = flow.y;
        let marks = picture.marks.iter().map(|mark| mark.placed(scale, Flow::LEFT, y));
        flow.page().marks.extend(marks);
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
    pages: Vec<Picture>,
    photos: Vec<Placed>,
    /// How far the page is filled.
    pub(super) y: f64,
}

impl Flow {
    fn new(paper: Paper) -> Self {
        let mut flow = Self { size: paper.size(), pages: Vec::new(), photos: Vec::new(), y: 0.0 };
        flow.turn();
        flow
    }

    /// Begins a page.
    fn turn(&mut self) {
        let mut page = Picture::new(self.size.0);
        page.height = self.size.1;
        self.pages.push(page);
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
    fn lines(&mut self, text: &str, indent: f64, look: Look) {
        let room = self.width() - indent;
        for line in font::wrap(&font::shown(text), room, look.size, look.weight) {
            self.need(look.size * LEADING);
            self.put(Self::LEFT + indent, &line, look);
            self.y += look.size * LEADING;
        }
    }

    /// Text beside a mark at its first line.
    fn hanging(&mut self, mark: (&str, Look), deep: f64, text: &str, look: Look) {
        self.need(look.size * LEADING);
        self.put(Self::LEFT, mark.0, mark.1);
        self.lines(text, deep, look);
    }

    /// Puts a block down; the blocks after it say how much must stay together with it.
    fn block(&mut self, block: &Block, next: &[Block]) {
        match block {
            Block::Part(text) => {
                if self.y > MARGIN {
                    self.turn();
                }
                self.lines(text, 0.0, Look::new(PART).bold());
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
                self.lines(text, 0.0, Look::new(HEADING).bold());
                self.y += 1.0;
                return;
            }
            Block::Para(text) | Block::Foot(text) => {
                if leads_in(text) {
                    let together =
                        self.lines_high(text, TEXT, Weight::Regular) + GAP + self.start_of(next);
                    self.need(together.min(self.high()));
                }
                self.lines(text, 0.0, Look::new(TEXT));
            }
            Block::List { ordered, items } => {
                for (number, item) in (1..).zip(items) {
                    let mark = if *ordered { format!("{number}.") } else { "•".to_owned() };
                    let deep = if *ordered { 16.0 } else { 9.0 };
                    let look = Look::new(TEXT);
                    self.hanging((&mark, look), deep, item, look);
                }
            }
            Block::Table(table) => Grid::of(table, self.width()).put(self),
            Block::Fields(fields) => self.fields(fields),
            Block::Bars(bars) => self.bars(bars),
            Block::Figures(figures) => self.figures(figures),
            Block::Photos(photos) => self.photos(photos),
            Block::SignOff(names) => self.sign_off(names),
            Block::Notice(kind, text) => self.notice(*kind, text),
            Block::Command(text) => self.command(text),
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
        while let Some((name, value)) = fields.get(at) {
            self.need(TEXT * LEADING);
            if let (true, Some((other, beside))) = (short(fields.get(at)), fields.get(at + 1))
                && short(fields.get(at + 1))
            {
                self.put(Self::LEFT + half, other, look.grey());
                self.put(Self::LEFT + half + deep, beside, look);
                at += 1;
            }
            let name = font::cut(name, deep - 4.0, TEXT, look.weight);
            self.hanging((&name, look.grey()), deep, value, look);
            at += 1;
        }
    }

    fn bars(&mut self, bars: &[Bar]) {
        let width = self.width();
        let (label, long) = (width * LABEL, width * 0.22);
        let look = Look::new(TEXT);
        for bar in bars {
            let lines = font::wrap(&font::shown(&bar.label), label - 8.0, TEXT, look.weight);
            self.need(TEXT * LEADING * f64::from(u32::try_from(lines.len()).unwrap_or(1)));
            let x = Self::LEFT + label;
            let share = if bar.value.is_finite() { bar.value.clamp(0.0, 1.0) } else { 0.0 };
            let y = self.y;
            self.page().fill((x, y + 1.5), ((long * share).max(0.6), TEXT * 0.8), Ink::Black);
            let base = y + TEXT * LEADING - 0.5;
            self.page().line((x, base), (x + long, base), Stroke::solid(Ink::Rule, 0.5));
            let room = width - label - long - 8.0;
            let text = font::cut(&bar.text, room, TEXT, look.weight);
            self.put(x + long + 8.0, &text, look);
            for line in lines {
                self.put(Self::LEFT, &line, look);
                self.y += TEXT * LEADING;
            }
        }
    }

    /// A picture as it is drawn here, and how much it shrinks.
    fn picture(&self, figure: &Figure, alone: bool) -> (Picture, f64) {
        let wide = (self.width() - GUTTER) / 2.0;
        let scale = wide / WIDTH;
        // Alone, what gains by it takes the whole width.
        let whole = alone
            && matches!(figure.chart, Chart::Branches(_) | Chart::Trace(_) | Chart::Levels(_));
        let picture = figure.draw(if whole { self.width() / scale } else { WIDTH });
        // A very high one shrinks to the page.
        let scale = scale.min(self.high() / picture.height.max(1.0));
        (picture, scale)
    }

    /// Two columns, each picture in the one that is filled less.
    fn figures(&mut self, figures: &[Figure]) {
        let wide = (self.width() - GUTTER) / 2.0;
        let mut filled = [self.y; 2];
        for figure in figures {
            let (picture, scale) = self.picture(figure, figures.len() == 1);
            let high = picture.height * scale;
            let column = usize::from(filled[1] < filled[0]);
            self.y = filled[column];
            if self.need(high) {
                filled = [self.y; 2];
            }
            let column = usize::from(filled[1] < filled[0]);
            let x = Self::LEFT + if column == 1 { wide + GUTTER } else { 0.0 };
            let y = filled[column];
            let marks = picture.marks.iter().map(|mark| mark.placed(scale, x, y));
            self.page().marks.extend(marks);
            filled[column] += high + GAP;
        }
        self.y = filled[0].max(filled[1]);
    }

    /// Photos two beside each other with what they are of below; a line in the place of one that paper does not
    /// take.
    fn photos(&mut self, photos: &[Photograph]) {
        let wide = (self.width() - GUTTER) / 2.0;
        let look = Look::new(TEXT);
        let (shown, others): (Vec<_>, Vec<_>) = photos
            .iter()
            .map(|photo| (photo, taken(photo)))
            .partition(|(_, taken)| taken.is_some());
        let shown: Vec<(&Photograph, Raster)> =
            shown.into_iter().filter_map(|(photo, taken)| Some((photo, taken?))).collect();
        for pair in shown.chunks(2) {
            let lines = |photo: &Photograph| {
                font::wrap(&font::shown(&photo.about), wide, TEXT, look.weight)
            };
            let sizes: Vec<(f64, f64)> =
                pair.iter().map(|(_, raster)| within(raster, (wide, HIGHEST))).collect();
            let high = sizes.iter().map(|size| size.1).fold(0.0, f64::max);
            let most = pair.iter().map(|(photo, _)| lines(photo).len()).max().unwrap_or(0);
            let below = real(most) * TEXT * LEADING;
            self.need((high + below + 2.0 * GAP).min(self.high()));
            let top = self.y;
            for ((photo, raster), (column, size)) in
                pair.iter().zip((0..).map(f64::from).zip(sizes))
            {
                let x = Self::LEFT + column * (wide + GUTTER);
                let page = self.pages.len().saturating_sub(1);
                self.photos.push(Placed { page, at: (x, top), size, raster: raster.clone() });
                self.y = top + high + 2.0;
                for line in lines(photo) {
                    self.put(x, &line, look);
                    self.y += TEXT * LEADING;
                }
            }
            self.y = top + high + below + 2.0 * GAP;
        }
        for (photo, _) in others {
            let about = format!("{} (this photo is not on paper: see the page)", photo.about);
            self.hanging(("•", look), 9.0, &about, look);
        }
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
                self.put(x, &name, look);
                let date = x + wide * 0.68;
                self.put(date, "date", look);
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
            self.page().fill((Self::LEFT, top + 0.5), size, ink);
        }
        self.y -= 2.0;
    }

    fn command(&mut self, text: &str) {
        let look = Look::new(TEXT);
        let room = self.width() - 12.0;
        for line in font::wrap(&font::shown(text), room, TEXT, look.weight) {
            self.need(TEXT * LEADING + 2.0);
            let (y, wide) = (self.y, self.width());
            self.page().fill((Self::LEFT, y - 0.5), (wide, TEXT * LEADING + 0.5), Ink::Pale);
            self.put(Self::LEFT + 6.0, &line, look);
            self.y += TEXT * LEADING;
        }
        self.y -= 2.0;
    }

    /// Lines drawn with characters: each on its own cell, since the typeface is no typewriter's.
    fn drawing(&mut self, lines: &[String]) {
        let widest = lines.iter().map(|line| line.chars().count()).max().unwrap_or(1).max(1);
        let most = self.width() / real(widest);
        let cell = most.min(TEXT * 0.62);
        let look = Look::new(cell / 0.62).middle();
        for line in lines {
            self.need(look.size * LEADING);
            let mut x = Self::LEFT + cell / 2.0;
            for c in line.chars() {
                self.put(x, c.encode_utf8(&mut [0; 4]), look);
                x += cell;
            }
            self.y += look.size * LEADING;
        }
    }

    /// Numbers the pages.
    fn finish(mut self, title: &str) -> Vec<Picture> {
        let count = self.pages.len();
        let (left, right) = (Self::LEFT, Self::LEFT + self.width());
        let y = self.size.1 - MARGIN + 2.0;
        for (number, page) in (1..).zip(&mut self.pages) {
            let look = Look::new(SMALL).grey();
            page.text(
                (left, y),
                font::cut(title, right - left - 80.0, SMALL, Weight::Regular),
                look,
            );
            page.text((right, y), format!("page {number} of {count}"), look.end());
        }
        self.pages
    }
}
