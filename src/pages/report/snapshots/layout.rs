//! What colour and height may not change.

use crate::report::Doc;
use crate::report::Style;
use crate::report::sample;
use crate::report::text;

use super::{next_of, plain, suspects};

#[test]
fn colour_adds_escapes_and_takes_nothing_away() {
    let doc = next_of(&sample::advice(), &sample::timeline());
    let coloured = text::render(&doc, 80, Style::Colour);
    assert!(coloured.contains("\u{1b}[1m"), "the title is styled");
    let mut bare = String::new();
    let mut rest = coloured.as_str();
    while let Some((before, after)) = rest.split_once('\u{1b}') {
        bare.push_str(before);
        rest = after.split_once('m').expect("a whole escape").1;
    }
    bare.push_str(rest);
    assert_eq!(bare, plain(&doc));
}

#[test]
fn what_matters_stands_in_the_first_twenty_lines() {
    let head = |doc: &Doc| -> String {
        let text = plain(doc);
        text.lines().take(20).collect::<Vec<_>>().join("\n")
    };
    let suspects = head(&suspects());
    for needed in ["number is wrong", "74 %", "Channel of the box", "+54"] {
        assert!(suspects.contains(needed), "{needed}:\n{suspects}");
    }
    let next = head(&next_of(&sample::advice(), &sample::timeline()));
    for needed in ["Next: look at", "6 min", "Caution", "56 %", "alike within"] {
        assert!(next.contains(needed), "{needed}:\n{next}");
    }
}
