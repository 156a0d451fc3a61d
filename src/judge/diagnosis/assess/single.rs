//! What the ways of a single cause come to, each likelihood worked out once.
//!
//! Most ways of a cause differ in what nothing entered could tell: readings know at which sets it shows,
//! words know when it was there. So likelihoods are asked for by what is known, not by way, and are kept
//! for the passes that ask again. It must not weigh otherwise than [`super::ways`] does for several.

use std::cell::OnceCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use super::ways::since_when;
use crate::diagnosis::gaussian::Touched;
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
pub(super) struct Known {
    figures: Vec<Figures>,
    /// Courses and paths that were listed last, with a candidate that has them.
    manners: Vec<(usize, Rc<Manners>)>,
    /// The same with the displays on which they were met, by the first candidate that shows there.
    placed: Vec<(Option<usize>, Placed)>,
}

impl Known {
    /// Nothing known of any candidate yet.
    pub(super) fn nothing(model: &Model<'_>) -> Self {
        let figures = vec![Figures::default(); model.candidates.len()];
        Self { figures, manners: Vec::new(), placed: Vec::new() }
    }

    /// Forgets what was only glanced at: it is now glanced at other scales.
    pub(super) fn forget_glances(&mut self) {
        for figures in &mut self.figures {
            figures.glanced.clear();
        }
    }

    /// Log likelihood of a single cause at the likeliest scales alone.
    pub(super) fn at_a_glance(&mut self, model: &Model<'_>, candidate: usize) -> f64 {
        let mut logs = Vec::new();
        self.glance(model, candidate, |lone, _| logs.push(lone.log()));
        log_sum_exp(&logs)
    }

    /// What a single cause comes to at a glance at the most: log. All its sides are taken for the best of them.
    pub(super) fn at_most(&mut self, model: &Model<'_>, candidate: usize) -> f64 {
        let Placed { manners, on } = self.placed(model, candidate);
        let sides = sides(model, candidate).len();
        let by_side = model.words_know_sides(candidate);
        let words = &mut self.figures[candidate].words;
        let mut most = vec![f64::NAN; manners.told];
        let mut logs = Vec::with_capacity(manners.list.len());
        for manner in &manners.list {
            let readings = &mut most[manner.told as usize];
            if readings.is_nan() {
                let part = manner.part(candidate, 0);
                let on = readings_of(model, &part, &on[manner.told as usize]);
                *readings = model.most_at_a_glance(part, sides, on);
            }
            let said = (0..if by_side { sides } else { 1 }).map(|side| {
                let said = side * manners.said + manner.said as usize;
                kept(words, said, || model.log_words(&[manner.part(candidate, side)]))
            });
            let said = said.fold(f64::NEG_INFINITY, f64::max);
            logs.push(manner.log_chance + *readings + said);
        }
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
        let guarded = &mut self.figures[candidate].guarded;
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
        let Placed { manners, on } = self.placed(model, candidate);
        let sides = sides(model, candidate);
        let by_side = model.words_know_sides(candidate);
        let Figures { glanced, words, .. } = &mut self.figures[candidate];
        if glanced.is_empty() {
            glanced.resize(sides.len() * manners.told, f64::NAN);
        }
        for manner in &manners.list {
            if !glanced[manner.told as usize].is_nan() {
                continue;
            }
            let part = manner.part(candidate, 0);
            let on = readings_of(model, &part, &on[manner.told as usize]);
            let logs = model.glance_at_sides(part, sides.len(), on);
            for (side, log) in logs.into_iter().enumerate() {
                glanced[side * manners.told + manner.told as usize] = log;
            }
        }
        for (side, share) in sides.iter().enumerate() {
            let log_share = share.ln();
            for manner in &manners.list {
                let part = manner.part(candidate, side);
                let told = side * manners.told + manner.told as usize;
                let before = if by_side { side * manners.said } else { 0 };
                let said = before + manner.said as usize;
                let readings = glanced[told];
                let words = kept(words, said, || model.log_words(&[part]));
                let weight = log_share + manner.log_chance;
                take(Lone { part, weight, readings, words }, told);
            }
        }
    }

    /// Courses and paths of a candidate, with the readings that they show on.
    fn placed(&mut self, model: &Model<'_>, candidate: usize) -> Placed {
        let manners = self.manners(model, candidate);
        let misnames = model.candidates[candidate].renaming.is_some();
        let alike = (!misnames).then(|| model.alike(candidate));
        let same = |(other, placed): &&(Option<usize>, Placed)| {
            alike.is_some() && *other == alike && Rc::ptr_eq(&placed.manners, &manners)
        };
        if let Some((_, known)) = self.placed.iter().rev().find(same) {
            return known.clone();
        }
        let on = std::iter::repeat_with(OnceCell::new).take(manners.told).collect();
        let made = Placed { manners, on };
        if self.placed.len() == MOST_PLACED {
            self.placed.remove(0);
        }
        self.placed.push((alike, made.clone()));
        made
    }

    /// Courses and paths of a candidate; many candidates have the same.
    fn manners(&mut self, model: &Model<'_>, candidate: usize) -> Rc<Manners> {
        let same = |other: usize| {
            let (a, b) = (&model.candidates[candidate], &model.candidates[other]);
            let own = |c: usize| model.told_by_presence(c);
            a.courses == b.courses && a.paths == b.paths && own(candidate) == own(other)
        };
        if let Some((_, known)) = self.manners.iter().rev().find(|(other, _)| same(*other)) {
            return Rc::clone(known);
        }
        let made = Rc::new(Manners::of(model, candidate));
        if self.manners.len() == MOST_MANNERS {
            self.manners.remove(0);
        }
        self.manners.push((candidate, Rc::clone(&made)));
        made
    }
}

/// Lists of courses and paths that are kept, at the most, and those with the readings that they show on.
const MOST_MANNERS: usize = 24;
const MOST_PLACED: usize = 6;

/// Courses and paths at a place.
#[derive(Debug, Clone)]
struct Placed {
    manners: Rc<Manners>,
    /// By number of what readings know the readings that it shows on, once they were asked for.
    on: Rc<[OnceCell<Option<Rc<Touched>>>]>,
}

/// The readings that a part shows on, once asked for.
fn readings_of<'a>(
    model: &Model<'_>,
    part: &Part,
    on: &'a OnceCell<Option<Rc<Touched>>>,
) -> Option<&'a Rc<Touched>> {
    on.get_or_init(|| model.readings_of(part)).as_ref()
}

/// Shares of the sides of a candidate that differ in what they do.
fn sides(model: &Model<'_>, candidate: usize) -> Vec<f64> {
    let sides: Vec<f64> = model.sides(candidate).iter().map(|side| side.share).collect();
    // Every side of a renaming does the same.
    if model.candidates[candidate].renaming.is_some() || sides.len() == 1 {
        vec![1.0]
    } else {
        sides
    }
}

/// What was worked out for a candidate, by what is known of a way.
#[derive(Debug, Clone, Default)]
struct Figures {
    /// Log likelihood of the readings at the scales glanced at; not a number where it was not asked for.
    glanced: Vec<f64>,
    /// The same at all scales.
    guarded: Vec<f64>,
    /// Log likelihood of findings, verdicts and measured depths.
    words: Vec<f64>,
}

/// A figure that is worked out once.
fn kept(figures: &mut Vec<f64>, at: usize, work: impl FnOnce() -> f64) -> f64 {
    if figures.len() <= at {
        figures.resize(at + 1, f64::NAN);
    }
    if figures[at].is_nan() {
        figures[at] = work();
    }
    figures[at]
}

/// A course and a path of a candidate.
#[derive(Debug)]
struct Manner {
    presence: Presence,
    shows: Shows,
    since: usize,
    /// Log of the chance of both.
    log_chance: f64,
    /// Number of what readings know of it.
    told: u32,
    /// Number of what words know of it.
    said: u32,
}

impl Manner {
    fn part(&self, candidate: usize, side: usize) -> Part {
        let Self { presence, shows, since, .. } = *self;
        Part { candidate, side, presence, shows, since }
    }
}

/// All courses and paths of a candidate.
#[derive(Debug)]
struct Manners {
    list: Vec<Manner>,
    /// How many numbers there are of what readings know, and of what words know.
    told: usize,
    said: usize,
}

impl Manners {
    fn of(model: &Model<'_>, number: usize) -> Self {
        let candidate = &model.candidates[number];
        let by_presence = model.told_by_presence(number);
        let (mut told, mut said) = (BTreeMap::new(), BTreeMap::new());
        let mut list = Vec::new();
        for course in &candidate.courses {
            since_when(model, candidate, course, |path, since, chance| {
                let presence = path.presence;
                let (seen, slots) = model.shown(presence, course.shows);
                let key = (seen, if by_presence { presence } else { slots });
                let next = count(&told);
                let told = *told.entry(key).or_insert(next);
                let next = count(&said);
                let key = model.told_by_words(presence, since, course.shows);
                let said = *said.entry(key).or_insert(next);
                let shows = course.shows;
                let log_chance = chance.ln();
                list.push(Manner { presence, shows, since, log_chance, told, said });
            });
        }
        Self { list, told: told.len(), said: said.len() }
    }
}

/// Next number of what is numbered as it is met.
fn count<K>(met: &BTreeMap<K, u32>) -> u32 {
    u32::try_from(met.len()).unwrap_or(u32::MAX)
}
