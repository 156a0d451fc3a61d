//! A card as data: who reads what, before it is a page or a document.

use std::collections::BTreeMap;

use jiff::Timestamp;

use facts::job::entry::{Journal, What};
use facts::job::fit::FitLine;
use facts::job::timeline::{Closing, Standing, Timeline};
use judge::diagnosis::{CauseRef, Fault};
use judge::plan::ends::SURE;
use measure::engine::Cylinder;
use measure::named_enum;
use measure::units::Scale;

use super::super::{journal, pictures, steps, terms, words};
use super::{CardInput, customer, mechanic, odds};

/// Causes on a card beside those that were put right; the page of suspects has more.
const SHOWN: usize = 5;
/// A cause with less gets no line.
const FLOOR: f64 = 0.01;
named_enum! {
    /// How a job came out, by which its card is worded.
    End, "end of a card" {
        /// Cured, and the cause proven.
        Proven = "proven",
        /// Gone, and what it was could not be shown.
        Gone = "gone",
        /// Nothing was wrong.
        Normal = "normal",
        /// Closed without an answer.
        NotFound = "not-found",
        /// Still open.
        HandedOver = "handed-over",
    }
}

/// A name and what is said under it.
pub type Field = (&'static str, String);

/// A cause with its one probability.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// Which.
    pub fault: Fault,
    /// Its name, where it was, and where its part is now if that has moved.
    pub name: String,
    /// Probability that it was, or is, the cause.
    pub probability: f64,
    /// What was done about it; empty if nothing was.
    pub done: String,
}

/// How deep one probe sat, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depth {
    /// At which cylinder.
    pub cylinder: Cylinder,
    /// Measured last before the last remedy, or at all where none was done.
    pub before: Option<f64>,
    /// Measured last after it.
    pub after: Option<f64>,
}

/// Depths as they were measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Depths {
    /// What was measured, in words.
    pub of: &'static str,
    /// A row for each probe that was measured.
    pub rows: Vec<Depth>,
}

/// The card.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// How the job came out.
    pub end: End,
    /// Its title.
    pub title: String,
    /// What stands at the foot of every printed page.
    pub foot: String,
    /// Workshop, vehicle, dates, complaint.
    pub head: Vec<Field>,
    /// For the customer: what was wrong, what was done, how it was proven.
    pub customer: Vec<Field>,
    /// Causes, those that were put right first, then by probability.
    pub causes: Vec<Cause>,
    /// Tests and exchanges with what they showed, a sentence each.
    pub tests: Vec<String>,
    /// Parts that are not where they were, a sentence each.
    pub displaced: Vec<String>,
    /// What brings them home, in order.
    pub put_back: Vec<String>,
    /// Measured depths, if any were.
    pub depths: Option<Depths>,
    /// What to watch, a sentence each.
    pub watch: Vec<String>,
}

impl End {
    /// How a job came out.
    pub(super) fn of(input: &CardInput<'_>) -> Self {
        match input.timeline.standing {
            Standing::Open => Self::HandedOver,
            Standing::Closed(Closing::Proven) => Self::Proven,
            Standing::Closed(Closing::Normal) => Self::Normal,
            Standing::Closed(Closing::Unproven) if input.verification.gone >= SURE => Self::Gone,
            Standing::Closed(Closing::Unproven) => Self::NotFound,
        }
    }

    /// What its sheet is called.
    fn title(self) -> &'static str {
        match self {
            Self::Proven => "Job card",
            Self::Gone => "Job card, gone but not proven",
            Self::Normal => "Checked and normal",
            Self::NotFound => "Not found",
            Self::HandedOver => "Handover sheet",
        }
    }
}

impl Card {
    /// What a card says.
    #[must_use]
    pub fn of(input: &CardInput<'_>, scale: Scale) -> Self {
        let end = End::of(input);
        let (timeline, head) = (input.timeline, &input.journal.head);
        let last = input.local.day(ended(input.journal));
        let vehicle = [Some(&head.vehicle), head.details.plate.as_ref()];
        let vehicle: Vec<&str> =
            vehicle.into_iter().flatten().map(|v| v.trim()).filter(|v| !v.is_empty()).collect();
        let vehicle = vehicle.join(", ");
        let title = match (end.title(), vehicle.as_str()) {
            (title, "") => title.to_owned(),
            (title, vehicle) => format!("{title}: {vehicle}"),
        };
        let until = if end == End::HandedOver { "last entry" } else { "closed" };
        let dated = format!("{until} {last}");
        let foot = [input.letterhead.workshop.trim(), &title, &dated];
        let foot: Vec<&str> = foot.into_iter().filter(|part| !part.is_empty()).collect();
        let foot = foot.join(" · ");
        let arrangement = &timeline.arrangement;
        let put_back = timeline.put_back(input.knowledge).into_iter();
        Self {
            end,
            title,
            foot,
            head: vec![
                ("Workshop", input.letterhead.workshop.clone()),
                ("Vehicle", vehicle.clone()),
                ("Run so far", head.details.mileage.clone().unwrap_or_default()),
                ("Date", format!("opened {}, {until} {last}", input.local.day(head.opened))),
                ("Complaint", head.complaint.clone()),
            ],
            customer: customer::fields(input, end, scale),
            causes: causes(input, end),
            tests: tests(input, scale),
            displaced: terms::displaced(arrangement),
            put_back: put_back.map(terms::put_back).collect(),
            depths: depths(timeline),
            watch: mechanic::watch(input, end, scale),
        }
    }
}

/// When the job was closed, or when something was last entered.
fn ended(journal: &Journal) -> Timestamp {
    let standing = journal.standing();
    let closed = standing.iter().rev().find(|(_, e)| matches!(e.what, What::Close { .. }));
    let last = closed.or(standing.last()).map(|(_, entry)| entry.time);
    last.unwrap_or(journal.head.opened)
}

/// What was put right, each once, in order.
pub(super) fn put_right(timeline: &Timeline) -> Vec<Fault> {
    let mut faults: Vec<Fault> = Vec::new();
    for (cause, place) in timeline.disturbances.iter().filter_map(|d| d.remedied) {
        let fault = Fault { cause: CauseRef::Listed(cause), place };
        if !faults.contains(&fault) {
            faults.push(fault);
        }
    }
    faults
}

/// What was put right, and what is suspected beside it where the job is not proven. Nothing of what
/// is normal.
fn causes(input: &CardInput<'_>, end: End) -> Vec<Cause> {
    let (knowledge, timeline) = (input.knowledge, input.timeline);
    let done = put_right(timeline);
    let cause = |fault: Fault| Cause {
        fault,
        name: terms::fault_now(knowledge, timeline, fault),
        probability: odds::of(input, fault),
        done: if done.contains(&fault) {
            steps::remedy(knowledge, fault.cause)
                .map_or_else(String::new, |remedy| words::sentence(&remedy.what))
        } else {
            String::new()
        },
    };
    let mut causes: Vec<Cause> = done.iter().copied().map(cause).collect();
    if matches!(end, End::Proven | End::Normal) {
        return causes;
    }
    let suspects = input.assessment.suspects.iter().map(|suspect| suspect.fault);
    let others = suspects.filter(|fault| !done.contains(fault)).map(cause);
    causes.extend(others.filter(|cause| cause.probability >= FLOOR).take(SHOWN));
    causes
}

/// Looks, tests and exchanges with what they showed.
fn tests(input: &CardInput<'_>, scale: Scale) -> Vec<String> {
    let entries = input.journal.standing().into_iter();
    let tests = entries.filter(|(_, entry)| {
        matches!(
            entry.what,
            What::Found { .. } | What::Logged { .. } | What::Exchange { .. } | What::Remake { .. }
        )
    });
    let outcomes = pictures::outcomes(input.journal, input.timeline, input.assessment);
    let told = journal::standing_texts(input.knowledge, input.journal, scale);
    tests
        .filter_map(|(number, _)| Some((number, told.get(&number)?)))
        .map(|(number, text)| {
            let text = words::upper_first(text);
            let did = outcomes.get(&number).map_or("", String::as_str);
            let text = format!("{} (entry {number}). {did}", text.trim_end_matches('.'));
            text.trim_end().to_owned()
        })
        .collect()
}

/// Depths before and after the last remedy, by the one ruler that most probes were measured with.
fn depths(timeline: &Timeline) -> Option<Depths> {
    type Of = fn(&FitLine) -> Option<f64>;
    let rulers: [(&'static str, Of); 2] =
        [("depth past the inner wall", |l| l.depth), ("stem outside", |l| l.stem)];
    let noted = &timeline.sheet.noted;
    let count = |of: Of| noted.iter().filter(|noted| of(&noted.line).is_some()).count();
    let (of, measure) = rulers.into_iter().rev().max_by_key(|(_, measure)| count(*measure))?;
    let works = timeline.remedied_by();
    let mut rows: BTreeMap<Cylinder, Depth> = BTreeMap::new();
    for noted in noted {
        let Some(mm) = measure(&noted.line) else { continue };
        let cylinder = noted.cylinder;
        let row = rows.entry(cylinder).or_insert(Depth { cylinder, before: None, after: None });
        if works > 0 && noted.after >= works {
            row.after = Some(mm);
        } else {
            row.before = Some(mm);
        }
    }
    (!rows.is_empty()).then(|| Depths { of, rows: rows.into_values().collect() })
}
