//! Quick scores of pairs, from what each cause says alone.
//!
//! Scores only say which pairs are worth weighing. They must not enter the answer, except as the
//! sum of what was left out.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::single::{FAINT, NOTHING};
use crate::diagnosis::gaussian::Sheet;
use crate::diagnosis::linalg::log_sum_exp;
use crate::diagnosis::looks::{Kind, Shows};
use crate::diagnosis::model::{Model, Part};
use crate::diagnosis::path::{Path, Presence};
use crate::diagnosis::result::CauseRef;
use facts::job::arrangement::Arrangement;
use measure::engine::Cylinder;

/// What a candidate alone says, split so that pairs can be scored quickly.
pub(super) struct Alone {
    /// Log likelihood of readings and measured depths, summed over sides and paths.
    pub(super) readings: f64,
    /// Log chance of what was found at each place by each test.
    pub(super) words: Vec<f64>,
    /// Displays it shows on with parts in their first places.
    pub(super) displays: Vec<Cylinder>,
    /// Its likeliest courses by what was entered: the sets at which it shows, and the entry before which it had not
    /// begun.
    pub(super) courses: Vec<(Shows, usize)>,
}

/// For a fault on one of two cylinders that bear each other's names, the same fault on the other one.
pub(super) struct Twins(BTreeMap<(CauseRef, Cylinder), usize>);

impl Twins {
    /// Among these candidates.
    pub(super) fn of(model: &Model<'_>, eligible: &[usize]) -> Self {
        let placed = |&c: &usize| {
            let fault = model.candidates[c].fault;
            Some(((fault.cause, fault.place.cylinder()?), c))
        };
        Self(eligible.iter().filter_map(placed).collect())
    }

    /// The twin of a fault where a candidate misnames its display and another's.
    pub(super) fn twin(&self, model: &Model<'_>, misnaming: usize, fault: usize) -> Option<usize> {
        let known = model.candidates[fault].fault;
        let own = known.place.cylinder()?;
        let pair = model.candidates[misnaming].fault.place.cylinders(&model.timeline.engine);
        let other = *pair.iter().find(|c| **c != own).filter(|_| pair.contains(&own))?;
        self.0.get(&(known.cause, other)).copied()
    }
}

/// What candidates of one place with the same paths have in common where they show whenever they are there.
pub(super) struct Place {
    alike: usize,
    paths: Rc<[Path]>,
    /// Choices of looks, each with the chance of all paths that come to it.
    choices: Vec<Shows>,
    chances: Vec<f64>,
    sheet: Sheet,
    /// Log of what all scales add that are not glanced at.
    rest: f64,
}

impl Place {
    fn of(model: &Model<'_>, candidate: usize) -> Option<Self> {
        let paths = Rc::clone(&model.candidates[candidate].paths);
        // Paths that differ only where nothing was read come to the same readings.
        let mut met: BTreeMap<Shows, f64> = BTreeMap::new();
        for path in paths.iter() {
            *met.entry(model.shown(path.presence, Shows::MAX).0).or_default() += path.probability;
        }
        let (choices, chances): (Vec<Shows>, Vec<f64>) = met.into_iter().unzip();
        let glance = model.glance();
        let sheet = model.sheet(candidate, &glance, &choices)?;
        let rest = glance.rest;
        Some(Self { alike: model.alike(candidate), paths, choices, chances, sheet, rest })
    }

    /// Log likelihood of the readings with a candidate; `None` where it is too far below what would come to most.
    fn readings(&self, model: &Model<'_>, candidate: usize) -> Option<f64> {
        let states = model.states_of_choices(candidate, &self.choices)?;
        let tops = self.sheet.tops();
        let count = self.choices.len();
        let log = |choice: usize| tops[choice] + states.at(choice);
        let top = (0..count).map(log).fold(f64::NEG_INFINITY, f64::max);
        let base: Vec<f64> =
            (0..count).map(|choice| (log(choice) - top).exp() * self.chances[choice]).collect();
        let best = (0..count).max_by(|a, b| base[*a].total_cmp(&base[*b]))?;
        let (mut found, mut sum) = (0.0_f64, 0.0);
        let mut shares = vec![0.0; count];
        for moments in model.sides(candidate) {
            let one = (&moments.mean[..], &moments.factor);
            shares.fill(0.0);
            self.sheet.shares(&one, |some| some.contains(&best), &mut shares);
            found = found.max(moments.share * base[best] * shares[best]);
            let least = found * NOTHING;
            let wanted = |choice: usize| base[choice] >= least;
            let some = |mut some: std::ops::Range<usize>| !some.contains(&best) && some.any(wanted);
            self.sheet.shares(&one, some, &mut shares);
            let both = base.iter().zip(&shares).map(|(base, share)| base * share);
            sum += moments.share * both.sum::<f64>();
        }
        (sum > FAINT).then(|| sum.ln() + top + self.rest)
    }
}

/// Takes a candidate by itself, for parts in their first places. `places` are those that were met last.
pub(super) fn alone(
    model: &Model<'_>,
    candidate: usize,
    original: &Arrangement,
    places: &mut Vec<Place>,
) -> Alone {
    let c = &model.candidates[candidate];
    let readings = if model.by_looks(candidate) {
        let alike = model.alike(candidate);
        places.retain(|place| place.alike == alike);
        let same = |place: &&Place| Rc::ptr_eq(&place.paths, &c.paths);
        if !places.iter().any(|place| same(&place)) {
            places.extend(Place::of(model, candidate));
        }
        places.iter().find(same).and_then(|place| place.readings(model, candidate))
    } else {
        None
    };
    let readings = readings.unwrap_or_else(|| each_alone(model, candidate));
    let part = Part::always(candidate, 0, Presence::MAX);
    let words = model.looks.iter().map(|looks| model.log_looks(&[part], looks)).collect();
    let displays = model.displays(c, original, &[]);
    Alone { readings, words, displays, courses: Vec::new() }
}

/// Log likelihood of readings and measured depths with a candidate, path by path.
fn each_alone(model: &Model<'_>, candidate: usize) -> f64 {
    let c = &model.candidates[candidate];
    let by_presence = model.depths.contains_key(&candidate);
    let mut met: BTreeMap<(Shows, Presence), (Presence, f64)> = BTreeMap::new();
    for path in c.paths.iter() {
        let (shown, slots) = model.shown(path.presence, Shows::MAX);
        let own = by_presence || c.renaming.is_some();
        let key = (shown, if own { path.presence } else { slots });
        met.entry(key).or_insert((path.presence, 0.0)).1 += path.probability;
    }
    let sides = if c.renaming.is_some() { 1 } else { model.sides(candidate).len() };
    let mut logs = Vec::with_capacity(met.len() * sides);
    for (presence, probability) in met.into_values() {
        let part = Part::always(candidate, 0, presence);
        let on = model.readings_of(&part);
        let list = model.glance_at_sides(part, sides, on.as_ref());
        for (side, readings) in list.into_iter().enumerate() {
            let one = c.renaming.is_some();
            let share = if one { 1.0 } else { model.sides(candidate)[side].share };
            let measured = readings + model.log_depths(&[Part { side, ..part }]);
            logs.push(measured + (share * probability).ln());
        }
    }
    log_sum_exp(&logs)
}

/// A pair of candidates and its log score.
type Scored = ((usize, usize), f64);

/// Quick scores of pairs.
pub(super) struct Scores {
    /// Log score from which a pair is listed.
    pub(super) least: f64,
    pub(super) list: Vec<Scored>,
    /// Sum of the scores that are not listed, relative to `best`.
    pub(super) rest: f64,
    pub(super) best: f64,
}

impl Scores {
    fn add(&mut self, a: usize, b: usize, score: f64) {
        if score > self.least {
            self.list.push(((a.min(b), a.max(b)), score));
        } else {
            self.rest += (score - self.best).exp();
        }
    }

    /// Pairs once each with their best score, best first, and the log of the rest.
    pub(super) fn ranked(mut self) -> (Vec<Scored>, f64) {
        self.list.sort_unstable_by(|x, y| x.0.cmp(&y.0).then(y.1.total_cmp(&x.1)));
        self.list.dedup_by_key(|entry| entry.0);
        self.list.sort_unstable_by(|x, y| y.1.total_cmp(&x.1).then_with(|| x.0.cmp(&y.0)));
        (self.list, self.rest.ln() + self.best)
    }
}

/// Quick scores of all pairs with at least one fault on a display that looks odd, or alone on the
/// whole when nothing does.
///
/// For causes on different displays, likelihoods nearly multiply once the odd display's numbers
/// are taken as explained; for two on one display, and for misnamed displays, the better of the
/// two is taken with allowance for what the second may add.
pub(super) fn score_pairs(
    model: &Model<'_>,
    displays: &[Cylinder],
    eligible: &[usize],
    alone: &[Alone],
    words: &dyn Fn(usize, usize) -> f64,
    log_prior: &dyn Fn(usize, usize) -> f64,
    scores: &mut Scores,
) {
    for &display in displays {
        let here: Vec<usize> =
            eligible.iter().copied().filter(|&c| alone[c].displays.contains(&display)).collect();
        let without = model.without_display(display, &here);
        let nothing = without.log_readings(&[], false);
        let gain: Vec<f64> = (0..model.candidates.len())
            .map(|c| {
                let c_alone = &alone[c];
                if c_alone.displays.contains(&display) || model.candidates[c].renaming.is_some() {
                    return 0.0;
                }
                readings_of(&without, c) - nothing
            })
            .collect();
        for &a in &here {
            for &b in eligible {
                if a == b {
                    continue;
                }
                let readings = if alone[b].displays.contains(&display) {
                    if b < a {
                        continue;
                    }
                    // The second may mend up to this much of what the first leaves.
                    alone[a].readings.max(alone[b].readings) + 1.5
                } else {
                    alone[a].readings + gain[b]
                };
                scores.add(a, b, log_prior(a, b) + readings + words(a, b));
            }
        }
        misnamed_scores(model, display, eligible, alone, words, log_prior, scores);
    }
}

/// What the readings of two may come to above the best of one before the two are looked at: log.
const MOST_GAINED: f64 = 6.0;

/// A fault on one of two cylinders that bear each other's name.
///
/// It shows as the same fault would on the other, as long as nothing was put right or exchanged: where it shows changes
/// when they are named rightly, and what is moved at the one is the other's. Then the two have to be looked at together.
fn misnamed_scores(
    model: &Model<'_>,
    display: Cylinder,
    eligible: &[usize],
    alone: &[Alone],
    words: &dyn Fn(usize, usize) -> f64,
    log_prior: &dyn Fn(usize, usize) -> f64,
    scores: &mut Scores,
) {
    let timeline = model.timeline;
    let moved = timeline.disturbances.iter().any(|d| d.remedied.is_some())
        || timeline.sets.iter().any(|set| !set.arrangement.is_original());
    let twins = Twins::of(model, eligible);
    let most = alone.iter().map(|a| a.readings).fold(f64::NEG_INFINITY, f64::max);
    for &m in eligible.iter().filter(|&&m| model.candidates[m].renaming.is_some()) {
        let pair = model.candidates[m].fault.place.cylinders(&model.timeline.engine);
        if !pair.contains(&display) {
            continue;
        }
        for &b in eligible.iter().filter(|&&b| model.candidates[b].renaming.is_none()) {
            let &[shown] = alone[b].displays.as_slice() else { continue };
            if !pair.contains(&shown) {
                continue;
            }
            let known = log_prior(m, b) + words(m, b);
            let twin = twins.twin(model, m, b);
            let readings = match (moved, twin) {
                (false, Some(twin)) => alone[twin].readings,
                (true, _) if known + most + MOST_GAINED > scores.least => {
                    let courses = twin.map_or(&[][..], |twin| &alone[twin].courses);
                    readings_of_both(model, m, b, courses)
                }
                _ => most,
            };
            scores.add(m, b, known + readings);
        }
        model.forget_misnamed();
    }
}

/// Log likelihood of the readings under two at a glance, paths that hardly matter left out. The fault shows throughout, or
/// by one of these courses.
fn readings_of_both(
    model: &Model<'_>,
    misnaming: usize,
    fault: usize,
    courses: &[(Shows, usize)],
) -> f64 {
    let mut faults = main_ways(model, fault);
    // The likeliest path stands for all where the fault does not show throughout.
    let mainly = faults.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((part, chance)) = mainly {
        let own = model.candidates[fault].courses.iter().filter(|own| own.kind != Kind::Always);
        faults.extend(own.filter_map(|own| {
            let &(shows, since) = courses.iter().find(|(shows, _)| *shows == own.shows)?;
            Some((Part { shows, since, ..part }, chance * own.probability))
        }));
    }
    let sides = model.sides(fault);
    let mut logs = Vec::new();
    for (first, named) in main_ways(model, misnaming) {
        for (second, probability) in &faults {
            let seconds: Vec<Part> =
                (0..sides.len()).map(|side| Part { side, ..*second }).collect();
            let readings = model.log_readings_of_both(&[first], &seconds, false);
            for (moments, readings) in sides.iter().zip(readings) {
                logs.push(readings + (named * probability * moments.share).ln());
            }
        }
    }
    log_sum_exp(&logs)
}

/// Log likelihood of the readings under a candidate that misnames nothing, paths that hardly matter left out.
fn readings_of(model: &Model<'_>, candidate: usize) -> f64 {
    let sides = model.sides(candidate);
    let mut logs = Vec::new();
    for (part, probability) in main_ways(model, candidate) {
        let on = model.readings_of(&part);
        let readings = model.glance_at_sides(part, sides.len(), on.as_ref());
        let terms = sides.iter().zip(readings);
        logs.extend(terms.map(|(moments, log)| log + (moments.share * probability).ln()));
    }
    log_sum_exp(&logs)
}

/// Paths of a candidate that matter, those that readings do not tell apart as one, with their chances.
fn main_ways(model: &Model<'_>, candidate: usize) -> Vec<(Part, f64)> {
    let main = model.candidates[candidate].paths.iter().filter(|path| path.probability >= 0.02);
    let mut met = BTreeMap::new();
    for path in main {
        let part = Part::always(candidate, 0, path.presence);
        met.entry(model.key_of_readings(&part)).or_insert((part, 0.0)).1 += path.probability;
    }
    met.into_values().collect()
}
