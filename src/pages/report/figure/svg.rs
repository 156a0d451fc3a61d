//! A figure as SVG: for a page, or as a file of its own.
//!
//! Title and description come first, so that a screen reader speaks them. No script, no style
//! sheet, no font file: the typeface is named with its likes.

use std::fmt::Write;

use super::font::Weight;
use super::{Anchor, Figure, Ink, Mark, Picture, Stroke};

/// The typeface of pictures, and what comes near where it is missing.
const FAMILY: &str = "'DejaVu Sans',Verdana,sans-serif";

/// A figure for a page; `id` is no other's on that page.
#[must_use]
pub fn inline(figure: &Figure, width: f64, id: &str) -> String {
    document(&figure.title, &figure.desc, &figure.draw(width), id, false)
}

/// A figure as a file of its own.
#[must_use]
pub fn file(figure: &Figure, width: f64) -> String {
    let head = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";
    let body = document(&figure.title, &figure.desc, &figure.draw(width), "figure", true);
    format!("{head}{body}")
}

/// A picture as a file of its own that prints at its full size: widths are in points on paper too.
#[must_use]
pub fn full_size(title: &str, desc: &str, picture: &Picture) -> String {
    let (w, h) = (short(picture.width), short(picture.height));
    let size = format!("viewBox=\"0 0 {w} {h}\" width=\"{w}pt\" height=\"{h}pt\"");
    let mut out = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n".to_owned();
    head(&mut out, &size, (title, desc), "figure");
    for mark in &picture.marks {
        put(&mut out, mark);
    }
    out.push_str("</svg>\n");
    out
}

fn document(title: &str, desc: &str, picture: &Picture, id: &str, alone: bool) -> String {
    let mut out = String::new();
    let (w, h) = (short(picture.width), short(picture.height));
    // Alone the paper is drawn too, and the edge kept free of it.
    let (margin, size) = if alone {
        let (m, wide, high) = (10.0, picture.width + 20.0, picture.height + 20.0);
        let (wide, high) = (short(wide), short(high));
        (m, format!("viewBox=\"-10 -10 {wide} {high}\" width=\"{wide}\" height=\"{high}\""))
    } else {
        (0.0, format!("viewBox=\"0 0 {w} {h}\""))
    };
    head(&mut out, &size, (title, desc), id);
    if alone {
        let (x, wide, high) =
            (-margin, short(picture.width + 2.0 * margin), short(picture.height + 2.0 * margin));
        let _ = writeln!(
            out,
            "<rect x=\"{x}\" y=\"{x}\" width=\"{wide}\" height=\"{high}\" fill=\"{}\"/>",
            Ink::White.hex()
        );
    }
    for mark in &picture.marks {
        put(&mut out, mark);
    }
    out.push_str("</svg>\n");
    out
}

/// The element that holds everything, with what a screen reader speaks.
fn head(out: &mut String, size: &str, (title, desc): (&str, &str), id: &str) {
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" {size} role=\"img\" \
         aria-labelledby=\"{id}-title {id}-desc\" font-family=\"{FAMILY}\">\n\
         <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-desc\">{}</desc>",
        escaped(&super::super::doc::clean(title)),
        escaped(&super::super::doc::clean(desc)),
    );
}

fn put(out: &mut String, mark: &Mark) {
    let _ = match mark {
        Mark::Rect { x, y, w, h, fill, line } => writeln!(
            out,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"{}/>",
            short(*x),
            short(*y),
            short(*w),
            short(*h),
            look(*fill, *line)
        ),
        Mark::Circle { x, y, r, fill, line } => writeln!(
            out,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{}/>",
            short(*x),
            short(*y),
            short(*r),
            look(*fill, *line)
        ),
        Mark::Line { points, stroke } => {
            writeln!(out, "<polyline points=\"{}\"{}/>", list(points), look(None, Some(*stroke)))
        }
        Mark::Area { points, fill } => {
            writeln!(out, "<polygon points=\"{}\"{}/>", list(points), look(Some(*fill), None))
        }
        Mark::Text { x, y, text, size, weight, anchor, ink } => {
            let bold = if *weight == Weight::Bold { " font-weight=\"bold\"" } else { "" };
            let anchor = match anchor {
                Anchor::Start => "",
                Anchor::Middle => " text-anchor=\"middle\"",
                Anchor::End => " text-anchor=\"end\"",
            };
            writeln!(
                out,
                "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{bold}{anchor} fill=\"{}\">{}</text>",
                short(*x),
                short(*y),
                short(*size),
                ink.hex(),
                escaped(text)
            )
        }
    };
}

fn look(fill: Option<Ink>, line: Option<Stroke>) -> String {
    let mut out =
        fill.map_or_else(|| " fill=\"none\"".to_owned(), |ink| format!(" fill=\"{}\"", ink.hex()));
    if let Some(stroke) = line {
        let _ = write!(
            out,
            " stroke=\"{}\" stroke-width=\"{}\"",
            stroke.ink.hex(),
            short(stroke.width)
        );
        if stroke.dashed {
            out.push_str(" stroke-dasharray=\"3 2\"");
        }
    }
    out
}

fn list(points: &[(f64, f64)]) -> String {
    let points: Vec<String> =
        points.iter().map(|&(x, y)| format!("{},{}", short(x), short(y))).collect();
    points.join(" ")
}

/// A length with at most two decimals.
pub(super) fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Text as XML takes it, in an element or in a quoted attribute.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // No XML, however it is written.
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_text_is_text() {
        assert_eq!([short(1.0), short(2.504), short(-0.001)], ["1", "2.5", "0"]);
        assert_eq!(escaped("<a b='c'>&\""), "&lt;a b=&#39;c&#39;&gt;&amp;&quot;");
    }
}
