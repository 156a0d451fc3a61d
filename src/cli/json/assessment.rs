//! What is suspected and how surely, and what is proven: `suspects` and `verify`.
//!
//! It must not judge: probabilities come in.

use serde::Serialize;

use super::{FaultDocument, Recalled, fault, recalled};
use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use judge::diagnosis::{
    Assessment, CauseRef, OddDisplay, Proof, Verification, odd_display_by_numbers,
};
use measure::engine::{Cylinder, Engine};
use measure::readings::outlier::odd_one::SelfScaled;

/// `suspects`.
#[derive(Debug, Serialize)]
pub(in crate::cli) struct SuspectsDocument<'a> {
    #[serde(flatten)]
    assessment: AssessmentDocument<'a>,
    /// Null without three numbers.
    odd_one: Option<OddOneDocument>,
}

/// What is suspected, and how surely.
#[derive(Debug, Serialize)]
pub(super) struct AssessmentDocument<'a> {
    healthy: f64,
    causes: Vec<SuspectDocument<'a>>,
    groups: Vec<Share<'a>>,
    seats: Vec<Share<'a>>,
    pairs_dropped_mass: f64,
    present: f64,
    odd_display: Option<Cylinder>,
    p_value: f64,
    unexplained: bool,
    oddness: Vec<OddnessDocument>,
    notes: Vec<NoteDocument<'a>>,
    #[serde(flatten)]
    recalled: Recalled<'a>,
}

#[derive(Debug, Serialize)]
struct SuspectDocument<'a> {
    #[serde(flatten)]
    fault: FaultDocument<'a>,
    group: Option<&'a str>,
    top_group: Option<&'a str>,
    seat: &'static str,
    probability: f64,
    present: f64,
}

/// Of a group or a seat.
#[derive(Debug, Serialize)]
struct Share<'a> {
    id: &'a str,
    probability: f64,
}

#[derive(Debug, Serialize)]
struct OddnessDocument {
    set: usize,
    display: Cylinder,
    difference: Option<f64>,
    sigmas: Option<f64>,
}

#[derive(Debug, Serialize)]
struct NoteDocument<'a> {
    entry: usize,
    text: &'a str,
}

/// The odd display by statistics alone.
#[derive(Debug, Serialize)]
struct OddOneDocument {
    set: usize,
    display: Cylinder,
    /// How many showed a number.
    displays: usize,
    difference: f64,
    sigmas: f64,
    healthy_95: f64,
    healthy_99: f64,
    odd: bool,
    grubbs: Option<OutlierTest>,
    dixon: Option<OutlierTest>,
    power_at: f64,
}

#[derive(Debug, Serialize)]
struct OutlierTest {
    display: Cylinder,
    statistic: f64,
    limit: f64,
    odd: bool,
    power: f64,
}

/// `suspects`.
pub(in crate::cli) fn suspects<'a>(
    knowledge: &'a Knowledge,
    timeline: &Timeline,
    assessed: &'a Assessment,
) -> SuspectsDocument<'a> {
    let odd = odd_display_by_numbers(knowledge, timeline);
    SuspectsDocument {
        assessment: assessment(knowledge, &timeline.engine, assessed),
        odd_one: odd.as_ref().map(odd_one),
    }
}

/// What is suspected, and how surely.
pub(super) fn assessment<'a>(
    knowledge: &'a Knowledge,
    engine: &Engine,
    assessment: &'a Assessment,
) -> AssessmentDocument<'a> {
    let group_id = |index: usize| knowledge.groups[index].id.as_str();
    let causes = assessment.suspects.iter().map(|suspect| {
        let group = match suspect.fault.cause {
            CauseRef::Listed(index) => Some(knowledge.causes[index].group),
            CauseRef::Unlisted => None,
        };
        SuspectDocument {
            fault: fault(knowledge, engine, suspect.fault),
            group: group.map(group_id),
            top_group: group.map(|group| group_id(knowledge.top_group(group))),
            seat: suspect.fault.cause.seat(knowledge).as_str(),
            probability: suspect.probability,
            present: suspect.present,
        }
    });
    let groups = assessment.groups.iter();
    let seats = assessment.seats.iter();
    let oddness = assessment.oddness.iter().map(|odd| OddnessDocument {
        set: odd.set,
        display: odd.display,
        difference: odd.difference,
        sigmas: odd.sigmas,
    });
    let notes = assessment.notes.iter();
    AssessmentDocument {
        healthy: assessment.healthy,
        causes: causes.collect(),
        groups: groups
            .map(|&(index, probability)| Share { id: group_id(index), probability })
            .collect(),
        seats: seats.map(|&(seat, probability)| Share { id: seat.as_str(), probability }).collect(),
        pairs_dropped_mass: assessment.pairs_dropped_mass,
        present: assessment.present,
        odd_display: assessment.odd_display,
        p_value: assessment.surprise.p_value,
        unexplained: assessment.surprise.unexplained,
        oddness: oddness.collect(),
        notes: notes.map(|note| NoteDocument { entry: note.entry, text: &note.text }).collect(),
        recalled: recalled(knowledge),
    }
}

fn odd_one(odd: &OddDisplay) -> OddOneDocument {
    let found = &odd.found;
    let test = |test: &SelfScaled| OutlierTest {
        display: odd.displays[test.index],
        statistic: test.statistic,
        limit: test.limit,
        odd: test.flags(),
        power: test.power,
    };
    OddOneDocument {
        set: odd.set,
        display: odd.display(),
        displays: odd.displays.len(),
        difference: found.amount,
        sigmas: found.in_sd,
        healthy_95: found.healthy.p95,
        healthy_99: found.healthy.p99,
        odd: found.is_odd(),
        grubbs: found.grubbs.as_ref().map(test),
        dixon: found.dixon.as_ref().map(test),
        power_at: found.power_at,
    }
}

/// `verify`.
#[derive(Debug, Serialize)]
pub(in crate::cli) struct VerificationDocument<'a> {
    verified: bool,
    remedied: Option<FaultDocument<'a>>,
    readings_after: bool,
    gone: f64,
    left_over: Option<f64>,
    probability: f64,
    proof: Option<&'static str>,
    missing: &'a [String],
}

/// `verify`.
pub(in crate::cli) fn verification<'a>(
    knowledge: &'a Knowledge,
    engine: &Engine,
    verification: &'a Verification,
) -> VerificationDocument<'a> {
    let proof = verification.proof.map(|proof| match proof {
        Proof::Seen => "seen",
        Proof::Reversed => "reversed",
        Proof::Verified => "verified",
    });
    VerificationDocument {
        verified: verification.verified(),
        remedied: verification.remedied.map(|at| fault(knowledge, engine, at)),
        readings_after: verification.readings_after,
        gone: verification.gone,
        left_over: verification.left_over,
        probability: verification.probability,
        proof,
        missing: &verification.missing,
    }
}
