//! The record of a vehicle, and what a job's card says of it.

use facts::job::history::{History, Usual, Visit};
use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, Load, Points, RunningPoint};
use judge::diagnosis::{Assessment, CauseRef, Fault};
use judge::vehicle::{Drift, Record};
use measure::engine::{Cylinder, Place, ProbeSite};
use measure::units::Scale;

use super::doc::{Align, Doc, NoticeKind, Table};
use super::{LocalTime, terms, words};

/// The page of a vehicle.
#[must_use]
pub fn vehicle(
    knowledge: &Knowledge,
    name: &str,
    record: &Record,
    scale: Scale,
    local: &LocalTime,
) -> Doc {
    let mut doc = Doc::new(format!("Vehicle: {name}"));
    let history = &record.history;
    let used: usize = history.visits.iter().map(|visit| visit.sets).sum();
    doc.fields([
        ("Jobs", words::count(history.visits.len(), "job", "jobs")),
        ("Healthy readings", words::count(used, "set counts", "sets count")),
        ("Other engine", record.other_engines.join(", ")),
        ("Commissioned", history.commissioned.map_or_else(String::new, |on| local.day(on))),
        ("Known as fitted", as_fitted(history)),
    ]);
    doc.heading("Visits");
    doc.table(visits(knowledge, &history.visits, true, local));
    for (cause, list) in &record.comebacks {
        doc.notice(NoticeKind::Doubt, comeback(knowledge, history, (cause, list), local));
    }
    if history.usual.is_empty() {
        doc.para(
            "No reading counts as healthy yet: they count from jobs that were closed as proven or as \
             normal, taken settled since anything was last touched, with every part in its place.",
        );
        return doc;
    }
    usual(&mut doc, &knowledge.points, &history.usual, scale);
    drift(&mut doc, &record.drifts, scale, local);
    doc
}

/// What is known of how probes were fitted and wired, and still holds.
fn as_fitted(history: &History) -> String {
    let named = |list: Vec<Cylinder>| {
        let numbers: Vec<String> = list.iter().map(ToString::to_string).collect();
        words::list(&numbers)
    };
    let shown: Vec<Cylinder> = history.identified.iter().map(|(c, _)| *c).collect();
    let deep = history.fit.iter().filter(|(_, line)| line.depth.is_some() || line.stem.is_some());
    let deep: Vec<Cylinder> = deep.map(|(c, _)| *c).collect();
    let mut said = Vec::new();
    if !shown.is_empty() {
        said.push(format!("that these displays are their cylinders': {}", named(shown)));
    }
    if !deep.is_empty() {
        said.push(format!("the depths of {}", named(deep)));
    }
    said.join("; ")
}

/// What a job is told of the fitting when it is opened, if anything of that still holds.
#[must_use]
pub fn fitted_before(history: &History, local: &LocalTime) -> Option<String> {
    let known = as_fitted(history);
    match (history.commissioned, known.is_empty()) {
        (Some(on), true) => Some(format!("commissioned on {}", local.day(on))),
        (Some(on), false) => {
            Some(format!("commissioned on {}; known since: {known}", local.day(on)))
        }
        (None, false) => Some(format!("known from an earlier visit: {known}")),
        (None, true) => None,
    }
}

/// The visits; with how far each cause was believed, where that is wanted.
fn visits(knowledge: &Knowledge, visits: &[Visit], believed: bool, local: &LocalTime) -> Table {
    let mut columns = vec![("opened", Align::Left), ("job", Align::Left), ("cause", Align::Left)];
    columns.extend(believed.then_some(("believed", Align::Right)));
    columns.extend([("sets", Align::Right), ("left out", Align::Left)]);
    let mut table = Table::new(columns);
    for visit in visits {
        let cause = visit.cause.as_ref().map(|(id, place)| named(knowledge, id, *place));
        let mut row = vec![local.day(visit.opened), visit.job.clone(), cause.unwrap_or_default()];
        row.extend(believed.then(|| visit.believed.map_or_else(String::new, words::percent)));
        row.extend([visit.sets.to_string(), visit.left_out.clone()]);
        table.rows.push(row);
    }
    table
}

fn named(knowledge: &Knowledge, id: &str, place: Place) -> String {
    knowledge.cause(id).map_or_else(
        || format!("{id}, {place}"),
        |index| terms::fault(knowledge, Fault { cause: CauseRef::Listed(index), place }),
    )
}

fn comeback(
    knowledge: &Knowledge,
    history: &History,
    (cause, list): (&str, &[usize]),
    local: &LocalTime,
) -> String {
    let said = list.iter().map(|&i| remembered(&history.visits[i], local));
    let said: Vec<String> = said.collect();
    let name = knowledge.cause(cause).map_or(cause, |index| &knowledge.causes[index].name);
    format!(
        "{name} came back: {}. The same remedy again is likely to be as short-lived: look for what \
         brings it about.",
        said.join("; ")
    )
}

/// A visit at which the cause was remedied.
fn remembered(visit: &Visit, local: &LocalTime) -> String {
    let place = visit.cause.as_ref().map_or(Place::Nowhere, |(_, place)| *place);
    let proven = if visit.proven { "proven" } else { "not proven" };
    format!("{} {place} in job {} ({proven})", local.day(visit.opened), visit.job)
}

/// What a job that carries a history says when a cause is remedied that was remedied before.
#[must_use]
pub fn came_back(
    history: &History,
    cause: &str,
    place: Place,
    local: &LocalTime,
) -> Option<String> {
    let before: Vec<String> = history
        .remedied(cause)
        .map(|(visit, at)| {
            let there = if at == place { "the same place" } else { "another place" };
            format!("{} ({there})", remembered(visit, local))
        })
        .collect();
    (!before.is_empty())
        .then(|| format!("a comeback: the same cause was remedied before, {}", before.join("; ")))
}

/// What was found on the visit before, of a history that a job carries.
#[must_use]
pub fn last_time(knowledge: &Knowledge, history: &History, local: &LocalTime) -> Option<String> {
    let visit = history.visits.iter().rev().find(|visit| visit.cause.is_some())?;
    let (id, place) = visit.cause.as_ref()?;
    let proven = if visit.proven { "proven" } else { "not proven" };
    let believed = visit
        .believed
        .map_or_else(String::new, |p| format!(", believed {} then", words::percent(p)));
    Some(format!(
        "{}: {} was remedied ({proven}{believed})",
        local.day(visit.opened),
        named(knowledge, id, *place)
    ))
}

/// Suspects that are likely enough to be named and were remedied before, a sentence for each.
#[must_use]
pub fn comebacks(
    knowledge: &Knowledge,
    timeline: &Timeline,
    assessment: &Assessment,
    local: &LocalTime,
) -> Vec<String> {
    let Some(history) = &timeline.history else { return Vec::new() };
    let mut said: Vec<String> = Vec::new();
    let mut named = Vec::new();
    for suspect in assessment.suspects.iter().filter(|s| s.probability >= WORTH_NAMING) {
        let CauseRef::Listed(index) = suspect.fault.cause else { continue };
        // Once, where it is most likely.
        if named.contains(&index) {
            continue;
        }
        named.push(index);
        let cause = &knowledge.causes[index];
        let Some(before) = came_back(history, &cause.id, suspect.fault.place, local) else {
            continue;
        };
        let name = terms::fault(knowledge, suspect.fault);
        said.push(format!("if it is {name}, it is {before}"));
    }
    said
}

/// A suspect below this is not held against the past.
const WORTH_NAMING: f64 = 0.1;

/// What displays usually do, a row a running point.
pub(super) fn usual(doc: &mut Doc, points: &Points, usual: &[Usual], scale: Scale) {
    let Some(first) = usual.first() else { return };
    let numbers: Vec<String> = (1..=first.mean.len()).map(|n| n.to_string()).collect();
    doc.heading(format!("What its displays usually do, {}", scale.sign()));
    let mut table = Table::new(
        [("at", Align::Left), ("", Align::Left)]
            .into_iter()
            .chain(numbers.iter().map(|n| (n.as_str(), Align::Right))),
    );
    for one in usual {
        let at = terms::named_point(points, one.at);
        let name = terms::with_site(&at, one.site, ProbeSite::Exhaust);
        let mut row = vec![name, "off".to_owned()];
        row.extend(one.mean.iter().map(|mean| words::bare_difference(*mean, scale)));
        table.rows.push(row);
        let mut row = vec![String::new(), "give or take".to_owned()];
        row.extend(one.sd.iter().map(|sd| bare(*sd, scale)));
        table.rows.push(row);
        let mut row = vec![String::new(), "visits".to_owned()];
        row.extend(one.visits.iter().map(ToString::to_string));
        table.rows.push(row);
    }
    doc.table(table);
    doc.para(
        "Off: expected distance from the mean of all. Give or take: a further visit lies \
         within it two times in three. A display with no visit has been fitted anew since, or was never read there; \
         other points and the layout speak for it.",
    );
}

/// A spread without a sign.
fn bare(kelvin: f64, scale: Scale) -> String {
    words::bare_difference(kelvin, scale).trim_start_matches('+').to_owned()
}

fn drift(doc: &mut Doc, drifts: &[Drift], scale: Scale, local: &LocalTime) {
    doc.heading("Drift between visits");
    if drifts.is_empty() {
        doc.para("Not asked yet: three visits with healthy readings at one point are needed.");
        return;
    }
    let found: Vec<&Drift> = drifts.iter().filter(|drift| drift.drifts()).collect();
    if found.is_empty() {
        let least = drifts.iter().map(|d| d.chance).fold(1.0, f64::min);
        doc.para(format!(
            "No display drifts. {} tried; a course like the steepest comes by accident in {} of such \
             records.",
            words::upper_first(&words::count(drifts.len(), "course was", "courses were")),
            words::percent(least)
        ));
        return;
    }
    let mut table = Table::new([
        ("display", Align::Right),
        ("at", Align::Left),
        ("a year", Align::Right),
        ("by accident", Align::Right),
        ("leaves its band", Align::Left),
        ("at the earliest", Align::Left),
    ]);
    for drift in &found {
        let (slope, se) = drift.a_year();
        let leaves = drift.leaves.map_or_else(
            || ("not in five years".to_owned(), String::new()),
            |(expected, earliest)| (local.day(expected), local.day(earliest)),
        );
        table.rows.push(vec![
            drift.display.to_string(),
            terms::point(drift.kind.at).to_owned(),
            format!("{} ±{}", words::bare_difference(slope, scale), bare(se, scale)),
            words::percent(drift.chance),
            leaves.0,
            leaves.1,
        ]);
    }
    doc.table(table);
    for drift in found {
        let course: Vec<String> = drift
            .points
            .iter()
            .map(|(time, value)| {
                format!("{} {}", local.day(*time), words::bare_difference(*value, scale))
            })
            .collect();
        doc.para(format!(
            "Display {} at {}: {}. Band: {} either way of where it began.",
            drift.display,
            terms::point(drift.kind.at),
            course.join(", "),
            words::difference(drift.band, scale).trim_start_matches('+')
        ));
    }
    doc.para(hint(drifts));
}

/// What the running points say of a drift. Common practice, no source, on the physics of the method
/// page: an error of the chain does not turn round with load, a mixture does where the setting does.
fn hint(drifts: &[Drift]) -> &'static str {
    let rises = |load: Load| {
        let here = |at: RunningPoint| at.settled && at.load == load;
        let list = drifts.iter().filter(|d| d.drifts() && here(d.kind.at));
        list.map(|d| d.line.slope > 0.0).next()
    };
    match (rises(Load::Part).or(rises(Load::None)), rises(Load::Full)) {
        (Some(light), Some(full)) if light != full => {
            "It turns round between light load and full load, as a mixture does that goes off on one \
             cylinder: look at its injector first."
        }
        _ => {
            "It does not turn round with load, as far as was read: probe, fit and lead first, as \
             always. A mixture that goes off would turn round where full load is set rich."
        }
    }
}

/// What a job's card says of the vehicle's history.
pub(super) fn on_card(
    doc: &mut Doc,
    knowledge: &Knowledge,
    history: &History,
    (scale, local): (Scale, &LocalTime),
) {
    doc.heading("History of the vehicle");
    // What a cause was worth then is no second figure beside what it is worth now.
    doc.table(visits(knowledge, &history.visits, false, local));
    if let Some(known) = fitted_before(history, local) {
        doc.para(words::sentence(&known));
    }
    let used = |usual: &&Usual| usual.visits.iter().any(|&n| n > 0);
    if history.usual.iter().any(|u| used(&u)) {
        usual(doc, &knowledge.points, &history.usual, scale);
    } else {
        doc.para(
            "None of their readings counts as healthy; the usual scatter of this layout is used.",
        );
    }
}
