//! Whether the oddness is gone and its cause proven.
//!
//! Three ways to prove a cause (theory of troubleshooting): seen by a test that is as good as
//! never wrong about it; gone after the remedy and back on reversal; probable enough and still gone
//! at the verification run. A remedy alone proves nothing.

use crate::engine::{Cylinder, RunningPoint};
use crate::job::entry::Reading;
use crate::job::timeline::{ReadingSet, Timeline};
use crate::knowledge::{Knowledge, Physics, Scope};

use crate::percent::percent;

use super::result::{Assessment, CauseRef, Fault, Hypothesis, Proof, Verification};

/// Natural standard deviations beyond which a display still counts as odd.
const ODD: f64 = 3.0;
/// Probability that no fault is left at which it counts as gone.
const GONE: f64 = 0.9;
/// Chance of an outcome without the cause below which seeing it proves the cause.
const NEVER_WRONG: f64 = 0.04;
/// Measured difference of depth that neither rule nor eye makes, mm: three times their sd.
const PLAIN: f64 = 3.0;

/// Judges the readings after the last remedy.
#[must_use]
pub fn verify(knowledge: &Knowledge, timeline: &Timeline, assessment: &Assessment) -> Verification {
    let remedied = timeline.disturbances.iter().rev().find_map(|d| d.remedied);
    let fault = remedied.map(|(cause, place)| Fault { cause: CauseRef::Listed(cause), place });
    let last = timeline.disturbances.len();
    let again = |i: usize| {
        let same =
            |set: &ReadingSet| (set.site, set.at) == (timeline.sets[i].site, timeline.sets[i].at);
        timeline.sets[i + 1..].iter().any(same)
    };
    // Of several sets at one point the last counts.
    let after: Vec<usize> = (0..timeline.sets.len())
        .filter(|&i| timeline.sets[i].after == last && timeline.sets[i].is_settled() && !again(i))
        .collect();
    // What another display naturally differs by is not for this remedy to take away; whether a
    // fault is left there, the probabilities say.
    let shown: Vec<Cylinder> =
        fault.map_or_else(Vec::new, |fault| shows_on(knowledge, timeline, fault));
    let left_over = assessment
        .oddness
        .iter()
        .filter(|odd| after.contains(&odd.set))
        .filter(|odd| shown.is_empty() || shown.contains(&odd.display))
        .filter_map(|odd| odd.sigmas)
        .map(f64::abs)
        .reduce(f64::max);
    let no_number = after.iter().any(|&i| {
        timeline.sets[i]
            .readings
            .iter()
            .any(|r| matches!(r, Reading::Open | Reading::Stuck | Reading::Falling))
    });
    let gone = 1.0 - assessment.present;
    let probability = fault.map_or(0.0, |f| same_work(knowledge, assessment, f));
    let really_gone =
        !after.is_empty() && !no_number && left_over.is_some_and(|s| s < ODD) && gone >= GONE;
    let proof =
        fault.and_then(|f| proof(knowledge, timeline, assessment, f, probability, really_gone));
    let mut missing = Vec::new();
    if fault.is_none() {
        missing.push("no remedy has been entered yet".to_owned());
    }
    if after.is_empty() {
        missing.push(match complaint_point(timeline, assessment) {
            Some(at) => format!(
                "readings after the last change: take them settled, at the point of the complaint ({at})"
            ),
            None => "running readings after the last change".to_owned(),
        });
    } else {
        if let Some(at) = complaint_point(timeline, assessment)
            && !after.iter().any(|&i| timeline.sets[i].at == at)
        {
            missing.push(format!("readings at the point of the complaint ({at})"));
        }
        if no_number {
            missing.push("a display still shows no steady number".to_owned());
        } else if left_over.is_some_and(|s| s >= ODD) {
            missing.push(format!(
                "the oddness is still there: {:.1} natural spreads where three are the limit",
                left_over.unwrap_or(0.0)
            ));
        } else if gone < GONE {
            missing.push(format!(
                "the chance that a fault is left is {}: read once more, at another point",
                percent(1.0 - gone)
            ));
        }
    }
    if fault.is_some() && proof.is_none() && missing.is_empty() {
        missing.push(format!(
            "the cause is not proven ({}): look at it directly, or reverse the remedy and see the oddness \
             come back; else close it as unproven",
            percent(probability)
        ));
    }
    Verification {
        remedied: fault,
        readings_after: !after.is_empty(),
        gone,
        left_over,
        probability,
        proof,
        missing,
    }
}

/// Whether a job has come to a good end: cured and proven, or written down as normal.
#[must_use]
pub fn is_done(timeline: &Timeline, verification: &Verification) -> bool {
    verification.verified() || timeline.is_recorded()
}

/// Displays on which a fault would show now.
fn shows_on(knowledge: &Knowledge, timeline: &Timeline, fault: Fault) -> Vec<Cylinder> {
    let travels = timeline.engine.depth_travels();
    let seat = fault.cause.seat(knowledge);
    let of = |number| timeline.arrangement.display_showing(seat, number, travels);
    fault.place.cylinders(&timeline.engine).into_iter().map(of).collect()
}

/// Probability of the causes that the same work at the same place cures.
///
/// What a workshop's memory added is taken out again: a proof stands on this job's own evidence, so
/// that what is learned from it is not what was remembered.
#[must_use]
pub fn same_work(knowledge: &Knowledge, assessment: &Assessment, fault: Fault) -> f64 {
    let remedy = |cause: CauseRef| match cause {
        CauseRef::Listed(index) => knowledge.causes[index].remedy.as_ref().map(|r| r.id.as_str()),
        CauseRef::Unlisted => None,
    };
    let own = remedy(fault.cause);
    let cured = |h: &&Hypothesis| {
        h.faults.iter().any(|f| {
            f.place == fault.place
                && (f.cause == fault.cause || (own.is_some() && remedy(f.cause) == own))
        })
    };
    let Some(recall) = &knowledge.recall else {
        return assessment.hypotheses.iter().filter(cured).map(|h| h.probability).sum();
    };
    // The likelihood is the same, so that dividing by what the priors were multiplied with and
    // sharing out anew gives what would have come of the knowledge base alone.
    let factor = |fault: &Fault| match fault.cause {
        CauseRef::Listed(index) => recall.factors[index],
        CauseRef::Unlisted => 1.0,
    };
    let plain = |h: &Hypothesis| h.probability / h.faults.iter().map(factor).product::<f64>();
    let all: f64 = assessment.hypotheses.iter().map(plain).sum();
    assessment.hypotheses.iter().filter(cured).map(plain).sum::<f64>() / all.max(f64::MIN_POSITIVE)
}

fn proof(
    knowledge: &Knowledge,
    timeline: &Timeline,
    assessment: &Assessment,
    fault: Fault,
    probability: f64,
    gone: bool,
) -> Option<Proof> {
    if !gone {
        return None;
    }
    if seen(knowledge, timeline, fault) {
        return Some(Proof::Seen);
    }
    if reversed(timeline, assessment) {
        return Some(Proof::Reversed);
    }
    (probability >= knowledge.constants.proof).then_some(Proof::Verified)
}

/// A finding that the fault explains and hardly anything else does.
fn seen(knowledge: &Knowledge, timeline: &Timeline, fault: Fault) -> bool {
    let CauseRef::Listed(index) = fault.cause else { return false };
    if measured(knowledge, timeline, index, fault) {
        return true;
    }
    timeline.findings.iter().any(|finding| {
        let test = &knowledge.tests[finding.test];
        let here = test.scope == Scope::Engine
            || finding
                .cylinder
                .is_none_or(|c| fault.place.cylinders(&timeline.engine).contains(&c));
        let with = test.given.get(&index).map_or(0.0, |row| row[finding.outcome]);
        let without = test.default.get(finding.outcome).copied().unwrap_or(1.0);
        here && with >= 0.5 && without <= NEVER_WRONG && with >= 20.0 * without
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
        let places = |w: crate::job::timeline::Work| {
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

/// Whether settled readings were taken at the point of the complaint since anything was touched.
#[must_use]
pub fn read_at_the_complaint(timeline: &Timeline, assessment: &Assessment) -> bool {
    let at = complaint_point(timeline, assessment);
    let slot = timeline.disturbances.len();
    let fits = |set: &ReadingSet| at.is_none_or(|at| set.at == at);
    timeline.sets.iter().any(|set| set.after == slot && set.is_settled() && fits(set))
}

/// The running point at which the complaint was clearest before anything was disturbed.
#[must_use]
pub fn complaint_point(timeline: &Timeline, assessment: &Assessment) -> Option<RunningPoint> {
    let size = |index: usize| {
        let set = &timeline.sets[index];
        let silent = set.readings.iter().any(|r| r.middle().is_none());
        let most = assessment
            .oddness
            .iter()
            .filter(|odd| odd.set == index)
            .filter_map(|odd| odd.sigmas)
            .map(f64::abs)
            .fold(0.0, f64::max);
        if silent { f64::INFINITY } else { most }
    };
    (0..timeline.sets.len())
        .filter(|&i| {
            let set = &timeline.sets[i];
            set.site == timeline.engine.probes && set.is_settled()
        })
        .filter(|&i| size(i) >= ODD)
        .min_by_key(|&i| i)
        .map(|i| timeline.sets[i].at)
}
