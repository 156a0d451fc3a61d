//! Pages: a parked question, and the few that stand around the session.
//!
//! Everything works without a script. Foreign text comes out as text, for `maud` escapes every string.
//! It must not judge a request, nor take anything in.

mod frame;
pub mod live;
pub mod log;
mod question;
mod upload;

use maud::{Markup, PreEscaped, html};

use super::live::Live;
use super::parked::Parked;
use super::qr;
use frame::Frame;
pub(super) use frame::allowed;
use pages::report::html::fragment;
use pages::report::{Doc, NoticeKind, clean};
use question::question;
pub use upload::{photos, take_in, taken_in};

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
