//! What a workshop remembers, and what that did to a page.

use facts::knowledge::{Knowledge, Recall};
use judge::diagnosis::{Assessment, CauseRef};
use judge::memory::{Memory, Standing};

use super::doc::{Align, Doc, Table};
use super::words;

/// A factor that reads as no change.
const UNMOVED: f64 = 0.005;

/// One line for pages on which a memory had a say: how much, and on what.
#[must_use]
pub fn recalled(knowledge: &Knowledge, assessment: &Assessment) -> Option<String> {
    let recall = knowledge.recall.as_ref()?;
    let likely = assessment.suspects.iter().filter(|s| s.probability >= LIKELY);
    let first = likely.into_iter().find_map(|suspect| match suspect.fault.cause {
        CauseRef::Listed(index) => Some(index),
        CauseRef::Unlisted => None,
    });
    let weighs = first.map_or_else(String::new, |index| {
        let name = words::lower_first(&knowledge.causes[index].name);
        format!(": {name} weighs {} before any reading", times(recall.factors[index]))
    });
    let moved = recall
        .times
        .iter()
        .filter(|(test, from)| (knowledge.tests[*test].cost.hands_on - from).abs() >= UNMOVED);
    let moved = match moved.count() {
        0 => String::new(),
        n => format!(
            "; {} by what was entered here",
            words::count(n, "test is timed", "tests are timed")
        ),
    };
    Some(format!("{}{weighs}{moved}.", jobs(recall)))
}

/// A suspect below this is not worth a word on its weight.
const LIKELY: f64 = 0.02;

/// How many jobs a memory has beside what the knowledge base is worth.
fn jobs(recall: &Recall) -> String {
    let count = |n: u32| words::count(n as usize, "job", "jobs");
    format!(
        "The workshop's memory counts in: {} beside the knowledge base's {:.0}",
        count(recall.own),
        recall.worth
    )
}

/// A factor, as `×1.6`, or that there is none.
fn times(factor: f64) -> String {
    if (factor - 1.0).abs() < UNMOVED { "as without it".to_owned() } else { by(factor) }
}

fn by(factor: f64) -> String {
    format!("×{factor:.2}")
}

/// Rows of a table before it says how many there are more.
const ROWS: usize = 25;

/// All that a memory holds and moves.
#[must_use]
pub fn memory(knowledge: &Knowledge, memory: &Memory, standing: &Standing, all: bool) -> Doc {
    let mut doc = Doc::new("Memory of the workshop");
    let left_out = match memory.left_out() {
        0 => String::new(),
        n => format!(
            "{} of other workshops, counted by an earlier version",
            words::count(n as usize, "job", "jobs")
        ),
    };
    doc.fields([
        ("Own jobs", format!("{}, closed and proven", memory.own().len())),
        ("Left out", left_out),
        (
            "Weight",
            format!(
                "{} that count beside {:.0} that the knowledge base is worth",
                words::count(standing.jobs as usize, "job", "jobs"),
                standing.worth
            ),
        ),
    ]);
    causes(&mut doc, knowledge, standing, all);
    flags(&mut doc, knowledge, standing, all);
    times_taken(&mut doc, knowledge, standing, all);
    if !standing.aside.is_empty() {
        doc.heading("Kept, but of no use to this knowledge base");
        doc.bullets(
            standing
                .aside
                .iter()
                .map(|aside| format!("{}, {}: {}", aside.id, aside.count, aside.why))
                .collect(),
        );
    }
    doc
}

/// Adds a table, cut off unless all of it is wanted.
fn add(doc: &mut Doc, heading: &str, mut table: Table, all: bool) {
    if table.rows.is_empty() {
        return;
    }
    doc.heading(heading);
    let more = table.rows.len().saturating_sub(ROWS);
    if !all && more > 0 {
        table.rows.truncate(ROWS);
    }
    doc.table(table);
    if !all && more > 0 {
        doc.para(format!("{more} more, moved less: `--all` shows them."));
    }
}

fn causes(doc: &mut Doc, knowledge: &Knowledge, standing: &Standing, all: bool) {
    let mut table = Table::new([
        ("cause", Align::Left),
        ("proven", Align::Right),
        ("expected", Align::Right),
        ("weight", Align::Right),
        ("as", Align::Right),
    ]);
    let mut list: Vec<_> =
        standing.causes.iter().filter(|c| (c.factor - 1.0).abs() >= UNMOVED).collect();
    list.sort_by(|a, b| b.factor.ln().abs().total_cmp(&a.factor.ln().abs()));
    for change in list {
        let cause = &knowledge.causes[change.cause];
        table.rows.push(vec![
            cause.id.clone(),
            change.seen.to_string(),
            format!("{:.1}", change.expected),
            by(change.factor),
            format!("{:.3} → {:.3}", cause.weight, cause.weight * change.factor),
        ]);
    }
    add(doc, "Causes", table, all);
}

fn flags(doc: &mut Doc, knowledge: &Knowledge, standing: &Standing, all: bool) {
    let mut table = Table::new([
        ("after recent work", Align::Left),
        ("cause", Align::Left),
        ("proven", Align::Right),
        ("factor", Align::Right),
    ]);
    let moved = |f: &&judge::memory::FlagMoved| (f.to / f.from.max(1e-12) - 1.0).abs() >= UNMOVED;
    let mut list: Vec<_> = standing.flags.iter().filter(moved).collect();
    list.sort_by(|a, b| {
        let size = |f: &judge::memory::FlagMoved| (f.to / f.from).ln().abs();
        size(b).total_cmp(&size(a))
    });
    for change in list {
        table.rows.push(vec![
            change.flag.clone(),
            knowledge.causes[change.cause].id.clone(),
            change.seen.to_string(),
            format!("{:.2} → {:.2}", change.from, change.to),
        ]);
    }
    add(doc, "Factors of recent work", table, all);
}

fn times_taken(doc: &mut Doc, knowledge: &Knowledge, standing: &Standing, all: bool) {
    let mut table = Table::new([
        ("test", Align::Left),
        ("told", Align::Right),
        ("mean, min", Align::Right),
        ("hands-on, min", Align::Right),
    ]);
    for change in &standing.times {
        table.rows.push(vec![
            knowledge.tests[change.test].id.clone(),
            words::count(change.times as usize, "time", "times"),
            format!("{:.1}", change.told),
            format!("{:.1} → {:.1}", change.from, change.to),
        ]);
    }
    add(doc, "Minutes that tests take", table, all);
}
