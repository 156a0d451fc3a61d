//! Groups, sets, set-ups, sources, cautions, spreads and engines: the lists that causes and
//! tests refer to.

use petgraph::algo::dijkstra;
use petgraph::graph::{DiGraph, NodeIndex};

use super::cx::{Cx, condition};
use super::read::{RawChange, RawGroup};
use super::spot::{Row, missing_from};
use crate::knowledge::codes;
use crate::knowledge::file::{RawAccess, RawBasis, RawCondition, RawHeat, RawPreset, RawSpread};
use crate::knowledge::finding::Finding;
use crate::knowledge::graph::rings;
use crate::knowledge::model::{
    Access, Bounds, Caution, Condition, Group, HeatBounds, NaturalSpread, PerPoint, Preset,
    RecentWork, StateChanges, Thermal,
};
use crate::knowledge::outline::Step::{self, Field, Nth};
use measure::units::Cost;

/// Groups with parents before children, and where each row's group went.
pub(super) fn groups<'a>(
    cx: &mut Cx<'a>,
    rows: &[Row<'a, RawGroup<'a>>],
) -> (Vec<Group>, Vec<Option<usize>>) {
    let parents: Vec<Option<usize>> = rows
        .iter()
        .map(|row| {
            let parent = row.value.2?;
            cx.groups.resolve(&mut cx.findings, row.spot.at(&[Nth(2)]), parent)
        })
        .collect();
    let edges = (0..).zip(&parents).filter_map(|(n, p)| Some(((*p)?, n)));
    let rings = rings(rows.len(), edges);
    for ring in &rings {
        let chain: Vec<String> = ring.iter().map(|&n| format!("`{}`", rows[n].value.0)).collect();
        let mut finding = Finding::new(
            codes::GROUP_CYCLE,
            format!("groups {} hang under each other in a ring", chain.join(", ")),
        );
        for &n in ring {
            let at = rows[n].spot.at(&[Nth(2)]);
            finding = finding.at(at.file(), at.range(), "");
        }
        cx.findings.push(finding.help("give one of them `None` or a parent outside the ring"));
    }
    let mut place = vec![None; rows.len()];
    let mut sorted: Vec<Group> = Vec::with_capacity(rows.len());
    // Depth first from the top groups in the order of the file, so that a list reads as a tree.
    let parents_ref = &parents;
    let children = move |of: Option<usize>| {
        let all = (0..parents_ref.len()).rev();
        all.filter(move |&n| parents_ref[n] == of)
    };
    let mut open: Vec<usize> = children(None).collect();
    while let Some(n) = open.pop() {
        place[n] = Some(sorted.len());
        let (id, name, _) = &rows[n].value;
        sorted.push(Group {
            id: (*id).to_owned(),
            name: name.clone(),
            parent: parents[n].and_then(|parent| place[parent]),
        });
        open.extend(children(Some(n)));
    }
    for (n, row) in rows.iter().enumerate() {
        let in_ring = rings.iter().any(|ring| ring.contains(&n));
        if place[n].is_none() && !in_ring {
            cx.findings.push(row.spot.at(&[Nth(2)]).finding(
                codes::GROUP_UNREACHABLE,
                format!("group `{}` hangs under a ring of groups", row.value.0),
                "",
            ));
        }
    }
    (sorted, place)
}

/// Members of the named sets.
pub(super) fn sets<'a>(cx: &mut Cx<'a>, rows: &[Row<'a, (&'a str, Vec<&'a str>)>]) {
    for row in rows {
        let mut members = Vec::new();
        for (n, id) in row.value.1.iter().enumerate() {
            let path = [Nth(1), Nth(n)];
            let found = cx.causes.resolve(&mut cx.findings, row.spot.at(&path), id);
            members.extend(found);
        }
        cx.members.push(members);
    }
}

/// Prices of the classes of parts, in minutes of labour.
pub(super) fn parts<'a>(cx: &mut Cx<'a>, rows: Vec<Row<'a, (&'a str, f64, RawBasis<'a>)>>) {
    for Row { spot, value } in rows {
        let (_, minutes, basis) = value;
        let minutes = cx.not_negative(spot.at(&[Nth(1)]), "the price in minutes", minutes);
        cx.basis(spot.at(&[Nth(2)]), &basis);
        cx.part_minutes.push(minutes);
    }
}

/// Things to open.
pub(super) fn access<'a>(cx: &mut Cx<'a>, row: Row<'a, RawAccess<'a>>) -> Access {
    let Row { spot, value: raw } = row;
    let mut cost_if = Vec::with_capacity(raw.time_if.len());
    for (n, (when, time)) in raw.time_if.into_iter().enumerate() {
        let path = [Field("time_if"), Nth(n), Nth(1)];
        cost_if.push((condition(when), cx.time(spot.at(&path), time)));
    }
    Access {
        id: raw.id.to_owned(),
        name: raw.name,
        cost: cx.time(spot.at(&[Field("time")]), raw.time),
        cost_if,
        blocks_running: raw.blocks_running,
        per_cylinder: raw.per_cylinder,
        basis: cx.basis(spot.at(&[Field("basis")]), &raw.basis),
    }
}

/// A warning.
pub(super) fn caution<'a>(
    cx: &mut Cx<'a>,
    row: Row<'a, (&'a str, String, RawBasis<'a>)>,
) -> Caution {
    let Row { spot, value } = row;
    let (id, text, basis) = value;
    let basis = cx.basis(spot.at(&[Nth(2)]), &basis);
    Caution { id: id.to_owned(), text, applies: Condition::default(), basis }
}

/// Which engines some cautions concern.
pub(super) fn only<'a>(
    cx: &mut Cx<'a>,
    rows: Vec<Row<'a, (&'a str, RawCondition)>>,
    cautions: &mut [Caution],
) {
    for Row { spot, value: (id, applies) } in rows {
        let place = cx.cautions.resolve(&mut cx.findings, spot.at(&[Nth(0)]), id);
        if let Some(caution) = place.and_then(|place| cautions.get_mut(place)) {
            caution.applies = condition(applies);
        }
    }
}

/// A kind of recent work.
pub(super) fn recent<'a>(_: &mut Cx<'a>, row: Row<'a, (&'a str, String)>) -> RecentWork {
    let (id, question) = row.value;
    RecentWork { id: id.to_owned(), question }
}

/// A natural spread.
pub(super) fn spread<'a>(cx: &mut Cx<'a>, row: Row<'a, RawSpread<'a>>) -> NaturalSpread {
    let Row { spot, value: raw } = row;
    let (cold, warming, idle, cruise, full) = raw.sd;
    let mut sd = [cold, warming, idle, cruise, full];
    for (n, sd) in sd.iter_mut().enumerate() {
        let path = [Field("sd"), Nth(n)];
        *sd = cx.not_negative(spot.at(&path), "the sd", *sd);
    }
    let mut own = Vec::new();
    for (n, (point, sd)) in raw.at.into_iter().enumerate() {
        let point = cx.point(spot.at(&[Field("at"), Nth(n), Nth(0)]), point);
        let sd = cx.not_negative(spot.at(&[Field("at"), Nth(n), Nth(1)]), "the sd", sd);
        own.extend(point.map(|point| (point, sd)));
    }
    NaturalSpread {
        applies: condition(raw.applies),
        site: raw.site,
        sd: PerPoint::new(sd, own),
        basis: cx.basis(spot.at(&[Field("basis")]), &raw.basis),
    }
}

/// What displays of a kind of engine may read.
pub(super) fn heat<'a>(cx: &mut Cx<'a>, row: Row<'a, RawHeat<'a>>) -> HeatBounds {
    let Row { spot, value: raw } = row;
    let mut degrees =
        |path: &[Step], value: f64| cx.not_negative(spot.at(path), "a temperature", value);
    let mut three = |field: &'static str, (idle, cruise, full): (f64, f64, f64)| {
        let each = [(0, idle), (1, cruise), (2, full)];
        each.map(|(n, value)| degrees(&[Field(field), Nth(n)], value))
    };
    let (watch, stop) = (three("watch", raw.watch), three("stop", raw.stop));
    let mut pair = |path: &[Step], (low, high): (f64, f64)| {
        [(0, low), (1, high)].map(|(n, value)| degrees(&[path, &[Nth(n)]].concat(), value))
    };
    let lone = pair(&[Field("lone")], raw.lone);
    let (idle, cruise, full) = raw.can_be;
    let can_be = [(0, idle), (1, cruise), (2, full)]
        .map(|(n, bounds)| pair(&[Field("can_be"), Nth(n)], bounds));
    let steady = [0, 1, 2].map(|n| Bounds { watch: watch[n], stop: stop[n], can_be: can_be[n] });
    let mut own = Vec::new();
    for (n, raw) in raw.at.into_iter().enumerate() {
        let path = |field| [Field("at"), Nth(n), Field(field)];
        let bounds = Bounds {
            watch: cx.not_negative(spot.at(&path("watch")), "a temperature", raw.watch),
            stop: cx.not_negative(spot.at(&path("stop")), "a temperature", raw.stop),
            can_be: [(0, raw.can_be.0), (1, raw.can_be.1)].map(|(k, value)| {
                let path = [&path("can_be")[..], &[Nth(k)]].concat();
                cx.not_negative(spot.at(&path), "a temperature", value)
            }),
        };
        let point = cx.point(spot.at(&path("point")), raw.point);
        own.extend(point.map(|point| (point, bounds)));
    }
    HeatBounds {
        applies: condition(raw.applies),
        site: raw.site,
        steady,
        own,
        lone,
        basis: cx.basis(spot.at(&[Field("basis")]), &raw.basis),
    }
}

/// A preset; `None` for one that is no engine.
pub(super) fn engine<'a>(cx: &mut Cx<'a>, row: Row<'a, RawPreset<'a>>) -> Option<Preset> {
    let Row { spot, value: raw } = row;
    let basis = raw.basis.as_ref().map(|basis| cx.basis(spot.at(&[Field("basis")]), basis));
    if basis.is_none() {
        cx.findings.push(
            spot.at(&[Field("engine")])
                .finding(
                    codes::ENGINE_BASIS,
                    format!("engine `{}` does not say where its figures come from", raw.id),
                    "",
                )
                .help("give it a `basis`"),
        );
    }
    match raw.engine.check() {
        Ok(engine) => Some(Preset { id: raw.id.to_owned(), name: raw.name, engine, basis }),
        Err(error) => {
            cx.findings.push(spot.at(&[Field("engine")]).finding(
                codes::BAD_ENGINE,
                format!("preset `{}` is no engine: {error}", raw.id),
                "",
            ));
            None
        }
    }
}

/// A way from state to state; ways are compared by what they cost in all.
#[derive(Debug, Clone, Copy, Default)]
struct Way {
    cost: Cost,
    total: f64,
}

impl std::ops::Add for Way {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { cost: self.cost + other.cost, total: self.total + other.total }
    }
}

impl PartialEq for Way {
    fn eq(&self, other: &Self) -> bool {
        self.partial_cmp(other) == Some(std::cmp::Ordering::Equal)
    }
}

impl PartialOrd for Way {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        self.total.partial_cmp(&other.total)
    }
}

/// Fills in the cheapest way between any two states (Dijkstra from each, 7 states).
pub(super) fn changes<'a>(
    cx: &mut Cx<'a>,
    rows: Vec<Row<'a, RawChange<'a>>>,
    incomplete: bool,
) -> StateChanges {
    let list = rows.last().map(|row| row.spot);
    let mut graph: DiGraph<Thermal, Way> = DiGraph::new();
    let states: Vec<NodeIndex> = Thermal::ALL.iter().map(|&s| graph.add_node(s)).collect();
    for Row { spot, value } in rows {
        let (from, to, hands_on, wait, basis) = value;
        let cost = Cost {
            hands_on: cx.not_negative(spot.at(&[Nth(2)]), "the hands-on time", hands_on),
            wait: cx.not_negative(spot.at(&[Nth(3)]), "the waiting time", wait),
            parts: 0.0,
        };
        cx.basis(spot.at(&[Nth(4)]), &basis);
        let total = cost.total(cx.rates);
        graph.add_edge(states[from as usize], states[to as usize], Way { cost, total });
    }
    let ways: Vec<_> =
        states.iter().map(|&from| dijkstra(&graph, from, None, |edge| *edge.weight())).collect();
    for (&to, node) in Thermal::ALL.iter().zip(&states) {
        let cut_off: Vec<&str> = Thermal::ALL
            .iter()
            .zip(&ways)
            .filter(|(_, way)| !way.contains_key(node))
            .map(|(from, _)| from.as_str())
            .collect();
        if !cut_off.is_empty() && !incomplete {
            cx.findings.push(
                missing_from(
                    list,
                    codes::STATE_UNREACHABLE,
                    format!("no change leads to state `{to}` from {}", cut_off.join(", ")),
                )
                .help("add (from, to, hands-on, waiting, basis) to `changes` in `setups.ron`"),
            );
        }
    }
    let cost = ways.iter().map(|ways| {
        states.iter().map(|to| ways.get(to).map_or_else(Cost::default, |way| way.cost)).collect()
    });
    StateChanges { cost: cost.collect() }
}
