//! Balancing: small trims of single cylinders once everything else is cleared.
//!
//! Reads a job's trims and the readings under them, says whether a balance may be begun at all
//! (the guard), how each step came out, and what the next one is: [`response`](mod@response) has the regression,
//! [`plan`] the rules, both without a job. It must not enter anything, and it never goes by
//! displays alone.

pub mod plan;
pub mod response;
#[cfg(test)]
mod tests;

use crate::diagnosis::data::{Kind, repeatability};
use crate::diagnosis::effect::mixture_shift;
use crate::diagnosis::{Assessment, CauseRef, Hypothesis, Verification};
use crate::plan::is_done;
use facts::job::entry::Reading;
use facts::job::timeline::Timeline;
use facts::job::trim::{Foreseen, Lever, MixtureSign, TrimStep, Trims};
use facts::knowledge::{Knowledge, Law, RunningPoint};
use measure::engine::{Cylinder, Fuel, Ignition, ProbeSite, Regime};
use plan::{Bounds, Next, Outcome, Pot, Refused, Scene, goes_back, may, next, outcome};
use response::{Set, response};

/// Why nothing is trimmed.
#[derive(Debug, Clone, PartialEq)]
pub enum Barrier {
    /// A diesel's readings are recorded, not levelled.
    Diesel,
    /// The engine has no fuel trim for each cylinder.
    NoTrims,
    /// It has no spark to trim.
    NoSpark,
    /// Only exhaust probes show a mixture.
    HeadProbes,
    /// The job is neither verified nor recorded as normal.
    NotDone,
    /// The measuring chain holds a share of the suspicion; it must be below the second.
    Chain(f64, f64),
    /// Faults other than the mixture's hold a share; it must be below the second.
    Mechanical(f64, f64),
    /// A probe was measured to sit so much deeper than its mates, mm.
    Depth(Cylinder, f64),
    /// Nothing was read at the point since anything was last touched.
    NoReadings,
    /// A display shows no steady number.
    NoNumber(Cylinder),
    /// Full load was not confirmed to be safe.
    Load,
    /// A display is at the builder's limit.
    TooHot(Cylinder),
}

/// A step that was taken, with how it came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// The step.
    pub step: TrimStep,
    /// Change of its display against the others, °C, where it was read before and after.
    pub came: Option<f64>,
    /// Against what was foreseen.
    pub outcome: Option<Outcome>,
}

/// What is to be done now.
#[derive(Debug, Clone, PartialEq)]
pub enum Now {
    /// Nothing: the guard is not met.
    Barred,
    /// Read at the point: the last step has not been read yet.
    Read,
    /// The last step came out otherwise than foreseen: put it back.
    PutBack {
        /// Whose.
        cylinder: Cylinder,
        /// To where.
        to: f64,
    },
    /// Go on.
    Next(Next),
}

/// A balance as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Balance {
    /// What is trimmed.
    pub lever: Lever,
    /// Where.
    pub at: RunningPoint,
    /// Why nothing is trimmed; empty where the guard is met.
    pub barriers: Vec<Barrier>,
    /// Cylinders; empty where too little was read.
    pub pots: Vec<Pot>,
    /// What the plan knows beside them.
    pub scene: Scene,
    /// Steps so far.
    pub taken: Vec<Taken>,
    /// What to do.
    pub now: Now,
}

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// What is trimmed.
    pub lever: Lever,
    /// Where; nothing takes the point read last.
    pub at: Option<RunningPoint>,
    /// Trims act by load, so that a leaner one at light load is not leaner at full load.
    pub by_load: bool,
}

/// Measured difference of depth beyond which a display is depth's and no mixture's, mm: what rule and eye
/// may err, as for a proof by measure.
const DEEP: f64 = 3.0;
/// Repeatabilities within which a display is level.
const LEVEL: f64 = 2.0;
/// Sets that a response is taken from: older ones are of another place on the curve.
const SETS: usize = 12;
/// Share of the law's slope that is unknown before it was measured (common practice, no source).
const UNKNOWN: f64 = 0.6;
/// °C at the probe for a degree of later spark at idle, cruise and full load: the single-zone cycle
/// computation behind the mixture curve.
const SPARK: [f64; 3] = [3.0, 3.5, 5.0];

/// Why a trim is not to be entered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Refusal {
    /// The guard is not met: [`Balance::barriers`] says why.
    Barred,
    /// The last step was not read yet, or has to be put back first.
    OneAtATime,
    /// The plan would not do it.
    Plan(Refused),
}

/// Whether a trim may be entered: the one gate of commands and session. Going back towards where it stood
/// is always allowed.
///
/// # Errors
/// Why not.
pub fn allowed(
    timeline: &Timeline,
    balance: &Balance,
    cylinder: Cylinder,
    to: f64,
) -> Result<(), Refusal> {
    if goes_back(timeline.trimming.stands(balance.lever, cylinder), to) {
        return Ok(());
    }
    if !balance.barriers.is_empty() {
        return Err(Refusal::Barred);
    }
    if balance.now == Now::Read || matches!(balance.now, Now::PutBack { .. }) {
        return Err(Refusal::OneAtATime);
    }
    may(&balance.pots, balance.scene, cylinder, to).map_err(Refusal::Plan)
}

/// Reads how a balance stands.
#[must_use]
pub fn balance(
    knowledge: &Knowledge,
    timeline: &Timeline,
    (assessment, verification): (&Assessment, &Verification),
    asked: Asked,
) -> Balance {
    let lever = asked.lever;
    let at = asked.at.unwrap_or_else(|| last_point(timeline));
    let kind = Kind { site: ProbeSite::Exhaust, at };
    let taken = taken(timeline);
    let sets = sets(timeline, lever, at);
    let sd = repeatability(knowledge, kind);
    let constants = &knowledge.constants;
    let [step, total] = match lever {
        Lever::Fuel => constants.fuel_trim,
        Lever::Spark => constants.spark_trim,
    };
    let scene = Scene {
        lever,
        bounds: Bounds { step, total },
        level: LEVEL * sd,
        leaner_barred: at.is_full_load() || !asked.by_load,
        steps: taken.iter().filter(|t| t.step.lever == lever).count(),
    };
    let pots = pots(timeline, lever, &sets, sd, &taken);
    let mut barriers = barriers(knowledge, timeline, (assessment, verification), (lever, at));
    if sets.is_empty() {
        barriers.push(Barrier::NoReadings);
    }
    let now = now(timeline, &barriers, &pots, scene, &taken);
    Balance { lever, at, barriers, pots, scene, taken, now }
}

fn now(
    timeline: &Timeline,
    barriers: &[Barrier],
    pots: &[Pot],
    scene: Scene,
    taken: &[Taken],
) -> Now {
    let last = taken.iter().rfind(|taken| taken.step.lever == scene.lever);
    if let Some(Taken { step, outcome: Some(Outcome::Otherwise), .. }) = last {
        // Where it stood before may itself be a step; the plan leaves the cylinder alone after it.
        let stands = timeline.trimming.stands(step.lever, step.cylinder);
        if (stands - step.to).abs() < 1e-9 && (step.from - step.to).abs() > 1e-9 {
            return Now::PutBack { cylinder: step.cylinder, to: step.from };
        }
    }
    if !barriers.is_empty() {
        return Now::Barred;
    }
    let unread = last.is_some_and(|taken| {
        !timeline.trimming.sets.iter().any(|set| set.entry > taken.step.entry)
            && !timeline.sets.iter().any(|set| set.entry > taken.step.entry)
    });
    if unread { Now::Read } else { Now::Next(next(pots, scene)) }
}

/// The point read last with the engine warm and held.
fn last_point(timeline: &Timeline) -> RunningPoint {
    let plain = timeline.sets.iter().map(|set| (set.entry, set.at));
    let trimmed = timeline.trimming.sets.iter().map(|set| (set.entry, set.at));
    let last = plain.chain(trimmed).filter(|(_, at)| at.settled).max_by_key(|(entry, _)| *entry);
    last.map_or_else(|| timeline.points.of(Regime::Cruise), |(_, at)| at)
}

/// Why nothing may be trimmed.
fn barriers(
    knowledge: &Knowledge,
    timeline: &Timeline,
    (assessment, verification): (&Assessment, &Verification),
    (lever, at): (Lever, RunningPoint),
) -> Vec<Barrier> {
    let engine = &timeline.engine;
    if engine.fuel == Fuel::Diesel {
        return vec![Barrier::Diesel];
    }
    let constants = &knowledge.constants;
    let mut list = Vec::new();
    if lever == Lever::Fuel && !engine.trims {
        list.push(Barrier::NoTrims);
    }
    if lever == Lever::Spark && engine.ignition == Ignition::None {
        list.push(Barrier::NoSpark);
    }
    if engine.probes != ProbeSite::Exhaust {
        list.push(Barrier::HeadProbes);
    }
    if !is_done(timeline, verification) {
        list.push(Barrier::NotDone);
    }
    let (chain, mechanical) = left(knowledge, assessment);
    if chain >= constants.chain_share {
        list.push(Barrier::Chain(chain, constants.chain_share));
    }
    if mechanical >= constants.balance_share {
        list.push(Barrier::Mechanical(mechanical, constants.balance_share));
    }
    for cylinder in engine.all() {
        if let Some(mm) = timeline.depth_known(cylinder).filter(|mm| mm.abs() >= DEEP) {
            list.push(Barrier::Depth(cylinder, mm));
        }
    }
    if at.confirm && !timeline.load_confirmed {
        list.push(Barrier::Load);
    }
    if let Some(readings) = latest(timeline, at) {
        for (cylinder, reading) in (1..).zip(readings) {
            match (reading, timeline.builder_limit) {
                (Reading::Degrees(t), Some(limit)) if *t >= limit => {
                    list.push(Barrier::TooHot(cylinder));
                }
                (Reading::Degrees(_), _) => {}
                _ => list.push(Barrier::NoNumber(cylinder)),
            }
        }
    }
    list
}

/// Chances that a fault of the measuring chain, and that any other but a mixture's, is there now.
#[must_use]
pub fn left(knowledge: &Knowledge, assessment: &Assessment) -> (f64, f64) {
    let mixture = |cause: CauseRef| match cause {
        CauseRef::Listed(index) => {
            let effects = &knowledge.causes[index].effects;
            !effects.is_empty() && effects.iter().all(|effect| effect.law == Law::Mixture)
        }
        CauseRef::Unlisted => false,
    };
    let there = |h: &Hypothesis, is: &dyn Fn(CauseRef) -> bool| {
        let each = h.faults.iter().zip(&h.present).filter(|(fault, _)| is(fault.cause));
        h.probability * (1.0 - each.map(|(_, present)| 1.0 - present).product::<f64>())
    };
    let sum = |is: &dyn Fn(CauseRef) -> bool| -> f64 {
        assessment.hypotheses.iter().map(|h| there(h, is)).sum()
    };
    let chain = sum(&|cause| cause.is_measuring(knowledge));
    let mechanical = sum(&|cause| !cause.is_measuring(knowledge) && !mixture(cause));
    // Pairs that were left out may hold either.
    (chain + assessment.pairs_dropped_mass, mechanical + assessment.pairs_dropped_mass)
}

/// The latest readings at a point since anything was last touched.
fn latest(timeline: &Timeline, at: RunningPoint) -> Option<&[Reading]> {
    all_sets(timeline, at).into_iter().last().map(|(_, _, readings)| readings)
}

/// Readings of the exhaust probes at a point since anything was last touched, by entry.
fn all_sets(timeline: &Timeline, at: RunningPoint) -> Vec<(usize, Trims, &[Reading])> {
    let last = timeline.disturbances.len();
    let plain = timeline
        .sets
        .iter()
        .filter(|set| (set.site, set.at, set.after) == (ProbeSite::Exhaust, at, last))
        .map(|set| (set.entry, Trims::new(), set.readings.as_slice()));
    let trimmed = timeline
        .trimming
        .sets
        .iter()
        .filter(|set| (set.site, set.at, set.after) == (ProbeSite::Exhaust, at, last))
        .map(|set| (set.entry, set.trims.clone(), set.readings.as_slice()));
    let mut found: Vec<(usize, Trims, &[Reading])> = plain.chain(trimmed).collect();
    found.sort_by_key(|(entry, _, _)| *entry);
    found
}

/// The sets a response is taken from: those with the other lever as it stands now.
fn sets(timeline: &Timeline, lever: Lever, at: RunningPoint) -> Vec<Set> {
    let others = |trims: &Trims| -> Trims {
        trims.iter().filter(|((l, _), _)| *l != lever).map(|(key, to)| (*key, *to)).collect()
    };
    let now = others(&timeline.trimming.now);
    let mut list: Vec<Set> = all_sets(timeline, at)
        .into_iter()
        .filter(|(_, trims, _)| others(trims) == now)
        .map(|(_, trims, readings)| Set {
            trims: timeline
                .engine
                .all()
                .map(|c| trims.get(&(lever, c)).copied().unwrap_or(0.0))
                .collect(),
            readings: readings
                .iter()
                .map(|reading| match reading {
                    Reading::Degrees(t) => Some(t.value()),
                    _ => None,
                })
                .collect(),
        })
        .collect();
    let old = list.len().saturating_sub(SETS);
    list.drain(..old);
    list
}

fn pots(timeline: &Timeline, lever: Lever, sets: &[Set], sd: f64, taken: &[Taken]) -> Vec<Pot> {
    let Some(found) = response(sets, sd) else { return Vec::new() };
    let stands = |c: Cylinder| timeline.trimming.stands(lever, c);
    let shown = |c: Cylinder| {
        let index = usize::from(c) - 1;
        let slope = found.slopes[index].map_or(0.0, |slope| slope.value);
        found.offsets[index].value + slope * stands(c)
    };
    let count = f64::from(timeline.engine.cylinders);
    let mean = timeline.engine.all().map(shown).sum::<f64>() / count;
    timeline
        .engine
        .all()
        .map(|cylinder| Pot {
            cylinder,
            off: shown(cylinder) - mean,
            slope: found.slopes[usize::from(cylinder) - 1],
            stands: stands(cylinder),
            sign: timeline.trimming.signs.get(&cylinder).map(|(_, sign, _)| *sign),
            reads: {
                let at = usize::from(cylinder) - 1;
                let here = |set: &&Set| (set.trims[at] - stands(cylinder)).abs() < 1e-9;
                sets.iter().rev().take_while(here).count()
            },
            farthest: taken
                .iter()
                .filter(|t| (t.step.lever, t.step.cylinder) == (lever, cylinder))
                .map(|t| t.step.to)
                .fold(0.0, f64::max),
            surprised: taken.iter().any(|taken| {
                (taken.step.lever, taken.step.cylinder) == (lever, cylinder)
                    && taken.outcome == Some(Outcome::Otherwise)
            }),
        })
        .collect()
}

/// Every step with how it came out.
#[must_use]
pub fn taken(timeline: &Timeline) -> Vec<Taken> {
    let steps = &timeline.trimming.steps;
    let one = |(index, step): (usize, &TrimStep)| {
        let until = steps.get(index + 1).map_or(usize::MAX, |next| next.entry);
        let since = index.checked_sub(1).map_or(0, |before| steps[before].entry);
        let came = step.foreseen.and_then(|foreseen| {
            let sets = all_sets(timeline, timeline.points.get(foreseen.at)?);
            let before = sets.iter().rfind(|(e, _, _)| (since..step.entry).contains(e))?;
            let after = sets.iter().find(|(e, _, _)| (step.entry..until).contains(e))?;
            Some(off(after.2, step.cylinder)? - off(before.2, step.cylinder)?)
        });
        let outcome = came.zip(step.foreseen).map(|(came, f)| outcome(f.change, f.sd, came));
        Taken { step: step.clone(), came, outcome }
    };
    steps.iter().enumerate().map(one).collect()
}

/// Distance of a display from the mean of the others, °C.
fn off(readings: &[Reading], cylinder: Cylinder) -> Option<f64> {
    let own = readings[usize::from(cylinder) - 1].middle()?;
    let others = (1..).zip(readings).filter(|(c, _)| *c != cylinder);
    let others: Vec<f64> = others.filter_map(|(_, r)| r.middle()).collect();
    let count = f64::from(u32::try_from(others.len()).ok()?);
    (count > 0.0).then(|| own - others.iter().sum::<f64>() / count)
}

/// What setting a trim is expected to do to its display against the others, from its measured response,
/// or from the law of the mixture curve and the sign where there is none yet.
#[must_use]
pub fn foresee(
    knowledge: &Knowledge,
    timeline: &Timeline,
    balance: &Balance,
    cylinder: Cylinder,
    to: f64,
) -> Option<Foreseen> {
    let pot = balance.pots.iter().find(|pot| pot.cylinder == cylinder)?;
    let kind = Kind { site: ProbeSite::Exhaust, at: balance.at };
    let mates = f64::from(timeline.engine.cylinders) - 1.0;
    let readings = repeatability(knowledge, kind) * (2.0 * (1.0 + 1.0 / mates)).sqrt();
    let by = to - pot.stands;
    let (slope, se) = if let Some(slope) = pot.slope {
        (slope.value, slope.se)
    } else {
        let law = law(knowledge, timeline, balance, pot.sign?)?;
        (law, UNKNOWN * law.abs())
    };
    Some(Foreseen {
        at: balance.at.id,
        change: (slope * by * 10.0).round() / 10.0,
        sd: ((se * by).hypot(readings) * 10.0).round() / 10.0,
    })
}

/// °C per unit of trim by the law, for a cylinder that is leaner or richer than the others.
fn law(
    knowledge: &Knowledge,
    timeline: &Timeline,
    balance: &Balance,
    sign: MixtureSign,
) -> Option<f64> {
    if !balance.at.settled {
        return None;
    }
    let regime = balance.at.regime;
    if balance.lever == Lever::Spark {
        return regime.of_three(SPARK);
    }
    let from = match sign {
        MixtureSign::Lean => -0.05,
        MixtureSign::Rich => 0.03,
        MixtureSign::Even => return None,
    };
    let shift = |change| mixture_shift(&knowledge.mixture, &timeline.engine, regime, change);
    Some((shift(from + 0.02) - shift(from)) / 2.0)
}
