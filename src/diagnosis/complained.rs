//! What the complaint says before anything is read: factors on the priors.
//!
//! Mild, since most complaints come from the same displays that are read afterwards, and these say
//! it better. High and low have no factor at all: the readings show it.

use crate::engine::{Engine, Place};
use crate::job::complaint::{Complaint, Does};
use crate::knowledge::{Cause, Knowledge, Law, Seat};

use super::result::CauseRef;

/// Causes that show on the display complained of: half of the customers name it rightly or do not
/// name it, and few name a wrong one (common practice, no source).
const NAMED: f64 = 2.0;
/// A misfire that is felt: causes of spark and fuel, causes of the measuring chain, and nothing
/// wrong. A chain that reads wrongly is not felt (common practice, no source).
const FELT: f64 = 3.0;
const NOT_FELT: f64 = 0.4;
/// Pinging and running on: causes by which a cylinder really runs hot (common practice, no source).
const HEARD: f64 = 2.5;
/// A display that jumps: causes that come and go, and others of the measuring chain (common
/// practice, no source).
const COMES_AND_GOES: f64 = 3.0;
const OF_THE_CHAIN: f64 = 1.5;
/// Nothing is complained of: a healthy engine is here only because a display stood out by chance, 12 %,
/// where with complaints of other kinds it is 30 % (`noticed_healthy`).
const NOTHING_SAID: f64 = 2.5;
/// A display that is dead: causes of the measuring chain (common practice, no source).
const DEAD: f64 = 2.0;

/// Factor on the prior of a cause at a place.
pub(super) fn factor(
    knowledge: &Knowledge,
    engine: &Engine,
    complaint: &Complaint,
    (index, place): (usize, Place),
) -> f64 {
    let named = match complaint.display {
        Some(display) if place.cylinders(engine).contains(&display) => NAMED,
        _ => 1.0,
    };
    named * complaint.does.map_or(1.0, |does| of_its_doing(knowledge, does, index))
}

/// Factor on "nothing is wrong".
pub(super) fn healthy(complaint: &Complaint) -> f64 {
    let felt = if complaint.does == Some(Does::Misses) { NOT_FELT } else { 1.0 };
    if complaint.names_something() { felt } else { felt * NOTHING_SAID }
}

fn of_its_doing(knowledge: &Knowledge, does: Does, index: usize) -> f64 {
    let cause = &knowledge.causes[index];
    let chain = CauseRef::Listed(index).is_measuring(knowledge);
    match does {
        Does::Misses if chain => NOT_FELT,
        Does::Misses if is_felt(cause) => FELT,
        Does::Pings | Does::RunsOn => {
            if cause.heat {
                HEARD
            } else {
                1.0
            }
        }
        Does::Jumps if cause.intermittent => COMES_AND_GOES,
        Does::Jumps if chain => OF_THE_CHAIN,
        Does::Dead if chain => DEAD,
        Does::Low | Does::High | Does::Misses | Does::Jumps | Does::Dead => 1.0,
    }
}

/// Whether a cylinder with this cause fires unevenly.
fn is_felt(cause: &Cause) -> bool {
    let seats = [Seat::Plug, Seat::HtLead, Seat::Coil, Seat::Injector, Seat::InjectorWiring];
    seats.contains(&cause.seat) || cause.effects.iter().any(|e| e.law == Law::Misfire)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::prior::{Prior, prior};
    use crate::engine::RunningPoint;
    use crate::job::fit::Sheet;
    use crate::knowledge::embedded::embedded;
    use crate::knowledge::load;

    fn base() -> Knowledge {
        load(embedded(), &[]).0.expect("the built-in knowledge base")
    }

    fn with(knowledge: &Knowledge, complaint: &Complaint) -> Prior {
        let engine = &knowledge.presets[0].engine;
        prior(knowledge, engine, &[], &Sheet::default(), complaint)
    }

    /// Probability of single causes that satisfy something.
    fn share(prior: &Prior, of: impl Fn(usize, Place) -> bool) -> f64 {
        let counts = |s: &&crate::diagnosis::prior::Single| match s.fault.cause {
            CauseRef::Listed(index) => of(index, s.fault.place),
            CauseRef::Unlisted => false,
        };
        prior.singles.iter().filter(counts).map(|s| s.prior).sum()
    }

    #[test]
    fn what_it_does_moves_what_it_can_come_from() {
        let knowledge = base();
        let idle = Complaint { at: Some(RunningPoint::Idle), ..Complaint::default() };
        let plain = with(&knowledge, &idle);
        let does = |does| with(&knowledge, &Complaint { does: Some(does), ..Complaint::default() });
        // Who complains of nothing comes with a display that stood out by chance.
        assert!(with(&knowledge, &Complaint::default()).healthy > 1.2 * plain.healthy);
        let chain = |i: usize, _: Place| CauseRef::Listed(i).is_measuring(&knowledge);
        let felt = |i: usize, _: Place| is_felt(&knowledge.causes[i]);
        let hot = |i: usize, _: Place| knowledge.causes[i].heat;
        let loose = |i: usize, _: Place| knowledge.causes[i].intermittent;
        let misses = does(Does::Misses);
        assert!(misses.healthy < plain.healthy);
        assert!(share(&misses, chain) < share(&plain, chain));
        assert!(share(&misses, felt) > 1.5 * share(&plain, felt));
        for sign in [Does::Pings, Does::RunsOn] {
            assert!(share(&does(sign), hot) > share(&plain, hot), "{sign}");
        }
        assert!(share(&does(Does::Jumps), loose) > share(&plain, loose));
        assert!(share(&does(Does::Dead), chain) > share(&plain, chain));
        assert_eq!(does(Does::High), plain);
    }

    #[test]
    fn the_display_that_is_named_is_likelier_and_no_other_is_ruled_out() {
        let knowledge = base();
        let plain = with(&knowledge, &Complaint::default());
        let named = with(&knowledge, &Complaint { display: Some(2), ..Complaint::default() });
        let at = |prior: &Prior, c| share(prior, |_, place| place == Place::Cylinder(c));
        assert!((at(&plain, 1) - at(&plain, 2)).abs() < 1e-9);
        let ratio = at(&named, 2) / at(&named, 1);
        assert!((ratio - NAMED).abs() < 1e-9, "{ratio}");
        let sum = |p: &Prior| p.healthy + p.pairs + p.singles.iter().map(|s| s.prior).sum::<f64>();
        assert!((sum(&named) - 1.0).abs() < 1e-9);
    }
}
