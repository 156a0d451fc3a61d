//! The last thing between any text and a terminal or a program.
//!
//! Pages are made harmless where they are rendered; this stands behind everything that is printed,
//! so that a name in a message, a line quoted from a damaged file or a string in a document cannot
//! move the cursor, set a title, colour what follows or turn the direction of writing.

use std::borrow::Cow;
use std::fmt::Write;

use pages::report::is_harmful;

fn stays(c: char) -> bool {
    matches!(c, '\n' | '\t') || !is_harmful(c)
}

/// Text without anything that a terminal obeys; what is taken out leaves `U+FFFD`.
pub(super) fn plain(text: &str) -> Cow<'_, str> {
    if text.chars().all(stays) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.chars().map(|c| if stays(c) { c } else { '\u{fffd}' }).collect())
}

/// The same, but for changes of style, of which our own pages are full.
pub(super) fn styled(text: &str) -> Cow<'_, str> {
    if text.chars().all(stays) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find('\u{1b}') {
        out.push_str(&plain(&rest[..at]));
        let behind = &rest[at..];
        let length = style(behind).unwrap_or(0);
        out.push_str(&behind[..length]);
        rest = &behind[length..];
        if length == 0 {
            out.push('\u{fffd}');
            rest = &rest[1..];
        }
    }
    out.push_str(&plain(rest));
    Cow::Owned(out)
}

/// Bytes of a change of style at the start of the text, if there is one that hides nothing.
fn style(text: &str) -> Option<usize> {
    let inner = text.strip_prefix("\u{1b}[")?;
    let end = inner.find(|c: char| !c.is_ascii_digit() && c != ';')?;
    let mut codes = inner[..end].split(';');
    while let Some(code) = codes.next() {
        match code {
            // A colour of many, by number.
            "38" | "48" if codes.next() == Some("5") => {
                codes.next();
            }
            // Reset, bold, faint, italic, underlined; the eight colours and the bright eight.
            "" | "0" | "1" | "2" | "3" | "4" | "22" | "23" | "24" | "39" | "49" => {}
            code if matches!(code.parse(), Ok(30..=37 | 40..=47 | 90..=97)) => {}
            _ => return None,
        }
    }
    inner[end..].starts_with('m').then_some(2 + end + 1)
}

/// A JSON document whose strings hold nothing that a terminal obeys: such characters are written
/// as escapes, which a program reads as what they were.
pub(super) fn document(json: &str) -> Cow<'_, str> {
    if json.chars().all(stays) {
        return Cow::Borrowed(json);
    }
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        if stays(c) {
            out.push(c);
        } else {
            let mut units = [0; 2];
            for unit in c.encode_utf16(&mut units) {
                // Writing to a string cannot fail.
                let _ = write!(out, "\\u{unit:04x}");
            }
        }
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn only_styles_come_through() {
        for (given, expected) in [
            ("plain\n\ttext °C", "plain\n\ttext °C"),
            ("\u{1b}[1;31mred\u{1b}[0m", "\u{1b}[1;31mred\u{1b}[0m"),
            ("\u{1b}]0;title\u{7}", "\u{fffd}]0;title\u{fffd}"),
            ("\u{1b}[2Jgone", "\u{fffd}[2Jgone"),
            ("\u{1b}[1;8mhidden", "\u{fffd}[1;8mhidden"),
            ("\u{1b}[38;5;8mgrey", "\u{1b}[38;5;8mgrey"),
            ("\u{1b}[?25l", "\u{fffd}[?25l"),
            ("\u{1b}P1$r\u{1b}\\", "\u{fffd}P1$r\u{fffd}\\"),
            ("\u{9b}31m", "\u{fffd}31m"),
            ("back\rwards", "back\u{fffd}wards"),
            ("turned\u{202e}round", "turned\u{fffd}round"),
            ("\u{1b}", "\u{fffd}"),
            ("\u{1b}[1", "\u{fffd}[1"),
        ] {
            assert_eq!(styled(given), expected, "{given:?}");
        }
        assert_eq!(plain("\u{1b}[1;31mred"), "\u{fffd}[1;31mred");
    }

    proptest! {
        #[test]
        fn nothing_else_comes_through(text in any::<String>(), code in "\u{1b}[\\[\\]0-9;mJH]{0,9}") {
            let whole = format!("{text}{code}{text}");
            prop_assert!(plain(&whole).chars().all(stays));
            let out = styled(&whole);
            let unstyled = out.split('\u{1b}').skip(1).all(|piece| {
                style(&format!("\u{1b}{piece}")).is_some()
            });
            prop_assert!(unstyled, "{out:?}");
        }

        #[test]
        fn a_document_says_the_same_to_a_program(text in any::<String>()) {
            let json = serde_json::to_string(&text).expect("JSON");
            let out = document(&json);
            prop_assert!(out.chars().all(stays));
            prop_assert_eq!(serde_json::from_str::<String>(&out).expect("JSON"), text);
        }
    }
}
