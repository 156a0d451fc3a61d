//! Whether a fault that was put right is proven to have been the cause.
//!
//! Three ways (theory of troubleshooting): seen by a test whose outcome no cause with another cure
//! explains; gone after an exchange and back on its reversal; probable enough after all entries. A
//! remedy alone proves nothing, and what a later entry contradicts is not proven any more: every way
//! is held against the probabilities after the last entry.

use crate::diagnosis::{Assessment, CauseRef, Fault, Proof, same_work};
use facts::job::timeline::{Finding, Timeline, Work};
use facts::knowledge::{Cause, Knowledge, Physics, PlaceKind, Scope, Test};
use measure::engine::Cylinder;

use super::points::ODD;

/// Probability of a cause from which its remedy may be called the cure.
pub(crate) const CAUSE: f64 = 0.9;
/// Probability below which nothing that was seen makes a proof: then the entries speak against it.
const CONTRADICTED: f64 = 0.5;
/// Chance of an outcome without the cause below which seeing it proves the cause.
const NEVER_WRONG: f64 = 0.04;
/// Measured difference of depth that neither rule nor eye makes, mm: three times their sd.
const PLAIN: f64 = 3.0;

/// The fault among those put right that is the likeliest cause, with its probability.
pub(super) fn remedied(
    knowledge: &Knowledge,
    timeline: &Timeline,
    assessment: &Assessment,
) -> Option<(Fault, f64)> {
    let faults = timeline.disturbances.iter().enumerate().filter_map(|(order, d)| {
        let (cause, place) = d.remedied?;
        let fault = Fault { cause: CauseRef::Listed(cause), place };
        Some((fault, same_work(knowledge, assessment, fault), order))
    });
    // Of equals the last, whose work was done when it went away.
    faults
        .max_by(|a, b| a.1.total_cmp(&b.1).then(a.2.cmp(&b.2)))
        .map(|(fault, share, _)| (fault, share))
}

/// How it is proven, if it is.
pub(super) fn proof(
    knowledge: &Knowledge,
    timeline: &Timeline,
    assessment: &Assessment,
    fault: Fault,
    probability: f64,
) -> Option<Proof> {
    if probability < CONTRADICTED {
        return None;
    }
    if seen(knowledge, timeline, fault) {
        return Some(Proof::Seen);
    }
    if reversed(timeline, assessment) {
        return Some(Proof::Reversed);
    }
    // Whether there was anything at all is not what is left to prove: it stood out or was complained
    // of, it was put right, and it is gone. Which of the faults it was is.
    let fault = 1.0 - assessment.healthy;
    (probability >= CAUSE * fault).then_some(Proof::Verified)
}

/// A finding that the fault explains and no cause with another cure does.
pub(crate) fn seen(knowledge: &Knowledge, timeline: &Timeline, fault: Fault) -> bool {
    let CauseRef::Listed(index) = fault.cause else { return false };
    if measured(knowledge, timeline, index, fault) {
        return true;
    }
    let own = knowledge.causes[index].remedy.as_ref().map(|r| r.id.as_str());
    let seat = knowledge.causes[index].seat;
    let numbers = fault.place.cylinders(&timeline.engine);
    let travels = timeline.engine.depth_travels();
    timeline.findings.iter().any(|finding| {
        let test = &knowledge.tests[finding.test];
        // Where the part was while somebody looked.
        let then = |&number: &Cylinder| finding.arrangement.cylinder_of(seat, number, travels);
        let here = test.scope == Scope::Engine
            || finding.cylinder.is_none_or(|c| numbers.iter().any(|number| then(number) == c));
        let with = test.given.get(&index).map_or(0.0, |row| row[finding.outcome]);
        let without = test.default.get(finding.outcome).copied().unwrap_or(1.0);
        let engine = &timeline.engine;
        let rival = test.given.iter().any(|(&other, row)| {
            if !knowledge.causes[other].applies.holds(engine) {
                return false;
            }
            let cure = knowledge.causes[other].remedy.as_ref().map(|r| r.id.as_str());
            cure != own && row[finding.outcome] > NEVER_WRONG
        });
        here && !rival
            && tells(with, without)
            && !elsewhere(test, &knowledge.causes[index], finding)
            && !denied(timeline, finding)
    })
}

/// Whether a finding would be the same if the cause were at another place: a look at the whole engine does not say
/// where, and one at a cylinder does not say with which other it was mixed up unless that one is named.
fn elsewhere(test: &Test, cause: &Cause, finding: &Finding) -> bool {
    match cause.place {
        PlaceKind::Cylinder => test.scope == Scope::Engine || finding.cylinder.is_none(),
        PlaceKind::Pair => finding.partner.is_none(),
        _ => false,
    }
}

/// Whether an outcome, by its chances with and without a cause, shows that it is there.
pub(crate) fn tells(with: f64, without: f64) -> bool {
    with >= 0.5 && without <= NEVER_WRONG && with >= 20.0 * without
}

/// Whether the same test said something else of the same place with nothing put right between.
fn denied(timeline: &Timeline, finding: &Finding) -> bool {
    let remedies = |after: usize| {
        timeline.disturbances[..after].iter().filter(|d| d.remedied.is_some()).count()
    };
    timeline.findings.iter().any(|other| {
        (other.test, other.cylinder) == (finding.test, finding.cylinder)
            && other.outcome != finding.outcome
            && remedies(other.after) == remedies(finding.after)
    })
}

/// Whether a rule showed the depth that the cause stands for, beyond what eye and rule may err.
fn measured(knowledge: &Knowledge, timeline: &Timeline, cause: usize, fault: Fault) -> bool {
    let numbers = fault.place.cylinders(&timeline.engine);
    let effects = || knowledge.causes[cause].effects.iter();
    timeline.sheet.differences().iter().any(|difference| {
        numbers.contains(&difference.number)
            && difference.mm.abs() >= PLAIN
            && effects().any(|effect| match effect.physics {
                Some(Physics::Depth { from, to, .. }) => (from..=to).contains(&difference.mm),
                _ => false,
            })
    })
}

/// Whether an exchange and its reverse made an oddness go and come back: A–B–A.
fn reversed(timeline: &Timeline, assessment: &Assessment) -> bool {
    let odd_in = |slot: usize| -> Vec<Cylinder> {
        let mut displays: Vec<Cylinder> = assessment
            .oddness
            .iter()
            .filter(|odd| timeline.sets[odd.set].after == slot)
            .filter(|odd| odd.sigmas.is_some_and(|s| s.abs() >= ODD))
            .map(|odd| odd.display)
            .collect();
        displays.sort_unstable();
        displays.dedup();
        displays
    };
    let has = |slot: usize| timeline.sets.iter().any(|s| s.after == slot);
    timeline.disturbances.windows(2).enumerate().any(|(slot, pair)| {
        let (Some(first), Some(second)) = (pair[0].work, pair[1].work) else { return false };
        let places = |w: Work| {
            let mut both = [Some(w.a), w.b];
            both.sort_unstable();
            both
        };
        let back =
            first.test == second.test && first.b.is_some() && places(first) == places(second);
        back && (slot..=slot + 2).all(has)
            && odd_in(slot)
                .iter()
                .any(|d| !odd_in(slot + 1).contains(d) && odd_in(slot + 2).contains(d))
    })
}
