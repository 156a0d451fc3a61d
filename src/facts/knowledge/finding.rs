//! What is wrong with the knowledge base, as data, and how it is shown.
//!
//! Findings never stop anything by themselves; they are collected and judged by whoever
//! loaded. The same list is drawn with carets for people and as JSON for programs.

use std::ops::Range;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use serde::Serialize;
use serde_json::{Value, json};

use super::codes::Code;
use super::sources::SourceText;

/// How bad a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The knowledge base cannot be used.
    Error,
    /// It can be used, but something in it is of no use or misleads.
    Warning,
    /// Worth knowing.
    Note,
}

/// A stretch of a text and what is said about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// Name of the text.
    pub file: String,
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
    /// A few words; may be empty.
    pub text: String,
}

/// One thing that is wrong or odd.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Stable code, one of [`super::codes::ALL`].
    pub code: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, lower case, no full stop.
    pub message: String,
    /// Where, the most telling place first; empty when it is about no text in particular.
    pub labels: Vec<Label>,
    /// What to do.
    pub help: Option<String>,
}

impl Finding {
    /// A finding without place or help.
    #[must_use]
    pub fn new(code: Code, message: impl Into<String>) -> Self {
        Self {
            code: code.name,
            severity: code.severity,
            message: message.into(),
            labels: Vec::new(),
            help: None,
        }
    }

    /// Adds a place.
    #[must_use]
    pub fn at(mut self, file: &SourceText, range: Range<usize>, text: impl Into<String>) -> Self {
        self.labels.push(Label {
            file: file.name().to_owned(),
            start: range.start,
            end: range.end,
            text: text.into(),
        });
        self
    }

    /// Adds what to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// Whether any of them makes the knowledge base useless.
#[must_use]
pub fn any_error(findings: &[Finding]) -> bool {
    findings.iter().any(|f| f.severity == Severity::Error)
}

/// Puts findings in the order of the texts, then of the places in them, then of the codes.
pub(super) fn sort(findings: &mut [Finding]) {
    findings.sort_by(|a, b| {
        let key = |f: &Finding| {
            f.labels.first().map(|label| (label.file.clone(), label.start, label.end))
        };
        (key(a), a.code, &a.message).cmp(&(key(b), b.code, &b.message))
    });
}

/// Draws findings with file, line, column and caret, a blank line between two.
///
/// `files` are the texts that were loaded, in any order.
#[must_use]
pub fn render(findings: &[Finding], files: &[SourceText], colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let drawn: Vec<String> =
        findings.iter().map(|finding| renderer.render(&[group(finding, files)])).collect();
    if drawn.is_empty() { String::new() } else { drawn.join("\n\n") + "\n" }
}

fn group<'a>(finding: &'a Finding, files: &'a [SourceText]) -> Group<'a> {
    let level = match finding.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let mut group =
        Group::with_title(level.primary_title(finding.message.as_str()).id(finding.code));
    let mut shown: Vec<&str> = Vec::new();
    for (index, label) in finding.labels.iter().enumerate() {
        if shown.contains(&label.file.as_str()) {
            continue;
        }
        shown.push(&label.file);
        let Some(file) = files.iter().find(|file| file.name() == label.file) else {
            continue;
        };
        let same = finding.labels.iter().enumerate().filter(|(_, other)| other.file == label.file);
        let snippet =
            same.fold(Snippet::source(file.text()).path(file.name()), |snippet, (i, other)| {
                let kind = if i == 0 || i == index && index == 0 {
                    AnnotationKind::Primary
                } else {
                    AnnotationKind::Context
                };
                let mut annotation = kind.span(within(file.text(), other.start..other.end));
                if !other.text.is_empty() {
                    annotation = annotation.label(other.text.as_str());
                }
                snippet.annotation(annotation)
            });
        group = group.element(snippet);
    }
    if let Some(help) = &finding.help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    group
}

/// The range moved to character boundaries within the text, lest a wrong offset panic.
fn within(text: &str, range: Range<usize>) -> Range<usize> {
    let floor = |mut at: usize| {
        at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = floor(range.start);
    start..floor(range.end).max(start)
}

/// Line and column of an offset, both from 1, columns in characters.
#[must_use]
pub fn line_and_column(text: &str, offset: usize) -> (usize, usize) {
    let before = &text[..within(text, offset..offset).start];
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
}

/// Findings as JSON: code, severity, message, help, and labels with file, line and column.
#[must_use]
pub fn to_json(findings: &[Finding], files: &[SourceText]) -> Value {
    findings
        .iter()
        .map(|finding| {
            let labels: Vec<Value> = finding
                .labels
                .iter()
                .map(|label| {
                    let text = files
                        .iter()
                        .find(|file| file.name() == label.file)
                        .map_or("", SourceText::text);
                    let (line, column) = line_and_column(text, label.start);
                    json!({
                        "file": label.file, "line": line, "column": column,
                        "start": label.start, "end": label.end, "text": label.text,
                    })
                })
                .collect();
            json!({
                "code": finding.code, "severity": finding.severity,
                "message": finding.message, "labels": labels, "help": finding.help,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::codes;
    use super::*;

    #[test]
    fn columns_count_characters() {
        assert_eq!(line_and_column("a\n°C x", 6), (2, 4));
        assert_eq!(line_and_column("", 0), (1, 1));
    }

    #[test]
    fn a_wrong_offset_is_drawn_somewhere_and_does_not_panic() {
        let files = [SourceText::new("a.ron", "°C")];
        let finding = Finding::new(codes::SYNTAX, "odd").at(&files[0], 1..99, "here");
        assert!(render(&[finding], &files, false).contains("a.ron:1:1"));
    }

    #[test]
    fn labels_in_two_files_are_both_drawn_and_help_comes_last() {
        let files = [SourceText::new("a.ron", "one\ntwo"), SourceText::new("b.ron", "three")];
        let finding = Finding::new(codes::DUPLICATE_ID, "`two` is there twice")
            .at(&files[0], 4..7, "second")
            .at(&files[1], 0..5, "first")
            .help("rename one");
        insta::assert_snapshot!(render(&[finding], &files, false), @r#"
        error[duplicate-id]: `two` is there twice
         --> a.ron:2:1
          |
        2 | two
          | ^^^ second
          |
         ::: b.ron:1:1
          |
        1 | three
          | ----- first
          |
          = help: rename one
        "#);
    }
}
