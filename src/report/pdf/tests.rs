//! What holds for every page, whatever is on it.

use proptest::prelude::*;

use super::super::doc::{Align, Block, Doc, Table};
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
