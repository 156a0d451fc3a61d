//! Who is where now: a permutation per kind of part.
//!
//! Positions are cylinders, except for the box ends of the leads, whose positions are
//! displays. Items carry the number of the position they had when the job was opened. It
//! knows what moves, not what that does to a fault.

use std::collections::BTreeMap;

use crate::knowledge::{Item, Seat};
use measure::engine::{Cylinder, Engine, Ignition};

/// A permutation per kind of part.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Arrangement {
    cylinders: u8,
    /// For each item kind, the original number of the item at each position.
    at: BTreeMap<Item, Vec<Cylinder>>,
}

/// One step that brings an engine back to how it came in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PutBack {
    /// Kind of item.
    pub item: Item,
    /// The two positions whose items are to change places.
    pub positions: (Cylinder, Cylinder),
}

impl Arrangement {
    /// Everything where it was when the job was opened.
    #[must_use]
    pub fn original(cylinders: u8) -> Self {
        let straight: Vec<Cylinder> = (1..=cylinders).collect();
        Self { cylinders, at: Item::ALL.iter().map(|&item| (item, straight.clone())).collect() }
    }

    /// Swaps the items at two positions.
    fn swap(&mut self, item: Item, a: Cylinder, b: Cylinder) {
        if let Some(at) = self.at.get_mut(&item) {
            at.swap(usize::from(a) - 1, usize::from(b) - 1);
        }
    }

    /// Exchanges the items at two positions of an engine.
    ///
    /// A wasted-spark coil goes with both of its cylinders, the lower to
    /// the lower: it has no front and back that could get turned round. Two cylinders of one coil
    /// have nothing to exchange.
    pub fn exchange(&mut self, engine: &Engine, item: Item, a: Cylinder, b: Cylinder) {
        let shared = item == Item::Coil && engine.ignition == Ignition::WastedSpark;
        let mate = |c| shared.then(|| coil_mate(engine, c)).flatten();
        match (mate(a), mate(b)) {
            (Some(mate_a), Some(mate_b)) => {
                if mate_a != b {
                    self.swap(item, a.min(mate_a), b.min(mate_b));
                    self.swap(item, a.max(mate_a), b.max(mate_b));
                }
            }
            _ => self.swap(item, a, b),
        }
    }

    /// Original number of the item at a position.
    #[must_use]
    pub fn item_at(&self, item: Item, position: Cylinder) -> Cylinder {
        self.at[&item][usize::from(position) - 1]
    }

    /// Position of the item with this original number.
    #[must_use]
    pub fn position_of(&self, item: Item, number: Cylinder) -> Cylinder {
        let found = self.at[&item].iter().position(|&n| n == number);
        // Each list is a permutation, so the number is always there.
        found.map_or(number, |index| u8::try_from(index + 1).unwrap_or(number))
    }

    /// The cylinder whose probe a display shows.
    ///
    /// Display → lead at the box → the cylinder at which that lead's other end is plugged.
    #[must_use]
    pub fn cylinder_shown(&self, display: Cylinder) -> Cylinder {
        self.position_of(Item::LeadAtProbe, self.item_at(Item::LeadAtBox, display))
    }

    /// The display that shows a cylinder.
    #[must_use]
    pub fn display_of(&self, cylinder: Cylinder) -> Cylinder {
        self.position_of(Item::LeadAtBox, self.item_at(Item::LeadAtProbe, cylinder))
    }

    /// The display on which a fault at a seat shows; `number` is where the seat was at first.
    ///
    /// `depth_travels` says whether a probe's installation goes along with it.
    #[must_use]
    pub fn display_showing(&self, seat: Seat, number: Cylinder, depth_travels: bool) -> Cylinder {
        match seat {
            Seat::Channel | Seat::Settings => number,
            Seat::Lead => self.position_of(Item::LeadAtBox, number),
            _ => self.display_of(self.cylinder_of(seat, number, depth_travels)),
        }
    }

    /// The cylinder at which a seat now is; `number` is where it was at first.
    #[must_use]
    pub fn cylinder_of(&self, seat: Seat, number: Cylinder, depth_travels: bool) -> Cylinder {
        match seat {
            Seat::Channel | Seat::Settings => self.cylinder_shown(number),
            Seat::Lead => self.position_of(Item::LeadAtProbe, number),
            Seat::Probe => self.position_of(Item::Probe, number),
            Seat::Fit if depth_travels => self.position_of(Item::Probe, number),
            Seat::Injector => self.position_of(Item::Injector, number),
            Seat::Plug => self.position_of(Item::Plug, number),
            Seat::HtLead => self.position_of(Item::HtLead, number),
            Seat::Coil => self.position_of(Item::Coil, number),
            _ => number,
        }
    }

    /// Number of the original seat of this kind that is now at a cylinder.
    #[must_use]
    pub fn number_at(&self, seat: Seat, cylinder: Cylinder, depth_travels: bool) -> Cylinder {
        (1..=self.cylinders)
            .find(|&number| self.cylinder_of(seat, number, depth_travels) == cylinder)
            .unwrap_or(cylinder)
    }

    /// Whether everything is where it was.
    #[must_use]
    pub fn is_original(&self) -> bool {
        self.at.values().all(|at| at.iter().copied().eq(1..=self.cylinders))
    }

    /// Items that are not in their first place: (item, original number, position now).
    #[must_use]
    pub fn displaced(&self) -> Vec<(Item, Cylinder, Cylinder)> {
        let mut list = Vec::new();
        for (&item, at) in &self.at {
            for (position, &number) in (1..=self.cylinders).zip(at) {
                if number != position {
                    list.push((item, number, position));
                }
            }
        }
        list
    }

    /// The fewest exchanges that put everything back.
    ///
    /// A permutation with c cycles on n places needs n − c exchanges; each step here puts at
    /// least one item home for good, so no step is wasted.
    #[must_use]
    pub fn put_back(&self, engine: &Engine) -> Vec<PutBack> {
        let mut now = self.clone();
        let mut steps = Vec::new();
        for &item in Item::ALL {
            for home in 1..=self.cylinders {
                let position = now.position_of(item, home);
                if position != home {
                    now.exchange(engine, item, home, position);
                    steps.push(PutBack { item, positions: (home, position) });
                }
            }
        }
        steps
    }
}

/// The cylinder that shares a wasted-spark coil with this one.
#[must_use]
pub fn coil_mate(engine: &Engine, cylinder: Cylinder) -> Option<Cylinder> {
    engine.coil_pairs().into_iter().find_map(|(a, b)| {
        if a == cylinder {
            Some(b)
        } else if b == cylinder {
            Some(a)
        } else {
            None
        }
    })
}

/// Whether two cylinders have one coil between them, so that there is none to exchange.
#[must_use]
pub fn share_a_coil(engine: &Engine, a: Cylinder, b: Cylinder) -> bool {
    engine.ignition == Ignition::WastedSpark && coil_mate(engine, a) == Some(b)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture;

    #[test]
    fn a_wasted_spark_coil_takes_both_of_its_cylinders_along() {
        let engine = fixture::engine();
        assert_eq!(coil_mate(&engine, 1), Some(4));
        let mut now = Arrangement::original(4);
        now.exchange(&engine, Item::Coil, 1, 2);
        assert_eq!([1, 2, 3, 4].map(|c| now.item_at(Item::Coil, c)), [2, 1, 4, 3]);
        assert_eq!(now.put_back(&engine).len(), 1);
        let before = now.clone();
        now.exchange(&engine, Item::Coil, 1, 4);
        assert_eq!(now, before, "one coil has no other to change with");
    }

    #[test]
    fn a_probe_exchange_moves_the_probe_and_leaves_the_displays() {
        let mut now = Arrangement::original(4);
        now.swap(Item::Probe, 2, 3);
        assert_eq!(now.cylinder_shown(2), 2);
        assert_eq!(now.display_showing(Seat::Probe, 2, false), 3);
        assert_eq!(now.display_showing(Seat::Fit, 2, false), 2);
        assert_eq!(now.display_showing(Seat::Fit, 2, true), 3);
        assert_eq!(now.display_showing(Seat::Cylinder, 2, false), 2);
    }

    #[test]
    fn exchanging_leads_at_the_box_moves_all_but_the_channel() {
        let mut now = Arrangement::original(4);
        now.swap(Item::LeadAtBox, 1, 4);
        assert_eq!(now.display_showing(Seat::Channel, 1, false), 1);
        for seat in [Seat::Lead, Seat::Probe, Seat::Fit, Seat::Injector, Seat::Cylinder] {
            assert_eq!(now.display_showing(seat, 1, false), 4, "{seat}");
        }
    }

    #[test]
    fn exchanging_leads_at_the_probes_leaves_lead_and_channel() {
        let mut now = Arrangement::original(4);
        now.swap(Item::LeadAtProbe, 1, 4);
        for seat in [Seat::Lead, Seat::Channel, Seat::Settings] {
            assert_eq!(now.display_showing(seat, 1, false), 1, "{seat}");
        }
        for seat in [Seat::Probe, Seat::Fit, Seat::Plug, Seat::ExhaustRunner] {
            assert_eq!(now.display_showing(seat, 1, false), 4, "{seat}");
        }
    }

    fn exchanges() -> impl Strategy<Value = Vec<(usize, u8, u8)>> {
        proptest::collection::vec((0..Item::ALL.len(), 1u8..=4, 1u8..=4), 0..20)
    }

    proptest! {
        #[test]
        fn the_put_back_list_always_restores(list in exchanges()) {
            let engine = fixture::engine();
            let mut now = Arrangement::original(4);
            for (item, a, b) in list {
                now.exchange(&engine, Item::ALL[item], a, b);
            }
            for step in now.put_back(&engine) {
                now.exchange(&engine, step.item, step.positions.0, step.positions.1);
            }
            prop_assert!(now.is_original());
        }

        #[test]
        fn displays_and_cylinders_stay_one_to_one(list in exchanges()) {
            let engine = fixture::engine();
            let mut now = Arrangement::original(4);
            for (item, a, b) in list {
                now.exchange(&engine, Item::ALL[item], a, b);
            }
            for display in 1..=4 {
                prop_assert_eq!(now.display_of(now.cylinder_shown(display)), display);
            }
            for &seat in Seat::ALL {
                let mut shown: Vec<_> =
                    (1..=4).map(|n| now.display_showing(seat, n, false)).collect();
                shown.sort_unstable();
                prop_assert!(shown.into_iter().eq(1..=4));
            }
        }
    }
}
