//! The page to take in a log, and what was found in one.

use maud::{PreEscaped, html};

use super::frame::Frame;
use facts::knowledge::Points;
use pages::report::html::fragment;
use pages::report::{self, Block, NoticeKind, clean};

/// What became of a log.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Found {
    /// Why it was not taken, a line each.
    pub wrong: Vec<String>,
    /// What was entered.
    pub entered: Vec<String>,
    /// What is to be said besides.
    pub notes: Vec<String>,
    /// What is in it.
    pub shown: Vec<Block>,
}

/// The page; with what became of a log that was sent.
#[must_use]
pub fn page(found: &Found, points: &Points) -> String {
    let content = html! {
        main {
            h1 { "Take in a log" }
            @for (index, wrong) in found.wrong.iter().enumerate() {
                @if index == 0 {
                    p.notice role="alert" { strong { "Not taken:" } " " (clean(wrong)) }
                } @else {
                    p { (clean(wrong)) }
                }
            }
            @if !found.entered.is_empty() {
                section.said aria-label="What was entered" {
                    @for entry in &found.entered { p { (clean(entry)) } }
                }
            }
            @for note in &found.notes {
                (PreEscaped(fragment(&[Block::Notice(NoticeKind::Doubt, note.clone())])))
            }
            p { "A data log of this engine as a CSV file, of any logger. Where a point was held until the displays "
                "came to rest it becomes a set of readings, as with " code { "oddpot temps JOB --from FILE" } "." }
            form.answer method="post" action="/log" enctype="multipart/form-data" {
                label for="log" { "The log (CSV, at most 16 MB)" }
                input #log type="file" name="log" accept=".csv,.txt,.tsv,text/csv,text/plain" required;
                label for="at" { "The running point" }
                select #at name="at" {
                    option value="" { "as the log tells it" }
                    @for point in points.iter() {
                        option value=(point.as_str()) { (report::terms::point(point)) }
                    }
                }
                button.first name="do" value="enter" { "Enter what has settled" }
                button name="do" value="show" { "Show what is in it, and enter nothing" }
            }
            (PreEscaped(fragment(&found.shown)))
            p { a.plain href="/" { "To the session" } }
        }
    };
    Frame { title: "Take in a log", ..Frame::PLAIN }.around(&content)
}
