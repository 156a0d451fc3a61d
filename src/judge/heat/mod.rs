//! Heat: whether the engine must stop, or be watched, whatever is probable.
//!
//! A judgement of its own beside the odds. Each entered set is held against the engine builder's
//! limit, the bounds of the knowledge base, the engine's own record and the other cylinders; the
//! newest set of each point counts. It knows engine, timeline and knowledge; it must not look at a
//! probability, and it words nothing.

mod set;
#[cfg(test)]
mod tests;

pub(crate) use set::SPREADS;

use facts::job::complaint::Does;
use facts::job::entry::Reading;
use facts::job::timeline::{Disturbance, ReadingSet, Timeline};
use facts::knowledge::{Knowledge, Load, RunningPoint};
use measure::engine::{Cylinder, ProbeSite};
use measure::readings::outlier::median_of_mates;

/// What heat asks for; the graver stands later.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Go up in steps, with an eye on it.
    Watch,
    /// The numbers are no temperatures of a running engine: nothing is known of the heat.
    CannotBe,
    /// Back off, now.
    Stop,
}

/// Why; temperatures and differences in °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// At or above the engine builder's limit.
    Builder(f64),
    /// At or above what such an engine's displays may read.
    Ceiling(f64),
    /// So far above the others at load.
    Lone(f64),
    /// So far above what this display usually does, by the engine's own record.
    Record(f64),
    /// The exhaust of a cylinder reads low and its head high, at one point.
    ColdExhaustHotHead,
    /// No display reaches this, at least one of which a running engine does.
    TooCold(f64),
    /// No display is below this, as at least one of a running engine is.
    TooHot(f64),
    /// All displays are open.
    AllOpen,
    /// The customer hears or feels it.
    Complaint(Does),
}

/// A reading that is spoken of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hot {
    /// Number of the journal entry.
    pub entry: usize,
    /// Running point.
    pub at: RunningPoint,
    /// Which probes.
    pub site: ProbeSite,
    /// The display.
    pub display: Cylinder,
    /// What it reads, °C; of a jumping one the lower end.
    pub value: f64,
    /// How far above the median of the others, °C.
    pub above: Option<f64>,
}

/// What heat asks for, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Heat {
    /// What it asks for.
    pub verdict: Verdict,
    /// Why, the first the plainest.
    pub why: Vec<Reason>,
    /// The running point it was read at; `None` for a complaint.
    pub at: Option<RunningPoint>,
    /// The readings it rests on; none for a complaint and for displays that are all open.
    pub readings: Vec<Hot>,
}

impl Verdict {
    /// The word of JSON.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Watch => "watch",
            Self::CannotBe => "cannot-be",
            Self::Stop => "stop",
        }
    }
}

/// One set as heat sees it: also those read under trims.
#[derive(Debug, Clone, Copy)]
struct Seen<'a> {
    entry: usize,
    at: RunningPoint,
    site: ProbeSite,
    readings: &'a [Reading],
    /// How many disturbances had happened before.
    after: usize,
}

/// What heat asks for now; `None` where nothing is hot.
///
/// A set counts until a later one of the same probes at the same point. A verdict on a set before
/// something was touched is watched instead of stopped for once the point below has been read
/// without heat since: the engine may go up in steps again.
#[must_use]
pub fn judge(knowledge: &Knowledge, timeline: &Timeline) -> Option<Heat> {
    standing(knowledge, timeline).into_iter().map(|stands| stands.heat).max_by(|a, b| {
        let load = |heat: &Heat| heat.at.map_or(0, |at| at.place);
        // Of equals the one at less load: it is the nearer danger.
        a.verdict.cmp(&b.verdict).then(load(b).cmp(&load(a)))
    })
}

/// What the readings of one entry ask for by themselves.
#[must_use]
pub fn of_entry(knowledge: &Knowledge, timeline: &Timeline, entry: usize) -> Option<Heat> {
    let all = all(timeline);
    all.iter().find(|seen| seen.entry == entry).and_then(|s| set::judge(knowledge, timeline, *s))
}

/// What readings that are not entered ask for by themselves, were they of these probes at this point now.
#[must_use]
pub fn of_readings(
    knowledge: &Knowledge,
    timeline: &Timeline,
    site: ProbeSite,
    at: RunningPoint,
    readings: &[Reading],
) -> Option<Heat> {
    let after = timeline.disturbances.len();
    set::judge(knowledge, timeline, Seen { entry: 0, at, site, readings, after })
}

/// Whether the engine may be run at a point, as far as heat goes.
///
/// Full load not while a stop stands, nor while something is watched or unknown unless running at load
/// was confirmed; cruise likewise by what was read at cruise or below. Idle always may: something must
/// be read. What was hot before a remedy bars nothing once the point below it was read since without
/// heat: the cure is proven where it was hot, a step at a time. What is only watched may be read again at
/// its own point once the one below was.
#[must_use]
pub fn allows(knowledge: &Knowledge, timeline: &Timeline, at: RunningPoint) -> bool {
    if !at.is_load() {
        return true;
    }
    standing(knowledge, timeline)
        .iter()
        .filter(|stands| {
            at.is_full_load() || stands.heat.at.is_some_and(|read| read.load <= at.load)
        })
        .all(|stands| {
            let again = stands.heat.at == Some(at) && stands.cool_below;
            stands.cured || again || stands.heat.verdict != Verdict::Stop && timeline.load_confirmed
        })
}

/// A verdict that stands.
struct Stands {
    heat: Heat,
    /// It was put right since, as far as the point below tells.
    cured: bool,
    /// It was never more than watched, and the point below was read since then, without heat: it may be
    /// read again, as at less load first.
    cool_below: bool,
}

/// Everything that heat asks for, a set each.
fn standing(knowledge: &Knowledge, timeline: &Timeline) -> Vec<Stands> {
    let newest = newest(timeline);
    let judged: Vec<(Seen<'_>, Option<Heat>)> =
        newest.iter().map(|seen| (*seen, set::judge(knowledge, timeline, *seen))).collect();
    let mut all: Vec<Stands> = judged
        .iter()
        .filter_map(|(seen, heat)| {
            let mut heat = heat.clone()?;
            let work = &timeline.disturbances[seen.after..];
            let remedied = work.iter().any(|touch| touch.remedied.is_some());
            // Numbers that were none say nothing any more once the box was put right and shows some.
            if heat.verdict == Verdict::CannotBe && remedied && shows_some_since(&judged, seen) {
                return None;
            }
            let cooled = cooled_since(knowledge, timeline, &judged, (seen, &heat));
            let cool_below = heat.verdict == Verdict::Watch && cool_below(&judged, seen);
            if heat.verdict == Verdict::Stop && cooled {
                heat.verdict = Verdict::Watch;
            }
            Some(Stands { heat, cured: cooled && remedied, cool_below })
        })
        .collect();
    let also = set::cold_and_hot(knowledge, timeline, &newest).into_iter();
    all.extend(also.chain(complained(timeline)).map(|heat| Stands {
        heat,
        cured: false,
        cool_below: false,
    }));
    all
}

/// The newest set of each kind, in order of entry.
fn newest(timeline: &Timeline) -> Vec<Seen<'_>> {
    let all = all(timeline);
    let newer = |seen: &Seen<'_>| {
        all.iter()
            .any(|other| (other.site, other.at) == (seen.site, seen.at) && other.entry > seen.entry)
    };
    all.iter().copied().filter(|seen| !newer(seen)).collect()
}

/// Every set, in order of entry.
fn all(timeline: &Timeline) -> Vec<Seen<'_>> {
    let plain = timeline.sets.iter().map(|set| Seen {
        entry: set.entry,
        at: set.at,
        site: set.site,
        readings: &set.readings,
        after: set.after,
    });
    let trimmed = timeline.trimming.sets.iter().map(|set| Seen {
        entry: set.entry,
        at: set.at,
        site: set.site,
        readings: &set.readings,
        after: set.after,
    });
    let mut all: Vec<Seen<'_>> = plain.chain(trimmed).collect();
    all.sort_by_key(|seen| seen.entry);
    all
}

/// Whether a point is a steady one a step of load below another.
fn is_below(at: RunningPoint, hot: RunningPoint) -> bool {
    let step = match hot.load {
        Load::Full => Load::Part,
        Load::Part => Load::None,
        Load::None => return false,
    };
    at.settled && at.load == step
}

/// Whether the point below a set's was read after it without heat.
fn cool_below(judged: &[(Seen<'_>, Option<Heat>)], hot: &Seen<'_>) -> bool {
    judged.iter().any(|(seen, heat)| {
        is_below(seen.at, hot.at)
            && seen.site == hot.site
            && seen.entry > hot.entry
            && heat.is_none()
    })
}

/// Whether something was touched since a set and the point below it has been read since then
/// without anything hot, and without what stands as far above there as it did before the work.
fn cooled_since(
    knowledge: &Knowledge,
    timeline: &Timeline,
    judged: &[(Seen<'_>, Option<Heat>)],
    (hot, why): (&Seen<'_>, &Heat),
) -> bool {
    let now = timeline.disturbances.len();
    hot.after < now
        && judged.iter().any(|(seen, heat)| {
            is_below(seen.at, hot.at)
                && seen.site == hot.site
                && seen.after == now
                && heat.is_none()
        })
        && !as_before(knowledge, timeline, hot, why)
}

/// Share of what a display stood off by from which what was put right did nothing for it (common
/// practice, no source).
pub(crate) const AS_BEFORE: f64 = 0.7;

/// Natural standard deviations above the others from which a cylinder says, at a point where it is not hot, whether
/// it still is elsewhere (common practice, no source).
const WARM: f64 = 1.5;

/// Whether a cylinder whose display was hot in a set stands at a gentler point as far above the others as it did
/// there before the last remedy: what was done did nothing for it.
fn as_before(knowledge: &Knowledge, timeline: &Timeline, seen: &Seen<'_>, heat: &Heat) -> bool {
    let done = |d: &Disturbance| d.remedied.is_some();
    let Some(remedy) = timeline.disturbances.iter().rposition(done) else { return false };
    let Some(own) = timeline.sets.iter().find(|set| set.entry == seen.entry) else { return false };
    let above = |set: &ReadingSet, cylinder: Cylinder| {
        let values: Vec<Option<f64>> = set.readings.iter().map(|r| r.middle()).collect();
        let display = usize::from(set.arrangement.display_of(cylinder)) - 1;
        Some(values[display]? - median_of_mates(&values, display)?)
    };
    let last = |at: RunningPoint, since: bool| {
        let mut sets = timeline.sets.iter().rev();
        sets.find(|set| (set.site, set.at, set.after > remedy) == (seen.site, at, since))
    };
    let gentler = || timeline.points.iter().filter(|at| at.settled && at.load < seen.at.load);
    heat.readings.iter().map(|hot| own.arrangement.cylinder_shown(hot.display)).any(|cylinder| {
        gentler().any(|at| {
            let warm = WARM * knowledge.natural_sd(&timeline.engine, seen.site, at);
            let sizes = last(at, false).zip(last(at, true));
            let sizes = sizes
                .and_then(|(before, after)| above(before, cylinder).zip(above(after, cylinder)));
            sizes.is_some_and(|(before, after)| before >= warm && after > AS_BEFORE * before)
        })
    })
}

/// Whether a later set of the same probes holds temperatures that can be.
fn shows_some_since(judged: &[(Seen<'_>, Option<Heat>)], set: &Seen<'_>) -> bool {
    judged.iter().any(|(seen, heat)| {
        let can_be = heat.as_ref().is_none_or(|heat| heat.verdict != Verdict::CannotBe);
        seen.site == set.site && seen.entry > set.entry && seen.after > set.after && can_be
    })
}

/// What the customer hears is watched until a remedy was entered.
fn complained(timeline: &Timeline) -> Option<Heat> {
    let does = timeline.complaint.does.filter(|does| does.is_heat())?;
    let remedied = timeline.disturbances.iter().any(|touch| touch.remedied.is_some());
    (!remedied).then(|| Heat {
        verdict: Verdict::Watch,
        why: vec![Reason::Complaint(does)],
        at: None,
        readings: Vec::new(),
    })
}
