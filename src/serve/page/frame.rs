//! What stands around the content of every page: its head, its style, its script.
//!
//! Style and script stand in the page and are named by their hashes, so that a page is one request and nothing
//! else runs in it. It must not know what a page says.

use std::sync::OnceLock;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::live;
use crate::serve::reply;
use pages::report::clean;
use pages::report::html::{STYLE as PAPER, head};

/// How a page in the hand looks, above what every page has.
const HAND: &str = include_str!("../page.css");

/// Number keys, search as it is typed, a look whether others entered something.
pub(super) const SCRIPT: &str = include_str!("../page.js");

pub(super) fn style() -> &'static str {
    static STYLE: OnceLock<String> = OnceLock::new();
    STYLE.get_or_init(|| format!("{PAPER}{HAND}"))
}

/// The part of the content policy that names style and script.
pub(in crate::serve) fn allowed() -> &'static str {
    static ALLOWED: OnceLock<String> = OnceLock::new();
    ALLOWED.get_or_init(|| {
        let (style, script) = (reply::hash(style()), reply::hash(SCRIPT));
        format!("; style-src '{style}'; script-src '{script}'")
    })
}

/// What stands in a page besides its content.
pub(super) struct Frame<'a> {
    pub(super) title: &'a str,
    /// Seconds after which it is asked for again where no script does it.
    pub(super) again: Option<u8>,
    /// What the script must know: the number of the question, and whether nothing is half entered.
    pub(super) question: Option<(u64, bool)>,
    pub(super) class: &'a str,
}

impl Frame<'_> {
    pub(super) const PLAIN: Self = Self { title: "", again: None, question: None, class: "" };

    pub(super) fn around(&self, content: &Markup) -> String {
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    (head())
                    @if let Some(seconds) = self.again {
                        noscript { meta http-equiv="refresh" content=(seconds); }
                    }
                    title { (clean(self.title)) " · oddpot" }
                    style { (PreEscaped(style())) }
                }
                body.hand.(self.class) data-n=[self.question.map(|q| q.0)]
                    data-rest=[self.question.map(|q| u8::from(q.1))] {
                    (PreEscaped(live::STRIP))
                    (content)
                    script { (PreEscaped(SCRIPT)) }
                }
            }
        };
        page.into_string()
    }
}
