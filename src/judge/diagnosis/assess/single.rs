//! What the ways of a single cause come to, each likelihood worked out once.
//!
//! Most ways of a cause differ in what nothing entered could tell: readings know at which sets it shows,
//! words know when it was there. So likelihoods are asked for by what is known, not by way, and are kept
//! for the passes that ask again. It must not weigh otherwise than [`super::ways`] does for several.

use std::collections::BTreeMap;

use super::ways::since_when;
use crate::diagnosis::linalg::log_sum_exp;
use crate::diagnosis::looks::Shows;
use crate::diagnosis::model::{Model, Part};
use crate::diagnosis::path::Presence;

/// One way in which a single cause can have been there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lone {
    /// The cause with its side and path.
    pub(super) part: Part,
    /// Log of its chance, given the cause.
    pub(super) weight: f64,
    /// Log likelihood of the readings.
    pub(super) readings: f64,
    /// Log likelihood of findings and verdicts.
    pub(super) words: f64,
}

impl Lone {
    /// Log of its weight, the cause's own chance left out.
    pub(super) fn log(&self) -> f64 {
        self.weight + self.readings + self.words
    }
}

/// Log of the share of a cause below which one of its ways is looked at only superficially.
pub(super) const SUPERFICIAL: f64 = 7.0;

/// Log of the share of the best explanation below which a cause is.
const HOPELESS: f64 = 14.0;

/// Likelihoods of single causes that were worked out, by candidate.
#[derive(Debug)]
pub(super) struct Known(Vec<Figures>);

impl Known {
    /// Nothing known of any candidate yet.
    pub(super) fn nothing(model: &Model<'_>) -> Self {
        Self(vec![Figures::default(); model.candidates.len()])
    }

    /// Forgets what was only glanced at: it is now glanced at other scales.
    pub(super) fn forget_glances(&mut self) {
        for figures in &mut self.0 {
            figures.glanced.clear();
        }
    }

    /// Log likelihood of a single cause at the likeliest scales alone.
    pub(super) fn at_a_glance(&mut self, model: &Model<'_>, candidate: usize) -> f64 {
        let mut logs = Vec::new();
        self.glance(model, candidate, |lone, _| logs.push(lone.log()));
        log_sum_exp(&logs)
    }

    /// All ways of a single cause with this log prior; `best` is the log weight of the best explanation.
    ///
    /// For those that fit much worse than the cause's best, or than the best of all, the likeliest scales
    /// are taken for all of them.
    pub(super) fn ways(
        &mut self,
        model: &Model<'_>,
        candidate: usize,
        log_prior: f64,
        best: f64,
    ) -> Vec<Lone> {
        let mut list = Vec::new();
        self.glance(model, candidate, |lone, told| list.push((lone, told)));
        let own = list.iter().map(|(lone, _)| lone.log()).fold(f64::NEG_INFINITY, f64::max);
        let floor = (own - SUPERFICIAL).max(best - HOPELESS - log_prior);
        let guarded = &mut self.0[candidate].guarded;
        list.into_iter()
            .map(|(mut lone, told)| {
                if lone.log() >= floor {
                    lone.readings = kept(guarded, told, || model.log_readings(&[lone.part], true));
                }
                lone
            })
            .collect()
    }

    /// Goes through all ways with their readings glanced at, each with the number of what readings know
    /// of it.
    fn glance(&mut self, model: &Model<'_>, candidate: usize, mut take: impl FnMut(Lone, usize)) {
        let manners = Manners::of(model, candidate);
        let by_side = model.words_know_sides(candidate);
        let Figures { glanced, words, .. } = &mut self.0[candidate];
        for (side, &share) in manners.sides.iter().enumerate() {
            for manner in &manners.list {
                let Manner { presence, shows, since, .. } = *manner;
                let part = Part { candidate, side, presence, shows, since };
                let told = side * manners.told + manner.told;
                let before = if by_side { side * manners.said } else { 0 };
                let said = before + manner.said;
                let readings = kept(glanced, told, || model.log_readings(&[part], false));
                let words = kept(words, said, || model.log_words(&[part]));
                let weight = (share * manner.chance).ln();
                take(Lone { part, weight, readings, words }, told);
            }
        }
    }
}

/// What was worked out for a candidate, by what is known of a way.
#[derive(Debug, Clone, Default)]
struct Figures {
    /// Log likelihood of the readings at the scales glanced at.
    glanced: Vec<Option<f64>>,
    /// The same at all scales.
    guarded: Vec<Option<f64>>,
    /// Log likelihood of findings, verdicts and measured depths.
    words: Vec<Option<f64>>,
}

/// A figure that is worked out once.
fn kept(figures: &mut Vec<Option<f64>>, at: usize, work: impl FnOnce() -> f64) -> f64 {
    if figures.len() <= at {
        figures.resize(at + 1, None);
    }
    *figures[at].get_or_insert_with(work)
}

/// A course and a path of a candidate.
struct Manner {
    presence: Presence,
    shows: Shows,
    since: usize,
    /// Chance of both.
    chance: f64,
    /// Number of what readings know of it.
    told: usize,
    /// Number of what words know of it.
    said: usize,
}

/// All courses and paths of a candidate.
struct Manners {
    /// Shares of the sides.
    sides: Vec<f64>,
    list: Vec<Manner>,
    /// How many numbers there are of what readings know, and of what words know.
    told: usize,
    said: usize,
}

impl Manners {
    fn of(model: &Model<'_>, number: usize) -> Self {
        let candidate = &model.candidates[number];
        let sides: Vec<f64> = model.sides(number).iter().map(|side| side.share).collect();
        // Every side of a renaming does the same.
        let one = candidate.renaming.is_some() || sides.len() == 1;
        let by_presence = model.told_by_presence(number);
        let (mut told, mut said) = (BTreeMap::new(), BTreeMap::new());
        let mut list = Vec::with_capacity(candidate.courses.len() * candidate.paths.len());
        for course in &candidate.courses {
            since_when(model, candidate, course, |path, since, chance| {
                let presence = path.presence;
                let (seen, slots) = model.shown(presence, course.shows);
                let key = (seen, if by_presence { presence } else { slots });
                let next = told.len();
                let told = *told.entry(key).or_insert(next);
                let next = said.len();
                let rests = model.told_by_words(course.shows);
                let said = *said.entry((presence, since, rests)).or_insert(next);
                let shows = course.shows;
                list.push(Manner { presence, shows, since, chance, told, said });
            });
        }
        let sides = if one { vec![1.0] } else { sides };
        Self { sides, list, told: told.len(), said: said.len() }
    }
}
