//! The journal as a page, and one entry as a line.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use facts::job::entry::{Fate, Journal, What};
use facts::job::fit::FitLine;
use facts::job::read;
use facts::job::timeline::{Closing, Standing};
use facts::knowledge::{CANNOT, Item, Knowledge};
use judge::diagnosis::{CauseRef, Fault};
use measure::engine::{Cylinder, ProbeSite};
use measure::units::Scale;

use super::doc::{Align, Doc, Table};
use super::{LocalTime, complaint, terms, words};

/// Every entry in order; those taken back are marked and stay.
#[must_use]
pub fn journal(knowledge: &Knowledge, journal: &Journal, scale: Scale, local: &LocalTime) -> Doc {
    let mut doc = Doc::new("Journal");
    doc.fields([
        ("Opened", local.moment(journal.head.opened)),
        ("Vehicle", journal.head.vehicle.clone()),
        ("Complaint", journal.head.complaint.clone()),
        ("It is about", complaint::about(knowledge, &journal.head.details)),
        ("Builder's limit", complaint::limit(&journal.head.details, scale)),
    ]);
    let texts = standing_texts(knowledge, journal, scale);
    let fates = journal.fates();
    let times: Vec<Timestamp> = journal.entries.iter().map(|entry| entry.time).collect();
    let (when, times) = local.column(&times);
    let mut table = Table::new([
        ("no", Align::Right),
        (when.as_str(), Align::Left),
        ("what", Align::Left),
        ("", Align::Left),
    ]);
    for ((number, entry), time) in (1..).zip(&journal.entries).zip(times) {
        let instead = entry
            .instead
            .map_or_else(String::new, |earlier| format!(" (instead of entry {earlier})"));
        let air = entry.air.map_or_else(String::new, |air| {
            format!("; the air {:.1} {}", scale.show(air), scale.sign())
        });
        table.rows.push(vec![
            number.to_string(),
            time,
            texts
                .get(&number)
                .cloned()
                .unwrap_or_else(|| entry_text(knowledge, &entry.what, scale))
                + &air
                + &instead,
            match fates[number - 1] {
                Fate::Stands => String::new(),
                Fate::TakenBack => "taken back".to_owned(),
                Fate::Corrected { by } => format!("corrected by {by}"),
            },
        ]);
    }
    if table.rows.is_empty() {
        doc.para("Nothing has been entered yet.");
    }
    doc.table(table);
    doc
}

/// A test and what it showed.
fn found(
    knowledge: &Knowledge,
    test: &str,
    outcome: &str,
    cylinder: Option<Cylinder>,
    partner: Option<Cylinder>,
) -> String {
    let known = knowledge.test(test).map(|index| &knowledge.tests[index]);
    let name = known.map_or(test, |test| test.name.trim_end_matches('.'));
    let seen = known
        .and_then(|test| test.outcomes.iter().find(|o| o.id == outcome))
        .map_or(outcome, |outcome| outcome.text.as_str());
    if outcome == CANNOT && known.is_some_and(|t| t.outcomes.iter().all(|o| o.id != CANNOT)) {
        return format!("{}: cannot be done here", words::lower_first(name));
    }
    let points = known.is_some_and(|t| t.outcomes.iter().any(|o| o.id == outcome && o.partner));
    let on = match (cylinder, partner) {
        (Some(a), Some(b)) if points => format!(", cylinder {a}, which is {b}"),
        (None, _) => String::new(),
        (Some(a), None) => format!(", cylinder {a}"),
        (Some(a), Some(b)) => format!(", cylinders {a} and {b}"),
    };
    format!("{}{on}: {}", words::lower_first(name), words::lower_first(seen))
}

/// Lines of the probe-fit sheet: one thing said of all in a row, else cylinder by cylinder.
fn fitted(lines: &[(Cylinder, FitLine)]) -> String {
    let row = |pick: fn(&FitLine) -> Option<f64>| -> Option<String> {
        let values: Option<Vec<String>> =
            lines.iter().map(|(_, line)| pick(line).map(|mm| mm.to_string())).collect();
        let alone = lines.iter().all(|(_, line)| said(line).len() == 1);
        values.filter(|values| values.len() > 1 && alone).map(|values| values.join(", "))
    };
    for (pick, what) in [
        ((|l| l.depth) as fn(&FitLine) -> Option<f64>, "depths past the inner wall"),
        (|l| l.stem, "stems outside"),
        (|l| l.from_port, "bosses from the port"),
    ] {
        if let Some(values) = row(pick) {
            return format!("{what}: {values} mm");
        }
    }
    let each: Vec<String> = lines
        .iter()
        .map(|(cylinder, line)| format!("probe of cylinder {cylinder}: {}", said(line).join(", ")))
        .collect();
    each.join("; ")
}

/// What a line says, a phrase each.
fn said(line: &FitLine) -> Vec<String> {
    let mm = |what: &str, value: Option<f64>| value.map(|mm| format!("{what} {mm} mm"));
    let text = |what: &str, value: Option<&String>| value.map(|text| format!("{what} {text}"));
    [
        mm("depth", line.depth),
        mm("stem outside", line.stem),
        mm("from the port", line.from_port),
        line.clock.map(|hour| format!("{hour} o'clock")),
        text("probe", line.probe.as_ref()),
        text("serial", line.serial.as_ref()),
        text("lead", line.lead.as_ref()),
        text("channel", line.channel.as_ref()),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The entries that stand, each in one line as [`entry_text`] and as what it is among the others: an exchange that
/// brought two things home, an end that is the engine's normal.
pub(super) fn standing_texts(
    knowledge: &Knowledge,
    journal: &Journal,
    scale: Scale,
) -> BTreeMap<usize, String> {
    let standing = journal.standing();
    let closed = standing.iter().rev().find(|(_, e)| matches!(e.what, What::Close { .. }));
    let closed = closed.map(|(number, _)| *number);
    let normal = read::standing(journal) == Standing::Closed(Closing::Normal);
    let home = brought_home(journal);
    standing
        .into_iter()
        .map(|(number, entry)| {
            let text = match &entry.what {
                What::Exchange { item, a, b } if home.contains(&number) => {
                    format!("put back {}", terms::two_items(*item, *a, *b))
                }
                What::Close { .. } if normal && closed == Some(number) => {
                    "closed as normal for this engine".to_owned()
                }
                what => entry_text(knowledge, what, scale),
            };
            (number, text)
        })
        .collect()
}

/// Exchanges after which both things are where they were when the job was opened.
fn brought_home(journal: &Journal) -> BTreeSet<usize> {
    let mut at: BTreeMap<(Item, Cylinder), Cylinder> = BTreeMap::new();
    let mut home = BTreeSet::new();
    for (number, entry) in journal.standing() {
        let What::Exchange { item, a, b } = entry.what else { continue };
        let here = |at: &BTreeMap<_, _>, place| at.get(&(item, place)).copied().unwrap_or(place);
        let (one, other) = (here(&at, a), here(&at, b));
        at.insert((item, a), other);
        at.insert((item, b), one);
        if other == a && one == b {
            home.insert(number);
        }
    }
    home
}

/// An entry in one line, without a capital or a full stop.
#[must_use]
pub fn entry_text(knowledge: &Knowledge, what: &What, scale: Scale) -> String {
    match what {
        What::Temps { at, site, readings, from } => {
            let values: Vec<String> = readings.iter().map(|&r| words::reading(r, scale)).collect();
            let at = terms::named_point(&knowledge.points, *at);
            let at = terms::with_site(&at, *site, ProbeSite::Exhaust);
            let from = from.as_ref().map_or_else(String::new, |log| {
                format!(", from {}, {:.0} to {:.0} s", log.file, log.from, log.to)
            });
            format!("readings at {at}: {} {}{from}", values.join(", "), scale.sign())
        }
        What::Found { test, outcome, cylinder, partner } => {
            found(knowledge, test, outcome, *cylinder, *partner)
        }
        What::Logged { test, outcome, cylinder } => {
            format!("by the log: {}", found(knowledge, test, outcome, Some(*cylinder), None))
        }
        What::Exchange { item, a, b } => format!("exchanged {}", terms::two_items(*item, *a, *b)),
        What::Remake { item, cylinder, new } => terms::remade(*item, *cylinder, *new),
        What::State(state) => format!("engine is {}", terms::told_state(*state)),
        What::LoadConfirmed => "confirmed that running at load is safe here".to_owned(),
        What::Remedy { cause, place } => {
            let known = knowledge
                .cause(cause)
                .map(|index| Fault { cause: CauseRef::Listed(index), place: *place });
            let name = known.map_or_else(
                || format!("{cause}, {place}"),
                |fault| words::lower_first(&terms::fault(knowledge, fault)),
            );
            format!("remedied: {name}")
        }
        What::Recorded => "written down as normal for this engine".to_owned(),
        What::Close { proven: true, .. } => "closed, verified and proven".to_owned(),
        What::Close { proven: false, reason: Some(reason) } => {
            format!("closed, not proven: {reason}")
        }
        What::Close { proven: false, reason: None } => "closed without a proven cure".to_owned(),
        What::Reopen => "opened again".to_owned(),
        What::Fitted { lines } => fitted(lines),
        What::Fitting(fitting) => format!(
            "probes sit so: sheath {} mm, runner {} mm, tip {} mm past the inner wall",
            fitting.diameter, fitting.bore, fitting.depth
        ),
        What::History(history) => format!(
            "history of the vehicle: {}",
            words::count(history.visits.len(), "earlier job", "earlier jobs")
        ),
        What::Trim { lever, cylinder, to, .. } => {
            format!(
                "{} of cylinder {cylinder} set to {}",
                terms::lever(*lever),
                terms::trim(*lever, *to)
            )
        }
        What::Sign { cylinder, sign, by } => {
            format!("cylinder {cylinder} is {} by {by}", terms::mixture_sign(*sign))
        }
        What::LimitsSet { once_in, .. } => format!(
            "warning limits set in the controller, for one needless warning in {once_in} h of running"
        ),
        What::BuilderLimit(limit) => {
            format!("the builder's limit for a display is {}", words::temperature(*limit, scale))
        }
        What::Undo { entry } => format!("undid entry {entry}"),
    }
}
