//! What the ways of a single cause come to, each likelihood worked out once.
//!
//! Most ways of a cause differ in what nothing entered could tell: readings know at which sets it shows,
//! words know when it was there. So likelihoods are asked for by what is known, not by way, and are kept
//! for the passes that ask again. It must not weigh otherwise than [`super::ways`] does for several.

use std::cell::OnceCell;
use std::rc::Rc;

use super::manners::{Manner, Manners};
use super::still_there::{Asked, StillThere};
use super::{LIKELY_WAY, SHARE, Weighed};
use crate::diagnosis::gaussian::{Sheet, Touched};
use crate::diagnosis::linalg::log_sum_exp;
use crate::diagnosis::model::{Glance, Model, Part};
use crate::diagnosis::rank::by_chance;

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
    /// The scales at which is glanced here: the model may go on to others.
    glance: Option<Glance>,
}

impl Known {
    /// Nothing known of any candidate yet.
    pub(super) fn nothing(model: &Model<'_>) -> Self {
        let figures = vec![Figures::default(); model.candidates.len()];
        Self { figures, manners: Vec::new(), placed: Vec::new(), glance: None }
    }

    /// Forgets what was only glanced at: it is now glanced at other scales.
    pub(super) fn forget_glances(&mut self) {
        self.placed.clear();
        self.glance = None;
        self.figures.iter_mut().for_each(|figures| figures.glanced.clear());
    }

    /// Log likelihood of a single cause at the likeliest scales alone.
    pub(super) fn at_a_glance(&mut self, model: &Model<'_>, candidate: usize) -> f64 {
        let placed = self.placed(model, candidate);
        let Weights { each, scale } = self.weights(model, candidate, &placed);
        each.iter().sum::<f64>().ln() + scale
    }

    /// What a single cause comes to at a glance at the most: log. All its sides are taken for the best of them.
    pub(super) fn at_most(&mut self, model: &Model<'_>, candidate: usize) -> f64 {
        let placed = self.placed(model, candidate);
        let manners = &*placed.manners;
        self.listen(model, candidate, manners);
        let words = &self.figures[candidate].words;
        let sheet = placed.sheet();
        if let (Some(sheet), Some(states)) = (sheet, model.most_of_states(candidate)) {
            let most = placed.most.get_or_init(|| {
                let log = |way: &Manner| way.log_chance + sheet.tops()[way.told as usize];
                log_sum_exp(&manners.list.iter().map(log).collect::<Vec<f64>>())
            });
            let words = words.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            return most + sheet.beside_one() + placed.rest + states + words;
        }
        let sides = sides(model, candidate).len();
        let mut readings = vec![f64::NAN; manners.told()];
        let each = |way: &Manner| {
            let told = way.told as usize;
            let readings = &mut readings[told];
            if readings.is_nan() {
                let part = manners.told_part(candidate, 0, told);
                let on = readings_of(model, &part, &placed.on[told]);
                *readings = model.most_at_a_glance(part, sides, on);
            }
            let said = words.iter().skip(way.said as usize).step_by(manners.said());
            way.log_chance + *readings + said.copied().fold(f64::NEG_INFINITY, f64::max)
        };
        log_sum_exp(&manners.list.iter().map(each).collect::<Vec<f64>>())
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

    /// What a single cause with this log prior comes to: the same ways, those that are next to nothing left out.
    /// Only the likely ones are listed, unless `all` are to be.
    pub(super) fn weighed(
        &mut self,
        model: &Model<'_>,
        candidate: usize,
        log_prior: f64,
        best: f64,
        all: bool,
    ) -> Weighed {
        let placed = self.placed(model, candidate);
        let Weights { mut each, scale } = self.weights(model, candidate, &placed);
        let manners = &*placed.manners;
        let (list, count) = (&manners.list, manners.list.len());
        let part = |way: usize| list[way % count].part(candidate, way / count);
        let own = each.iter().copied().fold(0.0, f64::max).ln() + scale;
        let floor = (own - SUPERFICIAL).max(best - HOPELESS - log_prior);
        let sides = sides(model, candidate);
        let figures = &mut self.figures[candidate];
        let least = (floor - scale).exp();
        for (way, weight) in each.iter_mut().enumerate().filter(|(_, weight)| **weight >= least) {
            let (side, manner) = (way / count, &list[way % count]);
            let told = side * manners.told() + manner.told as usize;
            let closely =
                kept(&mut figures.guarded, told, || model.log_readings(&[part(way)], true));
            let words = figures.words_of(manners, side)[manner.said as usize];
            *weight = (sides[side].ln() + manner.log_chance + words + closely - scale).exp();
        }
        let sum: f64 = each.iter().sum();
        let most = each.iter().copied().fold(0.0, f64::max);
        let mut asked = Asked::of(model, candidate);
        let (mut still, mut listed) = (Vec::new(), Vec::new());
        let least = if all { SHARE } else { LIKELY_WAY * 0.999 };
        for (way, &weight) in each.iter().enumerate().filter(|(_, w)| **w >= most * SHARE) {
            let share = weight / sum;
            still.push(([asked.way(&part(way))], share));
            if weight >= most * least {
                listed.push((way, share));
            }
        }
        listed.sort_by(|a, b| by_chance(b.1, a.1));
        let parts = listed.into_iter().map(|(way, share)| (vec![part(way)], share)).collect();
        let log_likelihood = sum.ln() + scale;
        Weighed {
            candidates: vec![candidate],
            log: log_prior + log_likelihood,
            log_likelihood,
            parts,
            still: StillThere::of_ways(still.into_iter()),
            listed: None,
        }
    }

    /// The weights of all ways of a cause as they are glanced at, its own chance left out; side by side.
    fn weights(&mut self, model: &Model<'_>, candidate: usize, placed: &Placed) -> Weights {
        self.listen(model, candidate, &placed.manners);
        self.shares(model, candidate, placed).unwrap_or_else(|| {
            self.look(model, candidate, placed);
            let figures = &self.figures[candidate];
            let logs: Vec<f64> = figures.logs(&placed.manners, &sides(model, candidate)).collect();
            let scale = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            Weights { each: logs.into_iter().map(|log| (log - scale).exp()).collect(), scale }
        })
    }

    /// The same put together from shares of what comes to most at each choice of looks; `None` where it cannot be.
    fn shares(&self, model: &Model<'_>, candidate: usize, placed: &Placed) -> Option<Weights> {
        let manners = &*placed.manners;
        let sheet = placed.sheet().filter(|_| model.by_looks(candidate))?;
        let states = model.states_of_choices(candidate, &manners.choices)?;
        let figures = &self.figures[candidate];
        let top = sheet.tops().iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let most = |logs: &mut dyn Iterator<Item = f64>| logs.fold(f64::NEG_INFINITY, f64::max);
        let shown = most(&mut (0..manners.told()).map(|told| states.at(told)));
        let said = most(&mut figures.words.iter().copied());
        // What a choice of looks comes to at the most, and the likeliest way with it.
        let lift: Vec<f64> = sheet
            .tops()
            .iter()
            .enumerate()
            .map(|(told, log)| (log - top + states.at(told) - shown).exp())
            .collect();
        let base = |told: usize| lift[told] * manners.likeliest[told];
        let best = (0..lift.len()).max_by(|a, b| base(*a).total_cmp(&base(*b)))?;
        let sides = sides(model, candidate);
        let mut each = vec![0.0; sides.len() * manners.list.len()];
        let mut shares = vec![0.0; manners.told()];
        let mut found = 0.0_f64;
        let mut sum = 0.0;
        for (side, (each, share)) in
            each.chunks_exact_mut(manners.list.len()).zip(&sides).enumerate()
        {
            let part = manners.told_part(candidate, side, 0);
            let moments = model.moments_of(&part);
            let one = (&moments.mean[..], &moments.factor);
            shares.fill(0.0);
            sheet.shares(&one, |some| some.contains(&best), &mut shares);
            found = found.max(share * base(best) * shares[best]);
            let least = found * NOTHING;
            let wanted = |told: usize| base(told) >= least;
            sheet.shares(&one, |mut some| !some.contains(&best) && some.any(wanted), &mut shares);
            let words: Vec<f64> =
                figures.words_of(manners, side).iter().map(|log| (log - said).exp()).collect();
            for (weight, manner) in each.iter_mut().zip(&manners.list) {
                let told = manner.told as usize;
                let known = share * manner.chance * words[manner.said as usize];
                *weight = known * lift[told] * shares[told];
                sum += *weight;
            }
        }
        // Where nothing comes near what would come to most, shares are too coarse.
        let scale = top + shown + said + placed.rest;
        (sum > FAINT).then_some(Weights { each, scale })
    }

    /// Works out what words come to.
    fn listen(&mut self, model: &Model<'_>, candidate: usize, manners: &Manners) {
        let words = &mut self.figures[candidate].words;
        if words.is_empty() {
            let by_side = model.words_know_sides(candidate);
            let sides = if by_side { sides(model, candidate).len() } else { 1 };
            for side in 0..sides {
                let part = |&manner: &u32| manners.list[manner as usize].part(candidate, side);
                words.extend(manners.spoken.iter().map(|said| model.log_words(&[part(said)])));
            }
        }
    }

    /// Glances at what readings know of the ways of a candidate.
    fn look(&mut self, model: &Model<'_>, candidate: usize, placed: &Placed) {
        if !self.figures[candidate].glanced.is_empty() {
            return;
        }
        let manners = &*placed.manners;
        let (sides, told) = (sides(model, candidate).len(), manners.told());
        let mut glanced = vec![f64::NAN; sides * told];
        let sheet = placed.sheet().filter(|_| model.by_looks(candidate));
        if let (Some(sheet), Some(glance)) = (sheet, &self.glance) {
            for (side, glanced) in glanced.chunks_exact_mut(told).enumerate() {
                let part = |told: usize| manners.told_part(candidate, side, told);
                let logs = model.logs_of_choices(sheet, glance, &part(0));
                for (told, log) in logs.into_iter().enumerate() {
                    glanced[told] = model.log_states(&[part(told)]) + log;
                }
            }
        } else {
            for at in 0..told {
                let part = manners.told_part(candidate, 0, at);
                let on = readings_of(model, &part, &placed.on[at]);
                let logs = model.glance_at_sides(part, sides, on);
                for (side, log) in logs.into_iter().enumerate() {
                    glanced[side * told + at] = log;
                }
            }
        }
        self.figures[candidate].glanced = glanced;
    }

    /// Goes through all ways with their readings glanced at, each with the number of what readings know
    /// of it.
    fn glance(&mut self, model: &Model<'_>, candidate: usize, mut take: impl FnMut(Lone, usize)) {
        let placed = self.placed(model, candidate);
        let manners = &*placed.manners;
        self.listen(model, candidate, manners);
        self.look(model, candidate, &placed);
        let figures = &self.figures[candidate];
        for (side, share) in sides(model, candidate).into_iter().enumerate() {
            let (log_share, words) = (share.ln(), figures.words_of(manners, side));
            for manner in &manners.list {
                let told = side * manners.told() + manner.told as usize;
                let readings = figures.glanced[told];
                let words = words[manner.said as usize];
                let weight = log_share + manner.log_chance;
                take(Lone { part: manner.part(candidate, side), weight, readings, words }, told);
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
        let on = std::iter::repeat_with(OnceCell::new).take(manners.told()).collect();
        let glance = self.glance.get_or_insert_with(|| model.glance());
        let sheet = model.sheet(candidate, glance, &manners.choices);
        let (sheet, rest) = (Rc::new(sheet), glance.rest);
        let made = Placed { manners, on, sheet, rest, most: Rc::default() };
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
            let courses = Rc::ptr_eq(&a.courses, &b.courses) || a.courses == b.courses;
            let paths = || Rc::ptr_eq(&a.paths, &b.paths) || a.paths == b.paths;
            courses && paths() && own(candidate) == own(other)
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
    /// The same at the scales that are glanced at, all at once.
    sheet: Rc<Option<Sheet>>,
    /// Log of what all other scales add.
    rest: f64,
    /// Log of what no candidate there comes to more than, but for states and words, at any one of these scales.
    most: Rc<OnceCell<f64>>,
}

impl Placed {
    fn sheet(&self) -> Option<&Sheet> {
        Option::as_ref(&self.sheet)
    }
}

/// Weights of the ways of a cause.
struct Weights {
    each: Vec<f64>,
    /// Log of what they are to be multiplied by.
    scale: f64,
}

/// Share of the likeliest way below which a way weighs nothing: thousands of them come to less than rounding does.
pub(super) const NOTHING: f64 = 1e-17;

/// Sum of shares from which these are exact enough.
pub(super) const FAINT: f64 = 1e-200;

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

impl Figures {
    /// Log of the weight of each way as it was glanced at, side by side.
    fn logs<'a>(
        &'a self,
        manners: &'a Manners,
        sides: &'a [f64],
    ) -> impl Iterator<Item = f64> + 'a {
        sides.iter().enumerate().flat_map(move |(side, share)| {
            let (log_share, words) = (share.ln(), self.words_of(manners, side));
            let glanced = &self.glanced[side * manners.told()..];
            manners.list.iter().map(move |manner| {
                let readings = glanced[manner.told as usize];
                log_share + manner.log_chance + readings + words[manner.said as usize]
            })
        })
    }

    /// What words come to with a side, by number of what they know.
    fn words_of(&self, manners: &Manners, side: usize) -> &[f64] {
        let by_side = self.words.len() > manners.said();
        &self.words[if by_side { side * manners.said() } else { 0 }..]
    }
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
