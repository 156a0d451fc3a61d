//! What two faults together come to, in all the ways in which they can have been there.
//!
//! Readings know of a way at which sets each fault shows, and its sides; words know when each was there. So
//! likelihoods are asked for by what is known of both, and a way is a product of them. It must not choose the
//! pairs.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::still_there::{StillThere, Way as Shares};
use super::ways::{Way, sides_and_paths};
use super::{SHARE, UNHEARD, Weighed};
use crate::diagnosis::looks::Shows;
use crate::diagnosis::model::{Model, Part};
use crate::diagnosis::rank::by_chance;

/// Log of the share of the best explanation below which a way of a pair is looked at only superficially.
const PAIRS: f64 = 12.0;

/// Share of the likeliest way of a part of a pair below which a way is left out, and ways that are kept at the most.
const SELDOM: f64 = 0.05;
const MOST_WAYS: usize = 200;

/// Sides, courses and paths of one of two faults.
pub(super) struct Options {
    passes: bool,
    list: Vec<(Part, f64)>,
    /// Of each what readings and what words know of it, numbered as they are met: most differ in what nothing
    /// entered could tell.
    told: Vec<usize>,
    said: Vec<usize>,
    /// By what readings know, but for the sides: a part of each side with its number.
    patterns: Vec<Vec<(Part, usize)>>,
    /// By what words know, a part.
    words: Vec<Part>,
    /// How many numbers there are of what readings know.
    count: usize,
    /// What is asked of each.
    shares: Vec<Shares>,
}

impl Options {
    /// The ways of a candidate that matter where another is beside it: those that are likely beforehand, those that
    /// are `likely` by what was entered, as that it was cured in passing, and those of some courses.
    pub(super) fn of(
        model: &Model<'_>,
        candidate: usize,
        likely: &[(Vec<Part>, f64)],
        courses: &[(Shows, usize)],
    ) -> Self {
        let passes = model.passes(candidate);
        let mut list = sides_and_paths(model, candidate);
        // What is left out here is below a twentieth of the likeliest way, which has many beside it where there
        // are many sides and courses; when a display was not steady may be any of many ways, and the readings say
        // which.
        let most = list.iter().map(|(_, weight)| *weight).fold(0.0, f64::max);
        let least = if passes { most.min(1e-4) } else { SELDOM * most };
        // Of each of the courses what is likely among its own ways.
        let mut most_of: BTreeMap<(Shows, usize), f64> = BTreeMap::new();
        for (part, weight) in &list {
            let most = most_of.entry((part.shows, part.since)).or_default();
            *most = most.max(*weight);
        }
        let is_likely = |part: &Part, weight: f64| {
            let course = (part.shows, part.since);
            courses.contains(&course) && weight >= SELDOM * most_of[&course]
                || likely.iter().any(|(parts, _)| parts.as_slice() == [*part])
        };
        list.retain(|(part, weight)| *weight >= least || is_likely(part, *weight));
        list.sort_by(|a, b| b.1.total_cmp(&a.1));
        let mut kept = 0;
        list.retain(|(part, weight)| {
            let before = *weight >= least && kept < MOST_WAYS;
            kept += usize::from(before);
            before || is_likely(part, *weight)
        });
        list.shrink_to_fit();
        let mut patterns: Vec<Vec<(Part, usize)>> = Vec::new();
        let (mut by_sets, mut by_readings, mut by_words) =
            (BTreeMap::new(), BTreeMap::new(), BTreeMap::new());
        let (mut told, mut said, mut words) = (Vec::new(), Vec::new(), Vec::new());
        for (part, _) in &list {
            let key = model.key_of_readings(part);
            let pattern = number(&mut by_sets, key.of_all_sides());
            let known = by_readings.len();
            let readings = number(&mut by_readings, key);
            if pattern == patterns.len() {
                patterns.push(Vec::new());
            }
            if readings == known {
                patterns[pattern].push((*part, readings));
            }
            told.push(readings);
            let known = number(&mut by_words, model.key_of_words(part));
            if known == words.len() {
                words.push(*part);
            }
            said.push(known);
        }
        let shares = list.iter().map(|(part, _)| Shares::of(model, part)).collect();
        Self { passes, list, told, said, patterns, words, count: by_readings.len(), shares }
    }
}

/// The number of a key, in order of first appearance.
fn number<K: Ord>(met: &mut BTreeMap<K, usize>, key: K) -> usize {
    let next = met.len();
    *met.entry(key).or_insert(next)
}

/// Two faults with what their ways come to.
pub(super) struct Couple {
    options: [Rc<Options>; 2],
    /// Logs by what readings know of the one and of the other: at a glance, and closely where that was looked at.
    glanced: Vec<f64>,
    guarded: Vec<f64>,
    /// The same of words.
    words: Vec<f64>,
    /// Log of the weight of a way, but for the explanation's own chance, from which it is looked at closely.
    close: f64,
}

impl Couple {
    /// Two faults whose explanation has this log prior. `best` is what pairs are held against.
    ///
    /// All scales are gone through unless a way is hopeless: at the likeliest scales alone pairs come out
    /// too low by one or two units of the logarithm, and hundreds of them together carry weight.
    pub(super) fn of(
        model: &Model<'_>,
        options: &[Rc<Options>; 2],
        log_prior: f64,
        best: f64,
    ) -> Self {
        let [a, b] = [&*options[0], &*options[1]];
        let mut words = Vec::with_capacity(a.words.len() * b.words.len());
        for one in &a.words {
            words.extend(b.words.iter().map(|other| model.log_words(&[*one, *other])));
        }
        // Beside what is not steady yet the likeliest scales are others than with nothing wrong.
        let closely = a.passes || b.passes;
        let close = if closely { f64::NEG_INFINITY } else { best - PAIRS - log_prior };
        let unknown = vec![f64::NAN; a.count * b.count];
        let (glanced, guarded) = (unknown.clone(), unknown);
        let mut couple = Self { options: options.clone(), glanced, guarded, words, close };
        let most = couple.most();
        for first in &a.patterns {
            for second in &b.patterns {
                couple.look(model, first, second, false);
                let worth = |&(one, other): &(usize, usize)| {
                    let told = one * b.count + other;
                    most[told] + couple.glanced[told] > close
                };
                let all = first.iter().flat_map(|(_, one)| second.iter().map(|(_, o)| (*one, *o)));
                if all.clone().any(|both| worth(&both)) {
                    couple.look(model, first, second, true);
                }
            }
        }
        couple
    }

    /// Looks at all sides of two that show at given sets.
    fn look(
        &mut self,
        model: &Model<'_>,
        first: &[(Part, usize)],
        second: &[(Part, usize)],
        guarded: bool,
    ) {
        let parts = |sides: &[(Part, usize)]| sides.iter().map(|side| side.0).collect::<Vec<_>>();
        let logs = model.log_readings_of_both(&parts(first), &parts(second), guarded);
        let to = if guarded { &mut self.guarded } else { &mut self.glanced };
        for ((_, one), logs) in first.iter().zip(logs.chunks(second.len())) {
            for ((_, other), log) in second.iter().zip(logs) {
                to[one * self.options[1].count + other] = *log;
            }
        }
    }

    /// By what readings know, the log of the weight of the likeliest way but for the readings.
    fn most(&self) -> Vec<f64> {
        let mut most = vec![f64::NEG_INFINITY; self.glanced.len()];
        self.each(|_, _, told, said, chance| {
            most[told] = most[told].max(chance.ln() + self.words[said]);
        });
        most
    }

    /// Goes through all ways: the number of either's, that of what readings and of what words know, the chance.
    fn each(&self, mut take: impl FnMut(usize, usize, usize, usize, f64)) {
        let [a, b] = [&*self.options[0], &*self.options[1]];
        for (i, (_, one)) in a.list.iter().enumerate() {
            for (j, (_, other)) in b.list.iter().enumerate() {
                let told = a.told[i] * b.count + b.told[j];
                let said = a.said[i] * b.words.len() + b.said[j];
                take(i, j, told, said, one * other);
            }
        }
    }

    /// Log likelihood of the readings of a way: closely unless the way is hopeless at a glance.
    fn readings(&self, told: usize, weight_and_words: f64) -> f64 {
        let glanced = self.glanced[told];
        if weight_and_words + glanced > self.close { self.guarded[told] } else { glanced }
    }

    /// All ways.
    pub(super) fn ways(&self) -> Vec<Way> {
        let [a, b] = [&*self.options[0], &*self.options[1]];
        let mut list = Vec::with_capacity(a.list.len() * b.list.len());
        self.each(|i, j, told, said, chance| {
            let (weight, words) = (chance.ln(), self.words[said]);
            let readings = self.readings(told, weight + words);
            let parts = vec![a.list[i].0, b.list[j].0];
            list.push(Way { parts, weight, readings });
        });
        list
    }

    /// The explanation that both are there. Ways are kept of what may be handed on.
    pub(super) fn weighed(&self, candidates: Vec<usize>, log_prior: f64, best: f64) -> Weighed {
        let finite = |logs: &[f64]| logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (top, above) = (finite(&self.glanced).max(finite(&self.guarded)), finite(&self.words));
        let linear = |logs: &[f64], top: f64| -> Vec<f64> {
            logs.iter().map(|log| (log - top).exp()).collect()
        };
        let (glanced, guarded) = (linear(&self.glanced, top), linear(&self.guarded, top));
        let words = linear(&self.words, above);
        let close = (self.close - top - above).exp();
        let mut shares = Vec::with_capacity(self.options.iter().map(|o| o.list.len()).product());
        let (mut sum, mut most) = (0.0, (0, 0.0_f64));
        self.each(|_, _, told, said, chance| {
            let known = chance * words[said];
            let glanced = known * glanced[told];
            // Where it was not looked at closely there is no number.
            let closely = glanced >= close && !guarded[told].is_nan();
            let share = if closely { known * guarded[told] } else { glanced };
            if share > most.1 {
                most = (shares.len(), share);
            }
            sum += share;
            shares.push(share);
        });
        let log_likelihood = top + above + f64::ln(sum);
        let [a, b] = [&*self.options[0], &*self.options[1]];
        let both = |at: usize| vec![a.list[at / b.list.len()].0, b.list[at % b.list.len()].0];
        let least = most.1 * SHARE;
        let kept = || shares.iter().enumerate().filter(|(_, share)| **share >= least);
        let still = StillThere::of_ways(kept().map(|(at, share)| {
            ([a.shares[at / b.list.len()], b.shares[at % b.list.len()]], share / sum)
        }));
        let log = log_prior + log_likelihood;
        let listed = (log >= best - UNHEARD).then(|| Listed {
            options: self.options.clone(),
            ways: kept().map(|(at, share)| (at, share / sum)).collect(),
        });
        let parts = vec![(both(most.0), most.1 / sum)];
        Weighed { candidates, log, log_likelihood, parts, still, listed }
    }
}

/// Ways of two faults by their numbers, with their shares: so they take little room until it is known whether the
/// explanation is handed on.
#[derive(Clone)]
pub(super) struct Listed {
    options: [Rc<Options>; 2],
    ways: Vec<(usize, f64)>,
}

impl Listed {
    /// The ways, the likeliest first.
    pub(super) fn parts(&self) -> Vec<(Vec<Part>, f64)> {
        let [a, b] = [&*self.options[0], &*self.options[1]];
        let mut ways = self.ways.clone();
        ways.sort_by(|one, other| by_chance(other.1, one.1));
        let both = |at: usize| vec![a.list[at / b.list.len()].0, b.list[at % b.list.len()].0];
        ways.into_iter().map(|(at, share)| (both(at), share)).collect()
    }
}

impl std::fmt::Debug for Listed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_list().entries(&self.ways).finish()
    }
}
