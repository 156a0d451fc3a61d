//! The knowledge base as data for programs and as a table of contents for people.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde::Serialize;

use super::exchange::{Exchange, Partner, exchange_row};
use super::model::{
    Cause, Item, Knowledge, Lasting, PlaceKind, Preset, RunningPoint, Scope, Seat, TestKind,
    Thermal,
};
use measure::engine::Engine;
use measure::units::Cost;

/// The whole knowledge base, as `knowledge list --json` gives it.
#[derive(Debug, Serialize)]
pub struct ListDocument<'k> {
    causes: Vec<CauseDocument<'k>>,
    tests: Vec<TestDocument<'k>>,
    groups: Vec<GroupDocument<'k>>,
    engines: Vec<EngineDocument<'k>>,
    points: Vec<PointDocument<'k>>,
    sources: &'k BTreeMap<String, String>,
}

/// Every cause and test, with groups, engines and sources.
#[must_use]
pub fn document(knowledge: &Knowledge) -> ListDocument<'_> {
    let tests = 0..knowledge.tests.len();
    let groups = 0..knowledge.groups.len();
    ListDocument {
        causes: knowledge.causes.iter().map(|c| CauseDocument::of(knowledge, c)).collect(),
        tests: tests.map(|n| TestDocument::of(knowledge, n)).collect(),
        groups: groups.map(|n| GroupDocument::of(knowledge, n)).collect(),
        engines: knowledge.presets.iter().map(EngineDocument::of).collect(),
        points: knowledge.points.iter().map(PointDocument::of).collect(),
        sources: &knowledge.sources,
    }
}

/// An engine of the list.
#[derive(Debug, Serialize)]
pub struct EngineDocument<'k> {
    id: &'k str,
    name: &'k str,
    engine: &'k Engine,
}

impl<'k> EngineDocument<'k> {
    pub(super) fn of(preset: &'k Preset) -> Self {
        Self { id: &preset.id, name: &preset.name, engine: &preset.engine }
    }
}

/// A running point.
#[derive(Debug, Serialize)]
pub struct PointDocument<'k> {
    id: &'k str,
    name: &'k str,
    engine: &'static str,
    settled: bool,
    load: &'static str,
    confirm: bool,
    routine: bool,
    like: Option<&'k str>,
    factor: f64,
    words: Vec<String>,
}

impl PointDocument<'_> {
    pub(super) fn of(point: RunningPoint) -> Self {
        Self {
            id: point.as_str(),
            name: point.name(),
            engine: point.thermal.as_str(),
            settled: point.settled,
            load: point.load.as_str(),
            confirm: point.confirm,
            routine: point.routine,
            like: point.like.map(RunningPoint::as_str),
            factor: point.factor,
            words: point.words.clone(),
        }
    }
}

/// Ids from the top group down to this one.
#[must_use]
pub fn group_path(knowledge: &Knowledge, group: usize) -> Vec<&str> {
    let mut path = vec![knowledge.groups[group].id.as_str()];
    let mut here = group;
    while let Some(parent) = knowledge.groups[here].parent {
        path.push(&knowledge.groups[parent].id);
        here = parent;
    }
    path.reverse();
    path
}

/// A group with its parent and the causes right under it.
#[derive(Debug, Serialize)]
pub struct GroupDocument<'k> {
    id: &'k str,
    name: &'k str,
    parent: Option<&'k str>,
    causes: Vec<&'k str>,
}

impl<'k> GroupDocument<'k> {
    pub(super) fn of(knowledge: &'k Knowledge, group: usize) -> Self {
        let this = &knowledge.groups[group];
        let causes = knowledge.causes.iter().filter(|c| c.group == group);
        Self {
            id: &this.id,
            name: &this.name,
            parent: this.parent.map(|parent| knowledge.groups[parent].id.as_str()),
            causes: causes.map(|c| c.id.as_str()).collect(),
        }
    }
}

/// A cause.
#[derive(Debug, Serialize)]
#[expect(clippy::struct_excessive_bools, reason = "marks of a cause, as its row has them")]
pub struct CauseDocument<'k> {
    id: &'k str,
    name: &'k str,
    what: &'k str,
    group: &'k str,
    groups: Vec<&'k str>,
    seat: Seat,
    place: PlaceKind,
    weight: f64,
    recent: &'k BTreeMap<String, f64>,
    reseat: f64,
    intermittent: bool,
    fixed: bool,
    fitted: bool,
    by_build: bool,
    heat: bool,
    clues: &'k [String],
    remedy: Option<RemedyDocument<'k>>,
}

#[derive(Debug, Serialize)]
struct RemedyDocument<'k> {
    id: &'k str,
    what: &'k str,
    cost: CostDocument,
    states: &'k [Thermal],
    access: Vec<&'k str>,
    first: Vec<&'k str>,
    cautions: Vec<&'k str>,
}

#[derive(Debug, Serialize)]
struct CostDocument {
    hands_on_min: f64,
    wait_min: f64,
    parts: f64,
}

impl From<Cost> for CostDocument {
    fn from(cost: Cost) -> Self {
        Self { hands_on_min: cost.hands_on, wait_min: cost.wait, parts: cost.parts }
    }
}

impl<'k> CauseDocument<'k> {
    pub(super) fn of(knowledge: &'k Knowledge, cause: &'k Cause) -> Self {
        let remedy = cause.remedy.as_ref().map(|remedy| RemedyDocument {
            id: &remedy.id,
            what: &remedy.what,
            cost: remedy.cost.into(),
            states: &remedy.states,
            access: names(&remedy.access, |n| &knowledge.access[n].id),
            first: names(&remedy.first, |n| &knowledge.tests[n].id),
            cautions: names(&remedy.cautions, |n| &knowledge.cautions[n].id),
        });
        Self {
            id: &cause.id,
            name: &cause.name,
            what: &cause.what,
            group: &knowledge.groups[cause.group].id,
            groups: group_path(knowledge, cause.group),
            seat: cause.seat,
            place: cause.place,
            weight: cause.weight,
            recent: &cause.recent,
            reseat: cause.reseat,
            intermittent: cause.is_intermittent(),
            fixed: cause.lasting == Lasting::Fixed,
            fitted: cause.fitted,
            by_build: cause.by_build,
            heat: cause.heat,
            clues: &cause.clues,
            remedy,
        }
    }
}

/// Cause id to the chances of the outcomes.
pub(super) type Table<'k> = BTreeMap<&'k str, Vec<f64>>;

/// A test with its likelihood table.
///
/// The table is `outcomes` (ids), `default` and `given` (cause id to row, in the order of the outcomes) for a cause
/// at the tested cylinder. Tests whose chances follow from the seats name every cause; their rows hold for a partner
/// that has no part in the fault, and `given_pair` has the rows for an exchange within a mixed-up pair.
#[derive(Debug, Serialize)]
pub struct TestDocument<'k> {
    id: &'k str,
    name: &'k str,
    kind: TestKind,
    scope: Scope,
    item: Option<Item>,
    seats: SeatsDocument<'k>,
    groups: Vec<&'k str>,
    states: &'k [Thermal],
    leaves: Option<Thermal>,
    access: Vec<&'k str>,
    tools: &'k str,
    cost: CostDocument,
    cautions: Vec<&'k str>,
    outcomes: Vec<&'k str>,
    outcome_texts: BTreeMap<&'k str, &'k str>,
    pub(super) default: &'k [f64],
    pub(super) given: Table<'k>,
    #[serde(skip_serializing_if = "Option::is_none")]
    given_pair: Option<Table<'k>>,
}

#[derive(Debug, Serialize)]
struct SeatsDocument<'k> {
    moves: &'k [Seat],
    replaces: &'k [Seat],
    reseats: BTreeMap<&'static str, f64>,
}

impl<'k> TestDocument<'k> {
    pub(super) fn of(knowledge: &'k Knowledge, index: usize) -> Self {
        let test = &knowledge.tests[index];
        let outcomes = || test.outcomes.iter();
        let pair = test.kind.follows_seats().then(|| table(knowledge, index, Partner::Mate));
        Self {
            id: &test.id,
            name: &test.name,
            kind: test.kind,
            scope: test.scope,
            item: test.item,
            seats: SeatsDocument {
                moves: &test.moves,
                replaces: &test.replaces,
                reseats: test.reseats.iter().map(|(seat, share)| (seat.as_str(), *share)).collect(),
            },
            groups: groups_of(knowledge, index),
            states: &test.states,
            leaves: test.leaves,
            access: names(&test.access, |n| &knowledge.access[n].id),
            tools: &test.tools,
            cost: test.cost.into(),
            cautions: names(&test.cautions, |n| &knowledge.cautions[n].id),
            outcomes: outcomes().map(|o| o.id.as_str()).collect(),
            outcome_texts: outcomes().map(|o| (o.id.as_str(), o.text.as_str())).collect(),
            default: &test.default,
            given: table(knowledge, index, Partner::Stranger),
            given_pair: pair,
        }
    }
}

/// Cause id to row: of all causes for tests by seat, within a pair of pairs only.
fn table(knowledge: &Knowledge, index: usize, partner: Partner) -> Table<'_> {
    let test = &knowledge.tests[index];
    let how = Exchange { partner, depth_travels: false };
    let told = (0..).zip(&knowledge.causes).filter(|(n, cause)| {
        match (test.kind.follows_seats(), partner) {
            (false, _) => test.given.contains_key(n),
            (true, Partner::Stranger) => cause.place != PlaceKind::Nowhere,
            (true, Partner::Mate) => cause.place == PlaceKind::Pair,
        }
    });
    told.map(|(n, cause)| (cause.id.as_str(), exchange_row(knowledge, index, n, how))).collect()
}

/// Groups of the causes that a table names, or whose seats the test touches, in order.
fn groups_of(knowledge: &Knowledge, index: usize) -> Vec<&str> {
    let test = &knowledge.tests[index];
    let touches = |(n, cause): &(usize, &Cause)| {
        test.given.contains_key(n)
            || test.moves.contains(&cause.seat)
            || test.replaces.contains(&cause.seat)
            || test.reseats.iter().any(|(seat, _)| *seat == cause.seat)
    };
    let mut groups: Vec<usize> =
        (0..).zip(&knowledge.causes).filter(touches).map(|(_, cause)| cause.group).collect();
    groups.sort_unstable();
    groups.dedup();
    groups.into_iter().map(|group| knowledge.groups[group].id.as_str()).collect()
}

fn names<'k>(indices: &[usize], id: impl Fn(usize) -> &'k String) -> Vec<&'k str> {
    indices.iter().map(|&n| id(n).as_str()).collect()
}

/// Causes as a tree of groups, then tests, engines and sources, an id and a name a line.
#[must_use]
pub fn to_text(knowledge: &Knowledge) -> String {
    let mut text = String::from("causes\n");
    for (n, group) in knowledge.groups.iter().enumerate() {
        let depth = group_path(knowledge, n).len();
        let _ = writeln!(text, "{}{} ({})", "  ".repeat(depth), group.name, group.id);
        for cause in knowledge.causes.iter().filter(|c| c.group == n) {
            line(&mut text, depth + 1, &cause.id, &cause.name);
        }
    }
    let tests = knowledge.tests.iter().map(|t| (&t.id, &t.name));
    let engines = knowledge.presets.iter().map(|p| (&p.id, &p.name));
    let points = knowledge.points.iter().map(|point| (point.as_str(), point.name()));
    section(&mut text, "tests", tests);
    section(&mut text, "engines", engines);
    section(&mut text, "running points", points);
    section(&mut text, "sources", knowledge.sources.iter());
    text
}

fn section<'k>(
    text: &mut String,
    title: &str,
    rows: impl Iterator<Item = (impl AsRef<str> + 'k, impl AsRef<str> + 'k)>,
) {
    let _ = writeln!(text, "\n{title}");
    for (id, name) in rows {
        line(text, 1, id.as_ref(), name.as_ref());
    }
}

fn line(text: &mut String, depth: usize, id: &str, name: &str) {
    let indent = "  ".repeat(depth);
    let width = 26usize.saturating_sub(indent.len());
    let _ = writeln!(text, "{indent}{id:width$}  {name}");
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::super::fixture::knowledge;
    use super::*;

    #[test]
    fn the_contents_read_as_a_tree() {
        insta::assert_snapshot!(to_text(&knowledge()), @r#"
        causes
          sensor side (measuring)
            probe (probe)
              probe-drift           drifted probe
            fit (fit)
              fit-deep              probe too deep
              fit-shallow           probe not in far enough
            lead (lead)
              conn-poor             poor connector
              lead-crossed          crossed leads
            channel (channel)
              chan-error            channel off
          no fault (no-fault)
            natural-spread          nothing wrong
            not-settled             not settled

        tests
          look-fit                  Look at the depth marks
          new-probe                 Fit a good probe
          reseat-probe              Refit the probe
          swap-at-box               Exchange leads at the box
          swap-probe                Exchange the probes

        engines
          inline-four-port          four in line

        running points
          cold                      cold soak
          warming                   warming up
          idle                      warm idle
          cruise                    steady cruise
          full                      full load

        sources
          handbook                  A handbook; seen.
        "#);
    }

    #[test]
    fn every_row_of_every_table_goes_with_the_outcomes() {
        let knowledge = knowledge();
        let list = json!(document(&knowledge));
        for test in list["tests"].as_array().expect("tests") {
            let count = test["outcomes"].as_array().expect("outcomes").len();
            let given = test["given"].as_object().expect("given");
            assert!(!given.is_empty());
            for row in given.values().chain([&test["default"]]) {
                let row = row.as_array().expect("a row");
                assert_eq!(row.len(), count);
                let sum: f64 = row.iter().filter_map(Value::as_f64).sum();
                assert!((sum - 1.0).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn a_cause_of_its_own_overrides_the_set_it_is_in() {
        let list = json!(document(&knowledge()));
        let look = &list["tests"][0];
        assert_eq!(look["id"], "look-fit");
        assert_eq!(look["given"]["fit-deep"][1], 0.6);
        assert_eq!(look["given"]["fit-shallow"][2], 0.75);
    }

    #[test]
    fn a_mixed_up_pair_has_rows_of_its_own_in_an_exchange() {
        let list = json!(document(&knowledge()));
        let swap = &list["tests"].as_array().expect("tests")[3];
        assert_eq!(swap["id"], "swap-at-box");
        assert_eq!(swap["given"]["lead-crossed"][3], 0.9);
        assert_eq!(swap["given_pair"]["lead-crossed"][2], 0.9);
    }
}
