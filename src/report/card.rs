//! The job card, or the handover sheet of a job that is still open.

use std::collections::BTreeSet;

use crate::diagnosis::{Assessment, CauseRef, Fault, Moment, Verification};
use crate::job::entry::{Journal, What};
use crate::job::timeline::{Standing, Timeline, test_for};
use crate::knowledge::{Knowledge, Test};
use crate::limits::Limits;
use crate::plan::Advice;
use crate::units::{Cost, Scale};

use super::doc::{Align, Block, Doc, NoticeKind, Table};
use super::{
    balance, complaint, fit, heat, journal, limits, next, pictures, readings, steps, suspects,
    terms, vehicle, verify, words,
};

/// Suspects on the card; the page of suspects has more.
const SHOWN: usize = 5;
/// Those with less share one bar.
const FLOOR: f64 = 0.01;

/// All that a card is made from.
#[derive(Debug, Clone, Copy)]
pub struct CardInput<'a> {
    /// The knowledge base.
    pub knowledge: &'a Knowledge,
    /// The job as it was typed.
    pub journal: &'a Journal,
    /// What follows from it.
    pub timeline: &'a Timeline,
    /// The diagnosis.
    pub assessment: &'a Assessment,
    /// What to do next, for an open job.
    pub advice: Option<&'a Advice>,
    /// What the readings after a remedy say.
    pub verification: &'a Verification,
    /// How the suspects stood over the job.
    pub course: &'a [Moment],
    /// Warning limits, where they were set.
    pub limits: Option<&'a Limits>,
    /// What the work done so far costs.
    pub spent: Cost,
}

/// The card of a closed job, the handover sheet of an open one.
#[must_use]
pub fn card(input: &CardInput<'_>, scale: Scale) -> Doc {
    let open = input.timeline.standing == Standing::Open;
    let mut doc = Doc::new(if open { "Handover sheet" } else { "Job card" });
    head(&mut doc, input, scale);
    if open {
        doc.first(heat::notice(input.knowledge, input.timeline, scale));
        handover(&mut doc, input);
    } else {
        result(&mut doc, input);
    }
    let mut figures = pictures::levels(input.knowledge, input.timeline, scale);
    if let (true, Some(advice)) = (open, input.advice) {
        figures.extend(pictures::plan(input.knowledge, input.timeline, &advice.best));
    }
    figures.extend(pictures::exchanges(input.journal, input.timeline, input.assessment, scale));
    figures.extend(pictures::course(input.knowledge, input.timeline, input.course));
    if !figures.is_empty() {
        doc.heading("At a glance");
        doc.figures(figures);
    }
    if let Some(history) = &input.timeline.history {
        vehicle::on_card(&mut doc, input.knowledge, history, scale);
    }
    moved(&mut doc, input);
    cautions(&mut doc, input);
    if !input.timeline.sheet.noted.is_empty() {
        doc.heading("Probe-fit sheet");
        fit::add(&mut doc, input.timeline, scale);
    }
    all_readings(&mut doc, input, scale);
    work(&mut doc, input, scale);
    balance::on_card(&mut doc, input.timeline, scale);
    if let Some(set) = input.limits {
        doc.heading(format!("Warning limits, {}", scale.sign()));
        limits::add(&mut doc, input.timeline, set, scale);
    }
    doc.heading("Suspects");
    doc.blocks.push(Block::Bars(suspects::bars(
        input.knowledge,
        input.timeline,
        input.assessment,
        (SHOWN, FLOOR),
    )));
    if input.assessment.surprise.unexplained {
        doc.notice(NoticeKind::Doubt, suspects::UNEXPLAINED);
    }
    if open && input.verification.remedied.is_some() {
        doc.heading("Verification");
        verification(&mut doc, input);
    }
    doc.heading("Signed");
    doc.blocks.push(Block::SignOff(
        if open {
            ["Handed over by", "Taken over by"].as_slice()
        } else {
            ["Mechanic", "Checked by", "Customer"].as_slice()
        }
        .iter()
        .map(|name| (*name).to_owned())
        .collect(),
    ));
    doc
}

fn head(doc: &mut Doc, input: &CardInput<'_>, scale: Scale) {
    let head = &input.journal.head;
    let recent: Vec<String> = head
        .recent
        .iter()
        .map(|id| {
            let known = input.knowledge.recent.iter().find(|work| work.id == *id);
            known.map_or_else(|| id.clone(), |work| words::sentence(&work.question))
        })
        .collect();
    let described = terms::engine(&head.engine);
    doc.fields([
        ("Vehicle", head.vehicle.clone()),
        ("Complaint", head.complaint.clone()),
        ("It is about", complaint::about(input.knowledge, &head.details)),
        ("Builder's limit", complaint::limit(&head.details, scale)),
        (
            "Engine",
            if head.engine_name.is_empty() {
                described
            } else {
                format!("{}: {described}", head.engine_name)
            },
        ),
        ("Probes", terms::probes(&head.engine)),
        ("Recent work", recent.join(" ")),
        ("Opened", format!("{} UTC", words::moment(head.opened))),
        ("Status", terms::standing(input.timeline.standing).to_owned()),
        ("Time and parts", words::cost(input.spent)),
        ("Verdict", suspects::verdict(input.knowledge, input.timeline, input.assessment)),
    ]);
}

fn result(doc: &mut Doc, input: &CardInput<'_>) {
    doc.heading("Cause and remedy");
    if input.timeline.recorded.is_some() {
        doc.para("The difference was written down as normal for this engine; nothing was changed.");
    }
    if let Some(fault) = input.verification.remedied {
        let cause = match fault.cause {
            CauseRef::Listed(index) => words::sentence(&input.knowledge.causes[index].what),
            CauseRef::Unlisted => String::new(),
        };
        let remedy = steps::remedy(input.knowledge, fault.cause);
        doc.fields([
            ("Cause", terms::fault(input.knowledge, fault)),
            ("That is", cause),
            ("Remedy", remedy.map_or_else(String::new, |remedy| words::sentence(&remedy.what))),
        ]);
    } else if input.timeline.recorded.is_none() {
        doc.para("No remedy was entered.");
    }
    // What was written down as normal had nothing to cure, so nothing is missing.
    if input.verification.remedied.is_some() || input.timeline.recorded.is_none() {
        doc.heading("Verification");
        verification(doc, input);
    }
}

fn verification(doc: &mut Doc, input: &CardInput<'_>) {
    doc.fields(verify::fields(input.knowledge, input.timeline, input.verification));
    if !input.verification.verified() {
        doc.para("Not proven. Missing:");
        doc.bullets(verify::missing(input.verification));
    }
}

/// What whoever takes over must know first: the engine's state, and what to do.
fn handover(doc: &mut Doc, input: &CardInput<'_>) {
    let (knowledge, timeline) = (input.knowledge, input.timeline);
    let open: Vec<String> = timeline
        .open_access
        .iter()
        .map(|&index| {
            let access = &knowledge.access[index];
            let running =
                if access.blocks_running { " (close before the engine runs)" } else { "" };
            format!("{}{running}", words::lower_first(&access.name))
        })
        .collect();
    doc.heading("State of the engine");
    doc.fields([
        ("Engine", terms::thermal(timeline.thermal).to_owned()),
        ("Open", if open.is_empty() { "nothing".to_owned() } else { open.join("; ") }),
        (
            "Load",
            if timeline.load_confirmed {
                "running at load was confirmed to be safe"
            } else {
                "running at load was not confirmed to be safe"
            }
            .to_owned(),
        ),
    ]);
    doc.heading("To do next");
    let Some(advice) = input.advice else {
        doc.para("No advice was worked out.");
        return;
    };
    let step = steps::step(knowledge, timeline, advice.best.step);
    doc.para(words::sentence(&step));
    doc.fields(next::what_it_takes(knowledge, timeline, &advice.best));
}

fn moved(doc: &mut Doc, input: &CardInput<'_>) {
    let touched = input
        .journal
        .standing()
        .into_iter()
        .any(|(_, entry)| matches!(entry.what, What::Exchange { .. } | What::Remake { .. }));
    let arrangement = &input.timeline.arrangement;
    if !touched && arrangement.is_original() {
        return;
    }
    doc.heading("Parts moved");
    if arrangement.is_original() {
        doc.para("Everything is where it was when the job was opened.");
        return;
    }
    doc.bullets(terms::displaced(arrangement));
    doc.para("To put everything back:");
    doc.numbered(
        arrangement.put_back(&input.timeline.engine).into_iter().map(terms::put_back).collect(),
    );
}

/// Cautions of what is still to do, or of what was done; rules that bite.
fn cautions(doc: &mut Doc, input: &CardInput<'_>) {
    let mut ids: BTreeSet<usize> = BTreeSet::new();
    let open = input.timeline.standing == Standing::Open;
    if let (true, Some(advice)) = (open, input.advice) {
        ids.extend(&advice.best.cautions);
    }
    let remedy = |fault: Fault| steps::remedy(input.knowledge, fault.cause);
    if let Some(remedy) = input.verification.remedied.and_then(remedy) {
        ids.extend(&remedy.cautions);
    }
    let rules = input.advice.filter(|_| open);
    let rules: Vec<&str> = rules
        .map_or_else(Vec::new, |advice| advice.guards.iter().map(|g| g.text.as_str()).collect());
    if ids.is_empty() && rules.is_empty() {
        return;
    }
    doc.heading("Cautions");
    for id in ids {
        let text = &input.knowledge.cautions[id].text;
        doc.notice(NoticeKind::Caution, words::sentence(text));
    }
    for text in rules {
        doc.notice(NoticeKind::Rule, words::sentence(text));
    }
}

fn all_readings(doc: &mut Doc, input: &CardInput<'_>, scale: Scale) {
    let timeline = input.timeline;
    let remedy = timeline.disturbances.iter().rev().find(|d| d.remedied.is_some()).map(|d| d.entry);
    let (after, before): (Vec<usize>, Vec<usize>) = (0..timeline.sets.len())
        .partition(|&set| remedy.is_some_and(|entry| timeline.sets[set].entry > entry));
    for (sets, when) in [(&before, "before"), (&after, "after")] {
        if sets.is_empty() {
            continue;
        }
        doc.heading(if remedy.is_some() {
            format!("Readings {when} the remedy, {}", scale.sign())
        } else {
            format!("Readings, {}", scale.sign())
        });
        readings::add(doc, timeline, input.assessment, sets, scale);
    }
    if !timeline.sets.is_empty() {
        doc.para(readings::LEGEND);
        logs(doc, input.journal);
    }
}

/// Where readings out of data logs can be found again.
fn logs(doc: &mut Doc, journal: &Journal) {
    let items = journal.standing().into_iter().filter_map(|(number, entry)| match &entry.what {
        What::Temps { from: Some(log), .. } => Some(format!(
            "Entry {number}: {}, {:.0} to {:.0} s, SHA-256 {}",
            log.file, log.from, log.to, log.sha256
        )),
        _ => None,
    });
    let items: Vec<String> = items.collect();
    if !items.is_empty() {
        doc.para("Taken from data logs:");
        doc.bullets(items);
    }
}

/// What was done and found, with the time it is reckoned at.
fn work(doc: &mut Doc, input: &CardInput<'_>, scale: Scale) {
    let knowledge = input.knowledge;
    let mut table = Table::new([
        ("no", Align::Right),
        ("time, UTC", Align::Left),
        ("what", Align::Left),
        ("estimated", Align::Right),
    ]);
    for (number, entry) in input.journal.standing() {
        let cost = match &entry.what {
            What::Found { test, .. } => test_cost(knowledge, test),
            What::Exchange { item, .. } => test_cost(knowledge, test_for(*item, true, false)),
            What::Remake { item, new, .. } => test_cost(knowledge, test_for(*item, false, *new)),
            What::Remedy { cause, .. } => knowledge
                .cause(cause)
                .and_then(|index| knowledge.causes[index].remedy.as_ref())
                .map(|remedy| remedy.cost),
            What::LoadConfirmed | What::Recorded | What::Logged { .. } => None,
            // Readings have their own table; the rest is the file's business.
            What::Temps { .. }
            | What::Fitted { .. }
            | What::Fitting(_)
            // History and trims have sections of their own.
            | What::History(_)
            | What::Trim { .. }
            | What::Sign { .. }
            | What::BuilderLimit(_)
            | What::LimitsSet { .. }
            | What::State(_)
            | What::Close { .. }
            | What::Reopen
            | What::Undo { .. } => continue,
        };
        table.rows.push(vec![
            number.to_string(),
            words::moment(entry.time),
            words::upper_first(&journal::entry_text(knowledge, &entry.what, scale)),
            cost.map_or_else(String::new, |cost| words::minutes(cost.hands_on + cost.wait)),
        ]);
    }
    if !table.rows.is_empty() {
        doc.heading("Work done");
        doc.table(table);
    }
}

fn test_cost(knowledge: &Knowledge, id: &str) -> Option<Cost> {
    let test = |index: usize| -> &Test { &knowledge.tests[index] };
    knowledge.test(id).map(|index| test(index).cost)
}
