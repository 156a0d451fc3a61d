//! What readings and words can know of a way in which a fault was there.
//!
//! Most ways differ in what nothing entered could tell. Likelihoods are asked for by what is known of them. It
//! must not leave out anything that a likelihood hangs on.

use super::{Model, Part};
use crate::diagnosis::looks::{MOST_LOOKS, Shows};
use crate::diagnosis::path::Presence;
use facts::knowledge::Charge;

/// See [`Model::key_of_readings`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct ReadingsKey {
    candidate: usize,
    side: usize,
    shown: Shows,
    presence: Presence,
}

impl ReadingsKey {
    /// The same for all sides.
    pub(crate) fn of_all_sides(self) -> Self {
        Self { side: 0, ..self }
    }
}

/// See [`Model::key_of_words`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct WordsKey {
    candidate: usize,
    side: usize,
    presence: Presence,
    since: usize,
    rests: Shows,
}

impl Model<'_> {
    /// What readings know of a part: parts alike in this are alike to them.
    pub(crate) fn key_of_readings(&self, part: &Part) -> ReadingsKey {
        let (shown, presence) = self.shown(part.presence, part.shows);
        let own = self.told_by_presence(part.candidate);
        ReadingsKey {
            candidate: part.candidate,
            side: part.side,
            shown,
            presence: if own { part.presence } else { presence },
        }
    }

    /// Whether readings know of a candidate more than at which sets it shows.
    pub(crate) fn told_by_presence(&self, candidate: usize) -> bool {
        self.candidates[candidate].renaming.is_some() || self.depths.contains_key(&candidate)
    }

    /// The reading sets at which a fault shows that is there in some slots and shows at some sets, and the
    /// slots as far as these do not say everything: bits are few, and sets beyond them are told apart by
    /// when the fault was there.
    pub(crate) fn shown(&self, presence: Presence, shows: Shows) -> (Shows, Presence) {
        if self.data.sets.len() > MOST_LOOKS {
            return (shows & self.looked, presence);
        }
        let mut slots = presence & self.read;
        let mut taken = 0;
        while slots != 0 {
            taken |= self.taken[slots.trailing_zeros() as usize];
            slots &= slots - 1;
        }
        (shows & taken, 0)
    }

    /// Whether findings, verdicts and measured depths tell the sides of a candidate apart: by a measured
    /// depth, or where some of them leave something else to burn.
    pub(crate) fn words_know_sides(&self, candidate: usize) -> bool {
        self.depths.contains_key(&candidate)
            || self.sides(candidate).iter().any(|side| side.charge != Charge::Usual)
    }

    /// What findings, verdicts and measured depths know of a part.
    pub(crate) fn key_of_words(&self, part: &Part) -> WordsKey {
        let side = if self.words_know_sides(part.candidate) { part.side } else { 0 };
        let (presence, since, rests) = self.told_by_words(part.presence, part.since, part.shows);
        WordsKey { candidate: part.candidate, side, presence, since, rests }
    }

    /// What findings, verdicts and measured depths know of when a fault was there: the stretches in which
    /// there was one, how many of them lie before it began, and the reading sets beside which somebody looked.
    pub(crate) fn told_by_words(
        &self,
        presence: Presence,
        since: usize,
        shows: Shows,
    ) -> (Presence, usize, Shows) {
        let before = self.said_at.partition_point(|entry| *entry < since);
        (presence & self.said_in, before, shows & self.looked_beside)
    }
}
