//! Constants of the model and the mixture curve.

use std::collections::BTreeMap;

use super::cx::Cx;
use super::read::{RawConstant, RawCurve};
use super::spot::{Row, Spot, missing_from};
use crate::knowledge::codes;
use crate::knowledge::finding::Finding;
use crate::knowledge::model::{Basis, Constants, MixtureCurve, PerPoint, StateChances};
use crate::knowledge::outline::Step;
use measure::names::nearest;
use measure::units::{Cost, Rates};

/// What the values of a constant may be.
#[derive(Debug, Clone, Copy)]
enum Range {
    Chance,
    NotNegative,
    Any,
}

/// Constants by name, each taken once.
struct Bag<'a, 'c> {
    cx: &'c mut Cx<'a>,
    left: BTreeMap<&'a str, (Spot<'a>, Vec<f64>)>,
    asked: Vec<&'static str>,
    /// Any constant, to say where a missing one belongs.
    list: Option<Spot<'a>>,
    /// The model file could not be read: nothing is missing that we know of.
    incomplete: bool,
}

impl Bag<'_, '_> {
    fn take<const N: usize>(&mut self, name: &'static str, range: Range) -> [f64; N] {
        self.take_some(name, range, N..=N).try_into().unwrap_or([0.0; N])
    }

    /// A figure for each running point: five in a row, and one each of those that have their own, by names as
    /// `level_spark:towing`.
    fn per_point(&mut self, name: &'static str, range: Range) -> PerPoint<f64> {
        let five = self.take(name, range);
        let of = |full: &str| full.strip_prefix(name).is_some_and(|rest| rest.starts_with(':'));
        let names: Vec<&str> = self.left.keys().copied().filter(|full| of(full)).collect();
        let mut own = Vec::new();
        for full in names {
            let Some((spot, values)) = self.left.remove(full) else { continue };
            let point = self.cx.point(spot.at(&[Step::Nth(0)]), &full[name.len() + 1..]);
            let value = match self.checked(full, spot, values, range, 1..=1)[..] {
                [value] => value,
                _ => 0.0,
            };
            own.extend(point.map(|point| (point, value)));
        }
        PerPoint::new(five, own)
    }

    fn chance(&mut self, name: &'static str) -> f64 {
        self.take::<1>(name, Range::Chance)[0]
    }

    fn number(&mut self, name: &'static str) -> f64 {
        self.take::<1>(name, Range::NotNegative)[0]
    }

    /// A number that is divided by: 1 in place of 0, which is a finding.
    fn positive(&mut self, name: &'static str) -> f64 {
        let spot = self.left.get(name).map(|(spot, _)| *spot);
        let known = self.cx.findings.len();
        let value = self.number(name);
        if value > 0.0 {
            return value;
        }
        if let Some(spot) = spot.filter(|_| self.cx.findings.len() == known) {
            self.cx.findings.push(spot.at(&[Step::Nth(1)]).finding(
                codes::WEIGHT_NOT_POSITIVE,
                format!("`{name}` is 0, but it is divided by"),
                "",
            ));
        }
        1.0
    }

    /// Hands-on and waiting minutes, and parts in minutes of labour if there are any.
    fn cost(&mut self, name: &'static str, rates: Rates) -> Cost {
        let values = self.take_some(name, Range::NotNegative, 2..=3);
        let at = |n: usize| values.get(n).copied().unwrap_or(0.0);
        Cost { hands_on: at(0), wait: at(1), parts: at(2) * rates.labour_per_minute }
    }

    /// The values, an empty list in place of a missing or misshapen one.
    fn take_some(
        &mut self,
        name: &'static str,
        range: Range,
        length: std::ops::RangeInclusive<usize>,
    ) -> Vec<f64> {
        self.asked.push(name);
        let Some((spot, values)) = self.left.remove(name) else {
            if !self.incomplete {
                self.cx.findings.push(
                    missing_from(
                        self.list,
                        codes::MISSING_CONSTANT,
                        format!("constant `{name}` is not given"),
                    )
                    .help(format!("add (\"{name}\", [...], basis) to `model.ron`")),
                );
            }
            return Vec::new();
        };
        self.checked(name, spot, values, range, length)
    }

    /// The values of a constant, an empty list in place of a misshapen one.
    fn checked(
        &mut self,
        name: &str,
        spot: Spot<'_>,
        values: Vec<f64>,
        range: Range,
        length: std::ops::RangeInclusive<usize>,
    ) -> Vec<f64> {
        if !length.contains(&values.len()) {
            let (low, high) = (length.start(), length.end());
            let wanted = if low == high { low.to_string() } else { format!("{low} or {high}") };
            self.cx.findings.push(spot.at(&[Step::Nth(1)]).finding(
                codes::CONSTANT_LENGTH,
                format!("constant `{name}` has {} values, {wanted} wanted", values.len()),
                "",
            ));
            return Vec::new();
        }
        let what = format!("`{name}`");
        (0..)
            .zip(values)
            .map(|(n, value)| {
                let path = [Step::Nth(1), Step::Nth(n)];
                let at = spot.at(&path);
                match range {
                    Range::Chance => self.cx.chance(at, &what, value),
                    Range::NotNegative => self.cx.not_negative(at, &what, value),
                    Range::Any => self.cx.finite(at, &what, value),
                }
            })
            .collect()
    }
}

/// Lowers the constants; sets rates and floor of the context, which later steps use.
pub(super) fn constants<'a>(
    cx: &mut Cx<'a>,
    rows: Vec<Row<'a, RawConstant<'a>>>,
    incomplete: bool,
) -> Constants {
    let list = rows.last().map(|row| row.spot);
    let mut left = BTreeMap::new();
    for Row { spot, value } in rows {
        let (name, values, basis) = value;
        cx.basis(spot.at(&[Step::Nth(2)]), &basis);
        left.insert(name, (spot, values));
    }
    let mut bag = Bag { cx, left, asked: Vec::new(), list, incomplete };
    let rates = Rates {
        labour_per_minute: bag.positive("labour_per_minute"),
        wait_weight: bag.number("wait_weight"),
    };
    let constants = take_all(&mut bag, rates);
    let Bag { left, asked, .. } = bag;
    for (name, (spot, _)) in left {
        if let Some((_, instead)) = RETIRED.iter().find(|(retired, _)| *retired == name) {
            cx.findings.push(
                spot.at(&[Step::Nth(0)])
                    .finding(
                        codes::RETIRED_CONSTANT,
                        format!("`{name}` is no longer used"),
                        "has no effect",
                    )
                    .help(format!("see {instead}")),
            );
            continue;
        }
        let finding = spot.at(&[Step::Nth(0)]).finding(
            codes::UNKNOWN_CONSTANT,
            format!("the model has no constant `{name}`"),
            "used nowhere",
        );
        cx.findings.push(match nearest(name, asked.iter().copied()) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding,
        });
    }
    cx.rates = rates;
    cx.floor = constants.floor;
    constants
}

/// Constants of former versions, which overlays may still have, and what stands in their place.
const RETIRED: [(&str, &str); 5] = [
    ("self_cure_intermittent", "`comes_and_goes`, `on_share`, `look_again`"),
    ("back_again_intermittent", "`comes_and_goes`, `on_share`, `look_again`"),
    ("t_freedom", "`spread_scale`, `noise_scale`, `wide_chance`"),
    ("misread_factor", "`misread_sd`"),
    ("unlisted_sd", "`unlisted_sizes`"),
];

fn take_all(bag: &mut Bag<'_, '_>, rates: Rates) -> Constants {
    let [open, stuck, falling, erratic] = bag.take("usual_states", Range::Chance);
    Constants {
        repeatability: bag.per_point("repeatability", Range::NotNegative),
        repeatability_head: bag.per_point("repeatability_head", Range::NotNegative),
        offset_correlation: bag.chance("offset_correlation"),
        bank_share: bag.number("bank_share"),
        spread_scale: bag.number("spread_scale"),
        noise_scale: bag.number("noise_scale"),
        wide_chance: bag.chance("wide_chance"),
        wide_factor: bag.positive("wide_factor"),
        fit_share: bag.chance("fit_share"),
        level_spark: bag.per_point("level_spark", Range::Any),
        level_diesel: bag.per_point("level_diesel", Range::Any),
        level_head: bag.per_point("level_head", Range::Any),
        level_sd: bag.per_point("level_sd", Range::NotNegative),
        level_sd_head: bag.per_point("level_sd_head", Range::NotNegative),
        begun: bag.take("begun", Range::Chance),
        comes_and_goes: bag.take("comes_and_goes", Range::Chance),
        on_share: bag.chance("on_share"),
        look_again: bag.chance("look_again"),
        said_to_come: bag.positive("said_to_come"),
        state_again: bag.chance("state_again"),
        row_doubt: bag.chance("row_doubt"),
        effect_doubt: bag.chance("effect_doubt"),
        misread_chance: bag.chance("misread_chance"),
        misread_sd: bag.positive("misread_sd"),
        two_faults: bag.chance("two_faults"),
        severity: bag.take("severity", Range::NotNegative),
        mixture_size: bag.take("mixture_size", Range::NotNegative),
        mixture_rich: bag.take("mixture_rich", Range::NotNegative),
        noticed_healthy: bag.positive("noticed_healthy"),
        noticed_fault: bag.positive("noticed_fault"),
        self_cure: bag.chance("self_cure"),
        self_cure_fixed: bag.chance("self_cure_fixed"),
        back_again: bag.chance("back_again"),
        remedy_works: bag.chance("remedy_works"),
        floor: bag.chance("floor"),
        head_share: bag.per_point("head_share", Range::Any),
        reference_rise: bag.take("reference_rise", Range::NotNegative),
        unlisted_weight: bag.number("unlisted_weight"),
        unlisted_sizes: bag.take("unlisted_sizes", Range::NotNegative),
        usual_states: StateChances { open, stuck, falling, erratic },
        rates,
        verify: bag.cost("verify", rates),
        readings: bag.cost("readings", rates),
        record: bag.cost("record", rates),
        comeback: bag.number("comeback"),
        part_in_vain: bag.number("part_in_vain"),
        unlisted_cure: bag.cost("unlisted_cure", rates),
        by_the_way: bag.number("by_the_way"),
        chain_share: bag.chance("chain_share"),
        heat_share: bag.chance("heat_share"),
        visit_spread: bag.per_point("visit_spread", Range::NotNegative),
        visit_freedom: bag.positive("visit_freedom"),
        fitted_kept: bag.chance("fitted_kept"),
        depth_kept: bag.chance("depth_kept"),
        balance_share: bag.chance("balance_share"),
        fuel_trim: bag.take("fuel_trim", Range::NotNegative),
        spark_trim: bag.take("spark_trim", Range::NotNegative),
        proof: bag.chance("proof"),
    }
}

/// Lowers the mixture curve.
pub(super) fn curve<'a>(
    cx: &mut Cx<'a>,
    row: Option<Row<'a, RawCurve<'a>>>,
    incomplete: bool,
) -> MixtureCurve {
    let flat = || MixtureCurve {
        phi: vec![1.0],
        reading: [vec![0.0], vec![0.0], vec![0.0]],
        basis: Basis::Memory,
    };
    let Some(Row { spot, value }) = row else {
        if !incomplete {
            let message = "the mixture curve is not given";
            cx.findings.push(
                Finding::new(codes::BAD_CURVE, message)
                    .help("add `mixture: [(ratio, idle, cruise, full), ...]` to `model.ron`"),
            );
        }
        return flat();
    };
    let whole = Spot { list: "mixture_basis", ..spot };
    let basis = if let Some(basis) = &value.basis {
        cx.basis(whole.at(&[]), basis)
    } else {
        cx.findings.push(
            spot.at(&[])
                .finding(codes::MISSING_BASIS, "the mixture curve has no basis", "")
                .help("add `mixture_basis: ...` beside it"),
        );
        Basis::Memory
    };
    let point = |n: usize| Spot { index: n, ..spot };
    let mut curve = MixtureCurve { phi: Vec::new(), reading: [const { Vec::new() }; 3], basis };
    for (n, &(phi, idle, cruise, full)) in value.points.iter().enumerate() {
        let phi = cx.not_negative(point(n).at(&[Step::Nth(0)]), "the ratio", phi);
        if curve.phi.last().is_some_and(|&before| phi <= before) {
            cx.findings.push(
                point(n)
                    .at(&[Step::Nth(0)])
                    .finding(codes::BAD_CURVE, format!("ratio {phi} does not rise"), "")
                    .help("put the points in order of their ratios"),
            );
        }
        curve.phi.push(phi);
        for (k, reading) in [idle, cruise, full].into_iter().enumerate() {
            let path = [Step::Nth(k + 1)];
            let reading = cx.finite(point(n).at(&path), "the reading", reading);
            curve.reading[k].push(reading);
        }
    }
    if curve.phi.len() < 2 {
        let message = "a mixture curve needs at least two points";
        cx.findings.push(spot.at(&[]).finding(codes::BAD_CURVE, message, ""));
    }
    curve
}
