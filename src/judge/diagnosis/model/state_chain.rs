//! What kind of thing displays showed, for one fault alone: a chain at each running point.
//!
//! What a fault does at one look hangs on the look before at that point and on nothing else. So what each
//! look comes to after each other is worked out once for a candidate, and a way is a sum over it. It must come
//! to what [`Model::log_states_of`] does.

use std::cell::OnceCell;

use super::states::Told;
use super::{Model, Part};
use crate::diagnosis::looks::{MOST_LOOKS, Shows, edges};
use crate::diagnosis::path::Presence;

/// What looks add for a candidate.
#[derive(Debug)]
struct Links {
    /// By look what it adds where it is the first at its point, and then where it comes after each look before it.
    after: Vec<Vec<f64>>,
    /// The same before the log is taken, for what shows on one display: the chance that it makes the display show what
    /// it did, where it does anything to it.
    by: Vec<Vec<Option<f64>>>,
    /// By look the look before it at its point, counted from 1; nought where there is none.
    before: Vec<usize>,
    /// What all looks before one add where each comes after the one before it at its point.
    sums: Vec<f64>,
    /// The kinds of the looks, and how many there are.
    kinds: (Vec<usize>, usize),
}

impl Links {
    /// What the looks of a choice add: of a run of looks all come after the one before, but for the first of each
    /// kind.
    fn along(&self, choice: Shows) -> f64 {
        let (kinds, count) = (&self.kinds.0, self.kinds.1);
        let mut last = [0; MOST_KINDS];
        let mut log = 0.0;
        let mut from = 0;
        edges(choice, kinds.len(), |edge, ends| {
            if !ends {
                from = edge;
                return;
            }
            log += self.sums[edge] - self.sums[from];
            let mut met = 0;
            for (look, &kind) in kinds.iter().enumerate().take(edge).skip(from) {
                if last[kind] <= from {
                    // The first of its kind in the run.
                    if last[kind] != self.before[look] {
                        log += self.after[look][last[kind]] - self.after[look][self.before[look]];
                    }
                    last[kind] = look + 1;
                    met += 1;
                    if met == count {
                        break;
                    }
                }
            }
            let mut met: u32 = 0;
            for look in (from..edge).rev() {
                let kind = kinds[look];
                if met >> kind & 1 == 0 {
                    met |= 1 << kind;
                    last[kind] = look + 1;
                    if met.count_ones() as usize == count {
                        break;
                    }
                }
            }
        });
        log
    }
}

/// Kinds of readings there can be: five points, two sites.
const MOST_KINDS: usize = 32;

/// Chains of all candidates, made as they are asked for; `None` where there is none.
#[derive(Debug)]
pub(super) struct Chains(Vec<OnceCell<Option<Links>>>);

impl Chains {
    /// None made yet.
    pub(super) fn of(candidates: usize) -> Self {
        Self(std::iter::repeat_with(OnceCell::new).take(candidates).collect())
    }
}

impl Model<'_> {
    /// Log chance of the states shown with one fault; `None` where it hangs on more than the looks at which the
    /// fault shows.
    pub(super) fn log_states_by_chain(&self, part: &Part) -> Option<f64> {
        self.states_at_choice(part.candidate, self.shown(part.presence, part.shows).0)
    }

    /// The same for a choice of looks.
    pub(super) fn states_at_choice(&self, candidate: usize, choice: Shows) -> Option<f64> {
        let links = self.chain(candidate)?;
        Some(self.usual_states + links.along(choice))
    }

    /// No more than this, at whatever looks it shows.
    pub(super) fn most_by_chain(&self, candidate: usize) -> Option<f64> {
        let links = self.chain(candidate)?;
        let most = links.after.iter().map(|after| after.iter().copied().fold(0.0, f64::max));
        Some(self.usual_states + most.sum::<f64>())
    }

    /// The same of two that show on one display each.
    pub(super) fn log_states_by_chains(&self, one: &Part, other: &Part) -> Option<f64> {
        let (mine, theirs) = (self.chain(one.candidate)?, self.chain(other.candidate)?);
        if mine.by.is_empty() || theirs.by.is_empty() {
            return None;
        }
        let choice = |part: &Part| self.shown(part.presence, part.shows).0;
        let (first, second) = (choice(one), choice(other));
        let mut last = [[0; 2]; MOST_KINDS];
        let mut log = self.usual_states;
        let mut left = first | second;
        while left != 0 {
            let look = left.trailing_zeros() as usize;
            left &= left - 1;
            let set = &self.data.sets[look];
            let display = |part: &Part| self.shown[part.candidate][set.index][0];
            let shows = [first >> look & 1 == 1, second >> look & 1 == 1];
            let [before, after] = last[set.kind];
            if shows == [true, true] && display(one) == display(other) {
                let (a, b) = (mine.by[look][before], theirs.by[look][after]);
                log += match (a, b) {
                    (None, None) => 0.0,
                    (Some(by), None) | (None, Some(by)) => self.ratio(look, display(one), by, by),
                    (Some(a), Some(b)) => {
                        let either = 1.0 - (1.0 - a) * (1.0 - b.min(1.0));
                        self.ratio(look, display(one), either, a * b)
                    }
                };
            } else {
                log += if shows[0] { mine.after[look][before] } else { 0.0 };
                log += if shows[1] { theirs.after[look][after] } else { 0.0 };
            }
            for (last, _) in last[set.kind].iter_mut().zip(shows).filter(|(_, shows)| *shows) {
                *last = look + 1;
            }
        }
        Some(log)
    }

    fn ratio(
        &self,
        look: usize,
        display: measure::engine::Cylinder,
        either: f64,
        neither: f64,
    ) -> f64 {
        if self.hidden == Some(display) {
            0.0
        } else {
            self.log_ratio(look, display, either, neither)
        }
    }

    fn chain(&self, number: usize) -> Option<&Links> {
        self.chains.0[number].get_or_init(|| self.links(number)).as_ref()
    }

    fn links(&self, number: usize) -> Option<Links> {
        let candidate = &self.candidates[number];
        let sets = &self.data.sets;
        let shown = &self.shown[number];
        let first = sets.first().map_or(0, |set| shown[set.index].len());
        let chained = self.told_by_states[number] == Told::Shows
            && candidate.fault.place != measure::engine::Place::Nowhere
            && candidate.renaming.is_none()
            && !candidate.passes
            && sets.len() <= MOST_LOOKS
            && self.data.kinds.len() <= MOST_KINDS
            && sets.iter().all(|set| shown[set.index].len() == first);
        chained.then(|| {
            let part = Part::always(number, 0, Presence::MAX);
            let of = |look: usize| {
                let same = |before: usize| sets[before].kind == sets[look].kind;
                let after = |before: usize| {
                    if same(before) {
                        self.log_states_after(&part, Some(before), look)
                    } else {
                        0.0
                    }
                };
                let mut links = vec![self.log_states_after(&part, None, look)];
                links.extend((0..look).map(after));
                links
            };
            let after: Vec<Vec<f64>> = (0..sets.len()).map(of).collect();
            let chance = |look: usize| {
                let same = |before: usize| sets[before].kind == sets[look].kind;
                let of = |before: Option<usize>| {
                    before.is_none_or(same).then(|| self.chance_after(&part, before, look))?
                };
                std::iter::once(None).chain((0..look).map(Some)).map(of).collect()
            };
            let by: Vec<Vec<Option<f64>>> =
                if first == 1 { (0..sets.len()).map(chance).collect() } else { Vec::new() };
            let last = |look: usize| {
                let same = |before: &usize| sets[*before].kind == sets[look].kind;
                (0..look).rev().find(same).map_or(0, |before| before + 1)
            };
            let before: Vec<usize> = (0..sets.len()).map(last).collect();
            let mut sums = vec![0.0];
            for (links, before) in after.iter().zip(&before) {
                sums.push(sums[sums.len() - 1] + links[*before]);
            }
            let kinds = (sets.iter().map(|set| set.kind).collect(), self.data.kinds.len());
            Links { after, by, before, sums, kinds }
        })
    }
}
