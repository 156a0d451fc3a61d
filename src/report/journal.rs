//! The journal as a page, and one entry as a line.

use crate::diagnosis::{CauseRef, Fault};
use crate::engine::ProbeSite;
use crate::job::entry::{Journal, What};
use crate::knowledge::Knowledge;
use crate::units::Scale;

use super::doc::{Align, Doc, Table};
use super::{terms, words};

/// Every entry in order; those taken back are marked and stay.
#[must_use]
pub fn journal(knowledge: &Knowledge, journal: &Journal, scale: Scale) -> Doc {
    let mut doc = Doc::new("Journal");
    doc.fields([
        ("Opened", format!("{} UTC", words::moment(journal.head.opened))),
        ("Vehicle", journal.head.vehicle.clone()),
        ("Complaint", journal.head.complaint.clone()),
    ]);
    let standing: Vec<usize> = journal.standing().into_iter().map(|(n, _)| n).collect();
    let mut table = Table::new([
        ("no", Align::Right),
        ("time, UTC", Align::Left),
        ("what", Align::Left),
        ("", Align::Left),
    ]);
    for (number, entry) in (1..).zip(&journal.entries) {
        let undo = matches!(entry.what, What::Undo { .. });
        table.rows.push(vec![
            number.to_string(),
            words::moment(entry.time),
            entry_text(knowledge, &entry.what, scale),
            if undo || standing.contains(&number) {
                String::new()
            } else {
                "taken back".to_owned()
            },
        ]);
    }
    if table.rows.is_empty() {
        doc.para("Nothing has been entered yet.");
    }
    doc.table(table);
    doc
}

/// An entry in one line, without a capital or a full stop.
#[must_use]
pub fn entry_text(knowledge: &Knowledge, what: &What, scale: Scale) -> String {
    match what {
        What::Temps { at, site, readings, from } => {
            let values: Vec<String> = readings.iter().map(|&r| words::reading(r, scale)).collect();
            let at = terms::point_and_site(*at, *site, ProbeSite::Exhaust);
            let from = from.as_ref().map_or_else(String::new, |log| {
                format!(", from {}, {:.0} to {:.0} s", log.file, log.from, log.to)
            });
            format!("readings at {at}: {} {}{from}", values.join(", "), scale.sign())
        }
        What::Found { test, outcome, cylinder, partner } => {
            let known = knowledge.test(test).map(|index| &knowledge.tests[index]);
            let name = known.map_or(test.as_str(), |test| test.name.trim_end_matches('.'));
            let seen = known
                .and_then(|test| test.outcomes.iter().find(|o| o.id == *outcome))
                .map_or(outcome.as_str(), |outcome| outcome.text.as_str());
            let on = match (cylinder, partner) {
                (None, _) => String::new(),
                (Some(a), None) => format!(", cylinder {a}"),
                (Some(a), Some(b)) => format!(", cylinders {a} and {b}"),
            };
            format!("{}{on}: {}", words::lower_first(name), words::lower_first(seen))
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
        What::Close { proven: true } => "closed, verified and proven".to_owned(),
        What::Close { proven: false } => "closed, not proven".to_owned(),
        What::Reopen => "opened again".to_owned(),
        What::Undo { entry } => format!("took back entry {entry}"),
    }
}
