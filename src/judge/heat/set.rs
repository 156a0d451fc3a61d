//! One set of readings held against every bound.

use super::{Heat, Hot, Reason, Seen, Verdict};
use facts::job::entry::Reading;
use facts::job::timeline::Timeline;
use facts::knowledge::{AMBIENT, Bounds, Knowledge};
use measure::engine::{Cylinder, Fuel, ProbeSite};
use measure::readings::outlier::median_of_mates;

/// Natural spreads, or spreads of the own record, that a lone display must be above before it is
/// said to be: the same bar as that of an odd reading.
pub(crate) const SPREADS: f64 = 3.0;

/// What a display surely reads, °C: of a jumping one the lower end.
fn least(reading: Reading) -> Option<f64> {
    match reading {
        Reading::Degrees(t) => Some(t.value()),
        Reading::Erratic { lo, .. } => Some(lo.value()),
        Reading::Open | Reading::Stuck | Reading::Falling => None,
    }
}

/// Displays that show a number, with it.
fn numbers(seen: Seen<'_>) -> Vec<(Cylinder, f64)> {
    (1..).zip(seen.readings).filter_map(|(d, r)| Some((d, least(*r)?))).collect()
}

/// What a set asks for.
pub(super) fn judge(knowledge: &Knowledge, timeline: &Timeline, seen: Seen<'_>) -> Option<Heat> {
    if seen.at.is_cold() {
        return None;
    }
    let row = knowledge.heat_bounds(&timeline.engine, seen.site);
    let bounds = row.and_then(|row| Some((row.lone, row.at(seen.at)?)));
    if let Some((_, bounds)) = bounds
        && let Some(heat) = cannot_be(bounds.can_be, seen)
    {
        return Some(heat);
    }
    let mut found: Vec<(Verdict, Reason, Hot)> = Vec::new();
    for (display, value) in numbers(seen) {
        let above = above_mates(knowledge, timeline, seen, (display, value));
        let hot = Hot { entry: seen.entry, at: seen.at, site: seen.site, display, value, above };
        let mut add = |verdict, reason| found.push((verdict, reason, hot));
        // The builder's limit is for the probes that the engine has for good.
        if let Some(limit) = timeline.builder_limit
            && seen.site == timeline.engine.probes
            && value >= limit.value()
        {
            add(Verdict::Stop, Reason::Builder(limit.value()));
        }
        let Some((lone, Bounds { watch, stop, .. })) = bounds else { continue };
        if value >= stop {
            add(Verdict::Stop, Reason::Ceiling(stop));
        } else if value >= watch {
            add(Verdict::Watch, Reason::Ceiling(watch));
        }
        if !seen.at.is_load() {
            continue;
        }
        let sd = knowledge.natural_sd(&timeline.engine, seen.site, seen.at);
        if let Some((verdict, by)) = above.and_then(|by| far(lone, by, sd)) {
            add(verdict, Reason::Lone(by));
        }
        if let Some((verdict, by)) = off_record(timeline, lone, seen, display, value) {
            add(verdict, Reason::Record(by));
        }
    }
    let verdict = found.iter().map(|(verdict, ..)| *verdict).max()?;
    found.retain(|(found, ..)| *found == verdict);
    // Who stands out most is named first.
    found.sort_by(|a, b| b.2.value.total_cmp(&a.2.value));
    let mut heat = Heat { verdict, why: Vec::new(), at: Some(seen.at), readings: Vec::new() };
    for (_, reason, hot) in found {
        if !heat.why.contains(&reason) {
            heat.why.push(reason);
        }
        if !heat.readings.contains(&hot) {
            heat.readings.push(hot);
        }
    }
    Some(heat)
}

/// Whether a difference is far, and how grave that is.
fn far([watch, stop]: [f64; 2], by: f64, sd: f64) -> Option<(Verdict, f64)> {
    let least = SPREADS * sd;
    if by >= stop.max(least) {
        Some((Verdict::Stop, by))
    } else if by >= watch.max(least) {
        Some((Verdict::Watch, by))
    } else {
        None
    }
}

/// How far a display reads above the median of its mates.
fn above_others(seen: Seen<'_>, display: Cylinder, value: f64) -> Option<f64> {
    let all: Vec<Option<f64>> = seen.readings.iter().map(|reading| least(*reading)).collect();
    Some(value - median_of_mates(&all, usize::from(display) - 1)?)
}

/// The same as heat takes it: of two displays nobody can tell which is off, so that one mate counts as no lower than
/// such an engine's displays usually are.
fn above_mates(
    knowledge: &Knowledge,
    timeline: &Timeline,
    seen: Seen<'_>,
    (display, value): (Cylinder, f64),
) -> Option<f64> {
    let above = above_others(seen, display, value)?;
    // The knowledge base has a level for a petrol engine's exhaust alone.
    let petrol = timeline.engine.fuel != Fuel::Diesel && seen.site == ProbeSite::Exhaust;
    if !petrol || numbers(seen).len() != 2 {
        return Some(above);
    }
    let usual = AMBIENT + knowledge.constants.reference_rise_at(seen.at);
    Some(above.min(value - usual))
}

/// How far a display reads above what it usually does against the mean of all.
fn off_record(
    timeline: &Timeline,
    lone: [f64; 2],
    seen: Seen<'_>,
    display: Cylinder,
    value: f64,
) -> Option<(Verdict, f64)> {
    let usual = timeline.history.as_ref()?.at(seen.site, seen.at)?;
    let (mean, sd) = usual.of(display)?;
    let all = numbers(seen);
    // Without all displays the mean is another.
    if all.len() < seen.readings.len() || all.len() < 2 {
        return None;
    }
    let count = f64::from(u32::try_from(all.len()).ok()?);
    let middle = all.iter().map(|(_, v)| v).sum::<f64>() / count;
    far(lone, value - middle - mean, sd)
}

/// Numbers that are no temperatures of a running engine.
fn cannot_be([low, high]: [f64; 2], seen: Seen<'_>) -> Option<Heat> {
    let all = numbers(seen);
    let heat = |reason, values: &[(Cylinder, f64)]| {
        let readings = values.iter().map(|&(display, value)| Hot {
            entry: seen.entry,
            at: seen.at,
            site: seen.site,
            display,
            value,
            above: None,
        });
        Some(Heat {
            verdict: Verdict::CannotBe,
            why: vec![reason],
            at: Some(seen.at),
            readings: readings.collect(),
        })
    };
    if seen.readings.len() > 1 && seen.readings.iter().all(|r| *r == Reading::Open) {
        return heat(Reason::AllOpen, &[]);
    }
    if all.len() < 2 {
        return None;
    }
    // While it warms up anything from the yard's temperature on can be.
    if !seen.at.is_warming() && all.iter().all(|(_, v)| *v < low) {
        return heat(Reason::TooCold(low), &all);
    }
    if all.iter().all(|(_, v)| *v > high) {
        return heat(Reason::TooHot(high), &all);
    }
    None
}

/// Cylinders whose exhaust reads low and whose head reads high at one point under load: the heat
/// stays inside.
pub(super) fn cold_and_hot(
    knowledge: &Knowledge,
    timeline: &Timeline,
    newest: &[Seen<'_>],
) -> Option<Heat> {
    let of = |site, at| newest.iter().copied().find(|s| (s.site, s.at) == (site, at));
    for at in timeline.points.iter().filter(|at| at.is_load()) {
        let (Some(exhaust), Some(head)) = (of(ProbeSite::Exhaust, at), of(ProbeSite::Head, at))
        else {
            continue;
        };
        let sd = |site| SPREADS * knowledge.natural_sd(&timeline.engine, site, at);
        let (low, high) = (-sd(ProbeSite::Exhaust), sd(ProbeSite::Head));
        let heads = numbers(head);
        let mut readings = Vec::new();
        for (display, value) in numbers(exhaust) {
            let cold = above_others(exhaust, display, value).is_some_and(|by| by <= low);
            let Some((_, hot)) = heads.iter().find(|(d, _)| *d == display) else { continue };
            let above = above_others(head, display, *hot);
            if cold && above.is_some_and(|by| by >= high) {
                let (entry, site) = (head.entry, head.site);
                readings.push(Hot { entry, at, site, display, value: *hot, above });
            }
        }
        if !readings.is_empty() {
            let why = vec![Reason::ColdExhaustHotHead];
            return Some(Heat { verdict: Verdict::Watch, why, at: Some(at), readings });
        }
    }
    None
}
