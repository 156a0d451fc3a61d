//! The odd display of the latest settled readings, by statistics alone.
//!
//! Beside the diagnosis, never instead of it. It must not look at causes.

use crate::engine::Cylinder;
use crate::job::timeline::{ReadingSet, Timeline};
use crate::knowledge::Knowledge;
use crate::readings::outlier::odd_one::{self, OddOne};

/// The odd display of a reading set.
#[derive(Debug, Clone, PartialEq)]
pub struct OddDisplay {
    /// Index into the timeline's reading sets.
    pub set: usize,
    /// The displays that showed a number, in order: what the indices of `found` point into.
    pub displays: Vec<Cylinder>,
    /// What was found.
    pub found: OddOne,
}

impl OddDisplay {
    /// The display that is furthest from the others.
    #[must_use]
    pub fn display(&self) -> Cylinder {
        self.displays[self.found.index]
    }
}

/// The odd display of the last settled set with three numbers or more, if there is one.
#[must_use]
pub fn odd_display_by_numbers(knowledge: &Knowledge, timeline: &Timeline) -> Option<OddDisplay> {
    let sets = timeline.sets.iter().enumerate().rev();
    sets.filter(|(_, set)| set.is_settled()).find_map(|(index, set)| {
        let sd = knowledge.natural_sd(&timeline.engine, set.site, set.at);
        let (displays, values): (Vec<Cylinder>, Vec<f64>) = numbers(set).unzip();
        let found = odd_one::odd_one(&values, sd)?;
        Some(OddDisplay { set: index, displays, found })
    })
}

fn numbers(set: &ReadingSet) -> impl Iterator<Item = (Cylinder, f64)> {
    (1..).zip(&set.readings).filter_map(|(display, reading)| Some((display, reading.middle()?)))
}
