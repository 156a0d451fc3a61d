//! Breaking text into lines of a width in terminal cells.

use unicode_width::UnicodeWidthStr;

/// Cells that a text takes on a terminal.
pub(super) fn cells(text: &str) -> usize {
    text.width()
}

/// Breaks clean text into lines no wider than `width` (at least 2), at spaces where it can.
///
/// A unit stays with its number. Always gives a line, an empty one for empty text.
#[must_use]
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let width = width.max(2);
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in units_kept(text) {
        let longer = if line.is_empty() { word.clone() } else { format!("{line} {word}") };
        if cells(&longer) <= width {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        let mut pieces = split_hard(&word, width);
        line = pieces.pop().unwrap_or_default();
        lines.append(&mut pieces);
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// The widest piece of a text that wrapping will not break by choice.
pub(super) fn longest_word(text: &str) -> usize {
    units_kept(text).iter().map(|word| cells(word)).max().unwrap_or(0)
}

/// Words, with a unit joined to the number before it.
fn units_kept(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let bare = word.trim_end_matches([',', '.', ';', ':', ')']);
        match words.last_mut() {
            Some(last)
                if matches!(bare, "%" | "min" | "h" | "°C" | "°F")
                    && last.ends_with(|c: char| c.is_ascii_digit()) =>
            {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Cuts a word that is too wide; each piece has a character at least.
pub(super) fn split_hard(word: &str, width: usize) -> Vec<String> {
    let mut pieces = Vec::new();
    let mut piece = String::new();
    for c in word.chars() {
        piece.push(c);
        if cells(&piece) > width && piece.chars().count() > 1 {
            piece.pop();
            pieces.push(std::mem::replace(&mut piece, c.to_string()));
        }
    }
    if !piece.is_empty() {
        pieces.push(piece);
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_spaces_and_long_words_anywhere() {
        for (text, width, expected) in [
            ("", 10, vec![""]),
            ("look at the marks", 10, vec!["look at", "the marks"]),
            ("chain 87 % sure", 9, vec!["chain", "87 % sure"]),
            ("chain 87 % sure", 8, vec!["chain", "87 %", "sure"]),
            ("abcdefghij kl", 4, vec!["abcd", "efgh", "ij", "kl"]),
            ("温度温度", 5, vec!["温度", "温度"]),
        ] {
            assert_eq!(wrap(text, width), expected, "{text:?} at {width}");
        }
    }
}
