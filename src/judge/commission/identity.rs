//! Which displays were shown to be those of the cylinders whose numbers they bear.
//!
//! From the outcomes of tests that show it, as long as nothing was done to the wiring since. It must not
//! say how likely a crossing is: that is the diagnosis.

use std::collections::{BTreeMap, BTreeSet};

use facts::job::timeline::{Finding, Timeline};
use facts::knowledge::{Knowledge, Seat};
use measure::engine::{Cylinder, Place};

/// The test that shows it one display at a time on a cold engine.
pub const WARM_ONE: &str = "polarity";
/// Tests that show it, each with the outcome of a display that is its cylinder's.
pub(super) const SHOWN_BY: [(&str, &str); 3] =
    [(WARM_ONE, "rises"), ("map-check", "all-right"), ("cut-out", "own-falls")];
/// What lies between the tip of a probe and its display.
pub(crate) const CHAIN: [Seat; 4] = [Seat::Probe, Seat::Lead, Seat::Channel, Seat::Settings];

/// A display that was asked after, by its cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asked {
    /// Number of the journal entry.
    pub entry: usize,
    /// Index of the test.
    pub test: usize,
    /// Index of the outcome.
    pub outcome: usize,
    /// It is its cylinder's.
    pub own: bool,
}

/// The test that shows it with the engine as it is now, by index: the first that can be done, else the first
/// of which nobody said that it cannot be done here.
#[must_use]
pub fn way(knowledge: &Knowledge, timeline: &Timeline) -> Option<usize> {
    let known = || {
        SHOWN_BY
            .iter()
            .filter_map(|(id, _)| knowledge.test(id))
            .filter(|test| !timeline.barred.contains(test))
            .filter(|test| knowledge.tests[*test].applies.holds(&timeline.engine))
    };
    let now = |test: &usize| knowledge.tests[*test].states.contains(&timeline.thermal);
    known().find(now).or_else(|| known().next())
}

/// What was last seen of each display that was asked after, unless its wiring was touched since.
#[must_use]
pub fn asked(knowledge: &Knowledge, timeline: &Timeline) -> BTreeMap<Cylinder, Asked> {
    let mut asked = BTreeMap::new();
    for finding in &timeline.findings {
        let Some(cylinder) = finding.cylinder else { continue };
        let test = &knowledge.tests[finding.test];
        let Some((_, right)) = SHOWN_BY.iter().find(|(id, _)| *id == test.id) else { continue };
        if !finding.arrangement.is_original()
            || touched(timeline, finding.after, &CHAIN).contains(&cylinder)
        {
            continue;
        }
        let Finding { entry, test: index, outcome, .. } = *finding;
        let own = test.outcomes[outcome].id == *right;
        // Of a cylinder that is cut nothing but another's display speaks of the wiring.
        if test.id == "cut-out" && !own && finding.partner.is_none() {
            continue;
        }
        asked.insert(cylinder, Asked { entry, test: index, outcome, own });
        // The display that answered instead is not its cylinder's either.
        if let Some(partner) = finding.partner.filter(|_| !own) {
            asked.insert(partner, Asked { entry, test: index, outcome, own });
        }
    }
    asked
}

/// Displays that are their cylinders', with the entry that shows it, while everything is in its place.
#[must_use]
pub fn identified(knowledge: &Knowledge, timeline: &Timeline) -> BTreeMap<Cylinder, usize> {
    if !timeline.arrangement.is_original() {
        return BTreeMap::new();
    }
    let own = asked(knowledge, timeline).into_iter().filter(|(_, asked)| asked.own);
    own.map(|(cylinder, asked)| (cylinder, asked.entry)).collect()
}

/// Numbers whose seats of these kinds were touched by disturbances from the given one on.
#[must_use]
pub fn touched(timeline: &Timeline, from: usize, seats: &[Seat]) -> BTreeSet<Cylinder> {
    let since = timeline.disturbances.iter().skip(from);
    since
        .flat_map(|disturbance| {
            let work = disturbance.touched.iter().filter(|(seat, _, _)| seats.contains(seat));
            let cured = match disturbance.remedied {
                Some((_, place @ Place::Pair(..))) => place.cylinders(&timeline.engine),
                _ => Vec::new(),
            };
            work.map(|(_, number, _)| *number).chain(cured).collect::<Vec<_>>()
        })
        .collect()
}
