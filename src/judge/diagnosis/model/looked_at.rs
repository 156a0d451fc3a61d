//! Whether a look sees what an earlier one saw: that hangs on the parts that the test looks at, and on
//! nothing that is believed of them.
//!
//! Under every hypothesis the same, for what is drawn anew under one and kept under another makes a
//! look that says nothing speak for one of them. It must not say what is seen.

use facts::job::arrangement::Arrangement;
use facts::job::timeline::{Finding, Timeline, Touch};
use facts::knowledge::{Knowledge, Seat, Test};
use measure::engine::Cylinder;
use measure::number::real;

use super::findings::Looks;

/// Share of the causes in a test's table from which it counts as a look at their seat (practice).
const LOOKS_AT: f64 = 0.25;

/// Chance of being undone by a re-seat from which what a test looks at is another thing after it
/// (judgement): a joint is made anew, the colour of a plug is not.
const A_JOINT: f64 = 0.5;

/// For each look and one done now: whether what is looked at has changed since the look before.
pub(super) fn changed(knowledge: &Knowledge, timeline: &Timeline, looks: &Looks) -> Vec<bool> {
    let test = &knowledge.tests[looks.test];
    let seats: Vec<(Seat, bool)> = Seat::ALL
        .iter()
        .filter_map(|&seat| looked_at(knowledge, test, seat).map(|joint| (seat, joint)))
        .collect();
    let found = |index: &usize| &timeline.findings[*index];
    let now = (&timeline.arrangement, timeline.disturbances.len());
    let after = looks.findings.iter().map(found).map(|f| (&f.arrangement, f.after)).chain([now]);
    let before = std::iter::once(None).chain(looks.findings.iter().map(|index| Some(found(index))));
    let watched = Watched { timeline, cylinder: looks.cylinder, seats: &seats };
    let both = before.zip(after);
    both.map(|(last, (arrangement, after))| {
        !test.past && last.is_some_and(|last| watched.changed(last, arrangement, after))
    })
    .collect()
}

/// What a test looks at somewhere.
struct Watched<'a> {
    timeline: &'a Timeline,
    /// The cylinder, or all.
    cylinder: Option<Cylinder>,
    /// Seats, and whether each is a joint.
    seats: &'a [(Seat, bool)],
}

impl Watched<'_> {
    /// Whether other parts are there than at a look before, or those that were there were replaced, or
    /// joints among them made anew.
    fn changed(&self, last: &Finding, now: &Arrangement, after: usize) -> bool {
        let engine = &self.timeline.engine;
        let travels = engine.depth_travels();
        let here = |cylinder| self.cylinder.is_none_or(|c| c == cylinder);
        let other_part = |cylinder| {
            let at = |place: &Arrangement, seat| place.number_at(seat, cylinder, travels);
            self.seats.iter().any(|&(seat, _)| at(&last.arrangement, seat) != at(now, seat))
        };
        // What the look itself undid went back as it was: what it showed was seen on the way in.
        let between = self.timeline.disturbances.iter().take(after).skip(last.after);
        let mut touched =
            between.filter(|d| d.entry != last.entry).flat_map(|disturbance| &disturbance.touched);
        last.arrangement != *now && (1..=engine.cylinders).any(|c| here(c) && other_part(c))
            || touched.any(|&(seat, number, touch)| {
                let watched = self.seats.iter().find(|(watched, _)| *watched == seat);
                here(now.cylinder_of(seat, number, travels))
                    && watched.is_some_and(|&(_, joint)| match touch {
                        Touch::Replaced => true,
                        Touch::Reseated(share) => joint && share >= 1.0,
                    })
            })
    }
}

/// Whether a test looks at a seat, since a good part of the causes that it tells apart sit there, and
/// then whether that is a joint: what a re-seat mostly undoes. What a test shows of an engine part stays
/// when a lead was moved.
fn looked_at(knowledge: &Knowledge, test: &Test, seat: Seat) -> Option<bool> {
    let causes = test.given.keys().map(|&cause| &knowledge.causes[cause]);
    let chances: Vec<f64> = causes.filter(|c| c.seat == seat).map(|c| c.reseat).collect();
    let count = real(chances.len());
    let looked_at = !chances.is_empty() && count >= LOOKS_AT * real(test.given.len());
    looked_at.then(|| chances.iter().sum::<f64>() >= A_JOINT * count)
}
