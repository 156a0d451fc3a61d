//! Reading sets as tables, with how far each display is from the others.

use facts::job::entry::Reading;
use facts::job::timeline::{ReadingSet, Timeline};
use judge::diagnosis::{Assessment, Oddness};
use measure::units::Scale;

use super::doc::{Align, Block, Doc, Table};
use super::{terms, words};

/// With more displays than this, each gets a row instead of a column.
const WIDE: u8 = 8;

/// What the rows mean, for under the table.
pub(super) const LEGEND: &str = "Difference: from the middle of the others. × usual: how many times \
     the usual scatter of healthy cylinders that is.";

/// Adds the tables of some reading sets, given as indices into the timeline's.
pub(super) fn add(
    doc: &mut Doc,
    timeline: &Timeline,
    assessment: &Assessment,
    sets: &[usize],
    scale: Scale,
) {
    if timeline.engine.cylinders <= WIDE {
        doc.table(across(timeline, assessment, sets, scale));
        return;
    }
    for &index in sets {
        let set = &timeline.sets[index];
        doc.blocks.push(Block::Para(format!(
            "{} (entry {}):",
            words::upper_first(&point(timeline, set)),
            set.entry
        )));
        doc.table(down(set, assessment, index, scale));
    }
}

fn point(timeline: &Timeline, set: &ReadingSet) -> String {
    terms::point_and_site(set.at, set.site, timeline.engine.probes)
}

/// A column for each display, up to three rows for each set.
fn across(timeline: &Timeline, assessment: &Assessment, sets: &[usize], scale: Scale) -> Table {
    let numbers: Vec<String> = timeline.engine.all().map(|n| n.to_string()).collect();
    let mut table = Table::new(
        [("no", Align::Right), ("at", Align::Left)]
            .into_iter()
            .chain(numbers.iter().map(|n| (n.as_str(), Align::Right))),
    );
    for &index in sets {
        let set = &timeline.sets[index];
        let mut row = vec![set.entry.to_string(), point(timeline, set)];
        row.extend(set.readings.iter().map(|&r| words::reading(r, scale)));
        table.rows.push(row);
        let odd: Vec<Option<&Oddness>> =
            timeline.engine.all().map(|display| oddness(assessment, index, display)).collect();
        let mut line = |name: &str, text: &dyn Fn(&Oddness) -> Option<String>| {
            let cells: Vec<Option<String>> = odd.iter().map(|o| o.and_then(text)).collect();
            if cells.iter().any(Option::is_some) {
                let mut row = vec![String::new(), name.to_owned()];
                row.extend(cells.into_iter().map(Option::unwrap_or_default));
                table.rows.push(row);
            }
        };
        line("difference", &|o| difference(set, o).map(|d| words::bare_difference(d, scale)));
        line("× usual", &|o| spreads(set, o).map(words::spreads));
    }
    table
}

/// A row for each display of one set.
fn down(set: &ReadingSet, assessment: &Assessment, index: usize, scale: Scale) -> Table {
    let mut table = Table::new([
        ("display", Align::Right),
        ("reading", Align::Right),
        ("difference", Align::Right),
        ("× usual", Align::Right),
    ]);
    for (display, &reading) in (1..).zip(&set.readings) {
        let odd = oddness(assessment, index, display);
        let difference = odd.and_then(|o| difference(set, o));
        table.rows.push(vec![
            display.to_string(),
            words::reading(reading, scale),
            difference.map_or_else(String::new, |d| words::bare_difference(d, scale)),
            odd.and_then(|o| spreads(set, o)).map_or_else(String::new, words::spreads),
        ]);
    }
    table
}

/// Whether a display jumped: the middle between its ends was never read.
pub(super) fn jumped(set: &ReadingSet, display: u8) -> bool {
    let reading = usize::from(display).checked_sub(1).and_then(|at| set.readings.get(at));
    matches!(reading, Some(Reading::Erratic { .. }))
}

fn difference(set: &ReadingSet, odd: &Oddness) -> Option<f64> {
    odd.difference.filter(|_| !jumped(set, odd.display))
}

fn spreads(set: &ReadingSet, odd: &Oddness) -> Option<f64> {
    odd.sigmas.filter(|_| !jumped(set, odd.display))
}

fn oddness(assessment: &Assessment, set: usize, display: u8) -> Option<&Oddness> {
    assessment.oddness.iter().find(|o| o.set == set && o.display == display)
}
