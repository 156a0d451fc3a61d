//! Tests: their outcomes, tables and seats.

use std::collections::BTreeMap;

use super::causes::reseats;
use super::cx::{Cx, SUM_TOLERANCE, condition};
use super::spot::{At, Row, Spot};
use crate::knowledge::codes;
use crate::knowledge::exchange::{elsewhere_row, floor_and_normalise};
use crate::knowledge::file::RawTest;
use crate::knowledge::model::{Charge, Outcome, Test, TestKind, USUAL_SLIP};
use crate::knowledge::outline::Step::{Field, Nth};

/// Marks a name in a table as that of a set.
const SET: &str = "set:";

/// Lowers a test.
pub(super) fn test<'a>(cx: &mut Cx<'a>, row: Row<'a, RawTest<'a>>) -> Test {
    let Row { spot, value: raw } = row;
    outcomes(cx, spot, &raw);
    seats(cx, spot, &raw);
    let cost = cx.cost(spot.at(&[Field("time")]), raw.time, spot.at(&[Field("parts")]), raw.parts);
    let mut access = Vec::new();
    for (n, id) in raw.access.iter().enumerate() {
        let path = [Field("access"), Nth(n)];
        access.extend(cx.access.resolve(&mut cx.findings, spot.at(&path), id));
    }
    let mut cautions = Vec::new();
    for (n, id) in raw.cautions.iter().enumerate() {
        let path = [Field("cautions"), Nth(n)];
        cautions.extend(cx.cautions.resolve(&mut cx.findings, spot.at(&path), id));
    }
    let count = raw.outcomes.len();
    let (slip, named) = (slip(cx, spot, raw.slip), partners(cx, spot, &raw));
    let outcomes: Vec<Outcome> = raw
        .outcomes
        .into_iter()
        .map(|(id, text)| Outcome { id: id.to_owned(), text, partner: named.contains(&id) })
        .collect();
    let seats_row = elsewhere_row(raw.kind, &outcomes, cx.floor).filter(|_| raw.default.is_empty());
    let default = seats_row
        .or_else(|| {
            self::row(cx, spot.at(&[Field("default")]), "the default row", raw.default, count)
        })
        .unwrap_or_else(|| even(count));
    let (given, by_charge) = given(cx, spot, raw.given, count);
    Test {
        id: raw.id.to_owned(),
        name: raw.name,
        kind: raw.kind,
        scope: raw.scope,
        applies: condition(raw.applies),
        states: raw.states,
        leaves: raw.leaves,
        access,
        tools: raw.tools,
        cost,
        moves: raw.moves,
        replaces: raw.replaces,
        reseats: reseats(cx, spot, &[], raw.reseats),
        item: raw.item,
        steps: raw.steps,
        cautions,
        outcomes,
        default,
        given,
        by_charge,
        slip,
        at_point: raw.at_point,
        from_readings: raw.from_readings,
        past: raw.past,
        basis: cx.basis(spot.at(&[Field("basis")]), &raw.basis),
    }
}

/// Checks the chance of a slip: a report that is wrong as often as right says nothing.
fn slip(cx: &mut Cx<'_>, spot: Spot<'_>, raw: Option<f64>) -> f64 {
    let Some(slip) = raw else { return USUAL_SLIP };
    if (0.0..0.5).contains(&slip) {
        return slip;
    }
    let at = spot.at(&[Field("slip")]);
    let said = format!("a slip of {slip}: expected from 0 to below 0.5");
    cx.findings.push(at.finding(codes::BAD_CHANCE, said, "here"));
    USUAL_SLIP
}

/// Outcomes that point at another cylinder: they must be the test's own.
fn partners<'a>(cx: &mut Cx<'a>, spot: Spot<'_>, raw: &RawTest<'a>) -> Vec<&'a str> {
    for (n, id) in raw.partner.iter().enumerate() {
        if raw.outcomes.iter().all(|(outcome, _)| outcome != id) {
            let path = [Field("partner"), Nth(n)];
            let said = format!("`{id}` is no outcome of test `{}`", raw.id);
            cx.findings.push(spot.at(&path).finding(codes::BAD_OUTCOMES, said, "here"));
        }
    }
    raw.partner.clone()
}

fn even(count: usize) -> Vec<f64> {
    let mut row = vec![0.0; count];
    floor_and_normalise(&mut row, 0.0);
    row
}

/// Checks the ids of the outcomes against each other and against the kind of test.
fn outcomes(cx: &mut Cx<'_>, spot: Spot<'_>, raw: &RawTest<'_>) {
    const WHERE: [crate::knowledge::outline::Step; 1] = [Field("outcomes")];
    let ids: Vec<&str> = raw.outcomes.iter().map(|(id, _)| *id).collect();
    for (n, id) in ids.iter().enumerate() {
        if ids[..n].contains(id) {
            let path = [Field("outcomes"), Nth(n), Nth(0)];
            cx.findings.push(spot.at(&path).finding(
                codes::DUPLICATE_ID,
                format!("outcome `{id}` is there twice"),
                "again here",
            ));
        }
    }
    if let Some(wanted) = raw.kind.seat_outcomes() {
        let mut sorted = ids.clone();
        sorted.sort_unstable();
        let mut expected = wanted.to_vec();
        expected.sort_unstable();
        if sorted != expected {
            cx.findings.push(
                spot.at(&WHERE)
                    .finding(
                        codes::BAD_OUTCOMES,
                        format!("a test of kind `{}` has outcomes {}", raw.kind, quoted(wanted)),
                        format!("{} here", quoted(&ids)),
                    )
                    .help("its chances follow from the seats, for these outcomes only"),
            );
        }
    } else if ids.len() < 2 {
        cx.findings.push(spot.at(&WHERE).finding(
            codes::BAD_OUTCOMES,
            format!("test `{}` needs at least two outcomes", raw.id),
            "",
        ));
    }
}

fn quoted(ids: &[&str]) -> String {
    let quoted: Vec<String> = ids.iter().map(|id| format!("`{id}`")).collect();
    if quoted.is_empty() { "none".to_owned() } else { quoted.join(", ") }
}

/// Checks that seats, item and table go with the kind of test.
fn seats(cx: &mut Cx<'_>, spot: Spot<'_>, raw: &RawTest<'_>) {
    use TestKind::{Exchange, Reseat, Substitute};
    let kind = raw.kind;
    let rules = [
        (kind == Exchange && raw.moves.is_empty(), "id", "moves no seat"),
        (kind == Exchange && raw.item.is_none(), "id", "names no item"),
        (kind == Reseat && raw.reseats.is_empty(), "id", "re-seats nothing"),
        (kind == Substitute && raw.replaces.is_empty(), "id", "replaces nothing"),
        (kind != Exchange && !raw.moves.is_empty(), "moves", "cannot move seats"),
        (kind != Substitute && !raw.replaces.is_empty(), "replaces", "cannot replace seats"),
        (
            kind.follows_seats() && !raw.given.is_empty(),
            "given",
            "cannot have a table, for its chances follow from the seats",
        ),
    ];
    for (broken, field, what) in rules {
        if broken {
            cx.findings.push(spot.at(&[Field(field)]).finding(
                codes::BAD_SEATS,
                format!("test `{}` of kind `{kind}` {what}", raw.id),
                "",
            ));
        }
    }
}

/// Checks a row; `None` if it cannot be used.
fn row(
    cx: &mut Cx<'_>,
    at: At<'_, '_>,
    what: &str,
    mut row: Vec<f64>,
    count: usize,
) -> Option<Vec<f64>> {
    if row.len() != count {
        cx.findings.push(
            at.finding(
                codes::ROW_LENGTH,
                format!("{what} has {} chances for {count} outcomes", row.len()),
                "",
            )
            .help("give one chance for each outcome, in their order"),
        );
        return None;
    }
    let known = cx.findings.len();
    for (n, chance) in row.iter_mut().enumerate() {
        *chance = cx.chance(at.nth(n), &format!("a chance of {what}"), *chance);
    }
    let sum: f64 = row.iter().sum();
    if cx.findings.len() == known && (sum - 1.0).abs() > SUM_TOLERANCE {
        cx.findings.push(at.finding(
            codes::ROW_SUM,
            format!("the chances of {what} sum to {sum:.3}, not to 1"),
            "",
        ));
    }
    if cx.findings.len() > known {
        return None;
    }
    floor_and_normalise(&mut row, cx.floor);
    Some(row)
}

/// Where a cause got its row.
struct Given {
    entry: usize,
    alone: bool,
}

/// Lowers a table, with the rows by what there is to burn, which bear its names. A cause named on its own overrides the row of a set;
/// anything else named twice is a finding.
fn given(
    cx: &mut Cx<'_>,
    spot: Spot<'_>,
    raw: Vec<(Vec<&str>, Vec<f64>)>,
    count: usize,
) -> (BTreeMap<usize, Vec<f64>>, BTreeMap<Charge, Vec<f64>>) {
    let mut from: BTreeMap<usize, Given> = BTreeMap::new();
    let mut charges: BTreeMap<Charge, usize> = BTreeMap::new();
    let mut rows = Vec::with_capacity(raw.len());
    for (entry, (names, chances)) in raw.into_iter().enumerate() {
        let path = [Field("given"), Nth(entry), Nth(1)];
        rows.push(row(cx, spot.at(&path), "this row", chances, count));
        for (n, name) in names.into_iter().enumerate() {
            let path = [Field("given"), Nth(entry), Nth(0), Nth(n)];
            let at = spot.at(&path);
            let charge = name.parse::<Charge>().ok().filter(|charge| *charge != Charge::Usual);
            if let Some(charge) = charge {
                if let Some(before) = charges.insert(charge, entry) {
                    cx.findings.push(given_twice(spot, at, name, before));
                }
                continue;
            }
            let alone = !name.starts_with(SET);
            let causes = if let Some(set) = name.strip_prefix(SET) {
                cx.sets
                    .resolve(&mut cx.findings, at, set)
                    .and_then(|set| cx.members.get(set).cloned())
                    .unwrap_or_default()
            } else {
                let found = cx.causes.resolve(&mut cx.findings, at, name);
                found.into_iter().collect()
            };
            for cause in causes {
                match from.get(&cause) {
                    Some(before) if before.alone && !alone => continue,
                    Some(before) if before.alone == alone => {
                        cx.findings.push(given_twice(spot, at, name, before.entry));
                    }
                    _ => {}
                }
                from.insert(cause, Given { entry, alone });
            }
        }
    }
    let of_charge = |(charge, entry): (Charge, usize)| Some((charge, rows[entry].clone()?));
    let by_charge = charges.into_iter().filter_map(of_charge).collect();
    let of_cause = |(cause, given): (usize, Given)| Some((cause, rows[given.entry].clone()?));
    (from.into_iter().filter_map(of_cause).collect(), by_charge)
}

fn given_twice(
    spot: Spot<'_>,
    at: At<'_, '_>,
    name: &str,
    earlier: usize,
) -> crate::knowledge::finding::Finding {
    let path = [Field("given"), Nth(earlier), Nth(0)];
    let before = spot.at(&path);
    let what = match name.strip_prefix(SET) {
        Some(set) => format!("a cause of set `{set}` already has a row from another set"),
        None => format!("cause `{name}` already has a row of its own"),
    };
    at.finding(codes::GIVEN_TWICE, what, "again here")
        .at(before.file(), before.range(), "first here")
        .help("keep one; a cause named on its own overrides a set")
}
