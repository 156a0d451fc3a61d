//! Causes, their effects and their remedies.

use super::cx::{Cx, SUM_TOLERANCE, condition};
use super::spot::{Row, Spot};
use crate::knowledge::codes;
use crate::knowledge::file::{RawCause, RawEffect, RawRemedy, RawShift, RawStates};
use crate::knowledge::model::{
    Cause, Charge, Effect, Lasting, Remedy, Seat, Shifts, Spread, StateChances,
};
use crate::knowledge::outline::Step::{self, Field, Nth};
use crate::knowledge::physics::Physics;

/// Lowers a cause.
pub(super) fn cause<'a>(cx: &mut Cx<'a>, row: Row<'a, RawCause<'a>>) -> Cause {
    let Row { spot, value: raw } = row;
    let group = cx.groups.resolve(&mut cx.findings, spot.at(&[Field("group")]), raw.group);
    let weight = weight(cx, spot, raw.weight);
    let mut weight_if = Vec::new();
    for (n, (when, factor)) in raw.weight_if.into_iter().enumerate() {
        let path = [Field("weight_if"), Nth(n), Nth(1)];
        let factor = cx.not_negative(spot.at(&path), "the factor", factor);
        weight_if.push((condition(when), factor));
    }
    let mut recent = std::collections::BTreeMap::new();
    for (n, (flag, factor)) in raw.recent.into_iter().enumerate() {
        let path = [Field("recent"), Nth(n), Nth(0)];
        cx.recent.resolve(&mut cx.findings, spot.at(&path), flag);
        let path = [Field("recent"), Nth(n), Nth(1)];
        let factor = cx.not_negative(spot.at(&path), "the factor", factor);
        if recent.insert(flag.to_owned(), factor).is_some() {
            cx.findings.push(spot.at(&path[..2]).finding(
                codes::DUPLICATE_ID,
                format!("flag `{flag}` is given twice"),
                "",
            ));
        }
    }
    if raw.remedy.is_none() && raw.seat != Seat::Nothing {
        cx.findings.push(
            spot.at(&[Field("id")])
                .finding(
                    codes::MISSING_REMEDY,
                    format!("cause `{}` is a fault but has no remedy", raw.id),
                    "",
                )
                .help("add `remedy: (...)`, or seat `none` if nothing is wrong"),
        );
    }
    let diesel = effects(cx, spot, "diesel", raw.id, &raw.diesel);
    let effects = effects(cx, spot, "effects", raw.id, &raw.effects);
    Cause {
        id: raw.id.to_owned(),
        name: raw.name,
        what: raw.what,
        group: group.unwrap_or(0),
        seat: raw.seat,
        place: raw.place,
        applies: condition(raw.applies),
        weight,
        weight_if,
        recent,
        effects,
        diesel,
        states_cold: raw.states_cold.map(|s| states(cx, spot, "states_cold", s)),
        states_running: raw.states_running.map(|s| states(cx, spot, "states_running", s)),
        reseat: cx.chance(spot.at(&[Field("reseat")]), "the re-seat chance", raw.reseat),
        lasting: match (raw.intermittent, raw.fixed) {
            (true, _) => Lasting::ComesAndGoes,
            (false, true) => Lasting::Fixed,
            (false, false) => Lasting::Mostly,
        },
        fitted: raw.fitted,
        by_build: raw.by_build,
        heat: raw.heat,
        clues: raw.clues,
        remedy: raw.remedy.map(|remedy| self::remedy(cx, spot, remedy)),
        basis: cx.basis(spot.at(&[Field("basis")]), &raw.basis),
    }
}

fn weight(cx: &mut Cx<'_>, spot: Spot<'_>, raw: f64) -> f64 {
    let path = [Field("weight")];
    let known = cx.findings.len();
    let weight = cx.finite(spot.at(&path), "the weight", raw);
    if weight > 0.0 || cx.findings.len() > known {
        return weight;
    }
    cx.findings.push(
        spot.at(&path)
            .finding(
                codes::WEIGHT_NOT_POSITIVE,
                format!("the weight is {weight}, but a cause that never occurs cannot be found"),
                "",
            )
            .help("give a weight above 0; `applies` says on which engines a cause exists"),
    );
    0.0
}

fn effects(
    cx: &mut Cx<'_>,
    spot: Spot<'_>,
    field: &'static str,
    id: &str,
    raw: &[RawEffect<'_>],
) -> Vec<Effect> {
    let one = |(n, effect)| self::effect(cx, spot, (field, n), effect);
    let mut list: Vec<Effect> = raw.iter().enumerate().map(one).collect();
    let sum: f64 = list.iter().map(|effect| effect.share).sum();
    if !list.is_empty() && (sum - 1.0).abs() > SUM_TOLERANCE {
        cx.findings.push(
            spot.at(&[Field(field)])
                .finding(
                    codes::SHARE_SUM,
                    format!("the shares of the sides of `{id}` sum to {sum:.3}, not to 1"),
                    "",
                )
                .help("a side without `share` counts as 1"),
        );
    } else {
        for effect in &mut list {
            effect.share /= sum;
        }
    }
    list
}

fn effect(
    cx: &mut Cx<'_>,
    spot: Spot<'_>,
    (field, n): (&'static str, usize),
    raw: &RawEffect<'_>,
) -> Effect {
    let within = |steps: &[Step]| [&[Field(field), Nth(n)], steps].concat();
    let path = within(&[Field("share")]);
    let share = cx.chance(spot.at(&path), "the share", raw.share);
    let path = within(&[Field("warming")]);
    let warming =
        raw.warming.map(|pair| cx.spread(spot.at(&path), "the shift while it warms up", pair));
    let mut own = Vec::new();
    for (k, (point, shift)) in raw.at.iter().enumerate() {
        let path = within(&[Field("at"), Nth(k), Nth(1)]);
        let what = format!("the shift at {point}");
        let shift = shift.map(|pair| cx.spread(spot.at(&path), &what, pair));
        let path = within(&[Field("at"), Nth(k), Nth(0)]);
        own.extend(cx.point(spot.at(&path), point).map(|point| (point, shift)));
    }
    let exhaust = raw.exhaust.map(|(cold, idle, cruise, full)| {
        let mut shift = |k: usize, point: &str, raw: RawShift| {
            let path = within(&[Field("exhaust"), Nth(k)]);
            raw.map(|pair| cx.spread(spot.at(&path), &format!("the shift {point}"), pair))
        };
        Shifts {
            cold: shift(0, "at cold soak", cold),
            warming,
            idle: shift(1, "at idle", idle),
            cruise: shift(2, "at cruise", cruise),
            full: shift(3, "at full load", full),
            own,
        }
    });
    if !raw.at.is_empty() && (raw.exhaust.is_none() || raw.mixture.is_some()) {
        let path = within(&[Field("at")]);
        cx.findings.push(
            spot.at(&path)
                .finding(codes::BAD_POINT, "`at` gives shifts beside `exhaust`, which tells nothing here", "")
                .help("give `exhaust` and no `mixture`, or leave `at` out and give the point a `factor`"),
        );
    }
    let path = within(&[Field("head")]);
    let head = raw.head.map(|pair| cx.spread(spot.at(&path), "the shift of a head probe", pair));
    let mixture = raw.mixture.map(|(idle, cruise, full)| {
        let mut change = |k: usize, pair: (f64, f64)| -> Spread {
            let path = within(&[Field("mixture"), Nth(k)]);
            cx.spread(spot.at(&path), "the change of mixture", pair)
        };
        [change(0, idle), change(1, cruise), change(2, full)]
    });
    if let Some(fault) = raw.physics.and_then(Physics::fault) {
        let path = within(&[Field("physics")]);
        cx.findings.push(spot.at(&path).finding(
            codes::BAD_PHYSICS,
            format!("`physics` has {fault}"),
            "",
        ));
    }
    let path = within(&[Field("basis")]);
    Effect {
        share,
        law: raw.law,
        exhaust,
        head,
        mixture,
        physics: raw.physics,
        charge: if raw.fires { raw.charge } else { Charge::Unfired },
        basis: cx.basis(spot.at(&path), &raw.basis),
    }
}

fn states(cx: &mut Cx<'_>, spot: Spot<'_>, field: &'static str, raw: RawStates) -> StateChances {
    let mut one = |name: &'static str, value: f64| {
        let path = [Field(field), Field(name)];
        cx.chance(spot.at(&path), &format!("the chance of `{name}`"), value)
    };
    let states = StateChances {
        open: one("open", raw.open),
        stuck: one("stuck", raw.stuck),
        falling: one("falling", raw.falling),
        erratic: one("erratic", raw.erratic),
    };
    let sum = states.open + states.stuck + states.falling + states.erratic;
    if sum > 1.0 + SUM_TOLERANCE {
        cx.findings.push(spot.at(&[Field(field)]).finding(
            codes::BAD_CHANCE,
            format!("the chances of display states sum to {sum:.3}, above 1"),
            "",
        ));
    }
    states
}

fn remedy(cx: &mut Cx<'_>, spot: Spot<'_>, raw: RawRemedy<'_>) -> Remedy {
    const REMEDY: Step = Field("remedy");
    let cost = cx.cost(
        spot.at(&[REMEDY, Field("time")]),
        raw.time,
        spot.at(&[REMEDY, Field("parts")]),
        raw.parts,
    );
    let mut ids = |field: &'static str, list: &[&str]| -> Vec<usize> {
        let names = match field {
            "access" => &mut cx.access,
            "first" => &mut cx.tests,
            _ => &mut cx.cautions,
        };
        let found = list.iter().enumerate().filter_map(|(n, id)| {
            let path = [REMEDY, Field(field), Nth(n)];
            names.resolve(&mut cx.findings, spot.at(&path), id)
        });
        found.collect()
    };
    let access = ids("access", &raw.access);
    let first = ids("first", &raw.first);
    let cautions = ids("cautions", &raw.cautions);
    Remedy {
        id: raw.id.to_owned(),
        what: raw.what,
        cost,
        states: raw.states,
        access,
        first,
        reseats: reseats(cx, spot, &[REMEDY], raw.reseats),
        cautions,
        basis: cx.basis(spot.at(&[REMEDY, Field("basis")]), &raw.basis),
    }
}

/// Seats that are undone and remade, each with a share of the re-seat chance.
pub(super) fn reseats(
    cx: &mut Cx<'_>,
    spot: Spot<'_>,
    within: &[Step],
    raw: Vec<(Seat, f64)>,
) -> Vec<(Seat, f64)> {
    let lower = |(n, (seat, share)): (usize, (Seat, f64))| {
        let path = [within, &[Field("reseats"), Nth(n), Nth(1)]].concat();
        let what = format!("the re-seat share of seat `{seat}`");
        (seat, cx.chance(spot.at(&path), &what, share))
    };
    raw.into_iter().enumerate().map(lower).collect()
}
