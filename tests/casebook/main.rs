//! Complaints with a hidden truth, played to their ends by following the advice.
//!
//! What is judged here is the end: whether the program finds out what is the matter, stops the
//! engine that must be stopped, leaves alone what is sound, and says so when it does not know. The
//! truths were written from physics and the trade by people who did not look at the knowledge base;
//! a case that something was mended on is no evidence for it any more.
//!
//! `cargo test --release --test casebook -- --nocapture` prints the table.

#![expect(clippy::print_stdout, reason = "the table is what the test is for")]
#![expect(clippy::disallowed_methods, reason = "which cases, which binary: a test may be told")]

mod answers;
mod case;
mod play;
mod player;
mod score;
mod world;

use answers::Answers;
use case::Case;
use play::Manner;

#[test]
fn cases_speak_the_programs_words() {
    let answers = Answers::ask();
    let mut wrong = Vec::new();
    for case in case::all() {
        wrong.extend(unknown(&case, &answers));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Words of a case that the program does not have.
fn unknown(case: &Case, answers: &Answers) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut say = |what: String| wrong.push(format!("{}: {what}", case.name));
    for fault in &case.faults {
        let plain = fault.answers.iter().map(|(t, o)| (t, o));
        let at = fault.answers_at.iter().map(|(t, o, _)| (t, o));
        let elsewhere = fault.elsewhere.iter().map(|(t, _, o)| (t, o));
        for (test, outcome) in plain.chain(at).chain(elsewhere) {
            if !answers.has_outcome(test, outcome) {
                say(format!("no outcome `{outcome}` of `{test}`"));
            }
        }
        for cause in fault.cured_by.iter().filter(|c| !answers.has_cause(c)) {
            say(format!("no cause `{cause}`"));
        }
    }
    for (test, _, outcome) in &case.answers {
        if !answers.has_outcome(test, outcome) {
            say(format!("no outcome `{outcome}` of `{test}`"));
        }
    }
    for test in case.no_tool.iter().filter(|t| !answers.has_test(t)) {
        say(format!("no test `{test}`"));
    }
    if case.natural.values().any(|n| n.len() != usize::from(case.cylinders)) {
        say("natural offsets for another number of cylinders".to_owned());
    }
    wrong
}

/// Cases that end rightly today, one of each kind: the everyday run, quick enough for a debug build.
const EVERY_DAY: [&str; 3] = ["115-four-woken", "30-three-goes-blank", "76-three-floats-near-box"];

/// All cases in all manners where that is asked for, else a few, the complaint's point first.
#[test]
fn jobs_end_as_they_should() {
    let answers = Answers::ask();
    let all = std::env::var("ODDPOT_CASEBOOK").is_ok_and(|which| which == "all");
    let everyday = |case: &Case| EVERY_DAY.iter().any(|name| case.name.starts_with(name));
    let cases: Vec<Case> = case::all().into_iter().filter(|case| all || everyday(case)).collect();
    let wanted = std::env::var("ODDPOT_MANNER").unwrap_or_default();
    let chosen = |manner: &Manner| {
        if all { format!("{manner:?}").contains(&wanted) } else { *manner == Manner::Complaint }
    };
    let manners: Vec<Manner> = Manner::ALL.into_iter().filter(chosen).collect();
    let table = score::table(&cases, &answers, &manners);
    println!("{}", table.text());
    if !all {
        table.hold();
    }
}
