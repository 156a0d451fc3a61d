//! What holds for every page, whatever is on it.

use proptest::prelude::*;

use super::super::doc::{Align, Bar, Block, Doc, NoticeKind, Table};
use super::super::figure::{Mark, font};
use super::super::properties::doc;
use super::flow::pages;
use super::tags::Role;
use super::*;

/// All text of the pages, in order.
fn texts(pages: &[Picture]) -> Vec<(usize, f64, String)> {
    let mut list = Vec::new();
    for (number, page) in pages.iter().enumerate() {
        for mark in &page.marks {
            if let Mark::Text { text, y, .. } = mark {
                list.push((number, *y, text.clone()));
            }
        }
    }
    list
}

#[test]
fn a_row_stays_on_one_page_and_the_head_comes_again() {
    let mut table = Table::new([("name", Align::Left), ("number", Align::Right)]);
    for n in 0..120 {
        let words = format!("row{n} {}", "some words to wrap over lines ".repeat(n % 12));
        table.rows.push(vec![words, format!("end{n}")]);
    }
    let mut doc = Doc::new("Long");
    doc.blocks.push(Block::Table(table));
    for paper in [Paper::A4, Paper::Letter] {
        let pages = pages(&doc, paper);
        assert!(pages.len() > 3);
        let texts = texts(&pages);
        let find = |wanted: &str| {
            let found = texts.iter().find(|(_, _, text)| text.split(' ').next() == Some(wanted));
            let (page, y, _) = found.expect("is there");
            (*page, *y)
        };
        for n in 0..120 {
            assert_eq!(find(&format!("row{n}")), find(&format!("end{n}")), "row {n}");
        }
        let heads = texts.iter().filter(|(_, _, text)| text == "number").count();
        assert_eq!(heads, pages.len());
    }
}

#[test]
fn a_row_higher_than_the_page_loses_nothing() {
    let mut table = Table::new([("a", Align::Left), ("b", Align::Left)]);
    let long: Vec<String> = (0..3000).map(|n| format!("w{n}")).collect();
    table.rows.push(vec![long.join(" "), "x".to_owned()]);
    let mut doc = Doc::new("High");
    doc.blocks.push(Block::Table(table));
    let pages = pages(&doc, Paper::A4);
    let all: Vec<String> = texts(&pages).into_iter().map(|(_, _, text)| text + " ").collect();
    let all = all.concat();
    for word in long {
        assert!(all.contains(&format!("{word} ")), "{word}");
    }
}

/// Kinds of block that can follow a heading, each with the word `after` first.
fn followers() -> Vec<Block> {
    let words = "after ".to_owned() + &"some words to wrap over lines ".repeat(12);
    let mut table = Table::new([("after", Align::Left), ("b", Align::Left)]);
    table.rows = vec![
        vec!["1".to_owned(), words.clone()],
        vec![String::new(), "goes on".to_owned()],
        vec!["2".to_owned(), words.clone()],
    ];
    vec![
        Block::Para(words.clone()),
        Block::List { ordered: false, items: vec![words.clone()] },
        Block::Table(table),
        Block::Fields(vec![("after".to_owned(), words.clone())]),
        Block::Bars(vec![Bar { label: words.clone(), value: 0.5, text: "50 %".to_owned() }]),
        Block::Notice(NoticeKind::Caution, words.clone()),
        Block::Command(words),
        Block::SignOff(vec!["after".to_owned()]),
    ]
}

#[test]
fn no_heading_and_no_line_that_leads_in_stands_alone_at_the_foot_of_a_page() {
    for filler in 50..75 {
        for follower in followers() {
            let mut doc = Doc::new("Foot");
            doc.blocks = vec![Block::Para("x".to_owned()); filler];
            doc.blocks.push(Block::Heading("heading".to_owned()));
            doc.blocks.push(Block::Para("it leads in:".to_owned()));
            doc.blocks.push(follower.clone());
            let texts = texts(&pages(&doc, Paper::A4));
            let page = |wanted: &str| {
                let found = texts.iter().find(|(.., t)| t.split(' ').any(|word| word == wanted));
                found.map(|(page, ..)| *page).expect("is there")
            };
            let at = [page("heading"), page("leads"), page("after")];
            assert!(at.iter().all(|p| *p == at[0]), "{at:?} {filler} {follower:?}");
        }
    }
}

#[test]
fn a_part_begins_a_page_and_the_foot_is_on_every_one() {
    let mut doc = Doc::new("Parts");
    doc.foot = "garage and car".to_owned();
    for part in ["one", "two"] {
        doc.blocks.push(Block::Part(part.to_owned()));
        doc.blocks.push(Block::Heading("same".to_owned()));
        doc.blocks.push(Block::Para("words".to_owned()));
    }
    let pages = pages(&doc, Paper::A4);
    let feet = texts(&pages).iter().filter(|(.., text)| text == "garage and car").count();
    assert_eq!((pages.len(), feet), (3, 3));
}

/// What is read aloud of a document: what each piece is, and its words.
fn read(doc: &Doc) -> Vec<(Role, String)> {
    let sheets = flow::with_full_size(doc, "", &[], Paper::A4);
    sheets.tags.read(&sheets.pages)
}

#[test]
fn what_is_read_aloud_is_in_order_and_says_what_it_is() {
    let mut table = Table::new([("name", Align::Left), ("number", Align::Right)]);
    table.rows = vec![vec!["first".to_owned(), "1".to_owned()]];
    let mut doc = Doc::new("Card");
    let field = |name: &str, value: &str| (name.to_owned(), value.to_owned());
    doc.blocks = vec![
        Block::Fields(vec![field("Vehicle", "van"), field("Plate", "ABC")]),
        Block::Part("For you".to_owned()),
        Block::Notice(NoticeKind::Caution, "hot".to_owned()),
        Block::List { ordered: true, items: vec!["look".to_owned()] },
        Block::Heading("Readings".to_owned()),
        Block::Table(table),
        Block::Bars(vec![Bar { label: "lead".to_owned(), value: 0.5, text: "50 %".to_owned() }]),
        Block::SignOff(vec!["Customer".to_owned()]),
    ];
    let told: Vec<String> = read(&doc)
        .into_iter()
        .map(|(role, text)| format!("{:?} {text}", role.standard()).trim_end().to_owned())
        .collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    Document
    H1 Card
    L
    LI
    Lbl Vehicle
    LBody van
    LI
    Lbl Plate
    LBody ABC
    Sect
    H2 For you
    P Caution: hot
    L
    LI
    Lbl 1.
    LBody look
    H3 Readings
    Table
    TR
    TH name
    TH number
    TR
    TD first
    TD 1
    L
    LI
    Lbl lead
    LBody 50 %
    P Customer date
    ");
}

#[test]
fn of_a_long_table_the_head_is_read_once() {
    let mut table = Table::new([("name", Align::Left), ("number", Align::Right)]);
    table.rows = (0..200).map(|n| vec![format!("row{n}"), n.to_string()]).collect();
    let mut doc = Doc::new("Long");
    doc.blocks.push(Block::Table(table));
    let told = read(&doc);
    let count = |role: &Role| told.iter().filter(|(other, _)| other == role).count();
    assert_eq!((count(&Role::Row), count(&Role::Head), count(&Role::Cell)), (201, 2, 400));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn no_word_on_paper_is_left_out_when_it_is_read_aloud(doc in doc()) {
        let sheets = flow::with_full_size(&doc, "", &[], Paper::A4);
        for (number, page) in sheets.pages.iter().enumerate() {
            let mut runs = sheets.tags.of(number).iter().peekable();
            prop_assert_eq!(runs.peek().map(|run| run.from), Some(0));
            while let Some(run) = runs.next() {
                let to = runs.peek().map_or(page.marks.len(), |next| next.from);
                let texts = page.marks[run.from..to].iter().filter_map(|mark| match mark {
                    Mark::Text { text, weight, .. } => Some((text, weight)),
                    _ => None,
                });
                for (text, weight) in texts {
                    // The foot is the last run; a head that comes again is bold.
                    let again = runs.peek().is_none() || *weight == font::Weight::Bold;
                    prop_assert!(run.element.is_some() || again, "{}", text);
                }
            }
        }
    }

    #[test]
    fn everything_stands_inside_the_paper(doc in doc(), letter in any::<bool>()) {
        let paper = if letter { Paper::Letter } else { Paper::A4 };
        let (width, height) = paper.size();
        for page in pages(&doc, paper) {
            for mark in &page.marks {
                match mark {
                    Mark::Text { x, y, text, size, weight, .. } => {
                        let long = font::width(text, *size, *weight);
                        prop_assert!(long <= width - 60.0, "{}", text);
                        prop_assert!(20.0 <= *x && *x <= width - 20.0);
                        prop_assert!(20.0 <= *y && *y <= height - 20.0, "{} {}", y, text);
                    }
                    Mark::Rect { x, y, w, h, .. } => {
                        prop_assert!(20.0 <= *x && x + w <= width - 20.0);
                        prop_assert!(20.0 <= *y && y + h <= height - 20.0);
                    }
                    _ => {}
                }
            }
        }
    }

    #[test]
    fn the_same_document_gives_the_same_bytes(doc in doc()) {
        let once = render(&doc, Paper::A4);
        prop_assert!(once.starts_with(b"%PDF-"));
        prop_assert_eq!(once, render(&doc, Paper::A4));
    }
}
