//! Reads texts into rows, layer by layer, and lays one layer over the other.

use std::collections::{BTreeMap, BTreeSet};

use serde::Deserialize;

use super::spot::{Row, Spot};
use crate::knowledge::codes;
use crate::knowledge::file::{
    CausesFile, CautionsFile, EnginesFile, FORMAT, GroupsFile, HeatFile, ModelFile, PointsFile,
    RawAccess, RawBasis, RawCause, RawCondition, RawHeat, RawPoint, RawPreset, RawSpread, RawTest,
    SetupsFile, SourcesFile, SpreadsFile, TestsFile, Version,
};
use crate::knowledge::finding::Finding;
use crate::knowledge::model::{Hazard, Thermal};
use crate::knowledge::outline::Step;
use crate::knowledge::ron_error::explain;
use crate::knowledge::sources::{Role, SourceText};
use measure::names::nearest;

/// (id, name, parent)
pub(super) type RawGroup<'a> = (&'a str, String, Option<&'a str>);
/// (from, to, hands-on minutes, waiting minutes, basis)
pub(super) type RawChange<'a> = (Thermal, Thermal, f64, f64, RawBasis<'a>);
/// (name, values, basis)
pub(super) type RawConstant<'a> = (&'a str, Vec<f64>, RawBasis<'a>);

/// The mixture curve as read.
#[derive(Debug)]
pub(super) struct RawCurve<'a> {
    pub(super) points: Vec<(f64, f64, f64, f64)>,
    pub(super) basis: Option<RawBasis<'a>>,
}

/// Every row of some texts.
#[derive(Debug, Default)]
pub(super) struct Rows<'a> {
    pub(super) causes: Vec<Row<'a, RawCause<'a>>>,
    pub(super) tests: Vec<Row<'a, RawTest<'a>>>,
    pub(super) groups: Vec<Row<'a, RawGroup<'a>>>,
    pub(super) sets: Vec<Row<'a, (&'a str, Vec<&'a str>)>>,
    pub(super) changes: Vec<Row<'a, RawChange<'a>>>,
    pub(super) access: Vec<Row<'a, RawAccess<'a>>>,
    pub(super) parts: Vec<Row<'a, (&'a str, f64, RawBasis<'a>)>>,
    pub(super) recent: Vec<Row<'a, (&'a str, String)>>,
    pub(super) sources: Vec<Row<'a, (&'a str, String)>>,
    pub(super) in_code: Vec<Row<'a, &'a str>>,
    pub(super) cautions: Vec<Row<'a, (&'a str, String, RawBasis<'a>)>>,
    pub(super) answers: Vec<Row<'a, (Hazard, Vec<&'a str>)>>,
    pub(super) only: Vec<Row<'a, (&'a str, RawCondition)>>,
    pub(super) hazards: Vec<Row<'a, (Thermal, Vec<Hazard>)>>,
    pub(super) spreads: Vec<Row<'a, RawSpread<'a>>>,
    pub(super) heat: Vec<Row<'a, RawHeat<'a>>>,
    pub(super) engines: Vec<Row<'a, RawPreset<'a>>>,
    pub(super) points: Vec<Row<'a, RawPoint<'a>>>,
    pub(super) constants: Vec<Row<'a, RawConstant<'a>>>,
    pub(super) curve: Option<Row<'a, RawCurve<'a>>>,
    /// Kinds of which a text was given.
    pub(super) given: BTreeSet<Role>,
    /// Kinds of which a text could not be read, so that ids may be missing.
    pub(super) broken: BTreeSet<Role>,
}

fn rows<'a, T>(file: &'a SourceText, list: &'static str, into: &mut Vec<Row<'a, T>>, from: Vec<T>) {
    into.extend(
        from.into_iter()
            .enumerate()
            .map(|(index, value)| Row { spot: Spot { file, list, index }, value }),
    );
}

impl<'a> Rows<'a> {
    /// Reads every text; what cannot be read becomes a finding.
    pub(super) fn read(files: &'a [SourceText], findings: &mut Vec<Finding>) -> Self {
        let mut all = Self::default();
        for file in files {
            let Some(role) = file.role() else {
                findings.push(unknown_file(file));
                continue;
            };
            all.given.insert(role);
            if let Some(found) = newer(file) {
                all.broken.insert(role);
                findings.push(found);
                continue;
            }
            if let Err(error) = all.read_file(role, file) {
                all.broken.insert(role);
                findings.push(explain(file, &error));
            }
        }
        all
    }

    /// Whether rows of a kind may be missing because a text is missing or could not be read.
    pub(super) fn unreadable(&self, role: Role) -> bool {
        self.broken.contains(&role) || !self.given.contains(&role)
    }

    fn read_file(&mut self, role: Role, file: &'a SourceText) -> ron::error::SpannedResult<()> {
        fn parse<'a, T: Deserialize<'a>>(file: &'a SourceText) -> ron::error::SpannedResult<T> {
            super::options().from_str(file.text())
        }
        match role {
            Role::Causes => {
                let read: CausesFile = parse(file)?;
                rows(file, "causes", &mut self.causes, read.causes);
            }
            Role::Tests => {
                let read: TestsFile = parse(file)?;
                rows(file, "tests", &mut self.tests, read.tests);
            }
            Role::Groups => {
                let read: GroupsFile = parse(file)?;
                rows(file, "groups", &mut self.groups, read.groups);
                rows(file, "sets", &mut self.sets, read.sets);
            }
            Role::Setups => {
                let read: SetupsFile = parse(file)?;
                rows(file, "changes", &mut self.changes, read.changes);
                rows(file, "access", &mut self.access, read.access);
                rows(file, "parts", &mut self.parts, read.parts);
                rows(file, "recent", &mut self.recent, read.recent);
                rows(file, "hazards", &mut self.hazards, read.hazards);
            }
            Role::Cautions => {
                let read: CautionsFile = parse(file)?;
                rows(file, "cautions", &mut self.cautions, read.cautions);
                rows(file, "answers", &mut self.answers, read.answers);
                rows(file, "only", &mut self.only, read.only);
            }
            Role::Spreads => {
                let read: SpreadsFile = parse(file)?;
                rows(file, "spreads", &mut self.spreads, read.spreads);
            }
            Role::Heat => {
                let read: HeatFile = parse(file)?;
                rows(file, "heat", &mut self.heat, read.heat);
            }
            Role::Points => {
                let read: PointsFile = parse(file)?;
                rows(file, "points", &mut self.points, read.points);
            }
            Role::Engines => {
                let read: EnginesFile = parse(file)?;
                rows(file, "engines", &mut self.engines, read.engines);
            }
            Role::Model => {
                let read: ModelFile = parse(file)?;
                rows(file, "constants", &mut self.constants, read.constants);
                if !read.mixture.is_empty() {
                    let list = "mixture";
                    self.curve = Some(Row {
                        spot: Spot { file, list, index: 0 },
                        value: RawCurve { points: read.mixture, basis: read.mixture_basis },
                    });
                }
            }
            Role::Sources => {
                let read: SourcesFile = parse(file)?;
                rows(file, "sources", &mut self.sources, read.sources);
                rows(file, "in_code", &mut self.in_code, read.in_code);
            }
        }
        Ok(())
    }

    /// Lays a layer over this one: rows of the same id replace, others are added.
    pub(super) fn overlaid(self, over: Self, findings: &mut Vec<Finding>) -> Self {
        const ID: Step = Step::Field("id");
        const FIRST: Step = Step::Nth(0);
        let changes = |rows: Vec<Row<'a, RawChange<'a>>>| {
            rows.into_iter()
                .map(|row| ((row.value.0, row.value.1), row))
                .collect::<BTreeMap<_, _>>()
        };
        let mut all_changes = changes(self.changes);
        all_changes.extend(changes(over.changes));
        let mut spreads = over.spreads;
        spreads.extend(self.spreads);
        let mut heat = over.heat;
        heat.extend(self.heat);
        let mut answers = self.answers;
        answers.extend(over.answers);
        let mut hazards = self.hazards;
        hazards.extend(over.hazards);
        let mut in_code = self.in_code;
        in_code.extend(over.in_code);
        Self {
            causes: lay("cause", ID, self.causes, over.causes, |c| c.id, findings),
            tests: lay("test", ID, self.tests, over.tests, |t| t.id, findings),
            groups: lay("group", FIRST, self.groups, over.groups, |g| g.0, findings),
            sets: lay("set", FIRST, self.sets, over.sets, |s| s.0, findings),
            changes: all_changes.into_values().collect(),
            access: lay("access", ID, self.access, over.access, |a| a.id, findings),
            parts: lay("class of parts", FIRST, self.parts, over.parts, |p| p.0, findings),
            recent: lay("flag", FIRST, self.recent, over.recent, |r| r.0, findings),
            sources: lay("source", FIRST, self.sources, over.sources, |s| s.0, findings),
            cautions: lay("caution", FIRST, self.cautions, over.cautions, |c| c.0, findings),
            answers,
            only: lay("caution", FIRST, self.only, over.only, |o| o.0, findings),
            hazards,
            in_code,
            spreads,
            heat,
            engines: lay("engine", ID, self.engines, over.engines, |e| e.id, findings),
            points: lay("running point", ID, self.points, over.points, |p| p.id, findings),
            constants: lay("constant", FIRST, self.constants, over.constants, |c| c.0, findings),
            curve: over.curve.or(self.curve),
            given: &self.given | &over.given,
            broken: &self.broken | &over.broken,
        }
    }
}

/// One list laid over another; ids that occur twice in one layer are findings.
fn lay<'a, T>(
    what: &str,
    step: Step,
    below: Vec<Row<'a, T>>,
    above: Vec<Row<'a, T>>,
    id: fn(&T) -> &'a str,
    findings: &mut Vec<Finding>,
) -> Vec<Row<'a, T>> {
    let mut all = once_each(what, step, below, id, findings);
    let place: BTreeMap<&str, usize> =
        (0..).zip(&all).map(|(i, row)| (id(&row.value), i)).collect();
    let above = once_each(what, step, above, id, findings);
    let mut added = Vec::new();
    for row in above {
        match place.get(id(&row.value)) {
            Some(&at) => all[at] = row,
            None => added.push(row),
        }
    }
    all.extend(added);
    all
}

fn once_each<'a, T>(
    what: &str,
    step: Step,
    rows: Vec<Row<'a, T>>,
    id: fn(&T) -> &'a str,
    findings: &mut Vec<Finding>,
) -> Vec<Row<'a, T>> {
    let mut first: BTreeMap<&str, Spot<'a>> = BTreeMap::new();
    let mut kept = Vec::with_capacity(rows.len());
    for row in rows {
        let name = id(&row.value);
        let here = row.spot.at(std::slice::from_ref(&step));
        if !is_id(what, name) {
            findings.push(
                here.finding(codes::BAD_ID, format!("`{name}` cannot be the id of a {what}"), "")
                    .help("use small letters, digits and hyphens, a letter first, as `fit-deep`"),
            );
        }
        if let Some(earlier) = first.get(name) {
            let earlier = earlier.at(std::slice::from_ref(&step));
            findings.push(
                here.finding(
                    codes::DUPLICATE_ID,
                    format!("{what} `{name}` is defined twice"),
                    "again here",
                )
                .at(earlier.file(), earlier.range(), "first here")
                .help("rename one, or delete it; to replace a built-in row, use an overlay folder"),
            );
        } else {
            first.insert(name, row.spot);
            kept.push(row);
        }
    }
    kept
}

/// Ids are typed on the command line and stand in links; the names of constants and sets are
/// not, and keep to the code's underscores and to capitals. A constant may be one of a running point
/// (`level_spark:towing`).
fn is_id(what: &str, name: &str) -> bool {
    let inner = matches!(what, "constant" | "set");
    name.starts_with(|c: char| c.is_ascii_lowercase() || inner && c.is_ascii_uppercase())
        && name.chars().all(|c| {
            c.is_ascii_lowercase()
                || c.is_ascii_digit()
                || c == '-'
                || inner && (c == '_' || c.is_ascii_uppercase())
                || what == "constant" && c == ':'
        })
}

/// That a file is of a newer form, if it is: what it says then may not be what we take it for.
fn newer(file: &SourceText) -> Option<Finding> {
    let at = file.text().find("format")?;
    let version: Version = super::options().from_str(file.text()).ok()?;
    let format = version.format.filter(|format| *format > FORMAT)?;
    let text = format!("it has format {format}, this program knows formats up to {FORMAT}");
    let help = "use the newer oddpot that it was written for";
    Some(Finding::new(codes::NEWER_FORMAT, text).at(file, at..at + "format".len(), "").help(help))
}

fn unknown_file(file: &SourceText) -> Finding {
    let leaf = file.name().rsplit(['/', '\\']).next().unwrap_or_default();
    let patterns: Vec<&str> = Role::ALL.iter().map(|role| role.pattern()).collect();
    let help = match nearest(leaf, patterns.iter().copied()) {
        Some(name) => format!("did you mean `{name}`?"),
        None => format!("a knowledge folder holds {}", patterns.join(", ")),
    };
    Finding::new(codes::UNKNOWN_FILE, format!("`{}` is no file of a knowledge base", file.name()))
        .at(file, 0..0, "")
        .help(help)
}
