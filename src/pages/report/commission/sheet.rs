//! The commissioning sheet: what was done, how the engine reads when it is well, what was set, by whom.

use facts::job::entry::Journal;
use facts::job::history::Usual;
use facts::knowledge::{Knowledge, RunningPoint};
use judge::commission::{State, Step};
use judge::limits::Limits;
use measure::engine::Regime;

use super::super::LocalTime;
use super::super::card::Letterhead;
use super::super::doc::{Align, Block, Doc, NoticeKind, Table};
use super::super::{complaint, fit, limits, readings, terms, vehicle, words};
use super::{Commissioned, commission_troubles, shown, tolerance};
use judge::commission::identity;

/// What the sheet is made of.
#[derive(Debug, Clone, Copy)]
pub struct CommissionInput<'a> {
    /// The job as commissioning looks at it.
    pub about: Commissioned<'a>,
    /// What was entered.
    pub journal: &'a Journal,
    /// What each display usually does, by what was read.
    pub usual: &'a [Usual],
    /// The limits as they were set.
    pub limits: Option<&'a Limits>,
    /// Whose sheet it is.
    pub letterhead: &'a Letterhead,
    /// The clock by which times are shown.
    pub local: &'a LocalTime,
}

/// Cautions that everybody who repeats it must know.
const CAUTIONS: [&str; 4] = ["carbon-monoxide", "hot-exhaust", "rotating", "loaded-running"];

/// The sheet to print and keep with the engine.
#[must_use]
pub fn commission_sheet(input: &CommissionInput<'_>) -> Doc {
    let CommissionInput { about, journal, .. } = *input;
    let (known, head) = (about.known, &journal.head);
    let (timeline, scale) = (known.timeline, known.scale);
    let mut doc = Doc::new("Commissioning sheet");
    doc.foot.clone_from(&head.vehicle);
    let engine = terms::engine(&head.engine);
    let engine = match head.engine_name.as_str() {
        "" => engine,
        name => format!("{name}: {engine}"),
    };
    doc.fields([
        ("Workshop", input.letterhead.workshop.clone()),
        ("Vehicle", head.vehicle.clone()),
        ("Plate", head.details.plate.clone().unwrap_or_default()),
        ("Mileage", head.details.mileage.clone().unwrap_or_default()),
        ("Engine", engine),
        ("Probes", terms::probes(&head.engine)),
        ("Begun", input.local.moment(head.opened)),
        ("Builder's limit", complaint::limit(&head.details, scale)),
        ("Record", standing(&about)),
    ]);
    for trouble in commission_troubles(&about) {
        doc.notice(NoticeKind::Doubt, trouble);
    }
    doc.heading("What was done");
    doc.table(done(input));
    doc.heading("How it reads when it is well");
    let newest = newest(input);
    readings::add(&mut doc, timeline, known.assessment, &newest, scale);
    doc.para(readings::LEGEND);
    if let Some(cold) = &about.found.cold {
        doc.para(tolerance(cold, scale));
    }
    vehicle::usual(&mut doc, &timeline.points, input.usual, scale);
    if !timeline.sheet.lines().is_empty() {
        doc.heading("How the probes sit");
        fit::add(&mut doc, timeline, scale);
    }
    if let Some(set) = input.limits {
        doc.heading(format!("Warning limits, {}", scale.sign()));
        limits::add(&mut doc, timeline, set, scale);
    }
    doc.heading("Whoever repeats it");
    for text in cautions(known.knowledge) {
        doc.notice(NoticeKind::Caution, text);
    }
    doc.blocks.push(Block::SignOff(vec!["Commissioned by".to_owned(), "For the owner".to_owned()]));
    doc
}

fn standing(about: &Commissioned<'_>) -> String {
    let left: Vec<&str> = about
        .found
        .steps
        .iter()
        .filter(|(step, state)| !step.may_be_left_out() && *state != State::Done)
        .map(|(step, _)| super::name(*step))
        .collect();
    if left.is_empty() {
        "complete: later jobs of this vehicle are compared with it".to_owned()
    } else {
        format!("not complete, still to do: {}", left.join("; "))
    }
}

/// Every step: done or not, what it showed, when it was entered.
fn done(input: &CommissionInput<'_>) -> Table {
    let columns = [
        ("step", Align::Left),
        ("", Align::Left),
        ("it showed", Align::Left),
        ("entered", Align::Left),
    ];
    let mut table = Table::new(columns);
    for (step, state) in &input.about.found.steps {
        let state = match state {
            State::Done => "done",
            State::LeftOut(_) => "left out",
            State::ToDo => "not done",
        };
        table.rows.push(vec![
            words::upper_first(super::name(*step)),
            state.to_owned(),
            shown(&input.about, *step),
            entered(input, *step).unwrap_or_default(),
        ]);
    }
    table
}

/// When the last entry of a step was made.
fn entered(input: &CommissionInput<'_>, step: Step) -> Option<String> {
    let timeline = input.about.known.timeline;
    let set = |regime| {
        let at = timeline.points.of(regime);
        let own = timeline.sets.iter().filter(|set| set.site == timeline.engine.probes);
        own.filter(|set| set.at == at).map(|set| set.entry).next_back()
    };
    let entry = match step {
        Step::Identity => {
            identity::identified(input.about.known.knowledge, timeline).into_values().max()
        }
        Step::ColdSoak => set(Regime::ColdSoak),
        Step::Idle => set(Regime::Idle),
        Step::Cruise => set(Regime::Cruise),
        Step::Full => set(Regime::Full),
        Step::Fit => timeline.sheet.noted.last().map(|noted| noted.entry),
        Step::Record | Step::Limits | Step::Close => None,
    }?;
    Some(input.local.moment(input.journal.entries.get(entry.checked_sub(1)?)?.time))
}

/// The newest set of each running point, in the order of the running points.
fn newest(input: &CommissionInput<'_>) -> Vec<usize> {
    let timeline = input.about.known.timeline;
    let last = |at: RunningPoint| {
        timeline.sets.iter().rposition(|set| (set.at, set.site) == (at, timeline.engine.probes))
    };
    timeline.points.iter().filter_map(last).collect()
}

fn cautions(knowledge: &Knowledge) -> Vec<String> {
    let known = |id: &&str| knowledge.cautions.iter().find(|caution| caution.id == **id);
    CAUTIONS.iter().filter_map(known).map(|caution| words::sentence(&caution.text)).collect()
}
