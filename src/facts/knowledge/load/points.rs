//! Running points: in order, each with what it is like.
//!
//! A row that is wrong is a finding, and stands as far as it can, so that one mistake is reported once.

use std::collections::BTreeSet;

use super::cx::Cx;
use super::spot::{Row, missing_from};
use crate::knowledge::codes::{self, Code};
use crate::knowledge::file::RawPoint;
use crate::knowledge::finding::Finding;
use crate::knowledge::graph::rings;
use crate::knowledge::model::{Load, Point, Points, RunningPoint, Thermal};
use crate::knowledge::outline::Step::Field;
use crate::knowledge::ron_error::BASIS_HELP;
use measure::engine::{PointId, Regime};

type Rows<'a> = Vec<Row<'a, RawPoint<'a>>>;

/// Lowers the running points.
pub(super) fn points<'a>(cx: &mut Cx<'a>, rows: Rows<'a>, incomplete: bool) -> Points {
    let like: Vec<Option<usize>> = rows.iter().map(|row| cx.like(row)).collect();
    let in_ring = in_rings(cx, &rows, &like);
    let list = rows.last().map(|row| row.spot);
    let orders: Vec<f64> = rows
        .iter()
        .map(|row| cx.finite(row.spot.at(&[Field("order")]), "the order", row.value.order))
        .collect();
    // Those of one order go by their ids, so that the order of files tells nothing.
    let mut by_order: Vec<usize> = (0..rows.len()).collect();
    by_order.sort_by(|a, b| {
        orders[*a].total_cmp(&orders[*b]).then_with(|| rows[*a].value.id.cmp(rows[*b].value.id))
    });
    let mut left: Vec<Option<Row<'a, RawPoint<'a>>>> = rows.into_iter().map(Some).collect();
    let mut made: Vec<Option<RunningPoint>> = vec![None; left.len()];
    // A point stands for another's figures, so that the other comes first; each round makes one at least, or none
    // is left that can be made.
    loop {
        let next = (0..left.len()).find(|&n| {
            left[n].is_some() && like[n].is_none_or(|of| made[of].is_some() || in_ring.contains(&n))
        });
        let Some(n) = next else { break };
        let Some(row) = left[n].take() else { break };
        let place = by_order.iter().position(|of| *of == n).unwrap_or(0);
        made[n] = cx.running_point(row, place, like[n].and_then(|of| made[of]));
    }
    let all: Vec<RunningPoint> = by_order.iter().filter_map(|n| made[*n]).collect();
    let regimes = [Regime::ColdSoak, Regime::Warming, Regime::Idle, Regime::Cruise, Regime::Full];
    let regimes = regimes.map(|regime| {
        all.iter().copied().find(|point| point.id == regime.into()).unwrap_or_else(|| {
            if !incomplete {
                cx.findings.push(
                    missing_from(
                        list,
                        codes::BAD_POINT,
                        format!("running point `{regime}`, which physics knows, is not given"),
                    )
                    .help("an overlay need not give it; the built-in `points.ron` has it"),
                );
            }
            stand_in(regime)
        })
    });
    Points::new(all, regimes)
}

/// A point that is not there, of which a finding speaks.
fn stand_in(regime: Regime) -> RunningPoint {
    RunningPoint::keep(Point {
        id: regime.into(),
        name: regime.to_string(),
        asked: regime.to_string(),
        words: Vec::new(),
        thermal: regime.of_five([
            Thermal::ColdSoaked,
            Thermal::Idle,
            Thermal::Idle,
            Thermal::Cruise,
            Thermal::Full,
        ]),
        place: regime.of_five([0, 1, 2, 3, 4]),
        settled: Regime::STEADY.contains(&regime),
        load: regime.of_five([Load::None, Load::None, Load::None, Load::Part, Load::Full]),
        confirm: regime == Regime::Full,
        routine: false,
        like: None,
        regime,
        factor: 1.0,
    })
}

/// Rows that are like each other in a ring, each ring a finding.
fn in_rings<'a>(cx: &mut Cx<'a>, rows: &Rows<'a>, like: &[Option<usize>]) -> BTreeSet<usize> {
    let edges = (0..).zip(like).filter_map(|(n, of)| Some(((*of)?, n)));
    let mut all = BTreeSet::new();
    for ring in rings(rows.len(), edges) {
        let chain: Vec<String> = ring.iter().map(|&n| format!("`{}`", rows[n].value.id)).collect();
        let mut finding = Finding::new(
            codes::POINT_CYCLE,
            format!("running points {} are like each other in a ring", chain.join(", ")),
        );
        for &n in &ring {
            let at = rows[n].spot.at(&[Field("like")]);
            finding = finding.at(at.file(), at.range(), "");
        }
        cx.findings.push(finding.help("make one of them like `idle`, `cruise` or `full`"));
        all.extend(ring);
    }
    all
}

impl<'a> Cx<'a> {
    /// The row that a point is like.
    fn like(&mut self, row: &Row<'a, RawPoint<'a>>) -> Option<usize> {
        let path = [Field("like")];
        self.points.resolve(&mut self.findings, row.spot.at(&path), row.value.like?)
    }

    /// Lowers a point; `None` for one that has no id to be named by.
    fn running_point(
        &mut self,
        row: Row<'a, RawPoint<'a>>,
        place: usize,
        like: Option<RunningPoint>,
    ) -> Option<RunningPoint> {
        let Row { spot, value: raw } = row;
        let mut wrong = |field: &'static str, code: Code, message: String, help: &str| {
            self.findings.push(spot.at(&[Field(field)]).finding(code, message, "").help(help));
        };
        let id: PointId = match raw.id.parse() {
            Ok(id) => id,
            Err(error) => {
                // What has a wrong letter was said where ids are read.
                if raw.id.len() > 30 {
                    wrong("id", codes::BAD_ID, error.to_string(), "shorten it");
                }
                return None;
            }
        };
        if raw.name.trim().is_empty() {
            let message = format!("running point `{id}` has no name");
            wrong("name", codes::BAD_POINT, message, "say it as to a reader, as `towing uphill`");
        }
        let known = id.regime();
        if known.is_none() && raw.like.is_none() {
            let message = format!("running point `{id}` does not say which point it is like");
            wrong("id", codes::BAD_POINT, message, "add `like: \"full\"`, or another point's id");
        }
        if known.is_some() && raw.like.is_some() {
            let message =
                format!("running point `{id}` is one that physics knows, and like no other");
            wrong(
                "like",
                codes::BAD_POINT,
                message,
                "leave `like` out, or give the row another id",
            );
        }
        let load = raw.load.unwrap_or(Load::None);
        let running = matches!(raw.thermal, Thermal::Idle | Thermal::Cruise | Thermal::Full);
        if !running && (raw.settled || load != Load::None) {
            let message = format!(
                "running point `{id}` is held warm or at load with the engine `{}`",
                raw.thermal
            );
            wrong("thermal", codes::BAD_POINT, message, "give `idle`, `cruise` or `full`");
        }
        let regime = known.or_else(|| like.map(|like| like.regime)).unwrap_or(Regime::Idle);
        let cold = regime == Regime::ColdSoak;
        if cold == running {
            let message = format!(
                "running point `{id}` is like `{regime}` with the engine `{}`",
                raw.thermal
            );
            wrong(
                "thermal",
                codes::BAD_POINT,
                message,
                "like `cold` is an engine that stands, and no other",
            );
        }
        let mut factor = 1.0;
        if let Some(given) = raw.factor {
            factor = self.not_negative(spot.at(&[Field("factor")]), "the factor", given);
            if known.is_some() {
                let message =
                    format!("running point `{id}` is like no other that a factor could go by");
                let at = [Field("factor")];
                self.findings.push(spot.at(&at).finding(codes::BAD_POINT, message, ""));
                factor = 1.0;
            }
            if raw.basis.is_none() {
                let message = format!("the factor of running point `{id}` has no basis");
                let at = [Field("factor")];
                self.findings
                    .push(spot.at(&at).finding(codes::MISSING_BASIS, message, "").help(BASIS_HELP));
            }
        }
        if let Some(basis) = &raw.basis {
            self.basis(spot.at(&[Field("basis")]), basis);
        }
        let name = if raw.name.trim().is_empty() { id.to_string() } else { raw.name };
        Some(RunningPoint::keep(Point {
            id,
            asked: raw.asked.unwrap_or_else(|| name.clone()),
            name,
            words: raw.words.iter().map(|word| word.to_lowercase()).collect(),
            thermal: raw.thermal,
            place,
            settled: raw.settled,
            load,
            confirm: raw.confirm,
            routine: raw.routine,
            like,
            regime,
            factor,
        }))
    }
}
