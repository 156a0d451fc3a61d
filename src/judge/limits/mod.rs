//! Warning limits: how far a display may stray from its usual place before somebody is told.
//!
//! Puts a job's own figures to [`alarm`], which knows numbers only: what each display usually does and
//! how it spreads, how fast its probe follows, and what the faults of the knowledge base would do to it. A
//! limit for a single temperature is the engine builder's; none is made here. It must not judge the
//! job or word pages.

pub mod alarm;

use std::collections::BTreeMap;
use std::rc::Rc;

use crate::diagnosis::Verification;
use crate::diagnosis::data::{Kind, repeatability};
use crate::diagnosis::effect::{self, Context, Moments};
use crate::diagnosis::prior;
use crate::plan::is_done;
use crate::vehicle;
use alarm::{Course, Rule, Runs, seconds_to};
use facts::job::entry::{Journal, Reading, What};
use facts::job::history::Usual;
use facts::job::read::read;
use facts::job::timeline::Timeline;
use facts::knowledge::AMBIENT;
use facts::knowledge::Knowledge;
use measure::engine::{Cylinder, Engine, Fitting, Place, ProbeSite};
use measure::probe::{Build, Case, response};
use measure::readings::outlier::median;

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// Hours of running, in each of which a display may give so much as one false alarm.
    pub once_in: f64,
    /// The delay, s; nothing takes it from the probes.
    pub delay: Option<f64>,
}

/// Hours of running between two false alarms of one display, where nothing is said (common practice, no
/// source: rarer than the engine is looked at).
pub const ONCE_IN: f64 = 1000.0;
/// Time constants of the probe that the delay covers: after a step of load displays are together again
/// to 5 % by then (first-order response).
const DELAY: f64 = 3.0;
/// The delay is a multiple of this, s.
const DELAY_GRAIN: f64 = 5.0;
/// A limit is a multiple of this, °C.
const GRAIN: f64 = 1.0;
/// Sheath and bore where none were measured, mm: the commonest of the tables (assumed, practice).
const FITTING: Fitting = Fitting { diameter: 3.0, bore: 42.0, depth: 15.0 };
/// Time constant of a head probe, s: metal follows slowly (common practice, no source).
const HEAD: f64 = 60.0;

/// The limit of one display at one running point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Display.
    pub display: Cylinder,
    /// Where the probes sit and where the engine is held.
    pub kind: Kind,
    /// Usual distance from the mean of all displays, °C.
    pub usual: f64,
    /// Deviation from that, either way, °C.
    pub rule: Rule,
    /// False alarms per hour of running.
    pub per_hour: f64,
}

/// What the limits see of one cause at one running point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenAt {
    /// Where.
    pub kind: Kind,
    /// Chance that an hour of running with it gives an alarm.
    pub chance: f64,
    /// Typical shift of its display, of the side that moves it most, °C.
    pub shift: f64,
    /// Seconds from a sudden onset to the alarm at that shift; nothing where it does not reach the
    /// limit.
    pub seconds: Option<f64>,
}

/// A cause as the limits see it.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Index of the cause.
    pub cause: usize,
    /// Share of the causes that were asked about, by weight.
    pub share: f64,
    /// At each point.
    pub seen: Vec<SeenAt>,
}

/// All limits of an engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// Point by point, display by display.
    pub rows: Vec<Limit>,
    /// Causes of single cylinders, the most frequent first.
    pub faults: Vec<Fault>,
    /// Chance, by weight of the causes, that an hour of running at a point gives an alarm.
    pub overall: Vec<(Kind, f64)>,
    /// Displays for which no limit keeps the rate.
    pub none: Vec<(Kind, Cylinder)>,
}

/// Why no limits are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hindrance {
    /// The job is neither verified nor recorded as normal.
    NotDone,
    /// A display showed no steady number when it was last read.
    NoNumber(Cylinder),
}

/// Why no limits are made, if anything stands against them: what is odd now is no measure of what is usual.
#[must_use]
pub fn hindrance(timeline: &Timeline, verification: &Verification) -> Option<Hindrance> {
    if !is_done(timeline, verification) {
        return Some(Hindrance::NotDone);
    }
    let plain = timeline.sets.iter().map(|s| (s.entry, s.site, s.at, s.after, &s.readings));
    let trimmed = timeline.trimming.sets.iter();
    let trimmed = trimmed.map(|s| (s.entry, s.site, s.at, s.after, &s.readings));
    let now = timeline.disturbances.len();
    let mut last = BTreeMap::new();
    for (entry, site, at, after, readings) in plain.chain(trimmed) {
        let known = last.get(&(site, at)).is_some_and(|(known, _)| *known > entry);
        if after == now && !known {
            last.insert((site, at), (entry, readings));
        }
    }
    last.values()
        .flat_map(|(_, readings)| (1..).zip(*readings))
        .find(|(_, reading)| !matches!(reading, Reading::Degrees(_)))
        .map(|(display, _)| Hindrance::NoNumber(display))
}

/// Works out limits from what displays usually do. Cold soak and warming have none.
#[must_use]
pub fn limits(knowledge: &Knowledge, timeline: &Timeline, usual: &[Usual], asked: Asked) -> Limits {
    let (mut out, hardest) = rows(knowledge, timeline, usual, asked);
    faults(knowledge, timeline, &hardest, &mut out);
    out
}

/// The display of a kind that is hardest to tell about stands for all where faults are asked about.
struct Hardest {
    kind: Kind,
    /// Nothing where no display has a limit.
    display: Option<(Course, Rule)>,
    runs: Rc<Runs>,
    follows: f64,
}

/// The limits alone.
fn rows(
    knowledge: &Knowledge,
    timeline: &Timeline,
    usual: &[Usual],
    asked: Asked,
) -> (Limits, Vec<Hardest>) {
    let engine = &timeline.engine;
    let part = part(engine);
    let mut out =
        Limits { rows: Vec::new(), faults: Vec::new(), overall: Vec::new(), none: Vec::new() };
    let mut all: Vec<Hardest> = Vec::new();
    for usual in usual {
        // A record may speak of a point that this knowledge base has not.
        let Some(at) = knowledge.points.get(usual.at).filter(|at| at.settled) else { continue };
        let kind = Kind { site: usual.site, at };
        let follows = time_constant(timeline, kind);
        let delay = asked.delay.unwrap_or_else(|| {
            ((DELAY * follows / DELAY_GRAIN).ceil() * DELAY_GRAIN).max(DELAY_GRAIN)
        });
        // Head probes are as slow at every point.
        let same = |other: &&Hardest| other.follows.to_bits() == follows.to_bits();
        let runs = all
            .iter()
            .find(same)
            .map_or_else(|| Rc::new(Runs::new(follows, delay)), |other| Rc::clone(&other.runs));
        let mut hardest: Option<(Course, Rule)> = None;
        // Displays of one spread have one limit.
        let mut known: BTreeMap<u64, Option<(f64, f64)>> = BTreeMap::new();
        for display in engine.all() {
            let Some((mean, sd)) = usual.of(display) else { continue };
            let course = Course {
                offset_sd: sd * part.sqrt(),
                noise_sd: repeatability(knowledge, kind) * part.sqrt(),
                memory: follows,
            };
            let found = *known.entry(sd.to_bits()).or_insert_with(|| {
                let limit = runs.limit(course, 1.0 / asked.once_in, GRAIN)?;
                Some((limit, runs.per_hour(course, limit)))
            });
            let Some((limit, per_hour)) = found else {
                out.none.push((kind, display));
                continue;
            };
            let rule = Rule { limit, delay };
            out.rows.push(Limit { display, kind, usual: mean, rule, per_hour });
            if hardest.is_none_or(|(_, rule)| rule.limit < limit) {
                hardest = Some((course, rule));
            }
        }
        all.push(Hardest { kind, display: hardest, runs, follows });
    }
    (out, all)
}

/// A display is compared with the mean of all, itself among them.
fn part(engine: &Engine) -> f64 {
    1.0 - 1.0 / f64::from(engine.cylinders)
}

/// The limits that were set in the controller, if any were, as they were then: what was read since does not
/// move them. What they see of faults is left out.
#[must_use]
pub fn as_set(knowledge: &Knowledge, journal: &Journal) -> Option<Limits> {
    let (number, asked) =
        journal.standing().into_iter().rev().find_map(|(number, entry)| match entry.what {
            What::LimitsSet { once_in, delay } => Some((number, Asked { once_in, delay })),
            _ => None,
        })?;
    let mut then = journal.clone();
    then.entries.truncate(number);
    let then = read(knowledge, &then);
    Some(rows(knowledge, &then, &vehicle::after(knowledge, &then), asked).0)
}

fn faults(knowledge: &Knowledge, timeline: &Timeline, hardest: &[Hardest], out: &mut Limits) {
    let engine = &timeline.engine;
    let kinds: Vec<Kind> = hardest.iter().map(|h| h.kind).collect();
    let levels: Vec<f64> = kinds.iter().map(|kind| level(knowledge, timeline, *kind)).collect();
    let installed = effect::installed(timeline, &kinds, &levels);
    let context =
        Context { knowledge, engine, kinds: &kinds, levels: &levels, installed: &installed };
    let single = |index: usize| {
        let cause = &knowledge.causes[index];
        let places = prior::places(cause, engine);
        !cause.effects.is_empty()
            && !cause.passes()
            && places.iter().all(|place| matches!(place, Place::Cylinder(_)))
            && !places.is_empty()
    };
    let weight = |index: usize| prior::weight(&knowledge.causes[index], engine, &[]);
    let mut causes: Vec<usize> =
        (0..knowledge.causes.len()).filter(|&i| single(i) && weight(i) > 0.0).collect();
    causes.sort_by(|&a, &b| weight(b).total_cmp(&weight(a)).then(a.cmp(&b)));
    let total: f64 = causes.iter().map(|&i| weight(i)).sum();
    for cause in causes {
        let sides = effect::moments(context, cause, None);
        let seen = (hardest.iter().enumerate())
            .filter_map(|(k, hardest)| seen_at(&sides, k, hardest, part(engine)))
            .collect();
        out.faults.push(Fault { cause, share: weight(cause) / total, seen });
    }
    for kind in kinds {
        let of = |fault: &Fault| fault.seen.iter().find(|s| s.kind == kind).map(|s| s.chance);
        let chances: Option<f64> =
            out.faults.iter().map(|f| of(f).map(|chance| f.share * chance)).sum();
        if let Some(chance) = chances.filter(|_| !out.faults.is_empty()) {
            out.overall.push((kind, chance));
        }
    }
}

fn seen_at(sides: &[Moments], k: usize, hardest: &Hardest, part: f64) -> Option<SeenAt> {
    let &Hardest { kind, ref runs, follows, .. } = hardest;
    let (course, rule) = hardest.display?;
    let mut chance = 0.0;
    let mut shift = 0.0_f64;
    for side in sides {
        // What means nothing may stand anywhere: its own wide spread says so.
        let sd = side.factor.row(k).iter().map(|f| f * f).sum::<f64>().sqrt();
        let wide = Course { offset_sd: course.offset_sd.hypot(sd * part), ..course };
        chance += side.share * runs.chance(wide, rule.limit, side.mean[k] * part);
        if side.mean[k].abs() > shift.abs() {
            shift = side.mean[k];
        }
    }
    Some(SeenAt { kind, chance, shift, seconds: seconds_to(shift * part, rule, follows) })
}

/// The middle of what was last read at a point, or the reference reading.
fn level(knowledge: &Knowledge, timeline: &Timeline, kind: Kind) -> f64 {
    let last = timeline.sets.iter().rev().find(|set| (set.site, set.at) == (kind.site, kind.at));
    let read = last.and_then(|set| {
        median(&set.readings.iter().filter_map(|r| r.middle()).collect::<Vec<_>>())
    });
    read.unwrap_or_else(|| AMBIENT + knowledge.constants.reference_rise_at(kind.at))
}

/// Time constant of the probes at a point, s.
fn time_constant(timeline: &Timeline, kind: Kind) -> f64 {
    let case = Case::typical(kind.at.regime).filter(|_| kind.site == ProbeSite::Exhaust);
    let fitting = timeline.engine.fitting.unwrap_or(FITTING);
    case.map_or(HEAD, |case| response::in_runner(fitting, &case, &Build::default()))
}

#[cfg(test)]
mod tests;
