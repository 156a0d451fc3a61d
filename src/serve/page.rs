//! Pages: a parked question, and the few that stand around the session.
//!
//! Everything works without a script. Foreign text comes out as text, for `maud` escapes every string.
//! Style and script stand in the page, named by their hashes, so that a page is one request.

pub mod live;
pub mod log;

use std::sync::OnceLock;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::live::Live;
use super::parked::{Line, Parked, Question};
use super::{qr, reply};
use crate::session::Seats;
use pages::report::html::{STYLE as PAPER, fragment};
use pages::report::{Block, Doc, NoticeKind, Photograph, clean};

/// How a page in the hand looks, above what every page has.
const HAND: &str = include_str!("page.css");
/// Number keys, search as it is typed, a look whether others entered something.
const SCRIPT: &str = include_str!("page.js");

/// Options beyond which they can be searched.
const MANY: usize = 14;

fn style() -> &'static str {
    static STYLE: OnceLock<String> = OnceLock::new();
    STYLE.get_or_init(|| format!("{PAPER}{HAND}"))
}

/// The part of the content policy that names style and script.
pub(super) fn allowed() -> &'static str {
    static ALLOWED: OnceLock<String> = OnceLock::new();
    ALLOWED.get_or_init(|| {
        let (style, script) = (reply::hash(style()), reply::hash(SCRIPT));
        format!("; style-src '{style}'; script-src '{script}'")
    })
}

/// What stands in a page besides its content.
struct Frame<'a> {
    title: &'a str,
    /// Seconds after which it is asked for again where no script does it.
    again: Option<u8>,
    /// What the script must know: the number of the question, and whether nothing is half entered.
    question: Option<(u64, bool)>,
    class: &'a str,
}

impl Frame<'_> {
    const PLAIN: Self = Self { title: "", again: None, question: None, class: "" };

    fn around(&self, content: &Markup) -> String {
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content="light dark";
                    link rel="icon" href="data:,";
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

/// What a page of a session shows besides the question.
#[derive(Debug, Clone, Copy, Default)]
pub struct Around<'a> {
    /// What is wrong with what was sent.
    pub wrong: Option<&'a str>,
    /// So many entries came from others since.
    pub meanwhile: usize,
    /// A word that is searched among the options.
    pub find: &'a str,
    /// The engine of the job, where it runs and a log of it is followed.
    pub live: Option<&'a Live>,
}

/// The page of a session that waits for an answer.
#[must_use]
pub fn parked(parked: &Parked, around: &Around<'_>) -> String {
    let asked = parked.question.asked();
    let title = match parked.notice() {
        Some((kind, _)) => format!("{}: {asked}", kind.word()),
        None => asked.to_owned(),
    };
    let engine_runs = around.live.filter(|_| parked.rest);
    let content = html! {
        (above(parked))
        main {
            @if around.meanwhile > 0 { (meanwhile(around.meanwhile)) }
            @if let Some(wrong) = around.wrong {
                p.notice role="alert" { strong { "Not taken:" } " " (clean(wrong)) }
            }
            @if let Some(live) = engine_runs { (live::inside(live, live::On::Job)) }
            @if !parked.said.is_empty() {
                section.said aria-label="What was said" { (PreEscaped(fragment(&parked.said))) }
            }
            @if parked.rest && !parked.stands.is_empty() {
                section.stands aria-label="Where the job stands" { (PreEscaped(fragment(&parked.stands))) }
            }
            section.ask aria-labelledby="q" { (question(parked, around.find)) }
            @if !parked.rest && !parked.stands.is_empty() {
                details {
                    summary { "Where the job stands, and how it is done" }
                    (PreEscaped(fragment(&parked.stands)))
                }
            }
        }
        (below(parked.bench.is_some()))
    };
    Frame {
        title: &title,
        again: parked.rest.then_some(if engine_runs.is_some() { live::AGAIN_AT_REST } else { 15 }),
        question: Some((parked.number, parked.rest)),
        class: if parked.rest { "rest" } else { "asks" },
    }
    .around(&content)
}

/// What is always in sight: stop or watch, and which job it is.
fn above(parked: &Parked) -> Markup {
    html! {
        header {
            @if let Some((kind, text)) = parked.notice() {
                @let class = if *kind == NoticeKind::Stop { "heat stop" } else { "heat watch" };
                p class=(class) role="status" { strong { (kind.word()) } " " (clean(text)) }
            }
            @if let Some(bench) = &parked.bench {
                p.job { (clean(&bench.about)) }
            }
        }
    }
}

fn meanwhile(count: usize) -> Markup {
    let entries = pages::report::words::count(count, "entry", "entries");
    html! {
        form.meanwhile method="post" action="/anew" {
            p role="status" {
                "Another has entered something meanwhile: " (entries)
                ". What you enter now is added to it. To see it first, leave this question:"
            }
            button { "Show where the job stands now" }
        }
    }
}

fn question(parked: &Parked, find: &str) -> Markup {
    let asked = parked.question.asked();
    let searched = matches!(&parked.question, Question::Choose { options, seats: None, .. } if options.len() > MANY);
    html! {
        h1 #q { (clean(asked)) }
        @if searched {
            form.find method="get" action="/" role="search" {
                label for="find" { "Search these answers" }
                input #find name="find" type="search" value=(find) autocomplete="off";
                button { "Search" }
            }
        }
        form.answer method="post" action="/answer" {
            input type="hidden" name="n" value=(parked.number);
            @match &parked.question {
                Question::Choose { options, start, seats: Some(seats), .. } => (engine(options, *start, seats)),
                Question::Choose { options, start, .. } => (choices(options, *start, find)),
                Question::Many { options, .. } => (marks(options)),
                Question::Line(line) => (typed(line)),
            }
            @if !parked.rest {
                button.back name="back" value="1" formnovalidate { "Back" }
            }
        }
    }
}

/// An option as a button, with the key that presses it.
fn option(index: usize, key: usize, label: &str, first: bool) -> Markup {
    html! {
        button.first[first] name="choice" value=(index) data-k=(key) {
            b aria-hidden="true" { (key) } span { (clean(label)) }
        }
    }
}

fn choices(options: &[String], start: usize, find: &str) -> Markup {
    let wanted = find.trim().to_lowercase();
    let shown: Vec<(usize, &String)> = options
        .iter()
        .enumerate()
        .filter(|(_, label)| wanted.is_empty() || label.to_lowercase().contains(&wanted))
        .collect();
    html! {
        div.options {
            @for (index, label) in &shown { (option(*index, index + 1, label, *index == start)) }
        }
        @if shown.is_empty() {
            p { "No answer has that word. " a href="/" { "Show all answers" } }
        }
    }
}

/// The engine from above, its cylinders to tap; the broken line is the crankshaft.
fn engine(options: &[String], start: usize, seats: &Seats) -> Markup {
    let seated = |index: &usize| seats.iter().flatten().any(|(_, option)| *option == Some(*index));
    html! {
        div.engine.two[seats.len() > 1] {
            @for bank in seats {
                div.bank {
                    @for (number, index) in bank {
                        @match index.and_then(|index| Some((index, options.get(index)?))) {
                            Some((index, label)) => (option(index, usize::from(*number), label, index == start)),
                            None => span.gone { b { (number) } },
                        }
                    }
                }
            }
        }
        div.options {
            // What is no place of the engine has the key that no cylinder has.
            @for index in (0..options.len()).filter(|index| !seated(index)) {
                (option(index, 0, &options[index], index == start))
            }
        }
    }
}

fn marks(options: &[String]) -> Markup {
    html! {
        div.options {
            @for (index, label) in options.iter().enumerate() {
                label.mark {
                    input type="checkbox" name="choice" value=(index) data-k=(index + 1);
                    b aria-hidden="true" { (index + 1) } span { (clean(label)) }
                }
            }
        }
        button.first { "Go on with what is marked" }
    }
}

fn typed(line: &Line) -> Markup {
    html! {
        @if line.values == 0 {
            input #line name="line" value=(line.typed) placeholder=(line.default) autocomplete="off"
                autocapitalize="sentences" aria-labelledby="q" aria-describedby="help" maxlength="2000";
        } @else {
            (values(line))
        }
        @if !line.help.is_empty() && line.values == 0 {
            p.help #help { (clean(&line.help)) }
        } @else if line.values > 0 {
            p.help #help { (help(line)) }
        }
        button.first { "Enter" }
    }
}

fn help(line: &Line) -> String {
    if line.states.is_empty() {
        return "one number in each field".to_owned();
    }
    let words: Vec<&str> = line.states.iter().map(String::as_str).collect();
    format!(
        "a number in each field, or what it does instead: {}; where it jumps, both ends as 480..510",
        words.join(", ")
    )
}

/// A field for each value, and the words that may stand for it.
fn values(line: &Line) -> Markup {
    let mode = if line.below_zero { "text" } else { "decimal" };
    let parts = line.parts();
    html! {
        div.values {
            @for (place, part) in (1..=line.values).zip(&parts) {
                @let is_state = line.states.contains(part);
                div.value {
                    label for=(format!("v{place}")) { (place) }
                    input id=(format!("v{place}")) name=(format!("v{place}")) inputmode=(mode)
                        value=(if is_state { "" } else { part.as_str() }) autocomplete="off" maxlength="40";
                    @if !line.states.is_empty() {
                        select name=(format!("s{place}")) aria-label=(format!("{place}, if it is no number")) {
                            option value="" { "number" }
                            @for state in &line.states {
                                option value=(state) selected[state == part] { (state) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What is wanted now and then.
fn below(on_bench: bool) -> Markup {
    html! {
        footer {
            nav aria-label="Besides" {
                @if on_bench {
                    a href="/card" { "Card" }
                    a href="/log" { "Take in a log" }
                    a href="/photos" { "Photos" }
                    a href="/job.ron" download { "Job as a file" }
                }
                a href="/take-in" { "Take in a job" }
                a href="/invite" { "Another device" }
            }
            form method="post" action="/end" { button.quiet { "End the session" } }
        }
    }
}

/// The page on which a session is begun; `said` is what was said at the end of the one before.
#[must_use]
pub fn begin(said: Option<&str>) -> String {
    let content = html! {
        main {
            h1 { "oddpot" }
            @if let Some(said) = said { p.notice role="status" { (clean(said)) } }
            p { "One cylinder reads a different temperature: is the number wrong, or the engine?" }
            form.answer method="post" action="/begin" {
                div.options {
                    button.first name="for" value="complaint" data-k="1" {
                        b aria-hidden="true" { "1" } span { "The jobs, or a new one" }
                    }
                    button name="for" value="commission" data-k="2" {
                        b aria-hidden="true" { "2" } span { "Commission an engine that is well" }
                    }
                }
            }
        }
        footer {
            nav aria-label="Besides" {
                a href="/take-in" { "Take in a job" }
                a href="/invite" { "Another device" }
            }
            form method="post" action="/forget" { button.quiet { "Let this device in no more" } }
        }
    };
    Frame { title: "Begin", ..Frame::PLAIN }.around(&content)
}

/// The page of a session that is still at work.
#[must_use]
pub fn working() -> String {
    let content = html! { main { h1 { "Working it out" } p { a href="/" { "Look again" } } } };
    Frame { title: "Working it out", again: Some(1), ..Frame::PLAIN }.around(&content)
}

/// The way in: the key is traded by a press, so that a look at the address alone does not spend it.
#[must_use]
pub fn door(key: &str) -> String {
    let content = html! {
        main {
            h1 { "oddpot" }
            form.answer method="post" action="/in" {
                input type="hidden" name="key" value=(key);
                p { "This lets this device in. The key is good once." }
                button.first { "Let this device in" }
            }
        }
    };
    Frame { title: "Let this device in", ..Frame::PLAIN }.around(&content)
}

/// Something that cannot be had, with what to do.
#[must_use]
pub fn refused(what: &str, to_do: &str) -> String {
    let content = html! {
        main {
            h1 { (clean(what)) }
            p { (clean(to_do)) }
            p { a.plain href="/" { "To the session" } }
        }
    };
    Frame { title: what, ..Frame::PLAIN }.around(&content)
}

/// A page of a report, to be read or printed.
#[must_use]
pub fn report(doc: &Doc) -> String {
    let content = html! {
        header { nav aria-label="Besides" { a href="/" { "Back to the session" } a href="/job.ron" download { "Job as a file" } } }
        main {
            h1 { (clean(&doc.title)) }
            (PreEscaped(fragment(&doc.blocks)))
            @if !doc.foot.is_empty() { p.foot { (clean(&doc.foot)) } }
        }
    };
    Frame { title: &doc.title, class: "paper", ..Frame::PLAIN }.around(&content)
}

/// The photos of a job, and the form to keep one beside an entry; `entries` are their numbers and what they
/// say, the newest first.
#[must_use]
pub fn photos(photos: Vec<Photograph>, entries: &[(usize, String)], wrong: Option<&str>) -> String {
    let kept = [Block::Photos(photos)];
    let content = html! {
        main {
            h1 { "Photos" }
            @if let Some(wrong) = wrong {
                p.notice role="alert" { strong { "Not taken:" } " " (clean(wrong)) }
            }
            @if entries.is_empty() {
                p { "A photo is kept beside an entry, and there is none yet." }
            } @else {
                form.answer.photo method="post" action="/photos" enctype="multipart/form-data" {
                    label for="entry" { "Beside which entry" }
                    select #entry name="entry" {
                        @for (number, text) in entries { option value=(number) { (number) ": " (clean(text)) } }
                    }
                    label for="photo" { "The photo (JPEG or PNG)" }
                    input #photo type="file" name="photo" accept="image/jpeg,image/png" required;
                    p.help { "Only the picture is kept: where, when and with what it was taken goes. It is shown on the card." }
                    button.first { "Keep it" }
                }
            }
            (PreEscaped(fragment(&kept)))
            p { a.plain href="/" { "To the session" } }
        }
    };
    Frame { title: "Photos", ..Frame::PLAIN }.around(&content)
}

/// The page to take in a job; `wrong` is why one was not taken.
#[must_use]
pub fn take_in(wrong: Option<&str>) -> String {
    let content = html! {
        main {
            h1 { "Take in a job" }
            @if let Some(wrong) = wrong {
                p.notice role="alert" { strong { "Not taken:" } " " (clean(wrong)) }
            }
            p { "A job file that another workshop gave away, as `Job as a file` does here. It gets a name of "
                "its own and replaces nothing." }
            form.answer method="post" action="/take-in" enctype="multipart/form-data" {
                label for="job" { "The job file (.ron)" }
                input #job type="file" name="job" accept=".ron,text/plain" required;
                button.first { "Take it in" }
            }
            p { a.plain href="/" { "To the session" } }
        }
    };
    Frame { title: "Take in a job", ..Frame::PLAIN }.around(&content)
}

/// That a job was taken in.
#[must_use]
pub fn taken_in(name: &str, notes: &[String]) -> String {
    let mut blocks = vec![Block::Para(format!("It is kept as {name}; it is among the jobs now."))];
    blocks.extend(notes.iter().map(|note| Block::Notice(NoticeKind::Doubt, note.clone())));
    let content = html! {
        main {
            h1 { "The job was taken in" }
            (PreEscaped(fragment(&blocks)))
            p { a.plain href="/" { "To the session" } }
        }
    };
    Frame { title: "The job was taken in", ..Frame::PLAIN }.around(&content)
}

/// The page to let another device in: the address with its key once there is one.
#[must_use]
pub fn invite(address: Option<&str>, alone: bool) -> String {
    let content = html! {
        main {
            h1 { "Let another device in" }
            @match address {
                Some(address) => {
                    p { "Scan it or type it there. It is good once; a key that was out before is good no more." }
                    (PreEscaped(qr::svg(address)))
                    p.address { code { (clean(address)) } }
                }
                None => {
                    @if alone {
                        p.notice { "The page is on this computer alone. For other devices start it as "
                            code { "oddpot serve --lan" } "." }
                    }
                    form.answer method="post" action="/invite" {
                        button.first { "Give out a key" }
                    }
                }
            }
            p { a.plain href="/" { "To the session" } }
        }
    };
    Frame { title: "Let another device in", ..Frame::PLAIN }.around(&content)
}

#[cfg(test)]
mod tests;
