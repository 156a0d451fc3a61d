//! What work does to a fault that is there: cures it, stirs it, or leaves it.
//!
//! Which joints a piece of work undoes is said by the knowledge base, for that is how the work is done;
//! what comes of it is the world's own. It must not decide what is done.

use facts::knowledge::{Knowledge, Seat, Test};
use measure::engine::{Cylinder, Engine, Place};

use super::act::Trouble;
use super::chance::Chance;
use super::engine::TrueFault;
use super::parts::Parts;

/// How a fault went away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gone {
    /// By the work that is meant for it, or that renewed what it sits on.
    Aimed,
    /// By a part renewed on trial.
    Renewed,
    /// By a joint undone and remade in passing.
    InPassing,
    /// By the long search.
    Searched,
}

impl Gone {
    /// Chance at each reading that what went in passing is back (assumed).
    pub(super) const BACK: f64 = 0.05;
}

/// Chance that work cures what it is meant for, and that a renewed part is a good one (assumed).
const WORKS: f64 = 0.96;

/// A piece of work.
#[derive(Debug, Clone)]
pub(super) struct Work<'a> {
    undone: &'a [(Seat, f64)],
    renewed: &'a [Seat],
    /// Positions it is done at; for a remedy first numbers.
    at: Vec<Cylinder>,
    remedy: Option<(usize, Place)>,
}

impl<'a> Work<'a> {
    pub(super) fn of_test(test: &'a Test, at: &[Cylinder]) -> Self {
        Self { undone: &test.reseats, renewed: &test.replaces, at: at.to_vec(), remedy: None }
    }

    pub(super) fn of_remedy(
        known: &'a Knowledge,
        cause: usize,
        place: Place,
        at: &[Cylinder],
    ) -> Self {
        let undone = known.causes[cause].remedy.as_ref().map_or(&[][..], |remedy| &remedy.reseats);
        Self { undone, renewed: &[], at: at.to_vec(), remedy: Some((cause, place)) }
    }

    /// Whether nothing is undone.
    pub(super) fn is_nothing(&self) -> bool {
        self.undone.is_empty() && self.renewed.is_empty()
    }

    /// Cylinders at which a probe comes out and goes in again.
    pub(super) fn refits(&self) -> Vec<Cylinder> {
        let out = self.undone.iter().any(|(seat, share)| *seat == Seat::Fit && *share >= 0.5);
        if out { self.at.clone() } else { Vec::new() }
    }

    /// Seats, each with the cylinder, on which something else sits after it.
    pub(super) fn renews(&self, known: &Knowledge) -> Vec<(Seat, Cylinder)> {
        let put_right = self.remedy.map(|(cause, _)| known.causes[cause].seat);
        let seats = self.renewed.iter().copied().chain(put_right);
        seats.flat_map(|seat| self.at.iter().map(move |&cylinder| (seat, cylinder))).collect()
    }

    /// Whether it is the work for a fault, or renews what it sits on.
    pub(super) fn aims_at(&self, known: &Knowledge, fault: &TrueFault) -> bool {
        let Some((cause, place)) = self.remedy else { return false };
        let done = Trouble { cause: Some(cause), place };
        let same = fault.trouble.cause == Some(cause)
            || fault.trouble.work(known).is_some() && fault.trouble.work(known) == done.work(known);
        if same && place == fault.trouble.place {
            return true;
        }
        // A new one has nothing of what the old one had, of those that come in one piece.
        let seat = known.causes[cause].seat;
        let whole =
            matches!(seat, Seat::Probe | Seat::Injector | Seat::Plug | Seat::HtLead | Seat::Coil);
        let buys = known.causes[cause].remedy.as_ref().is_some_and(|r| r.cost.parts > 0.0);
        whole && buys && seat == fault.seat && fault.numbers.iter().any(|n| self.at.contains(n))
    }

    /// How far it undoes what a fault sits on, from nought to one; more than one where it is renewed.
    pub(super) fn undoes(&self, parts: &Parts, engine: &Engine, fault: &TrueFault) -> f64 {
        let here = |fault: &TrueFault| match self.remedy {
            Some(_) => fault.numbers.iter().any(|n| self.at.contains(n)),
            None => self.at.iter().any(|&at| parts.is_at(engine, fault, at)),
        };
        if !here(fault) {
            return 0.0;
        }
        if self.renewed.contains(&fault.seat) {
            return 2.0;
        }
        self.undone.iter().find(|(seat, _)| *seat == fault.seat).map_or(0.0, |(_, share)| *share)
    }
}

/// What becomes of a fault.
pub(super) fn what_becomes(
    gone: Option<Gone>,
    fault: &TrueFault,
    aimed: bool,
    undone: f64,
    chance: Chance,
) -> Option<Gone> {
    let u = chance.uniform();
    match gone {
        Some(Gone::InPassing | Gone::Renewed) if aimed => Some(Gone::Aimed),
        Some(gone) => Some(gone),
        None if aimed => (u < WORKS).then_some(Gone::Aimed),
        // Nothing uncrosses itself.
        None if fault.effect.names => None,
        None if undone > 1.0 => (u < WORKS).then_some(Gone::Renewed),
        None => (u < undone * fault.effect.loose).then_some(Gone::InPassing),
    }
}
