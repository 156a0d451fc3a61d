//! What the next mechanic reads: causes, tests, what was moved, depths, what to watch.

use std::collections::BTreeSet;

use judge::diagnosis::Fault;
use measure::units::Scale;

use super::super::doc::{Align, Bar, Block, Doc, NoticeKind, Table};
use super::super::{above, complaint, pictures, steps, suspects, terms, vehicle, verify, words};
use super::CardInput;
use super::model::{Card, Depths, End, put_right};

/// Least share of `nothing is wrong` that gets a bar.
const FLOOR: f64 = 0.01;

/// The sheet of the next mechanic.
pub(super) fn add(doc: &mut Doc, input: &CardInput<'_>, card: &Card, scale: Scale) {
    doc.part("For the next mechanic");
    engine(doc, input, card.end, scale);
    causes(doc, input, card);
    if !card.tests.is_empty() {
        doc.heading("Tests and what they showed");
        doc.bullets(card.tests.clone());
    }
    above::add(doc, input.knowledge, input.timeline, input.assessment, scale);
    if let Some(depths) = &card.depths {
        doc.heading(format!("Measured: {}, mm", depths.of));
        doc.table(table(depths));
    }
    cautions(doc, input, card);
    if card.end == End::HandedOver
        && let Some(advice) = input.advice
    {
        doc.figures(
            pictures::plan(input.knowledge, input.timeline, &advice.best).into_iter().collect(),
        );
    }
}

fn engine(doc: &mut Doc, input: &CardInput<'_>, end: End, scale: Scale) {
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
    let described = if head.engine_name.is_empty() {
        described
    } else {
        format!("{}: {described}", head.engine_name)
    };
    // What is proven or normal has its answer on page one.
    let verdict = if matches!(end, End::Gone | End::NotFound) {
        suspects::verdict(input.knowledge, input.timeline, input.assessment)
    } else {
        String::new()
    };
    doc.fields([
        ("Engine", described),
        ("Probes", terms::probes(&head.engine)),
        ("Recent work", recent.join(" ")),
        ("It is about", complaint::about(input.knowledge, &head.details)),
        (
            "Builder's limit",
            input.timeline.builder_limit.map_or_else(String::new, |t| words::temperature(t, scale)),
        ),
        ("Status", terms::standing(input.timeline.standing).to_owned()),
        ("Verdict", verdict),
    ]);
}

/// The causes with a bar each, what was done about them, and how far that is proven.
fn causes(doc: &mut Doc, input: &CardInput<'_>, card: &Card) {
    if card.end == End::Normal {
        return;
    }
    let bar = |label: String, value: f64| Bar { label, value, text: words::chance(value) };
    let mut bars: Vec<Bar> =
        card.causes.iter().map(|cause| bar(cause.name.clone(), cause.probability)).collect();
    if card.end != End::Proven && input.assessment.healthy >= FLOOR {
        bars.push(bar("usual scatter".to_owned(), input.assessment.healthy));
        bars.sort_by(|a, b| b.value.total_cmp(&a.value));
    }
    if !bars.is_empty() {
        doc.heading(if card.end == End::Proven { "Cause" } else { "Leading causes" });
        doc.blocks.push(Block::Bars(bars));
    }
    let done = card.causes.iter().filter(|cause| !cause.done.is_empty());
    let done: Vec<String> =
        done.map(|cause| format!("{}: {}", cause.name, words::lower_first(&cause.done))).collect();
    if !done.is_empty() {
        doc.heading("Put right");
        doc.bullets(done);
        let fields = verify::fields(input.knowledge, input.timeline, input.verification);
        // The cause and how sure it is stand in the bar.
        let shown = ["Readings after", "Fault gone", "Remaining difference", "Proof"];
        doc.fields(fields.into_iter().filter(|(name, _)| shown.contains(name)));
        if card.end != End::Proven && !input.verification.verified() {
            doc.para("Not proven yet. Missing:");
            doc.bullets(verify::missing(input.verification));
        }
    }
}

fn table(depths: &Depths) -> Table {
    let after = depths.rows.iter().any(|row| row.after.is_some());
    let mut columns = vec![("cylinder", Align::Right)];
    if after {
        columns.extend([("before", Align::Right), ("after", Align::Right)]);
    } else {
        columns.push(("measured", Align::Right));
    }
    let mut table = Table::new(columns);
    let text = |mm: Option<f64>| mm.map_or_else(|| "–".to_owned(), |mm| mm.to_string());
    for row in &depths.rows {
        let mut cells = vec![row.cylinder.to_string(), text(row.before)];
        if after {
            cells.push(text(row.after));
        }
        table.rows.push(cells);
    }
    table
}

/// What to watch, a sentence each.
pub(super) fn watch(input: &CardInput<'_>, end: End, scale: Scale) -> Vec<String> {
    let mut watch = Vec::new();
    if let Some(limit) = input.timeline.builder_limit {
        let limit = words::temperature(limit, scale);
        watch.push(format!("No display may pass {limit}, the engine builder's limit."));
    }
    watch.extend(comebacks(input, end));
    if input.assessment.surprise.unexplained && end != End::Normal {
        watch.push(if end == End::Proven {
            "Some of what was entered fits no known cause well: if it comes back, look wider."
                .to_owned()
        } else {
            words::sentence(suspects::UNEXPLAINED)
        });
    }
    if !input.timeline.arrangement.is_original() {
        watch.push(
            "Parts are not in their own places: read display and cylinder by the picture."
                .to_owned(),
        );
    }
    watch
}

/// What was remedied before on this vehicle: of a proven job its cause, of an open one the suspects.
fn comebacks(input: &CardInput<'_>, end: End) -> Vec<String> {
    let said = match (end, &input.timeline.history) {
        (End::Normal, _) | (_, None) => return Vec::new(),
        (End::Proven, Some(history)) => {
            let before = |fault: Fault| {
                let cause = fault.cause.id(input.knowledge);
                let before = vehicle::came_back(history, cause, fault.place, input.local)?;
                Some(format!("{}: {before}", terms::fault(input.knowledge, fault)))
            };
            put_right(input.timeline).into_iter().filter_map(before).collect()
        }
        _ => vehicle::comebacks(input.knowledge, input.timeline, input.assessment, input.local),
    };
    said.iter().map(|text| words::sentence(text)).collect()
}

/// What to watch; cautions of what is still to do, or of what was done; rules that bite.
fn cautions(doc: &mut Doc, input: &CardInput<'_>, card: &Card) {
    let open = card.end == End::HandedOver;
    let mut ids: BTreeSet<usize> = BTreeSet::new();
    if let (true, Some(advice)) = (open, input.advice) {
        ids.extend(&advice.best.cautions);
    }
    let remedy = |fault: Fault| steps::remedy(input.knowledge, fault.cause);
    if let Some(remedy) = input.verification.remedied.and_then(remedy) {
        ids.extend(input.knowledge.cautions_on(&input.timeline.engine, &remedy.cautions));
    }
    let rules = input.advice.filter(|_| open);
    let rules: Vec<&str> = rules
        .map_or_else(Vec::new, |advice| advice.guards.iter().map(|g| g.text.as_str()).collect());
    if ids.is_empty() && rules.is_empty() && card.watch.is_empty() {
        return;
    }
    doc.heading("What to watch");
    doc.bullets(card.watch.clone());
    for id in ids {
        let text = &input.knowledge.cautions[id].text;
        doc.notice(NoticeKind::Caution, words::sentence(text));
    }
    for text in rules {
        doc.notice(NoticeKind::Rule, words::sentence(text));
    }
}
