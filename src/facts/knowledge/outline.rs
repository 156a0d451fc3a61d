//! Where the values of a RON text stand.
//!
//! Ron reads the values and forgets their places; this walks the brackets, commas and names
//! of the same text to find a place again once something is known to be wrong there. It
//! gives no value a meaning, accepts nonsense, and is run only when there is a finding.

use std::ops::Range;

/// A value's place and the places of what it holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Node {
    /// From the first to past the last character, brackets and variant name included.
    pub(super) range: Range<usize>,
    /// Whether it has brackets.
    bracketed: bool,
    parts: Vec<Part>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Part {
    name: Option<Range<usize>>,
    value: Node,
}

/// One step from a value to a value in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Step {
    /// The field of this name.
    Field(&'static str),
    /// The value at this position, from 0.
    Nth(usize),
}

impl Node {
    /// The innermost value that ends in a closing bracket at exactly this offset.
    pub(super) fn ending_at(&self, end: usize) -> Option<&Node> {
        let mut here = self;
        loop {
            if here.bracketed && here.range.end == end {
                return Some(here);
            }
            here = &here
                .parts
                .iter()
                .find(|part| part.value.range.end >= end && part.value.range.start < end)?
                .value;
        }
    }

    /// Follows steps as far as they lead, through a `Some(...)` that the author wrote.
    pub(super) fn follow(&self, text: &str, steps: &[Step]) -> &Node {
        let mut here = self;
        for step in steps {
            if let [only] = &here.parts[..]
                && text[here.range.clone()].starts_with("Some")
            {
                here = &only.value;
            }
            let part = match step {
                Step::Field(wanted) => here
                    .parts
                    .iter()
                    .find(|part| part.name.clone().is_some_and(|name| &text[name] == *wanted)),
                Step::Nth(n) => here.parts.get(*n),
            };
            match part {
                Some(part) => here = &part.value,
                None => break,
            }
        }
        here
    }
}

/// A piece of text that means something to the walker.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Open,
    Close,
    Comma,
    Colon,
    Value,
}

/// The next token at or after an offset, white space and comments skipped.
pub(super) fn token_at(text: &str, from: usize) -> Option<Range<usize>> {
    next_token(text, from).map(|(_, range)| range)
}

fn next_token(text: &str, mut at: usize) -> Option<(Kind, Range<usize>)> {
    loop {
        let rest = text.get(at..)?;
        let first = rest.chars().next()?;
        if first.is_whitespace() {
            at += first.len_utf8();
        } else if rest.starts_with("//") {
            at += rest.find('\n').unwrap_or(rest.len());
        } else if rest.starts_with("/*") {
            at += rest.find("*/").map_or(rest.len(), |end| end + 2);
        } else {
            let (kind, length) = measure(rest, first);
            return Some((kind, at..at + length));
        }
    }
}

/// Kind and length of the token that a text starts with.
fn measure(rest: &str, first: char) -> (Kind, usize) {
    match first {
        '(' | '[' | '{' => (Kind::Open, 1),
        ')' | ']' | '}' => (Kind::Close, 1),
        ',' => (Kind::Comma, 1),
        ':' => (Kind::Colon, 1),
        '"' => (Kind::Value, quoted(rest)),
        'r' if rest[1..].starts_with(['"', '#']) => (Kind::Value, raw_string(rest)),
        _ => {
            let end = rest
                .find(|c: char| c.is_whitespace() || "()[]{},:\"/".contains(c))
                .unwrap_or(rest.len());
            // A stray slash is a token of its own, or the walk would stand still.
            (Kind::Value, end.max(first.len_utf8()))
        }
    }
}

/// Length of a string with its quotes, to the end of the text if it is never closed.
fn quoted(rest: &str) -> usize {
    let mut escaped = false;
    for (at, c) in rest.char_indices().skip(1) {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return at + 1,
            _ => {}
        }
    }
    rest.len()
}

fn raw_string(rest: &str) -> usize {
    let hashes = rest[1..].chars().take_while(|&c| c == '#').count();
    let open = 1 + hashes + 1;
    let close = format!("\"{}", "#".repeat(hashes));
    rest.get(open..)
        .and_then(|body| body.find(&close))
        .map_or(rest.len(), |at| open + at + close.len())
}

/// A bracket that is open, and what was read in it.
struct Frame {
    start: usize,
    parts: Vec<Part>,
    name: Option<Range<usize>>,
    last: Option<Node>,
}

impl Frame {
    fn at(start: usize) -> Self {
        Self { start, parts: Vec::new(), name: None, last: None }
    }

    fn finish_part(&mut self) {
        let name = self.name.take();
        if let Some(value) = self.last.take() {
            self.parts.push(Part { name, value });
        }
    }

    fn close(mut self, end: usize) -> Node {
        self.finish_part();
        Node { range: self.start..end, bracketed: true, parts: self.parts }
    }
}

/// Depth at which the walk gives up: the RON reader does so at the same one.
const DEEPEST: usize = 128;

/// The places of a whole text. Brackets that are never closed end with it.
pub(super) fn outline(text: &str) -> Node {
    let mut open = Vec::new();
    let mut here = Frame::at(0);
    let mut at = 0;
    while let Some((kind, range)) = next_token(text, at) {
        at = range.end;
        if open.len() > DEEPEST {
            break;
        }
        match kind {
            Kind::Open => {
                // A word right before the bracket names the variant or struct.
                let start = here.last.take().map_or(range.start, |word| word.range.start);
                open.push(std::mem::replace(&mut here, Frame::at(start)));
            }
            Kind::Close => {
                if let Some(outer) = open.pop() {
                    let closed = std::mem::replace(&mut here, outer).close(at);
                    here.last = Some(closed);
                }
            }
            Kind::Comma => here.finish_part(),
            Kind::Colon => here.name = here.last.take().map(|word| word.range),
            Kind::Value => {
                here.last = Some(Node { range, bracketed: false, parts: Vec::new() });
            }
        }
    }
    while let Some(outer) = open.pop() {
        let closed = std::mem::replace(&mut here, outer).close(text.len());
        here.last = Some(closed);
    }
    match here.last.take() {
        Some(root) if here.parts.is_empty() => root,
        root => {
            here.last = root;
            here.close(text.len())
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::Step::{Field, Nth};
    use super::*;

    const TEXT: &str = r#"(
    // a comment with ( and "
    rows: [
        (id: "a", name: "one, \"two\" (°C)", row: [0.5, 0.5], basis: computed("x")),
        ("b", r"raw \", /* [ */ -1e3),
    ],
)"#;

    fn found(steps: &[Step]) -> &'static str {
        &TEXT[outline(TEXT).follow(TEXT, steps).range.clone()]
    }

    #[test]
    fn steps_lead_to_the_value() {
        let rows = Field("rows");
        for (steps, expected) in [
            (&[rows, Nth(0), Field("id")][..], "\"a\""),
            (&[rows, Nth(0), Field("row"), Nth(1)], "0.5"),
            (&[rows, Nth(0), Field("basis")], "computed(\"x\")"),
            (&[rows, Nth(1), Nth(1)], "r\"raw \\\""),
            (&[rows, Nth(1), Nth(2)], "-1e3"),
        ] {
            assert_eq!(found(steps), expected, "{steps:?}");
        }
        assert_eq!(found(&[rows, Nth(1), Field("none")]), found(&[rows, Nth(1)]));
    }

    #[test]
    fn hashes_close_a_raw_string() {
        let text = "r#\"a\"b\"# x";
        assert_eq!(token_at(text, 0), Some(0..8));
        assert_eq!(token_at(text, 8), Some(9..10));
    }

    #[test]
    fn a_record_is_found_by_its_closing_bracket() {
        let root = outline(TEXT);
        let end = TEXT.find("-1e3)").expect("is there") + "-1e3)".len();
        let record = root.ending_at(end).expect("is there");
        assert!(TEXT[record.range.clone()].starts_with("(\"b\""));
        assert_eq!(root.ending_at(end + 1), None);
    }

    #[test]
    fn deep_nesting_does_not_exhaust_the_stack() {
        let root = outline(&"(".repeat(1_000_000));
        assert_eq!(root.range, 0..1_000_000);
    }

    proptest! {
        #[test]
        fn any_text_has_an_outline_within_it(text in "[()\\[\\]{},:\"/*r#a°\\\\ \n]{0,60}") {
            let root = outline(&text);
            prop_assert!(root.range.end <= text.len());
            prop_assert!(text.get(root.range.clone()).is_some());
        }
    }
}
