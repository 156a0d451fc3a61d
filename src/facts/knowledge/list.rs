//! The knowledge base as data for programs and as a table of contents for people.

use std::fmt::Write as _;

use serde_json::{Map, Value, json};

use super::exchange::{Exchange, Partner, exchange_row};
use super::model::{Cause, Knowledge, Lasting, PlaceKind, RunningPoint, Test};
use measure::units::Cost;

/// Every cause and test, with groups, engines and sources, as `knowledge list --json` gives it.
///
/// A test's likelihood table is `outcomes` (ids), `default` and `given` (cause id to row, in
/// the order of the outcomes) for a cause at the tested cylinder. Tests whose chances follow
/// from the seats name every cause; their rows hold for a partner that has no part in the
/// fault, and `given_pair` has the rows for an exchange within a mixed-up pair.
#[must_use]
pub fn to_json(knowledge: &Knowledge) -> Value {
    let all = |list: Vec<Value>| Value::Array(list);
    json!({
        "causes": all(knowledge.causes.iter().map(|c| cause_json(knowledge, c)).collect()),
        "tests": all((0..knowledge.tests.len()).map(|n| test_json(knowledge, n)).collect()),
        "groups": all((0..knowledge.groups.len()).map(|n| group_json(knowledge, n)).collect()),
        "engines": all(knowledge.presets.iter().map(|p| json!({
            "id": p.id, "name": p.name, "engine": p.engine,
        })).collect()),
        "points": all(knowledge.points.iter().map(point_json).collect()),
        "sources": knowledge.sources,
    })
}

/// A running point.
#[must_use]
pub fn point_json(point: RunningPoint) -> Value {
    json!({
        "id": point.as_str(),
        "name": point.name(),
        "engine": point.thermal.as_str(),
        "settled": point.settled,
        "load": point.load.as_str(),
        "confirm": point.confirm,
        "routine": point.routine,
        "like": point.like.map(RunningPoint::as_str),
        "factor": point.factor,
        "words": point.words,
    })
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
#[must_use]
pub fn group_json(knowledge: &Knowledge, group: usize) -> Value {
    let this = &knowledge.groups[group];
    let causes = knowledge.causes.iter().filter(|c| c.group == group);
    json!({
        "id": this.id,
        "name": this.name,
        "parent": this.parent.map(|parent| &knowledge.groups[parent].id),
        "causes": causes.map(|c| &c.id).collect::<Vec<_>>(),
    })
}

/// A cause.
#[must_use]
pub fn cause_json(knowledge: &Knowledge, cause: &Cause) -> Value {
    let remedy = cause.remedy.as_ref().map(|remedy| {
        json!({
            "id": remedy.id, "what": remedy.what, "cost": cost_json(remedy.cost),
            "states": remedy.states,
            "access": names(&remedy.access, |n| &knowledge.access[n].id),
            "first": names(&remedy.first, |n| &knowledge.tests[n].id),
            "cautions": names(&remedy.cautions, |n| &knowledge.cautions[n].id),
        })
    });
    json!({
        "id": cause.id,
        "name": cause.name,
        "what": cause.what,
        "group": knowledge.groups[cause.group].id,
        "groups": group_path(knowledge, cause.group),
        "seat": cause.seat,
        "place": cause.place,
        "weight": cause.weight,
        "recent": cause.recent,
        "reseat": cause.reseat,
        "intermittent": cause.is_intermittent(),
        "fixed": cause.lasting == Lasting::Fixed,
        "fitted": cause.fitted,
        "by_build": cause.by_build,
        "heat": cause.heat,
        "clues": cause.clues,
        "remedy": remedy,
    })
}

/// A test with its likelihood table.
#[must_use]
pub fn test_json(knowledge: &Knowledge, index: usize) -> Value {
    let test = &knowledge.tests[index];
    let texts: Map<String, Value> =
        test.outcomes.iter().map(|outcome| (outcome.id.clone(), json!(outcome.text))).collect();
    let mut value = json!({
        "id": test.id,
        "name": test.name,
        "kind": test.kind,
        "scope": test.scope,
        "item": test.item,
        "seats": seats_json(test),
        "groups": groups_of(knowledge, index),
        "states": test.states,
        "leaves": test.leaves,
        "access": names(&test.access, |n| &knowledge.access[n].id),
        "tools": test.tools,
        "cost": cost_json(test.cost),
        "cautions": names(&test.cautions, |n| &knowledge.cautions[n].id),
        "outcomes": test.outcomes.iter().map(|o| &o.id).collect::<Vec<_>>(),
        "outcome_texts": texts,
        "default": test.default,
        "given": table(knowledge, index, Partner::Stranger),
    });
    if test.kind.follows_seats() {
        value["given_pair"] = table(knowledge, index, Partner::Mate);
    }
    value
}

/// Cause id to row: of all causes for tests by seat, within a pair of pairs only.
fn table(knowledge: &Knowledge, index: usize, partner: Partner) -> Value {
    let test = &knowledge.tests[index];
    let how = Exchange { partner, depth_travels: false };
    let rows: Map<String, Value> = (0..)
        .zip(&knowledge.causes)
        .filter(|(n, cause)| match (test.kind.follows_seats(), partner) {
            (false, _) => test.given.contains_key(n),
            (true, Partner::Stranger) => cause.place != PlaceKind::Nowhere,
            (true, Partner::Mate) => cause.place == PlaceKind::Pair,
        })
        .map(|(n, cause)| (cause.id.clone(), json!(exchange_row(knowledge, index, n, how))))
        .collect();
    Value::Object(rows)
}

fn seats_json(test: &Test) -> Value {
    let reseats: Map<String, Value> =
        test.reseats.iter().map(|(seat, share)| (seat.as_str().to_owned(), json!(share))).collect();
    json!({ "moves": test.moves, "replaces": test.replaces, "reseats": reseats })
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

fn cost_json(cost: Cost) -> Value {
    json!({ "hands_on_min": cost.hands_on, "wait_min": cost.wait, "parts": cost.parts })
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
        let list = to_json(&knowledge);
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
        let list = to_json(&knowledge());
        let look = &list["tests"][0];
        assert_eq!(look["id"], "look-fit");
        assert_eq!(look["given"]["fit-deep"][1], 0.6);
        assert_eq!(look["given"]["fit-shallow"][2], 0.75);
    }

    #[test]
    fn a_mixed_up_pair_has_rows_of_its_own_in_an_exchange() {
        let list = to_json(&knowledge());
        let swap = &list["tests"].as_array().expect("tests")[3];
        assert_eq!(swap["id"], "swap-at-box");
        assert_eq!(swap["given"]["lead-crossed"][3], 0.9);
        assert_eq!(swap["given_pair"]["lead-crossed"][2], 0.9);
    }
}
