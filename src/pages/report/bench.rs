//! The bench sheet: the next steps on paper, to take to the car, with room to write down what
//! they show.

use std::collections::BTreeSet;

use facts::job::entry::Journal;
use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, TestKind};
use judge::plan::{Choice, Step};

use super::doc::{Align, Block, Doc, NoticeKind, Table};
use super::figure::{BranchLine, Branches, Chart, Figure};
use super::{next, pictures, steps, terms, words};

/// A step with what must have been seen before it.
#[derive(Debug, Clone, PartialEq)]
pub struct Ahead {
    /// The job as it would be then.
    pub timeline: Timeline,
    /// What to do then.
    pub choice: Choice,
    /// What the step before must have shown for this one to be next; nothing for the first.
    pub given: Option<Given>,
}

/// What a step must have shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    /// Id of the outcome.
    pub id: String,
    /// In words.
    pub text: String,
    /// How probable that is.
    pub probability: f64,
}

/// The sheet: the first step is what to do now, each further one what most probably follows.
#[must_use]
pub fn bench(knowledge: &Knowledge, journal: &Journal, ahead: &[Ahead]) -> Doc {
    let mut doc = Doc::new("Bench sheet");
    let Some(first) = ahead.first() else { return doc };
    let moved = terms::displaced(&first.timeline.arrangement);
    doc.fields([
        ("Vehicle", journal.head.vehicle.clone()),
        ("Complaint", journal.head.complaint.clone()),
        ("Engine", terms::thermal(first.timeline.thermal).to_owned()),
        ("Moved", moved.join(" ")),
    ]);
    let cautions: BTreeSet<usize> =
        ahead.iter().flat_map(|ahead| ahead.choice.cautions.iter().copied()).collect();
    for caution in cautions {
        let text = words::sentence(&knowledge.cautions[caution].text);
        doc.notice(NoticeKind::Caution, text);
    }
    for (number, ahead) in (1..).zip(ahead) {
        step(&mut doc, knowledge, number, ahead);
    }
    if let Some(figure) = plan(knowledge, ahead) {
        doc.heading("If it goes another way");
        doc.figures(vec![figure]);
    }
    doc.heading("Notes");
    doc.blocks.push(Block::SignOff(vec!["Done by".to_owned()]));
    doc
}

fn step(doc: &mut Doc, knowledge: &Knowledge, number: usize, ahead: &Ahead) {
    let (timeline, choice) = (&ahead.timeline, &ahead.choice);
    let what = words::upper_first(&steps::step(knowledge, timeline, choice.step));
    doc.heading(format!("{number}. {what}"));
    if let Some(given) = &ahead.given {
        doc.para(format!(
            "If {} ({}).",
            words::lower_first(given.text.trim_end_matches('.')),
            words::percent(given.probability)
        ));
    }
    let takes = next::what_it_takes(knowledge, timeline, choice);
    doc.fields(takes.into_iter().filter(|(name, _)| *name != "Why"));
    doc.numbered(next::how(knowledge, choice.step));
    to_write(doc, knowledge, timeline, choice);
}

/// Boxes to tick, or room for numbers.
fn to_write(doc: &mut Doc, knowledge: &Knowledge, timeline: &Timeline, choice: &Choice) {
    let numbers = match choice.step {
        Step::Test { test, .. } => matches!(
            knowledge.tests[test].kind,
            TestKind::Exchange | TestKind::Reseat | TestKind::Substitute
        ),
        Step::Readings { .. } | Step::Verify { .. } | Step::PutBack { .. } | Step::Remedy(_) => {
            true
        }
        Step::End(_) => false,
    };
    if numbers {
        let at = match choice.step {
            Step::Readings { at, .. } => at,
            _ => steps::usual_point(timeline),
        };
        let names: Vec<String> = timeline.engine.all().map(|n| format!("display {n}")).collect();
        let columns = names.iter().map(|name| (name.as_str(), Align::Left));
        let mut table = Table::new([("read at", Align::Left)].into_iter().chain(columns));
        let mut row = vec![terms::point(at).to_owned()];
        row.extend(names.iter().map(|_| "........".to_owned()));
        table.rows.push(row);
        doc.table(table);
        return;
    }
    let leads = choice.branches.iter().any(|branch| branch.then.is_some());
    let columns = [("tick", Align::Left), ("what it shows", Align::Left), ("then", Align::Left)];
    let mut table = Table::new(columns.into_iter().take(if leads { 3 } else { 2 }));
    for branch in &choice.branches {
        let then =
            branch.then.map_or_else(String::new, |step| steps::step(knowledge, timeline, step));
        let seen = if branch.text.is_empty() {
            branch.id.clone()
        } else {
            words::lower_first(&branch.text)
        };
        let mut row = vec!["[  ]".to_owned(), seen];
        row.extend(leads.then_some(then));
        table.rows.push(row);
    }
    doc.table(table);
}

/// All steps as one tree, each hung on what leads to it.
fn plan(knowledge: &Knowledge, ahead: &[Ahead]) -> Option<Figure> {
    let mut tree: Option<Branches> = None;
    for (index, step) in ahead.iter().enumerate().rev() {
        let mut branches = pictures::branches(knowledge, &step.timeline, &step.choice);
        let given = ahead.get(index + 1).and_then(|next| next.given.as_ref());
        if let (Some(given), Some(below)) = (given, tree.take()) {
            let text = words::lower_first(given.text.trim_end_matches('.'));
            let hung = |line: &&mut BranchLine| line.seen == text || line.seen == given.id;
            if let Some(line) = branches.lines.iter_mut().find(hung) {
                line.then = Some(Box::new(below));
            }
        }
        tree = Some(branches);
    }
    let chart = tree.filter(|tree| !tree.lines.is_empty())?;
    Some(Figure {
        title: "The plan".to_owned(),
        desc: format!("First: {}. The steps above and what else can follow.", chart.step),
        chart: Chart::Branches(chart),
    })
}
