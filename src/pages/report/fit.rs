//! The probe-fit sheet: how each probe sits, what differences are worth, what is still to check.

use facts::job::fit::{EQUAL_DEPTH, FitLine};
use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, Seat};
use judge::diagnosis::{depth_worth, millimetre_worth};
use measure::engine::Cylinder;
use measure::units::Scale;

use super::doc::{Align, Doc, NoticeKind, Table};
use super::{pictures, terms, words};

/// Spread between displays at cold soak that healthy ones keep within, °C (class limits of two
/// probes and the box together; common practice).
const COLD_SPREAD: f64 = 6.0;
/// The test by which each display is shown to be its cylinder's.
const NAME_CHECK: &str = "cut-out";

/// The sheet as a page of its own.
#[must_use]
pub fn fit(knowledge: &Knowledge, timeline: &Timeline, scale: Scale) -> Doc {
    let mut doc = Doc::new("Probe-fit sheet");
    doc.fields([("Probes", terms::probes(&timeline.engine)), ("Sit", how_they_sit(timeline))]);
    add(&mut doc, timeline, scale);
    doc.heading("Before the first start");
    doc.table(checks(knowledge, timeline, scale));
    doc.notice(
        NoticeKind::Caution,
        "Set depths on a cold engine: a runner burns skin long after the stop.",
    );
    doc
}

/// Sheath, bore and depth in words; empty where nothing is known.
#[must_use]
fn how_they_sit(timeline: &Timeline) -> String {
    let Some(fitting) = timeline.engine.fitting else { return String::new() };
    let assumed = if timeline.fitting_assumed { " (sheath and bore assumed)" } else { "" };
    format!(
        "sheath {} mm, runner {} mm, tip {:.0} mm past the inner wall{assumed}",
        fitting.diameter, fitting.bore, fitting.depth
    )
}

/// Table, warnings and what a millimetre is worth, for any page.
pub(super) fn add(doc: &mut Doc, timeline: &Timeline, scale: Scale) {
    doc.table(table(timeline));
    doc.figures(pictures::depths(timeline, EQUAL_DEPTH).into_iter().collect());
    let differences: Vec<(Cylinder, f64)> = differences(timeline);
    for &(cylinder, mm) in differences.iter().filter(|(_, mm)| mm.abs() >= EQUAL_DEPTH) {
        doc.notice(NoticeKind::Doubt, warning(timeline, cylinder, mm, scale));
    }
    if differences.len() > 1 && differences.iter().all(|(_, mm)| mm.abs() < EQUAL_DEPTH) {
        doc.para(format!("All measured depths are within {EQUAL_DEPTH} mm of each other."));
    }
    let each: Vec<String> = millimetre_worth(timeline)
        .into_iter()
        .map(|(at, kelvin)| format!("{} at {}", size(kelvin, scale), terms::point(at)))
        .collect();
    if !each.is_empty() {
        doc.para(format!(
            "A millimetre of depth is worth about {}, by the heat that runs off along the stem; sizes are \
             typical, signs are sure.",
            words::list(&each)
        ));
    }
}

/// How much deeper each measured probe sits than its mates, by the cylinder it sits in now.
#[must_use]
pub fn differences(timeline: &Timeline) -> Vec<(Cylinder, f64)> {
    let travels = timeline.engine.depth_travels();
    timeline
        .engine
        .all()
        .filter_map(|cylinder| {
            let number = timeline.arrangement.number_at(Seat::Fit, cylinder, travels);
            Some((cylinder, timeline.sheet.difference(number)?.mm))
        })
        .collect()
}

/// A difference without its sign.
fn size(kelvin: f64, scale: Scale) -> String {
    words::difference(kelvin.abs(), scale).trim_start_matches('+').to_owned()
}

fn warning(timeline: &Timeline, cylinder: Cylinder, mm: f64, scale: Scale) -> String {
    let way = if mm > 0.0 { "deeper" } else { "less deep" };
    let worth: Vec<String> = depth_worth(timeline, mm)
        .into_iter()
        .map(|w| {
            format!(
                "{} ± {} at {}",
                words::difference(w.mean, scale),
                size(w.sd, scale),
                terms::point(w.at)
            )
        })
        .collect();
    let worth = if worth.is_empty() {
        String::new()
    } else {
        format!(": worth {} with everything else healthy", words::list(&worth))
    };
    format!(
        "the probe of cylinder {cylinder} sits {:.1} mm {way} than the others{worth}.",
        mm.abs()
    )
}

/// What a column shows of a line.
type Cell = fn(&FitLine) -> Option<String>;

fn table(timeline: &Timeline) -> Table {
    let columns: [(&str, Align, Cell); 8] = [
        ("depth mm", Align::Right, |l| l.depth.map(|mm| mm.to_string())),
        ("stem out mm", Align::Right, |l| l.stem.map(|mm| mm.to_string())),
        ("from port mm", Align::Right, |l| l.from_port.map(|mm| mm.to_string())),
        ("o'clock", Align::Right, |l| l.clock.map(|hour| hour.to_string())),
        ("probe", Align::Left, |l| l.probe.clone()),
        ("serial", Align::Left, |l| l.serial.clone()),
        ("lead", Align::Left, |l| l.lead.clone()),
        ("channel", Align::Left, |l| l.channel.clone()),
    ];
    let lines = timeline.sheet.lines();
    let used: Vec<&(&str, Align, Cell)> =
        columns.iter().filter(|(_, _, cell)| lines.values().any(|l| cell(l).is_some())).collect();
    let differences = differences(timeline);
    let mut head = vec![("cylinder", Align::Right)];
    head.extend(used.iter().map(|(name, align, _)| (*name, *align)));
    if !differences.is_empty() {
        head.push(("against the others", Align::Right));
    }
    let mut table = Table::new(head);
    for (cylinder, line) in &lines {
        let mut row = vec![cylinder.to_string()];
        row.extend(used.iter().map(|(_, _, cell)| cell(line).unwrap_or_default()));
        if let Some((_, mm)) = differences.iter().find(|(c, _)| c == cylinder) {
            row.push(format!("{mm:+.1} mm"));
        }
        table.rows.push(row);
    }
    table
}

/// Whether each thing to be done before the first start is done.
fn checks(knowledge: &Knowledge, timeline: &Timeline, scale: Scale) -> Table {
    let all = usize::from(timeline.engine.cylinders);
    let mut table = Table::new([("check", Align::Left), ("state", Align::Left)]);
    let mut row = |check: &str, state: String| table.rows.push(vec![check.to_owned(), state]);
    let measured =
        timeline.sheet.lines().values().filter(|l| l.depth.is_some() || l.stem.is_some()).count();
    row("Depth measured and stem marked, every probe alike", of(measured, all));
    row("Cold soak: all displays alike with the key on", cold_soak(timeline, scale));
    let named = |c: Cylinder| {
        let known = |f: &facts::job::timeline::Finding| {
            knowledge.tests[f.test].id == NAME_CHECK && f.cylinder == Some(c)
        };
        timeline.findings.iter().any(known)
    };
    let named = timeline.engine.all().filter(|&c| named(c)).count();
    row("Each display shown to be its cylinder's, one at a time", of(named, all));
    table
}

fn of(done: usize, all: usize) -> String {
    match done {
        0 => "to do".to_owned(),
        done if done >= all => "done".to_owned(),
        done => format!("{done} of {all} done"),
    }
}

fn cold_soak(timeline: &Timeline, scale: Scale) -> String {
    let Some(set) = timeline.sets.iter().rfind(|s| s.at.is_cold()) else {
        return "to do".to_owned();
    };
    let values = || set.readings.iter().filter_map(|r| r.middle());
    let spread =
        values().fold(f64::NEG_INFINITY, f64::max) - values().fold(f64::INFINITY, f64::min);
    if !spread.is_finite() {
        return "no display showed a number".to_owned();
    }
    let spread_text = size(spread, scale);
    if spread <= COLD_SPREAD {
        format!("done, within {spread_text}")
    } else {
        format!("done, but {spread_text} apart")
    }
}
