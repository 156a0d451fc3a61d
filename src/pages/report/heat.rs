//! Heat in one line: what it asks for, why, and what to do.

use facts::job::complaint::Does;
use facts::job::entry::Reading;
use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use facts::knowledge::RunningPoint;
use judge::heat::{self, Heat, Hot, Reason, Verdict};
use measure::readings::outlier::median;
use measure::units::{Celsius, Scale};

use super::doc::NoticeKind;
use super::{terms, words};

/// Displays that are named; the others are counted.
const NAMED: usize = 3;

/// What stands before an answer while the engine must stop or be watched.
#[must_use]
pub fn heat_notice(
    knowledge: &Knowledge,
    timeline: &Timeline,
    scale: Scale,
) -> Option<(NoticeKind, String)> {
    let heat = heat::judge(knowledge, timeline)?;
    let kind = match heat.verdict {
        Verdict::Stop => NoticeKind::Stop,
        Verdict::Watch | Verdict::CannotBe => NoticeKind::Watch,
    };
    Some((kind, words::sentence(&text(timeline, &heat, scale))))
}

/// The same as a line of its own, as `STOP: display 2 reads ...`.
#[must_use]
pub fn heat_line(knowledge: &Knowledge, timeline: &Timeline, scale: Scale) -> Option<String> {
    heat_notice(knowledge, timeline, scale).map(|(kind, text)| format!("{}: {text}", kind.word()))
}

/// Why the numbers of an entry are no temperatures of a running engine, as a clause; `None` where they
/// may be.
#[must_use]
pub fn no_temperatures(
    knowledge: &Knowledge,
    timeline: &Timeline,
    entry: usize,
    scale: Scale,
) -> Option<String> {
    let heat = heat::of_entry(knowledge, timeline, entry)?;
    let level = heat.why.iter().find(|r| matches!(r, Reason::TooCold(_) | Reason::TooHot(_)))?;
    let why = because(*level, &heat, scale)?;
    Some(format!("{}, {why}", shown(timeline, &heat, scale)))
}

/// How the displays of an entry stand to each other, as a clause: who is farthest off, if anyone is
/// by three natural spreads.
#[must_use]
pub fn compared(
    knowledge: &Knowledge,
    timeline: &Timeline,
    entry: usize,
    scale: Scale,
) -> Option<String> {
    let (display, by, odd) = farthest(knowledge, timeline, entry)?;
    let set = timeline.sets.iter().find(|set| set.entry == entry)?;
    if let Some(Reading::Erratic { lo, hi }) = set.readings.get(usize::from(display - 1)) {
        let size = words::difference(hi.value() - lo.value(), scale);
        return Some(format!("display {display} jumps by {}", size.trim_start_matches('+')));
    }
    let way = if by > 0.0 { "above" } else { "below" };
    let size = words::difference(by.abs(), scale);
    let size = size.trim_start_matches('+');
    Some(if odd {
        format!("display {display} reads {size} {way} the others")
    } else {
        format!("no display is more than {size} off the others")
    })
}

/// The display that stands out in an entry, if one does.
pub(super) fn odd_display(knowledge: &Knowledge, timeline: &Timeline, entry: usize) -> Option<u8> {
    let (display, _, odd) = farthest(knowledge, timeline, entry)?;
    odd.then_some(display)
}

/// The display farthest off the others in an entry, by how much, and whether that stands out.
fn farthest(knowledge: &Knowledge, timeline: &Timeline, entry: usize) -> Option<(u8, f64, bool)> {
    let set = timeline.sets.iter().find(|set| set.entry == entry && set.is_settled())?;
    let numbers: Vec<(u8, f64)> =
        (1..).zip(&set.readings).filter_map(|(d, r)| Some((d, r.middle()?))).collect();
    let by = |display: u8, value: f64| {
        let others: Vec<f64> =
            numbers.iter().filter(|(d, _)| *d != display).map(|(_, v)| *v).collect();
        median(&others).map(|middle| value - middle)
    };
    let (display, by) = numbers
        .iter()
        .filter_map(|&(d, v)| Some((d, by(d, v)?)))
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    let sd = knowledge.natural_sd(&timeline.engine, set.site, set.at);
    Some((display, by, by.abs() >= 3.0 * sd))
}

pub(super) fn text(timeline: &Timeline, heat: &Heat, scale: Scale) -> String {
    let what = match heat.why.first() {
        Some(Reason::Complaint(does)) => heard(*does).to_owned(),
        Some(Reason::AllOpen) => {
            format!("all displays are open{}", heat.at.map_or_else(String::new, at))
        }
        _ => shown(timeline, heat, scale),
    };
    let why: Vec<String> = heat.why.iter().filter_map(|r| because(*r, heat, scale)).collect();
    let why = if why.is_empty() { String::new() } else { format!(", {}", why.join(", ")) };
    format!("{what}{why}. {}", to_do(heat))
}

/// Which displays read what, where.
fn shown(timeline: &Timeline, heat: &Heat, scale: Scale) -> String {
    let Some(first) = heat.readings.first() else { return String::new() };
    let where_at = terms::point_and_site(first.at, first.site, timeline.engine.probes);
    let everything = heat.verdict == Verdict::CannotBe;
    let value = |hot: &Hot| {
        Celsius::new(hot.value).map_or_else(|_| String::new(), |t| words::temperature(t, scale))
    };
    if everything {
        let highest = heat.readings.iter().max_by(|a, b| a.value.total_cmp(&b.value));
        let lowest = heat.readings.iter().min_by(|a, b| a.value.total_cmp(&b.value));
        let ends =
            (lowest.map_or_else(String::new, value), highest.map_or_else(String::new, value));
        return format!("all displays read {} to {} at {where_at}", ends.0, ends.1);
    }
    let one = |hot: &Hot| format!("display {} reads {}", hot.display, value(hot));
    let mut named: Vec<String> = heat.readings.iter().take(NAMED).map(one).collect();
    let more = heat.readings.len().saturating_sub(NAMED);
    if more > 0 {
        named.push(words::count(more, "other", "others"));
    }
    format!("{} at {where_at}", named.join(", "))
}

fn at(point: RunningPoint) -> String {
    format!(" at {}", terms::point(point))
}

fn because(reason: Reason, heat: &Heat, scale: Scale) -> Option<String> {
    let temperature =
        |t: f64| Celsius::new(t).map_or_else(|_| String::new(), |t| words::temperature(t, scale));
    let by = |by: f64| words::difference(by, scale).trim_start_matches('+').to_owned();
    Some(match reason {
        Reason::Builder(limit) => format!("the builder's limit is {}", temperature(limit)),
        Reason::Ceiling(limit) if heat.verdict == Verdict::Watch => {
            format!("watched from {} on", temperature(limit))
        }
        Reason::Ceiling(limit) => format!("too hot from {} on", temperature(limit)),
        Reason::Lone(above) => format!("{} above the others", by(above)),
        Reason::Record(above) => format!("{} above what it usually does", by(above)),
        Reason::ColdExhaustHotHead => {
            "a hot head over a cold exhaust: the heat stays inside".to_owned()
        }
        Reason::TooCold(least) => format!("a running engine reaches {}", temperature(least)),
        Reason::TooHot(most) => format!("no engine is above {} all over", temperature(most)),
        Reason::AllOpen | Reason::Complaint(_) => return None,
    })
}

fn heard(does: Does) -> &'static str {
    match does {
        Does::RunsOn => "the customer says that it runs on: a cylinder may really be hot",
        _ => "the customer says that it pings: a cylinder may really be hot",
    }
}

fn to_do(heat: &Heat) -> &'static str {
    match (heat.verdict, heat.at) {
        (Verdict::Stop, Some(at)) if !at.is_load() => {
            "Switch off; check the number before it runs again."
        }
        (Verdict::Stop, _) => {
            "Back off now; read that point again at lower load first, and never hold it to see."
        }
        (Verdict::Watch, _) => {
            "Go up in steps and watch it; no full load until you say that it is safe \
             (`confirm-load`)."
        }
        (Verdict::CannotBe, _) => {
            "Check scale, unit, box and supply first: these numbers say nothing of the heat."
        }
    }
}
