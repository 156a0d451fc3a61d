//! Which part is where on a virtual engine, and on which parts a display hangs.
//!
//! The world keeps its own account of exchanges, apart from the one the job keeps, so that a mistake in
//! the one shows against the other. It must not know what a fault does.

use std::collections::BTreeMap;

use facts::knowledge::{Item, Seat};
use measure::engine::{Cylinder, Engine, Ignition, Place};

use super::engine::TrueFault;

/// Number of the part at each position.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Parts {
    at: BTreeMap<Item, Vec<Cylinder>>,
}

/// What a display hangs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Path {
    pub(super) display: Cylinder,
    pub(super) channel: Cylinder,
    pub(super) lead: Cylinder,
    pub(super) cylinder: Cylinder,
}

impl Parts {
    pub(super) fn new(engine: &Engine) -> Self {
        let each: Vec<Cylinder> = engine.all().collect();
        Self { at: Item::ALL.iter().map(|&item| (item, each.clone())).collect() }
    }

    /// Two parts change places; a coil for two cylinders takes both along.
    pub(super) fn exchange(&mut self, engine: &Engine, item: Item, a: Cylinder, b: Cylinder) {
        let mut swaps = vec![(a, b)];
        if item == Item::Coil && engine.ignition == Ignition::WastedSpark {
            let pairs = engine.coil_pairs();
            let of = |c: Cylinder| pairs.iter().copied().find(|(x, y)| *x == c || *y == c);
            if let (Some(one), Some(other)) = (of(a), of(b)) {
                swaps = if one == other {
                    Vec::new()
                } else {
                    vec![(one.0, other.0), (one.1, other.1)]
                };
            }
        }
        let Some(list) = self.at.get_mut(&item) else { return };
        for (x, y) in swaps {
            list.swap(usize::from(x) - 1, usize::from(y) - 1);
        }
    }

    fn number(&self, item: Item, position: Cylinder) -> Cylinder {
        let list = self.at.get(&item);
        list.and_then(|list| list.get(usize::from(position) - 1)).copied().unwrap_or(position)
    }

    fn position(&self, item: Item, number: Cylinder) -> Cylinder {
        let mut list = (1..).zip(self.at.get(&item).into_iter().flatten());
        list.find(|(_, n)| **n == number).map_or(number, |(position, _)| position)
    }

    /// From a display back to its cylinder, past whatever is crossed.
    pub(super) fn path(&self, display: Cylinder, crossed: &[&TrueFault]) -> Path {
        let past = |number: Cylinder, seats: &[Seat]| {
            let here = crossed.iter().filter(|fault| seats.contains(&fault.seat));
            here.fold(number, |number, fault| match fault.trouble.place {
                Place::Pair(a, b) if number == a => b,
                Place::Pair(a, b) if number == b => a,
                _ => number,
            })
        };
        let channel = past(display, &[Seat::Settings, Seat::Channel]);
        let lead = past(self.number(Item::LeadAtBox, channel), &[Seat::Lead]);
        let end = self.position(Item::LeadAtProbe, lead);
        Path { display, channel, lead, cylinder: past(end, &[Seat::Fit, Seat::Probe]) }
    }

    /// The cylinder at which the part of a seat is now.
    pub(super) fn cylinder(&self, engine: &Engine, seat: Seat, number: Cylinder) -> Cylinder {
        match seat {
            Seat::Probe => self.position(Item::Probe, number),
            Seat::Fit if engine.depth_travels() => self.position(Item::Probe, number),
            Seat::Injector => self.position(Item::Injector, number),
            Seat::Plug => self.position(Item::Plug, number),
            Seat::HtLead => self.position(Item::HtLead, number),
            Seat::Coil => self.position(Item::Coil, number),
            Seat::Lead => self.position(Item::LeadAtProbe, number),
            Seat::Channel | Seat::Settings => self.path(number, &[]).cylinder,
            _ => number,
        }
    }

    /// The display at whose end of the wiring the part of a seat is.
    fn display(&self, seat: Seat, number: Cylinder) -> Option<Cylinder> {
        match seat {
            Seat::Channel | Seat::Settings => Some(number),
            Seat::Lead => Some(self.position(Item::LeadAtBox, number)),
            _ => None,
        }
    }

    /// Whether a display hangs on what a fault sits on.
    pub(super) fn hangs_on(&self, engine: &Engine, path: Path, fault: &TrueFault) -> bool {
        fault.numbers.iter().any(|&number| match fault.seat {
            Seat::Settings => number == path.display,
            Seat::Channel => number == path.channel,
            Seat::Lead => number == path.lead,
            seat => self.cylinder(engine, seat, number) == path.cylinder,
        })
    }

    /// Whether somebody who works on a cylinder, or on the chain of its display, has a fault's part there.
    pub(super) fn is_at(&self, engine: &Engine, fault: &TrueFault, cylinder: Cylinder) -> bool {
        fault.numbers.iter().any(|&number| {
            self.cylinder(engine, fault.seat, number) == cylinder
                || self.display(fault.seat, number) == Some(cylinder)
        })
    }
}
