//! Turns what the RON reader says into findings in the words of a knowledge author.
//!
//! The reader stops at the first error of a file and points at a place near it; this moves
//! the place onto the thing that is wrong, writes the sentence and offers the nearest name.

use std::ops::Range;

use ron::error::{Error, Position, SpannedError};

use super::codes::{self, Code};
use super::finding::Finding;
use super::outline::{outline, token_at};
use super::sources::SourceText;
use measure::names::nearest;

/// The finding for a text that could not be read.
pub(super) fn explain(file: &SourceText, error: &SpannedError) -> Finding {
    let text = file.text();
    let span = offset(text, error.span.start)..offset(text, error.span.end);
    match &error.code {
        Error::NoSuchStructField { expected, found, .. } => {
            let finding = Finding::new(codes::UNKNOWN_FIELD, format!("unknown field `{found}`"))
                .at(file, word(text, &span, found), "no such field here");
            with_names(finding, found, expected)
        }
        Error::NoSuchEnumVariant { expected, found, .. } => {
            let finding = Finding::new(codes::UNKNOWN_WORD, format!("unknown word `{found}`")).at(
                file,
                word(text, &span, found),
                "not allowed here",
            );
            with_names(finding, found, expected)
        }
        Error::MissingStructField { field, .. } => missing(file, field, span.end),
        Error::DuplicateStructField { field, .. } => {
            Finding::new(codes::DUPLICATE_FIELD, format!("field `{field}` is written twice"))
                .at(file, word(text, &span, field), "second time")
                .help("keep one of the two")
        }
        Error::Message(message) => from_message(file, message, &span),
        other => from_shape(file, other, &span),
    }
}

fn missing(file: &SourceText, field: &str, end: usize) -> Finding {
    let range = record_closed_at(file.text(), end);
    if field.ends_with("basis") {
        Finding::new(
            codes::MISSING_BASIS,
            format!("field `{field}` is missing: nothing says where these numbers come from"),
        )
        .at(file, range, "numbers without a basis")
        .help(BASIS_HELP)
    } else {
        Finding::new(codes::MISSING_FIELD, format!("field `{field}` is missing"))
            .at(file, range, format!("has no `{field}`"))
            .help(format!("add `{field}: ...`"))
    }
}

/// The record whose closing bracket stands at the offset: ron stops right before it.
fn record_closed_at(text: &str, at: usize) -> Range<usize> {
    let root = outline(text);
    let node = root.ending_at(at + 1);
    node.map_or_else(|| near(text, at), |node| node.range.clone())
}

/// How to write a basis.
pub(super) const BASIS_HELP: &str = "write `source(\"id\")`, `computed(\"how\")`, `practice` \
                                     (common practice, no source) or `memory`";

/// Sentences of our own readers, and of serde for tuples of a wrong length.
fn from_message(file: &SourceText, message: &str, span: &Range<usize>) -> Finding {
    let text = file.text();
    if let Some((said, allowed)) = message.split_once(": expected one of ") {
        let range = near(text, span.start);
        let found = text[range.clone()].trim_matches('"');
        let names: Vec<&str> = allowed.split(", ").collect();
        let finding = Finding::new(codes::UNKNOWN_WORD, said).at(file, range, "not allowed here");
        return with_names(finding, found, &names);
    }
    Finding::new(codes::WRONG_TYPE, message.to_lowercase()).at(file, near(text, span.start), "")
}

fn from_shape(file: &SourceText, error: &Error, span: &Range<usize>) -> Finding {
    let text = file.text();
    let (code, message, range): (Code, String, Range<usize>) = match error {
        Error::ExpectedDifferentLength { expected, found } => {
            different_length(text, span, expected, *found)
        }
        Error::UnclosedBlockComment => {
            let start = text[..span.end].rfind("/*").unwrap_or(span.start);
            let message = "a comment that starts here is never closed".to_owned();
            (codes::SYNTAX, message, start..text.len())
        }
        Error::ExpectedStringEnd => shape(text, span, "a string that starts here is never closed"),

        _ if text.trim().is_empty() => shape(text, span, "the text is empty"),
        _ if token_at(text, span.end).is_none() => {
            shape(text, span, "the text ends before its last bracket is closed")
        }
        Error::ExpectedArray => wrong(text, span, "a list in square brackets"),
        Error::ExpectedBoolean => wrong(text, span, "`true` or `false`"),
        Error::ExpectedFloat | Error::FloatUnderscore => wrong(text, span, "a number"),
        Error::ExpectedInteger | Error::InvalidIntegerDigit { .. } => {
            wrong(text, span, "a whole number")
        }
        Error::IntegerOutOfBounds => {
            wrong(text, &(span.start..span.start), "a whole number from 0 to 255")
        }
        Error::ExpectedString => wrong(text, span, "text in double quotes"),
        Error::ExpectedOption => wrong(text, span, "a value or `None`"),
        Error::ExpectedStructLike | Error::ExpectedNamedStructLike(_) => {
            wrong(text, span, "a record in round brackets")
        }
        Error::ExpectedIdentifier => wrong(text, span, "a name"),

        Error::InvalidValueForType { expected, .. } => {
            let wanted =
                if expected == "a borrowed string" { "an id without escapes" } else { expected };
            wrong(text, &(span.start..span.start), wanted)
        }
        Error::ExpectedComma if near(text, span.start).start < span.start => {
            // The reader took the start of it for a value of the kind it wanted.
            let range = near(text, span.start);
            let message = format!("`{}` is no value of the kind wanted here", &text[range.clone()]);
            (codes::WRONG_TYPE, message, range)
        }
        Error::ExpectedComma => shape(text, span, "a comma is missing before this"),
        Error::ExpectedArrayEnd => shape(text, span, "`]` or a comma is missing before this"),
        Error::ExpectedStructLikeEnd | Error::ExpectedOptionEnd => {
            shape(text, span, "`)` is missing before this, or there is one value too many")
        }
        Error::ExpectedMapColon => shape(text, span, "a colon is missing before this"),
        Error::TrailingCharacters => shape(text, span, "nothing may follow the closing bracket"),
        Error::Eof => shape(text, span, "the text ends before its last bracket is closed"),
        Error::UnexpectedChar(c) => shape(text, span, &format!("`{c}` has no place here")),
        Error::ExceededRecursionLimit => shape(text, span, "brackets are nested too deep"),
        other => shape(text, span, &other.to_string().to_lowercase()),
    };
    let finding = Finding::new(code, message).at(file, range, "");
    if code == codes::MISSING_BASIS { finding.help(BASIS_HELP) } else { finding }
}

/// A tuple with too few values. Every tuple that holds numbers ends with their basis, so
/// where the last value is a number or a list, that is what was left out.
fn different_length(
    text: &str,
    span: &Range<usize>,
    expected: &str,
    found: usize,
) -> (Code, String, Range<usize>) {
    let range = record_closed_at(text, span.end);
    let record = &text[range.clone()];
    let last = record.trim_end_matches(|c: char| c == ')' || c == ',' || c.is_whitespace());
    let no_basis =
        record.starts_with("(\"") && last.ends_with(|c: char| c.is_ascii_digit() || c == ']');
    let code = if no_basis { codes::MISSING_BASIS } else { codes::WRONG_TYPE };
    let wanted = expected.trim_start_matches("a tuple of size ");
    (code, format!("{wanted} values wanted in these brackets, {found} given"), range)
}

fn wrong(text: &str, span: &Range<usize>, wanted: &str) -> (Code, String, Range<usize>) {
    let range = near(text, span.end);
    let found = &text[range.clone()];
    let message = if found.is_empty() {
        format!("{wanted} wanted, but the text ends")
    } else {
        format!("{wanted} wanted, `{found}` found")
    };
    (codes::WRONG_TYPE, message, range)
}

fn shape(text: &str, span: &Range<usize>, message: &str) -> (Code, String, Range<usize>) {
    (codes::SYNTAX, message.to_owned(), near(text, span.start))
}

fn with_names(finding: Finding, found: &str, allowed: &[&str]) -> Finding {
    match nearest(found, allowed.iter().copied()) {
        Some(name) => finding.help(format!("did you mean `{name}`?")),
        None if allowed.is_empty() => finding,
        None => finding.help(format!("one of {} is allowed", allowed.join(", "))),
    }
}

/// The token at an offset or after it; at the end of the text the last token.
///
/// The reader's spans for a wrong value start a character early and end in the value, those
/// for a missing comma are empty, so the next token is what an author should look at.
fn near(text: &str, at: usize) -> Range<usize> {
    let start = text[..at]
        .rfind(|c: char| !(c.is_alphanumeric() || "_-+.\"".contains(c)))
        .map_or(0, |before| before + text[before..].chars().next().map_or(1, char::len_utf8));
    // Only step back into a token that the offset cuts.
    let cut = token_at(text, start).filter(|token| token.start < at && at < token.end);
    cut.or_else(|| token_at(text, at)).unwrap_or_else(|| {
        let end = text.trim_end().len();
        end.saturating_sub(1).max(floor_boundary(text, end))..end
    })
}

fn floor_boundary(text: &str, end: usize) -> usize {
    text[..end].char_indices().next_back().map_or(0, |(at, _)| at)
}

/// The first place of a word within the span, or the token near it.
fn word(text: &str, span: &Range<usize>, word: &str) -> Range<usize> {
    text.get(span.clone())
        .and_then(|part| part.find(word))
        .map_or_else(|| near(text, span.start), |at| span.start + at..span.start + at + word.len())
}

/// Byte offset of a position; ron counts lines and columns from 1, columns in characters.
fn offset(text: &str, position: Position) -> usize {
    let line_start = text
        .split_inclusive('\n')
        .take(position.line.saturating_sub(1))
        .map(str::len)
        .sum::<usize>();
    text[line_start..]
        .char_indices()
        .nth(position.col.saturating_sub(1))
        .map_or(text.len(), |(at, _)| line_start + at)
}

#[cfg(test)]
mod tests {
    use super::super::file::{CausesFile, ModelFile, SetupsFile};
    use super::super::finding::{line_and_column, render};
    use super::*;

    fn options() -> ron::Options {
        super::super::load::options()
    }

    /// Code, line, column and stretch of the first error.
    fn seen(text: &str) -> String {
        let file = SourceText::new("x.ron", text.to_owned());
        let error = options().from_str::<Small>(file.text()).expect_err("refused");
        shown(&file, &error)
    }

    fn shown(file: &SourceText, error: &SpannedError) -> String {
        let finding = explain(file, error);
        let label = &finding.labels[0];
        let (line, column) = line_and_column(file.text(), label.start);
        format!(
            "{} {line}:{column} `{}` {} | {}",
            finding.code,
            &file.text()[label.start..label.end],
            finding.message,
            finding.help.unwrap_or_default(),
        )
    }

    #[derive(Debug, serde::Deserialize)]
    #[serde(deny_unknown_fields)]
    #[expect(dead_code, reason = "only read into")]
    struct Small {
        name: String,
        size: f64,
        #[serde(default)]
        count: u8,
        #[serde(default)]
        list: Vec<f64>,
        #[serde(default)]
        pair: Option<(f64, f64)>,
    }

    #[test]
    fn each_way_to_break_a_text_points_at_the_thing() {
        let cases = [
            r#"(name: "°C", sise: 1)"#,
            r#"(name: "°C", size: "x")"#,
            r#"(name: "a", size: 1, count: 300)"#,
            r#"(name: "a", size: 1, count: -1)"#,
            r#"(name: "a", size: 1, count: 1.5)"#,
            r#"(name: "a", size: 1, name: "b")"#,
            r#"(name: "a")"#,
            "(name: a, size: 1)",
            r#"(name: "a" size: 1)"#,
            r#"(name: "a", size: 1, list: [1 2])"#,
            r#"(name: "a", size: 1, list: [1, 2)"#,
            r#"(name: "a", size: 1, list: 3)"#,
            r#"(name: "a", size: 1, pair: (1, 2, 3))"#,
            r#"(name: "a", size: 1, pair: (1))"#,
            r#"(name: "a", size: 1, pair: 3)"#,
            r#"(name: "a", size: 1"#,
            r#"(name: "a, size: 1)"#,
            r#"(name: "a", size: 1) x"#,
            "",
            "[]",
            "(name: \"a\", size: 1, /* ",
        ];
        let all: Vec<String> =
            cases.iter().map(|case| format!("{case}\n  {}", seen(case))).collect();
        insta::assert_snapshot!(all.join("\n"), @r#"
        (name: "°C", sise: 1)
          unknown-field 1:14 `sise` unknown field `sise` | did you mean `size`?
        (name: "°C", size: "x")
          wrong-type 1:20 `"x"` a number wanted, `"x"` found | 
        (name: "a", size: 1, count: 300)
          wrong-type 1:29 `300` a whole number from 0 to 255 wanted, `300` found | 
        (name: "a", size: 1, count: -1)
          wrong-type 1:29 `-1` a whole number from 0 to 255 wanted, `-1` found | 
        (name: "a", size: 1, count: 1.5)
          wrong-type 1:29 `1.5` `1.5` is no value of the kind wanted here | 
        (name: "a", size: 1, name: "b")
          duplicate-field 1:22 `name` field `name` is written twice | keep one of the two
        (name: "a")
          missing-field 1:1 `(name: "a")` field `size` is missing | add `size: ...`
        (name: a, size: 1)
          wrong-type 1:8 `a` text in double quotes wanted, `a` found | 
        (name: "a" size: 1)
          syntax 1:12 `size` a comma is missing before this | 
        (name: "a", size: 1, list: [1 2])
          syntax 1:31 `2` a comma is missing before this | 
        (name: "a", size: 1, list: [1, 2)
          syntax 1:33 `)` a comma is missing before this | 
        (name: "a", size: 1, list: 3)
          wrong-type 1:28 `3` a list in square brackets wanted, `3` found | 
        (name: "a", size: 1, pair: (1, 2, 3))
          syntax 1:35 `3` `)` is missing before this, or there is one value too many | 
        (name: "a", size: 1, pair: (1))
          wrong-type 1:28 `(1)` 2 values wanted in these brackets, 1 given | 
        (name: "a", size: 1, pair: 3)
          wrong-type 1:28 `3` a record in round brackets wanted, `3` found | 
        (name: "a", size: 1
          syntax 1:19 `1` the text ends before its last bracket is closed | 
        (name: "a, size: 1)
          syntax 1:8 `"a, size: 1)` a string that starts here is never closed | 
        (name: "a", size: 1) x
          syntax 1:22 `x` nothing may follow the closing bracket | 

          syntax 1:1 `` the text is empty | 
        []
          wrong-type 1:1 `[` a record in round brackets wanted, `[` found | 
        (name: "a", size: 1, /* 
          syntax 1:22 `/* ` a comment that starts here is never closed |
        "#);
    }

    #[test]
    fn words_of_closed_lists_and_bases_are_explained() {
        let model = |text: &str| {
            let file = SourceText::new("x.ron", text.to_owned());
            let error = options().from_str::<ModelFile>(file.text()).expect_err("refused");
            shown(&file, &error)
        };
        let setups = |text: &str| {
            let file = SourceText::new("x.ron", text.to_owned());
            let error = options().from_str::<SetupsFile>(file.text()).expect_err("refused");
            shown(&file, &error)
        };
        let all = [
            model(r#"(constants: [("floor", [0.01], practise)])"#),
            model(r#"(constants: [("floor", [0.01])])"#),
            model(r#"(constants: [("floor", [0.01], source(5))])"#),
            model(r#"(constants: [("fl\"oor", [0.01], practice)])"#),
            setups(r#"(changes: [("cold", "hott", 1, 2, practice)])"#),
            setups(r#"(changes: [("cold", "quantum", 1, 2, practice)])"#),
            setups(r#"(parts: [("none", 0)])"#),
        ];
        insta::assert_snapshot!(all.join("\n"), @r#"
        unknown-word 1:32 `practise` unknown word `practise` | did you mean `practice`?
        missing-basis 1:14 `("floor", [0.01])` 3 values wanted in these brackets, 2 given | write `source("id")`, `computed("how")`, `practice` (common practice, no source) or `memory`
        wrong-type 1:39 `5` text in double quotes wanted, `5` found | 
        wrong-type 1:19 `"oor"` an id without escapes wanted, `"oor"` found | 
        unknown-word 1:21 `"hott"` unknown engine state `hott` | did you mean `hot`?
        unknown-word 1:21 `"quantum"` unknown engine state `quantum` | one of cold-soaked, cold, cool, hot, idle, cruise, full is allowed
        missing-basis 1:10 `("none", 0)` 3 values wanted in these brackets, 2 given | write `source("id")`, `computed("how")`, `practice` (common practice, no source) or `memory`
        "#);
    }

    #[test]
    fn a_missing_field_labels_its_whole_record() {
        let text = "(causes: [\n    (\n        id: \"a\",\n        name: \"A\",\n    ),\n])";
        let file = SourceText::new("causes/x.ron", text);
        let error = options().from_str::<CausesFile>(file.text()).expect_err("refused");
        insta::assert_snapshot!(render(&[explain(&file, &error)], std::slice::from_ref(&file), false), @r#"
        error[missing-field]: field `what` is missing
         --> causes/x.ron:2:5
          |
        2 | /     (
        3 | |         id: "a",
        4 | |         name: "A",
        5 | |     ),
          | |_____^ has no `what`
          |
          = help: add `what: ...`
        "#);
    }
}
