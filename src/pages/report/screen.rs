//! A page cut to one screen: what can wait is left out, and where it is found is said.
//!
//! Either a page is made for the screen, part by part with what goes first where room is short
//! ([`Screen`]), or a whole page is cut from its end ([`cut`]). What stays does not depend on the
//! reader's terminal: it is measured at the usual width.

use super::doc::{Block, Doc, NoticeKind};
use super::style::Style;
use super::text;

/// Lines of a usual terminal, less the line that was typed and the prompt that follows.
pub const LINES: usize = 22;
/// Rows of a table or a list that are left when others were cut.
const LEAST: usize = 3;

/// Blocks that stay or go together.
#[derive(Clone)]
struct Part {
    /// The higher, the sooner it goes; nought stays.
    goes: u8,
    blocks: Vec<Block>,
    stays: bool,
    /// What stands in its place before it goes altogether.
    shorter: Vec<Vec<Block>>,
}

/// A page made for the screen.
pub(super) struct Screen {
    title: String,
    parts: Vec<Part>,
}

impl Screen {
    pub(super) fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), parts: Vec::new() }
    }

    /// Adds what stays.
    pub(super) fn must(&mut self, fill: impl FnOnce(&mut Doc)) {
        self.may(0, fill);
    }

    /// Adds what goes where room is short: the highest number first.
    pub(super) fn may(&mut self, goes: u8, fill: impl FnOnce(&mut Doc)) {
        self.parts.push(Part { goes, blocks: filled(fill), stays: goes == 0, shorter: Vec::new() });
    }

    /// A shorter form of the part added last, taken before it goes, or in its place if it stays.
    /// The longest comes first.
    pub(super) fn or(&mut self, fill: impl FnOnce(&mut Doc)) {
        if let Some(part) = self.parts.last_mut() {
            part.shorter.push(filled(fill));
        }
    }

    /// The part added last never goes altogether: its shortest form stays.
    pub(super) fn keep(&mut self) {
        if let Some(part) = self.parts.last_mut() {
            part.stays = true;
        }
    }

    /// The page, in at most so many lines if that can be; `foot` stands below it.
    pub(super) fn page(mut self, lines: usize, foot: &str) -> Doc {
        for part in &mut self.parts {
            part.shorter.reverse();
        }
        // What can wait goes before the empty lines do, and these before what should stay.
        for (least, tight) in [(1, false), (0, true)] {
            loop {
                let doc = self.doc(foot, tight);
                if height(&doc) <= lines {
                    return doc;
                }
                if !self.shorten(least) {
                    break;
                }
            }
        }
        cut_rows(self.doc(foot, true), lines, 1).0
    }

    fn doc(&self, foot: &str, tight: bool) -> Doc {
        let mut doc = Doc::new(self.title.clone());
        doc.tight = tight;
        doc.blocks = self.parts.iter().flat_map(|part| part.blocks.iter().cloned()).collect();
        add_foot(&mut doc, foot);
        doc
    }

    /// Takes one step back in what goes so soon at least; false when there is none left.
    fn shorten(&mut self, least: u8) -> bool {
        // Of two that go equally soon the lower one goes first.
        let able = self.parts.iter().enumerate();
        let able = able
            .filter(|(_, part)| part.goes >= least && (!part.stays || !part.shorter.is_empty()));
        let Some((at, _)) = able.max_by_key(|(at, part)| (part.goes, *at)) else { return false };
        match self.parts[at].shorter.pop() {
            Some(shorter) => self.parts[at].blocks = shorter,
            None => {
                self.parts.remove(at);
            }
        }
        true
    }
}

fn filled(fill: impl FnOnce(&mut Doc)) -> Vec<Block> {
    let mut doc = Doc::new("");
    fill(&mut doc);
    doc.blocks
}

fn height(doc: &Doc) -> usize {
    text::render(doc, text::USUAL_WIDTH, Style::Plain).lines().count()
}

fn add_foot(doc: &mut Doc, foot: &str) {
    if !foot.is_empty() {
        doc.blocks.push(Block::Foot(foot.to_owned()));
    }
}

/// A whole page in one screen, cut from its end where it is longer; `again` is what to type to see
/// all of it.
#[must_use]
pub fn cut(doc: &Doc, again: &str) -> Doc {
    if height(doc) <= LINES {
        return doc.clone();
    }
    let mut short = doc.clone();
    add_foot(&mut short, &format!("More: `{again}`."));
    // Empty lines go first, then what is said below the tables, then rows, then what is left.
    short.tight = true;
    let lost = drop_from_end(&mut short, |block| rows(block) == 0);
    let (mut short, gone) = cut_rows(short, LINES, LEAST);
    let lost = drop_from_end(&mut short, |_| true) || lost;
    if let (false, true, Some(Block::Foot(foot))) = (lost, gone > 0, short.blocks.last_mut()) {
        *foot = format!("{gone} more: `{again}`.");
    }
    short.tight = false;
    if height(&short) > LINES {
        short.tight = true;
    }
    short
}

/// A page whose longest table grows at its end, in one screen: its first rows go, since what was entered last is what
/// is looked for. Where that is not enough it is cut as any other.
#[must_use]
pub fn newest(doc: &Doc, again: &str) -> Doc {
    if height(doc) <= LINES {
        return doc.clone();
    }
    let mut short = doc.clone();
    short.tight = true;
    add_foot(&mut short, &format!("0000 earlier: `{again}`."));
    let mut gone = 0;
    while height(&short) > LINES {
        let longest = short.blocks.iter_mut().max_by_key(|block| rows(block));
        let Some(Block::Table(table)) = longest.filter(|block| rows(block) > LEAST) else {
            return cut(doc, again);
        };
        table.rows.remove(0);
        gone += 1;
    }
    if let Some(Block::Foot(foot)) = short.blocks.last_mut() {
        *foot = format!("{gone} earlier: `{again}`.");
    }
    short
}

/// Drops blocks from the end as long as the page is too long, with headings that are left alone;
/// whether any went. What hurts stays, and so do the first block and the foot.
fn drop_from_end(doc: &mut Doc, may_go: impl Fn(&Block) -> bool) -> bool {
    let stays = |block: &Block| {
        matches!(
            block,
            Block::Heading(_)
                | Block::Notice(NoticeKind::Stop | NoticeKind::Watch | NoticeKind::Caution, _)
        )
    };
    let mut any = false;
    while height(doc) > LINES {
        let last = doc.blocks.len().saturating_sub(1);
        let able = |&at: &usize| !stays(&doc.blocks[at]) && may_go(&doc.blocks[at]);
        let Some(at) = (1..last).rev().find(able) else { break };
        doc.blocks.remove(at);
        any = true;
        let next = doc.blocks.get(at);
        let alone = matches!(next, Some(Block::Heading(_) | Block::Foot(_)));
        if alone && matches!(doc.blocks.get(at - 1), Some(Block::Heading(_))) && at > 1 {
            doc.blocks.remove(at - 1);
        }
    }
    any
}

/// Cuts the longest table or list row by row; also how many rows went.
fn cut_rows(mut doc: Doc, lines: usize, least: usize) -> (Doc, usize) {
    let mut gone = 0;
    while height(&doc) > lines {
        let longest = doc.blocks.iter_mut().max_by_key(|block| rows(block));
        let Some(block) = longest.filter(|block| rows(block) > least) else { break };
        match block {
            Block::Table(table) => {
                table.rows.pop();
            }
            Block::List { items, .. } => {
                items.pop();
            }
            Block::Fields(fields) => {
                fields.pop();
            }
            Block::Bars(bars) => {
                bars.pop();
            }
            _ => break,
        }
        gone += 1;
    }
    (doc, gone)
}

fn rows(block: &Block) -> usize {
    match block {
        Block::Table(table) => table.rows.len(),
        Block::List { items, .. } => items.len(),
        Block::Fields(fields) => fields.len(),
        Block::Bars(bars) => bars.len(),
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::doc::{Align, Table};

    fn long(rows: usize) -> Doc {
        let mut doc = Doc::new("Jobs");
        let mut table = Table::new([("job", Align::Left)]);
        table.rows = (0..rows).map(|n| vec![n.to_string()]).collect();
        doc.table(table);
        doc
    }

    #[test]
    fn a_long_table_is_cut_and_its_rest_counted() {
        assert_eq!(cut(&long(18), "x"), long(18));
        let short = text::render(&cut(&long(40), "oddpot jobs --detail"), 80, Style::Plain);
        assert_eq!(short.lines().count(), LINES);
        assert!(short.ends_with("23 more: `oddpot jobs --detail`.\n"), "{short}");
    }

    #[test]
    fn of_what_grows_at_its_end_the_first_rows_go() {
        assert_eq!(newest(&long(18), "x"), long(18));
        let short = text::render(&newest(&long(40), "oddpot journal --detail"), 80, Style::Plain);
        assert!(short.lines().count() <= LINES);
        let last = short.lines().rev().nth(1);
        assert_eq!(last, Some("39"), "{short}");
        assert!(short.ends_with(" earlier: `oddpot journal --detail`.\n"), "{short}");
    }

    #[test]
    fn what_stops_the_engine_is_never_cut() {
        let mut doc = Doc::new("Page");
        doc.blocks = (0..30).map(|n| Block::Para(n.to_string())).collect();
        doc.first(Some((NoticeKind::Stop, "off".to_owned())));
        let short = text::render(&cut(&doc, "x"), 80, Style::Plain);
        assert!(short.starts_with("STOP: off\n"), "{short}");
        assert!(short.lines().count() <= LINES);
    }

    #[test]
    fn the_part_that_can_wait_longest_goes_first() {
        let mut screen = Screen::new("Page");
        screen.must(|doc| doc.para("one"));
        screen.may(1, |doc| doc.para("two"));
        screen.may(2, |doc| doc.bullets((0..9).map(|n| n.to_string()).collect()));
        screen.or(|doc| doc.para("few"));
        screen.must(|doc| doc.para("three"));
        screen.or(|doc| doc.para("3"));
        let page = |lines| {
            let mut again = Screen::new("Page");
            again.parts.extend(screen.parts.iter().map(Part::clone));
            text::render(&again.page(lines, "more"), 80, Style::Plain)
        };
        assert_eq!(page(11), "Page\n====\none\n\ntwo\n\nfew\n\nthree\n\nmore\n");
        assert_eq!(page(9), "Page\n====\none\n\ntwo\n\nthree\n\nmore\n");
        assert_eq!(page(5), "Page\n====\none\nthree\nmore\n");
    }
}
