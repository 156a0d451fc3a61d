//! What kind of thing displays showed, for one fault alone: a chain at each running point.
//!
//! What a fault does at one look hangs on the look before at that point and on nothing else. So what each
//! look comes to after each other is worked out once for a candidate, and a way is a sum over it. It must come
//! to what [`Model::log_states_of`] does.

use std::cell::OnceCell;

use super::states::Told;
use super::{Model, Part};
use crate::diagnosis::looks::MOST_LOOKS;
use crate::diagnosis::path::Presence;

/// By reading set: what it adds where it is the first at its point, and then where it comes after each set before
/// it.
type Links = Vec<Vec<f64>>;

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
        let links = self.chains.0[part.candidate].get_or_init(|| self.links(part.candidate));
        let links = links.as_ref()?;
        let mut log = self.usual_states;
        let mut last = vec![None; self.data.kinds.len()];
        for (look, set) in self.data.sets.iter().enumerate() {
            if part.shows_in(set.slot, look) {
                let before: &mut Option<usize> = &mut last[set.kind];
                log += links[look][before.map_or(0, |before| before + 1)];
                *before = Some(look);
            }
        }
        Some(log)
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
            (0..sets.len()).map(of).collect()
        })
    }
}
