//! A document as Markdown with the usual tables.
//!
//! Foreign text comes out as text: every character that could start mark-up or HTML is
//! escaped, and nothing can leave its table cell or line.

use super::doc::{Align, Block, Doc, Table, clean, clean_line};

/// Cells of a picture's line.
const FIGURE: usize = 76;

/// Writes a document as Markdown.
#[must_use]
pub fn render(doc: &Doc) -> String {
    let mut out = format!("# {}\n", escape(&doc.title));
    let mut heading = "##";
    for block in &doc.blocks {
        out.push('\n');
        match block {
            Block::Part(text) => {
                heading = "###";
                line(&mut out, &format!("## {}", escape(text)));
            }
            Block::Heading(text) => line(&mut out, &format!("{heading} {}", escape(text))),
            Block::Para(text) | Block::Foot(text) => line(&mut out, &escape_start(text)),
            Block::List { ordered, items } => {
                for (number, item) in (1..).zip(items) {
                    let mark = if *ordered { format!("{number}.") } else { "-".to_owned() };
                    line(&mut out, &format!("{mark} {}", escape_start(item)));
                }
            }
            Block::Table(given) => table(&mut out, given),
            Block::Fields(fields) => {
                for (name, value) in fields {
                    line(&mut out, &format!("- **{}:** {}", escape(name), escape(value)));
                }
            }
            Block::Bars(bars) => {
                for bar in bars {
                    line(
                        &mut out,
                        &format!("- {}: {}", escape_start(&bar.label), escape(&bar.text)),
                    );
                }
            }
            Block::Figures(figures) => {
                for (index, figure) in figures.iter().enumerate() {
                    if index > 0 {
                        out.push('\n');
                    }
                    line(&mut out, &format!("**{}**", escape(&figure.title)));
                    out.push('\n');
                    fenced(&mut out, &figure.terminal(FIGURE));
                }
            }
            Block::Photos(photos) => {
                for photo in photos {
                    line(&mut out, &format!("- {}", escape_start(&photo.about)));
                }
            }
            Block::SignOff(names) => {
                for name in names {
                    let (long, short) = (".".repeat(36), ".".repeat(16));
                    line(&mut out, &format!("- {} {long} date {short}", escape_start(name)));
                }
            }
            Block::Notice(kind, text) => {
                line(&mut out, &format!("> **{}:** {}", kind.word(), escape(text)));
            }
            Block::Command(text) => fenced(&mut out, &[clean(text)]),
            Block::Drawing(lines) => {
                let lines: Vec<String> = lines.iter().map(|line| clean_line(line)).collect();
                fenced(&mut out, &lines);
            }
        }
    }
    out
}

fn line(out: &mut String, text: &str) {
    out.push_str(text.trim_end());
    out.push('\n');
}

fn table(out: &mut String, table: &Table) {
    let row = |out: &mut String, cells: Vec<String>| {
        line(out, &format!("| {} |", cells.join(" | ")));
    };
    let names = table.columns.iter().map(|(name, _)| escape(name));
    row(out, names.collect());
    let sides = table.columns.iter().map(|(_, align)| match align {
        Align::Left => "---".to_owned(),
        Align::Right => "---:".to_owned(),
    });
    row(out, sides.collect());
    for cells in &table.rows {
        let all = (0..table.columns.len())
            .map(|index| cells.get(index).map_or_else(String::new, |c| escape(c)));
        row(out, all.collect());
    }
}

/// A code block whose fence is longer than any run of backticks within.
fn fenced(out: &mut String, lines: &[String]) {
    let runs = lines.iter().flat_map(|text| text.split(|c| c != '`')).map(str::len);
    let fence = "`".repeat(3.max(runs.max().unwrap_or(0) + 1));
    line(out, &fence);
    for text in lines {
        line(out, text);
    }
    line(out, &fence);
}

/// Clean text at the start of a block, where a list, a rule or a heading could begin.
fn escape_start(text: &str) -> String {
    let text = escape(text);
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    match text.as_bytes().get(digits) {
        Some(b'-' | b'+' | b'=') if digits == 0 => format!("\\{text}"),
        Some(b'.' | b')') if digits > 0 => {
            format!("{}\\{}", &text[..digits], &text[digits..])
        }
        _ => text,
    }
}

/// Clean text with everything escaped that Markdown or HTML could take for mark-up in a line.
#[must_use]
pub fn escape(text: &str) -> String {
    let text = clean(text);
    let mut out = String::with_capacity(text.len() + 8);
    for (index, c) in text.char_indices() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            // Only these would make a link out of a bare address.
            ':' if text[index..].starts_with("://") => out.push_str("&#58;"),
            '.' if text[..index].to_ascii_lowercase().ends_with("www") => out.push_str("&#46;"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '#' | '|' | '~' | '$' => {
                out.push('\\');
                out.push(c);
            }
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{escape, escape_start};

    #[test]
    fn mark_up_comes_out_as_text() {
        for (given, expected) in [
            ("a|b", "a\\|b"),
            ("*bold* _it_ `code`", "\\*bold\\* \\_it\\_ \\`code\\`"),
            ("<script>&amp;", "&lt;script&gt;&amp;amp;"),
            ("at 2.5 mm - about", "at 2.5 mm - about"),
            ("line\n\nbreak", "line  break"),
            ("[x](http://y.z)", "\\[x\\](http&#58;//y.z)"),
            ("WWW.y.z", "WWW&#46;y.z"),
            ("back\\|slash", "back\\\\\\|slash"),
            ("+2", "+2"),
        ] {
            assert_eq!(escape(given), expected, "{given:?}");
        }
    }

    #[test]
    fn no_block_begins_by_accident() {
        for (given, expected) in [
            ("# no heading", "\\# no heading"),
            ("- no list", "\\- no list"),
            ("---", "\\---"),
            ("===", "\\==="),
            ("1. no list", "1\\. no list"),
            ("12) no list", "12\\) no list"),
            ("> no quote", "&gt; no quote"),
            ("2 mm", "2 mm"),
        ] {
            assert_eq!(escape_start(given), expected, "{given:?}");
        }
    }
}
