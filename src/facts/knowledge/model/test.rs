//! Tests: what is done, on what, and how probable each outcome is by cause.
//!
//! It must not know a job: whether a test is due is for the plan.

use std::collections::BTreeMap;

use measure::named_enum;
use measure::units::Cost;

use super::{Basis, Charge, Condition, Item, Seat, Thermal};

/// A piece of work that tells causes apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// Stable id.
    pub id: String,
    /// Short name.
    pub name: String,
    /// What is done.
    pub kind: TestKind,
    /// What it is done on.
    pub scope: Scope,
    /// Engines it can be done on.
    pub applies: Condition,
    /// States of the engine in which it can be done.
    pub states: Vec<Thermal>,
    /// State it leaves the engine in, where that differs from the one it was done in.
    pub leaves: Option<Thermal>,
    /// What must be open or out, as indices into [`Knowledge::access`](super::Knowledge::access).
    pub access: Vec<usize>,
    /// Tools.
    pub tools: String,
    /// Time and parts, set-ups left out.
    pub cost: Cost,
    /// Seats that go along to the other cylinder in an exchange.
    pub moves: Vec<Seat>,
    /// Seats that are replaced by known good ones.
    pub replaces: Vec<Seat>,
    /// Seats undone and remade, with the share of the re-seat chance the work has.
    pub reseats: Vec<(Seat, f64)>,
    /// The item it exchanges, re-seats or replaces, if any.
    pub item: Option<Item>,
    /// How it is done, a sentence a step.
    pub steps: Vec<String>,
    /// Warnings, as indices into [`Knowledge::cautions`](super::Knowledge::cautions).
    pub cautions: Vec<usize>,
    /// What it can show. Outcomes of an exchange are `moved`, `stays`, `gone`, `other`; of a
    /// re-seat or substitution `gone`, `stays`, `other`.
    pub outcomes: Vec<Outcome>,
    /// Chance of each outcome where the cause has no row of its own or is elsewhere.
    pub default: Vec<f64>,
    /// Chance of each outcome by cause index. Floored and summing to one. Empty for
    /// exchanges, re-seats and substitutions, whose chances follow from the seats.
    pub given: BTreeMap<usize, Vec<f64>>,
    /// Chance of each outcome by what there is to burn in the cylinder, whatever the cause, where the test shows
    /// that. In files the rows are those of the names `lean`, `rich` and `no-fire`.
    pub by_charge: BTreeMap<Charge, Vec<f64>>,
    /// Chance that another outcome is reported than the one that was there to be seen.
    pub slip: f64,
    /// Whether it judges the running engine, so that what it shows belongs to the point at which it
    /// was done.
    pub at_point: bool,
    /// It is a way of looking at temperatures: where they are entered as numbers it has nothing to add.
    pub from_readings: bool,
    /// It tells of what has been: nothing that is touched afterwards changes its answer.
    pub past: bool,
    /// Where the numbers come from.
    pub basis: Basis,
}

impl Test {
    /// The outcome that is likeliest where nothing is wrong, by number; of equals the last.
    #[must_use]
    pub fn usual(&self) -> usize {
        let list = self.default.iter().enumerate();
        list.max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(outcome, _)| outcome)
    }

    /// Whether it sees the engine as it runs just then, so that a fault which rests hides from it. Who
    /// moves a joint by hand brings out what rests.
    #[must_use]
    pub fn sees_the_moment(&self) -> bool {
        let running =
            |state: &Thermal| matches!(state, Thermal::Idle | Thermal::Cruise | Thermal::Full);
        let provokes = self.kind == TestKind::Disturb && !self.reseats.is_empty();
        !self.states.is_empty() && self.states.iter().all(running) && !provokes
    }
}

/// Slip of a look where the test gives none of its own (practice: one report in fifty).
pub const USUAL_SLIP: f64 = 0.02;

/// What is said of a test that cannot be done here: a word for every test, beside its own outcomes.
pub const CANNOT: &str = "cannot";

/// What a test can show.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// Stable id, unique within the test.
    pub id: String,
    /// What the mechanic sees.
    pub text: String,
    /// Whether it points at another cylinder, which can be named.
    pub partner: bool,
}

named_enum! {
    /// What is done in a test.
    TestKind, "kind of test" {
        /// Look, listen, read.
        Observe = "observe",
        /// Measure with an instrument.
        Measure = "measure",
        /// Change something for a moment and watch.
        Disturb = "disturb",
        /// Two like items change places.
        Exchange = "exchange",
        /// A joint is undone and remade.
        Reseat = "reseat",
        /// An item is replaced by a known good one.
        Substitute = "substitute",
    }
}

named_enum! {
    /// What a test is done on.
    Scope, "scope" {
        /// One cylinder or the chain of one display.
        Cylinder = "cylinder",
        /// The engine as a whole.
        Engine = "engine",
    }
}
