//! A line of text as a code that a phone's camera reads, in characters and as a picture.

use std::fmt::Write as _;

use qrcodegen::{QrCode, QrCodeEcc};

/// Modules of white around the code, as cameras need them.
const QUIET: i32 = 2;

fn code(text: &str) -> Option<QrCode> {
    QrCode::encode_text(text, QrCodeEcc::Low).ok()
}

/// The code in half blocks for a terminal, two modules in a cell; white is drawn and black left out, since
/// most terminals are dark. Empty where the text is too long for a code.
#[must_use]
pub fn lines(text: &str) -> Vec<String> {
    let Some(code) = code(text) else { return Vec::new() };
    let size = code.size();
    let white = |x: i32, y: i32| y < size + QUIET && !code.get_module(x, y);
    (-QUIET..size + QUIET)
        .step_by(2)
        .map(|y| {
            (-QUIET..size + QUIET)
                .map(|x| match (white(x, y), white(x, y + 1)) {
                    (true, true) => '█',
                    (true, false) => '▀',
                    (false, true) => '▄',
                    (false, false) => ' ',
                })
                .collect()
        })
        .collect()
}

/// The code as a picture of one path, black on white whatever the page's colours are.
#[must_use]
pub fn svg(text: &str) -> String {
    let Some(code) = code(text) else { return String::new() };
    let whole = code.size() + 2 * 4;
    let mut path = String::new();
    for y in 0..code.size() {
        for x in (0..code.size()).filter(|&x| code.get_module(x, y)) {
            let _ = write!(path, "M{},{}h1v1h-1z", x + 4, y + 4);
        }
    }
    format!(
        "<svg class=\"qr\" viewBox=\"0 0 {whole} {whole}\" role=\"img\" aria-label=\"the same address as a code to scan\">\
         <path fill=\"#fefefe\" d=\"M0,0h{whole}v{whole}h-{whole}z\"/><path fill=\"#010101\" d=\"{path}\"/></svg>"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_square_and_the_same_each_time() {
        let text = "http://192.0.2.7:8137/in?key=0123456789abcdef0123456789abcdef";
        let drawn = lines(text);
        let width = drawn[0].chars().count();
        assert!(drawn.iter().all(|line| line.chars().count() == width));
        assert_eq!(drawn.len(), width.div_ceil(2));
        assert!(width <= 60, "{width} cells");
        assert_eq!(drawn, lines(text));
        assert!(svg(text).starts_with("<svg") && svg(text).len() < 30_000);
        assert!(lines(&"x".repeat(10_000)).is_empty() && svg(&"x".repeat(10_000)).is_empty());
    }
}
