//! Every finding has a section in `docs/knowledge.md` that begins with its meaning and severity;
//! what a person wrote under that stays.

use std::fmt::Write;

use facts::knowledge::codes;
use facts::knowledge::finding::Severity;

use crate::{keep, top};

/// The line after which the page is made by this test.
const MARK: &str = "<!-- below this line: made from src/facts/knowledge/codes.rs -->\n";

/// What stands in a code's section after its first paragraph.
fn further<'a>(made: &'a str, code: &str) -> &'a str {
    let heading = format!("\n### {code}\n\n");
    let Some((_, section)) = made.split_once(&heading) else { return "" };
    let section = section.find("\n### ").map_or(section, |end| &section[..end]);
    section.split_once('\n').map_or("", |(_, rest)| rest)
}

#[test]
fn every_code_has_its_section() {
    let page = top().join("docs").join("knowledge.md");
    let found = std::fs::read_to_string(&page).expect("readable");
    let (written, made) = found.split_once(MARK).expect("the mark");
    let mut text = format!("{written}{MARK}");
    for code in codes::ALL {
        let severity = match code.severity {
            Severity::Error => "error: the knowledge base cannot be used",
            Severity::Warning => "warning: it can be used, and `knowledge check` still says yes",
            Severity::Note => "note",
        };
        let _ = write!(text, "\n### {}\n\n{} ({severity})\n", code.name, code.meaning);
        text += further(made, code.name);
    }
    keep(&page, &text);
}
