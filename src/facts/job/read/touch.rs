//! Which seats a piece of work touches, by the numbers they had at first.
//!
//! Positions are cylinders, except for the box ends of leads, where they are displays.

use crate::job::arrangement::{Arrangement, coil_mate};
use crate::job::timeline::{Timeline, Touch};
use crate::knowledge::{Cause, Item, Seat, Test};
use measure::engine::{Cylinder, DepthHold, Engine, Ignition, Place};

/// How an item was handled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Handling {
    /// It changed places; what moves is the arrangement's business.
    Exchanged,
    /// It was undone and remade.
    Remade,
    /// It was replaced by a known good one.
    Replaced,
}

impl Handling {
    /// What a test does to its item.
    pub(super) fn of(test: &Test) -> Self {
        if !test.moves.is_empty() {
            Self::Exchanged
        } else if !test.replaces.is_empty() {
            Self::Replaced
        } else {
            Self::Remade
        }
    }
}

/// Seats touched by one piece of work, each once: the first thing said of it holds, and
/// replacement is said before re-seating.
#[derive(Default)]
pub(super) struct Touched(pub(super) Vec<(Seat, Cylinder, Touch)>);

impl Touched {
    /// Adds a seat unless it is there.
    pub(super) fn add(&mut self, seat: Seat, number: Cylinder, touch: Touch) {
        if !self.0.iter().any(|&(s, n, _)| s == seat && n == number) {
            self.0.push((seat, number, touch));
        }
    }

    /// Adds what work on an item touches at one position.
    fn work(
        &mut self,
        number: impl Fn(Seat) -> Cylinder,
        test: Option<&Test>,
        item: Item,
        handling: Handling,
    ) {
        if handling == Handling::Replaced {
            // A substitution names what it replaces; an exchange used for lack of one, what
            // it would have moved.
            let replaced = test
                .map_or(&[][..], |t| if t.replaces.is_empty() { &t.moves } else { &t.replaces });
            for &seat in replaced {
                self.add(seat, number(seat), Touch::Replaced);
            }
        } else if handling == Handling::Remade
            && let Some(seat) = own_seat(item)
        {
            self.add(seat, number(seat), Touch::Reseated(1.0));
        }
        for &(seat, share) in test.map_or(&[][..], |t| &t.reseats) {
            self.add(seat, number(seat), Touch::Reseated(share));
        }
    }
}

/// What work on an item touches at one place or two, with parts arranged as they are now.
pub(super) fn touched(
    engine: &Engine,
    now: &Arrangement,
    test: Option<&Test>,
    item: Item,
    handling: Handling,
    places: [Option<Cylinder>; 2],
) -> Vec<(Seat, Cylinder, Touch)> {
    let mut touched = Touched::default();
    for place in places.into_iter().flatten() {
        for position in with_mate(engine, item, place) {
            let number = |seat| seat_number(now, engine.depth, Some(item), seat, position);
            touched.work(number, test, item, handling);
        }
    }
    touched.0
}

/// What putting a cause right at a place touches, with parts arranged as they are now.
#[must_use]
pub fn touched_by_remedy(
    timeline: &Timeline,
    cause: &Cause,
    place: Place,
) -> Vec<(Seat, Cylinder, Touch)> {
    let mut touched = Touched::default();
    let now = &timeline.arrangement;
    let travels = timeline.engine.depth_travels();
    for original in place.cylinders(&timeline.engine) {
        let position = now.cylinder_of(cause.seat, original, travels);
        for &(seat, share) in cause.remedy.iter().flat_map(|remedy| &remedy.reseats) {
            touched.add(seat, now.number_at(seat, position, travels), Touch::Reseated(share));
        }
    }
    touched.0
}

/// The original number of the seat that work on an item touches at a position.
pub(super) fn seat_number(
    now: &Arrangement,
    depth: DepthHold,
    item: Option<Item>,
    seat: Seat,
    position: Cylinder,
) -> Cylinder {
    let travels = depth == DepthHold::Travels;
    match (item, seat) {
        (Some(Item::LeadAtBox), Seat::Channel | Seat::Settings) => position,
        (Some(Item::LeadAtBox), Seat::Lead) => now.item_at(Item::LeadAtBox, position),
        (Some(Item::LeadAtBox), _) => now.number_at(seat, now.cylinder_shown(position), travels),
        _ => now.number_at(seat, position, travels),
    }
}

/// A position, and the one that shares its coil where coils are what is worked on.
fn with_mate(engine: &Engine, item: Item, position: Cylinder) -> Vec<Cylinder> {
    let mut list = vec![position];
    if item == Item::Coil && engine.ignition == Ignition::WastedSpark {
        list.extend(coil_mate(engine, position));
    }
    list
}

/// The seat that is the item itself, for items whose re-seat has no test of its own.
fn own_seat(item: Item) -> Option<Seat> {
    match item {
        Item::Injector => Some(Seat::Injector),
        Item::Plug => Some(Seat::Plug),
        Item::Coil => Some(Seat::Coil),
        Item::HtLead => Some(Seat::HtLead),
        Item::Probe | Item::LeadAtBox | Item::LeadAtProbe => None,
    }
}
