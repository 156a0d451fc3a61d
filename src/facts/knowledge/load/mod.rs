//! From texts to checked knowledge, with every finding on the way.
//!
//! Texts are read layer by layer, the overlay is laid over the base, every
//! row is lowered with its ids resolved and its numbers checked, and what came out is looked
//! at as a whole. No step stops at the first mistake, and none opens a file.

mod causes;
mod constants;
mod cx;
#[cfg(test)]
mod drawn;
mod hazards;
#[cfg(test)]
mod mistakes;
mod points;
mod read;
mod setups;
mod spot;
mod test_rows;
#[cfg(test)]
mod tests;
mod whole;
mod written;

use cx::Cx;
use read::Rows;
use written::Written;

use super::codes;
use super::embedded::embedded;
use super::finding::{Finding, any_error, sort};
use super::model::{Cause, Knowledge, Points};
use super::sources::{Role, SourceText};

/// How texts are read: `Some` may be left out everywhere.
pub(super) fn options() -> ron::Options {
    ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
}

/// Reads and checks a knowledge base.
///
/// `overlay` rows replace those of `files` with the same id, or are added; rows without an
/// id (natural spreads, heat) come before the others. Every name among the texts must be unique.
/// Knowledge comes out unless a finding is an error; findings are in order of their place.
#[must_use]
pub fn load(files: &[SourceText], overlay: &[SourceText]) -> (Option<Knowledge>, Vec<Finding>) {
    let mut findings = Vec::new();
    let base = Rows::read(files, &mut findings);
    let over = Rows::read(overlay, &mut findings);
    let rows = base.overlaid(over, &mut findings);
    for role in Role::ALL.iter().filter(|role| !rows.given.contains(role)) {
        findings.push(Finding::new(
            codes::FILE_MISSING,
            format!("the knowledge base has no `{}`", role.pattern()),
        ));
    }
    let (knowledge, mut findings) = lower(rows, findings);
    sort(&mut findings);
    let usable = !any_error(&findings);
    (usable.then_some(knowledge), findings)
}

/// The running points of the built-in texts alone.
pub(crate) fn built_in_points() -> Points {
    let role = |text: &&SourceText| text.role() == Some(Role::Points);
    let texts: Vec<SourceText> = embedded().iter().filter(role).cloned().collect();
    let mut findings = Vec::new();
    let rows = Rows::read(&texts, &mut findings);
    let mut cx = Cx::new(&rows, findings);
    points::points(&mut cx, rows.points, false)
}

fn lower(mut rows: Rows<'_>, findings: Vec<Finding>) -> (Knowledge, Vec<Finding>) {
    // Sorted first, so that an index into the rows is one into the knowledge.
    rows.causes.sort_by_key(|row| row.value.id);
    rows.tests.sort_by_key(|row| row.value.id);
    let (no_model, no_setups) = (rows.unreadable(Role::Model), rows.unreadable(Role::Setups));
    let no_points = rows.unreadable(Role::Points);
    let all_read = Role::ALL.iter().all(|&role| !rows.unreadable(role));
    let mut written = Written::of(&rows);

    let mut cx = Cx::new(&rows, findings);
    if all_read {
        hazards::check(&mut cx, &rows);
    }
    let points = points::points(&mut cx, rows.points, no_points);
    let constants = constants::constants(&mut cx, rows.constants, no_model);
    let mixture = constants::curve(&mut cx, rows.curve, no_model);
    setups::parts(&mut cx, rows.parts);
    setups::sets(&mut cx, &rows.sets);
    let (groups, place) = setups::groups(&mut cx, &rows.groups);
    written.sort_groups(&place);
    let mut knowledge = Knowledge {
        points,
        changes: setups::changes(&mut cx, rows.changes, no_setups),
        access: each(&mut cx, rows.access, setups::access),
        cautions: each(&mut cx, rows.cautions, setups::caution),
        spreads: each(&mut cx, rows.spreads, setups::spread),
        heat: each(&mut cx, rows.heat, setups::heat),
        presets: each(&mut cx, rows.engines, setups::engine).into_iter().flatten().collect(),
        recent: each(&mut cx, rows.recent, setups::recent),
        sources: each(&mut cx, rows.sources, |_, row| (row.value.0.to_owned(), row.value.1))
            .into_iter()
            .collect(),
        causes: each(&mut cx, rows.causes, causes::cause),
        tests: each(&mut cx, rows.tests, test_rows::test),
        groups,
        mixture,
        constants,
        recall: None,
        lacking: Vec::new(),
    };
    sound_rows(&mut knowledge);
    setups::only(&mut cx, rows.only, &mut knowledge.cautions);
    for cause in &mut knowledge.causes {
        // Rows of groups became groups in another order.
        cause.group = place.get(cause.group).copied().flatten().unwrap_or(0);
    }
    if all_read {
        // With a text missing, all this would be about what is in it.
        for row in &rows.in_code {
            cx.sources.resolve(&mut cx.findings, row.spot.at(&[]), row.value);
        }
        written.check_unused(&mut cx);
        if !knowledge.groups.is_empty() {
            whole::check(&knowledge, &written, &mut cx.findings);
        }
    }
    (knowledge, cx.findings)
}

/// In a table that has a row for nothing wrong, `default` was written for the faults without a row: each
/// of them gets it as its own, and what stands as default is what a sound engine shows.
fn sound_rows(knowledge: &mut Knowledge) {
    let Some(ordinary) = knowledge.causes.iter().position(Cause::is_ordinary) else { return };
    for test in &mut knowledge.tests {
        let Some(sound) = test.given.remove(&ordinary) else { continue };
        let others = std::mem::replace(&mut test.default, sound);
        for cause in (0..knowledge.causes.len()).filter(|cause| *cause != ordinary) {
            test.given.entry(cause).or_insert_with(|| others.clone());
        }
    }
}

fn each<'a, R, T>(
    cx: &mut Cx<'a>,
    rows: Vec<spot::Row<'a, R>>,
    lower: fn(&mut Cx<'a>, spot::Row<'a, R>) -> T,
) -> Vec<T> {
    rows.into_iter().map(|row| lower(cx, row)).collect()
}
