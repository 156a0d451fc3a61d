//! What holds for every page, whatever is on it.

use proptest::prelude::*;

use super::super::doc::{Align, Bar, Block, Doc, NoticeKind, Table};
use super::super::figure::{Mark, font};
use super::super::properties::doc;
use super::flow::pages;
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

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

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
