//! The default answer of every command, over jobs of every kind of end: one screen of 80 by 24, in plain words.
//!
//! `docs/commands.md` lists the commands, so that a new one must come in here or among what is no page.

use std::collections::BTreeSet;

use crate::bench::{Bench, words};
use crate::screen::{statistics, too_much};

/// Jobs that are played to their ends, a line for each thing typed.
pub(crate) const ENDS: &str = include_str!("../fixtures/ends.txt");

/// The lines that are typed, in order.
pub(crate) fn typed() -> impl Iterator<Item = &'static str> {
    ENDS.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'))
}

/// Names of the jobs.
fn names() -> Vec<&'static str> {
    let opened = typed().filter_map(|line| line.strip_prefix("open "));
    opened.filter_map(|line| line.split(' ').next()).collect()
}

/// What is asked of each job; entered lines are looked at as they are typed.
const ASKED: [&str; 14] = [
    "suspects JOB",
    "next JOB",
    "verify JOB",
    "journal JOB",
    "why JOB TOP",
    "limits JOB",
    "balance JOB",
    "fit JOB",
    "commission JOB",
    "search low",
    "jobs",
    "vehicle 'Grey saloon (invented)'",
    "undo JOB",
    "reopen JOB",
];

/// What is asked without a job, and what is entered that no job above has.
const ALONE: [&str; 27] = [
    "open spare --cylinders 4 --vehicle 'Spare (invented)'",
    "state spare warm",
    "temps spare --at idle 412 409 415 341",
    "cannot spare leak-down",
    "remake spare probe 4",
    "confirm-load spare",
    "correct spare 2 temps --at idle 412 409 415 405",
    "found spare look-fit alike --cylinder 4",
    "remedy spare fit-shallow@4",
    "record spare",
    "close spare --unproven gone",
    "reopen spare",
    "mend jobs/torn.ron",
    "log run.csv",
    "probe shows",
    "probe explain 20=20 600=560",
    "probe apart 850",
    "probe depth --bore 40 --depth 14",
    "probe cable --type K",
    "probe millivolts --type K 850",
    "probe degrees --type K 35.3",
    "probe fit-plan --cylinders 4 --bore 42",
    "knowledge check",
    "memory learn",
    "memory show",
    "exchange spare probe 4 1",
    "fit spare --depths 20 20 14 20",
];

/// Commands whose answer is no page of one screen, and why.
const NO_PAGE: [(&str, &str); 13] = [
    ("card", "three sheets of paper; `-o` writes them, a terminal shows the same text"),
    ("example", "the card of an invented job"),
    ("completions", "a script for a shell"),
    ("dump", "for other programs, and not in the help"),
    ("serve", "runs until it is stopped; its pages are tried in tests/cli/serve"),
    ("watch", "a line for each alarm, for as long as the log grows; tests/cli/watch.rs"),
    ("drill", "asks its way, or plays a job step by step"),
    ("knowledge new", "asks its way"),
    ("knowledge list", "all ids of the knowledge base, to be searched by other programs"),
    ("knowledge show", "for who writes knowledge: figures with their basis, sources"),
    ("knowledge testability", "for who writes knowledge: every pair that cannot be told apart"),
    ("workshop", "a measurement of ways of working; its columns are the statistics asked for"),
    ("knowledge draw", "a picture or a graph for other programs"),
];

/// The command that a line begins with, as the reference names it.
fn command(line: &str, known: &BTreeSet<String>) -> String {
    let two: Vec<&str> = line.split(' ').take(2).collect();
    let two = two.join(" ");
    if known.contains(&two) { two } else { line.split(' ').next().unwrap_or_default().to_owned() }
}

/// Commands of the reference; those that only have others under them left out.
fn known() -> BTreeSet<String> {
    let reference = include_str!("../../docs/commands.md");
    let all: BTreeSet<String> = reference
        .lines()
        .filter_map(|line| line.strip_prefix("## oddpot "))
        .map(str::to_owned)
        .collect();
    let above = |name: &String| all.iter().any(|other| other.starts_with(&format!("{name} ")));
    all.iter().filter(|name| !above(name)).cloned().collect()
}

#[test]
fn the_default_answer_of_every_command_is_one_screen_in_plain_words() {
    let bench = Bench::new();
    let rows = (0..300).map(|second| format!("{second},652,590,655,648\n"));
    bench.write("run.csv", &("time,T1,T2,T3,T4\n".to_owned() + &rows.collect::<String>()));
    let known = known();
    let mut tried: BTreeSet<String> = NO_PAGE.iter().map(|(name, _)| (*name).to_owned()).collect();
    let mut answered = tried.clone();
    let mut faults = Vec::new();
    let mut look = |line: &str, may: &[i32]| {
        tried.insert(command(line, &known));
        let run = bench.run_args(&words(line).iter().map(String::as_str).collect::<Vec<_>>());
        assert!(may.contains(&run.status), "{line}: {} {}", run.status, run.err);
        if !run.out.is_empty() {
            answered.insert(command(line, &known));
        }
        for fault in too_much(&run.out) {
            faults.push(format!("`{line}`: {fault}\n{}", run.out));
        }
        for word in statistics(&run.err) {
            faults.push(format!("`{line}` beside: statistics: {word}\n{}", run.err));
        }
    };
    for line in typed() {
        look(line, &[0]);
        let job = line.split(' ').nth(1).unwrap_or_default();
        for asked in ["next JOB", "suspects JOB"] {
            look(&asked.replace("JOB", job), &[0]);
        }
    }
    for job in names() {
        let suspects = bench.run(&format!("suspects {job} --json")).document(0);
        let top = &suspects["causes"][0];
        let cause = top["cause"].as_str().or(top["id"].as_str()).unwrap_or_default();
        let top = format!("{cause}@{}", top["place"].as_str().unwrap_or("1"));
        for asked in ASKED {
            // Something to verify, to balance or to open again is not there in each of them.
            look(&asked.replace("JOB", job).replace("TOP", &top), &[0, 1, 2]);
        }
    }
    let first = names()[0];
    let whole = Bench::read(&bench.job(first));
    bench.write("jobs/torn.ron", &whole[..whole.len() - 40]);
    for line in ALONE {
        look(line, &[0, 1, 2]);
    }
    assert!(faults.is_empty(), "{} faults\n{}", faults.len(), faults.join("\n"));
    assert_eq!(tried, known, "commands tried, and those of the reference");
    // What is refused in every job has shown no page.
    let silent: Vec<&String> = tried.difference(&answered).collect();
    assert!(silent.is_empty(), "commands that gave no answer in any job: {silent:?}");
}
