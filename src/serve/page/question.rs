//! A parked question as a form: choices, marks, lines, the engine to tap.
//!
//! It must not judge an answer; which there are is the session's.

use maud::{Markup, html};

use crate::serve::parked::{Line, Parked, Question};
use crate::session::Seats;
use pages::report::clean;

/// Options beyond which they can be searched.
const MANY: usize = 14;

pub(super) fn question(parked: &Parked, find: &str) -> Markup {
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
