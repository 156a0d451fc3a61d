//! What can be done to a virtual engine, and what can be the matter with it.
//!
//! The workshop's own words for both, so that the world hangs on nothing that is measured in it. It
//! must not say what an act shows.

use facts::knowledge::{Cause, Item, Knowledge, PlaceKind, RunningPoint};
use measure::engine::{Cylinder, Engine, Place};
use measure::named_enum;

/// Something that can be the matter, at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Trouble {
    /// Index of the cause; nothing for one that is in no list.
    pub cause: Option<usize>,
    /// Where.
    pub place: Place,
}

impl Trouble {
    /// Id of the work that cures it, if that is known.
    #[must_use]
    pub fn work(self, known: &Knowledge) -> Option<&str> {
        known.causes[self.cause?].remedy.as_ref().map(|remedy| remedy.id.as_str())
    }
}

named_enum! {
    /// What is said of a job when the tools are put away.
    Verdict, "verdict" {
        /// Nothing is wrong.
        Normal = "normal",
        /// Put right, and the cause proven.
        Proven = "proven",
        /// It is gone, the cause not proven.
        Unproven = "unproven",
        /// It was not found.
        NotFound = "not-found",
    }
}

/// One thing that a mechanic does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Act {
    /// Reads all displays.
    Read {
        /// At this point.
        at: RunningPoint,
    },
    /// A test, an exchange, a part undone or renewed on trial.
    Test {
        /// Which, by index.
        test: usize,
        /// On this cylinder.
        cylinder: Option<Cylinder>,
        /// With this one.
        partner: Option<Cylinder>,
        /// Where the engine runs meanwhile, if that was said.
        at: Option<RunningPoint>,
    },
    /// The work that cures a listed cause.
    Remedy {
        /// Which, by index.
        cause: usize,
        /// Where.
        place: Place,
    },
    /// Goes over everything until it is found.
    Search,
    /// Brings two parts home.
    PutBack {
        /// Which kind.
        item: Item,
        /// Between here
        a: Cylinder,
        /// and there.
        b: Cylinder,
    },
    /// Ends the job.
    Stop(Verdict),
}

/// Where a cause can be on an engine.
#[must_use]
pub fn places(cause: &Cause, engine: &Engine) -> Vec<Place> {
    let last = engine.cylinders;
    match cause.place {
        PlaceKind::Nowhere => Vec::new(),
        PlaceKind::Cylinder => (1..=last).map(Place::Cylinder).collect(),
        PlaceKind::Bank => {
            (1..).zip(&engine.banks).map(|(number, _)| Place::Bank(number)).collect()
        }
        PlaceKind::CoilPair => {
            engine.coil_pairs().into_iter().map(|(a, b)| Place::Pair(a, b)).collect()
        }
        PlaceKind::Neighbours => {
            engine.neighbours().into_iter().map(|(a, b)| Place::Pair(a, b)).collect()
        }
        PlaceKind::Pair => {
            let pairs = (1..last).flat_map(|a| (a + 1..=last).map(move |b| (a, b)));
            pairs.map(|(a, b)| Place::Pair(a, b)).collect()
        }
    }
}
