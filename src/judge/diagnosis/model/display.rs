//! On which display a fault shows, and which cylinder a display shows.
//!
//! Follows parts along an arrangement, and displays or channels that bear each other's names. It
//! must not know how large an effect is.

use std::borrow::Cow;
use std::collections::BTreeMap;

use facts::job::arrangement::Arrangement;
use facts::knowledge::{Item, Seat};
use measure::engine::Cylinder;

use super::{Candidate, Model, Part};
use crate::diagnosis::path::Presence;

/// Displays or channels that stand for each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Renaming {
    /// The leads of two cylinders are crossed at the probes.
    Joint(Cylinder, Cylinder),
    /// Two channels bear each other's names.
    Name(Cylinder, Cylinder),
}

impl Renaming {
    /// A number of its own, from 1.
    pub(super) fn number(self) -> usize {
        let (end, a, b) = match self {
            Self::Joint(a, b) => (0, a, b),
            Self::Name(a, b) => (1, a, b),
        };
        (usize::from(a) * 256 + usize::from(b)) * 2 + end
    }
}

impl Model<'_> {
    /// Displays on which a candidate shows with parts arranged so.
    pub(crate) fn displays(
        &self,
        candidate: &Candidate,
        arrangement: &Arrangement,
        renamings: &[Renaming],
    ) -> Vec<Cylinder> {
        if candidate.renaming.is_some() {
            return Vec::new();
        }
        let travels = self.timeline.engine.depth_travels();
        let mut displays: Vec<Cylinder> = candidate
            .numbers
            .iter()
            .map(|&number| match candidate.seat {
                Seat::Settings => number,
                Seat::Channel => rename(renamings, number, true),
                Seat::Lead => {
                    let display = arrangement.position_of(Item::LeadAtBox, number);
                    rename(renamings, display, true)
                }
                seat => {
                    let cylinder = arrangement.cylinder_of(seat, number, travels);
                    let lead =
                        rename(renamings, arrangement.item_at(Item::LeadAtProbe, cylinder), false);
                    rename(renamings, arrangement.position_of(Item::LeadAtBox, lead), true)
                }
            })
            .collect();
        displays.sort_unstable();
        displays.dedup();
        displays
    }

    /// Renamings among the parts, each with its presence.
    pub(super) fn renamings(&self, parts: &[Part]) -> Vec<(Renaming, Presence)> {
        parts
            .iter()
            .filter_map(|part| Some((self.candidates[part.candidate].renaming?, part.presence)))
            .collect()
    }

    /// Works out the displays of every candidate in every set, with no misnaming.
    pub(super) fn prepare_displays(&mut self) {
        self.shown = self
            .candidates
            .iter()
            .map(|candidate| {
                let sets = self.timeline.sets.iter();
                sets.map(|set| self.displays(candidate, &set.arrangement, &[])).collect()
            })
            .collect();
        let mut first: BTreeMap<(&[Vec<Cylinder>], bool), usize> = BTreeMap::new();
        let alike = self.shown.iter().zip(&self.candidates).enumerate();
        self.alike = alike
            .map(|(number, (shown, candidate))| {
                *first.entry((shown, candidate.passes)).or_insert(number)
            })
            .collect();
        // A misnaming moves those apart that are on different ends of a lead.
        let mut first: BTreeMap<(usize, u8), usize> = BTreeMap::new();
        let alike = self.alike.iter().zip(&self.candidates).enumerate();
        self.alike_misnamed = alike
            .map(|(number, (alike, candidate))| {
                let end = match candidate.seat {
                    Seat::Settings => 0,
                    Seat::Channel | Seat::Lead => 1,
                    _ => 2,
                };
                *first.entry((*alike, end)).or_insert(number)
            })
            .collect();
    }

    /// Displays of a candidate in a set.
    pub(super) fn displays_in(
        &self,
        candidate: usize,
        set: usize,
        active: &[Renaming],
    ) -> Cow<'_, [Cylinder]> {
        if active.is_empty() {
            Cow::Borrowed(&self.shown[candidate][set])
        } else {
            let arrangement = &self.timeline.sets[set].arrangement;
            Cow::Owned(self.displays(&self.candidates[candidate], arrangement, active))
        }
    }
}

/// Renamings that are there in a slot.
pub(super) fn active(renamings: &[(Renaming, Presence)], slot: usize) -> Vec<Renaming> {
    renamings.iter().filter(|(_, presence)| presence >> slot & 1 == 1).map(|(r, _)| *r).collect()
}

/// The number that stands in a number's place: for names of channels, or for leads at the probes.
fn rename(renamings: &[Renaming], number: Cylinder, names: bool) -> Cylinder {
    renamings.iter().fold(number, |number, renaming| match (*renaming, names) {
        (Renaming::Name(a, b), true) | (Renaming::Joint(a, b), false) if number == a => b,
        (Renaming::Name(a, b), true) | (Renaming::Joint(a, b), false) if number == b => a,
        _ => number,
    })
}

/// The cylinder a display shows.
pub(super) fn shown(
    arrangement: &Arrangement,
    display: Cylinder,
    renamings: &[Renaming],
) -> Cylinder {
    let channel = rename(renamings, display, true);
    let lead = rename(renamings, arrangement.item_at(Item::LeadAtBox, channel), false);
    arrangement.position_of(Item::LeadAtProbe, lead)
}
