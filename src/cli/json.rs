//! Answers as JSON documents, in the shapes of the contract.
//!
//! Pure. Fields may be added, never renamed or removed.

use serde_json::{Value, json};

use facts::job::entry::{Fate, Journal, What};
use facts::job::read::standing;
use facts::job::timeline::{Closing, Standing, Timeline};
use facts::knowledge::Knowledge;
use judge::diagnosis::{
    Assessment, CauseExplanation, CauseRef, Contribution, Fault, OddDisplay, Proof, Verification,
    odd_display_by_numbers,
};
use judge::heat;
use judge::plan::{Advice, Assumption, Branch, Choice, Step, TestExplanation};
use measure::engine::Engine;
use measure::readings::outlier::odd_one::SelfScaled;
use measure::units::Scale;
use pages::report;

/// A cause at a place: `id`, `place`, `cylinder` (a number or null), `cylinders`.
pub(super) fn fault(knowledge: &Knowledge, engine: &Engine, fault: Fault) -> Value {
    json!({
        "id": fault.cause.id(knowledge),
        "name": fault.cause.name(knowledge),
        "place": fault.place.code(),
        "cylinder": fault.place.cylinder(),
        "cylinders": fault.place.cylinders(engine),
    })
}

/// Adds fields to an object.
fn with(mut object: Value, more: Value) -> Value {
    if let (Value::Object(into), Value::Object(from)) = (&mut object, more) {
        into.extend(from);
    }
    object
}

/// Adds `stop` while the engine must stop or be watched: `verdict`, `why`, `readings`.
pub(super) fn with_stop(document: Value, knowledge: &Knowledge, timeline: &Timeline) -> Value {
    let Some(heat) = heat::judge(knowledge, timeline) else { return document };
    let why = report::heat_line(knowledge, timeline, Scale::Celsius);
    let readings = heat.readings.iter().map(|hot| {
        json!({
            "entry": hot.entry,
            "at": hot.at.as_str(),
            "site": hot.site.as_str(),
            "display": hot.display,
            "value": hot.value,
        })
    });
    let readings: Vec<Value> = readings.collect();
    let stop = json!({"verdict": heat.verdict.as_str(), "why": why, "readings": readings});
    with(document, json!({"stop": stop}))
}

/// `suspects`.
pub(super) fn suspects(knowledge: &Knowledge, timeline: &Timeline, assessed: &Assessment) -> Value {
    let odd = odd_display_by_numbers(knowledge, timeline);
    with(
        assessment(knowledge, &timeline.engine, assessed),
        json!({"odd_one": odd_one(odd.as_ref())}),
    )
}

/// What is suspected, and how surely.
fn assessment(knowledge: &Knowledge, engine: &Engine, assessment: &Assessment) -> Value {
    let causes = assessment.suspects.iter().map(|suspect| {
        let group = match suspect.fault.cause {
            CauseRef::Listed(index) => Some(knowledge.causes[index].group),
            CauseRef::Unlisted => None,
        };
        let id = |index: usize| knowledge.groups[index].id.as_str();
        with(
            fault(knowledge, engine, suspect.fault),
            json!({
                "group": group.map(id),
                "top_group": group.map(|g| id(knowledge.top_group(g))),
                "seat": suspect.fault.cause.seat(knowledge).as_str(),
                "probability": suspect.probability,
                "present": suspect.present,
            }),
        )
    });
    let groups = assessment.groups.iter().map(|&(index, probability)| {
        json!({"id": knowledge.groups[index].id, "probability": probability})
    });
    let seats = assessment
        .seats
        .iter()
        .map(|&(seat, probability)| json!({"id": seat.as_str(), "probability": probability}));
    let notes = assessment.notes.iter().map(|note| json!({"entry": note.entry, "text": note.text}));
    let oddness = assessment.oddness.iter().map(|odd| {
        json!({
            "set": odd.set,
            "display": odd.display,
            "difference": odd.difference,
            "sigmas": odd.sigmas,
        })
    });
    let document = json!({
        "healthy": assessment.healthy,
        "causes": causes.collect::<Vec<_>>(),
        "groups": groups.collect::<Vec<_>>(),
        "seats": seats.collect::<Vec<_>>(),
        "pairs_dropped_mass": assessment.pairs_dropped_mass,
        "present": assessment.present,
        "odd_display": assessment.odd_display,
        "p_value": assessment.surprise.p_value,
        "unexplained": assessment.surprise.unexplained,
        "oddness": oddness.collect::<Vec<_>>(),
        "notes": notes.collect::<Vec<_>>(),
    });
    with(document, recalled(knowledge))
}

/// What a workshop's memory moved: `memory`, only where one was used.
fn recalled(knowledge: &Knowledge) -> Value {
    let Some(recall) = &knowledge.recall else { return json!({}) };
    let factors =
        knowledge.causes.iter().zip(&recall.factors).filter(|(_, f)| (*f - 1.0).abs() > 1e-9);
    let factors: serde_json::Map<String, Value> =
        factors.map(|(cause, factor)| (cause.id.clone(), json!(factor))).collect();
    json!({"memory": {
        "own": recall.own, "worth": recall.worth, "factors": factors,
    }})
}

/// The odd display by statistics alone, for `odd_one` of `suspects`; null without three numbers.
fn odd_one(odd: Option<&OddDisplay>) -> Value {
    let Some(odd) = odd else { return Value::Null };
    let found = &odd.found;
    let test = |test: &SelfScaled| {
        json!({
            "display": odd.displays[test.index],
            "statistic": test.statistic,
            "limit": test.limit,
            "odd": test.flags(),
            "power": test.power,
        })
    };
    json!({
        "set": odd.set,
        "display": odd.display(),
        "displays": odd.displays.len(),
        "difference": found.amount,
        "sigmas": found.in_sd,
        "healthy_95": found.healthy.p95,
        "healthy_99": found.healthy.p99,
        "odd": found.is_odd(),
        "grubbs": found.grubbs.as_ref().map(test),
        "dixon": found.dixon.as_ref().map(test),
        "power_at": found.power_at,
    })
}

/// The job that steps belong to.
#[derive(Clone, Copy)]
pub(super) struct Of<'a> {
    pub(super) knowledge: &'a Knowledge,
    pub(super) timeline: &'a Timeline,
    /// Its name as it was typed.
    pub(super) job: &'a str,
}

/// A step: `kind`, `id`, `cylinder`, `partner`, where it is a remedy its place, and `type`, the
/// lists of arguments that enter it.
fn step(of: Of<'_>, step: Step) -> Value {
    let Of { knowledge, timeline, job } = of;
    let typed = report::arguments(knowledge, timeline, job, step);
    with(step_itself(knowledge, &timeline.engine, step), json!({"type": typed}))
}

fn step_itself(knowledge: &Knowledge, engine: &Engine, step: Step) -> Value {
    let plain = |kind: &str, id: &str| {
        json!({
            "kind": kind, "id": id, "place": null, "cylinder": null, "cylinders": [],
            "partner": null, "probes": null, "at": null, "item": null, "a": null, "b": null,
            "end": null,
        })
    };
    match step {
        Step::Test { test, cylinder, partner, at } => with(
            plain("test", &knowledge.tests[test].id),
            json!({
                "cylinder": cylinder,
                "cylinders": cylinder.iter().chain(&partner).collect::<Vec<_>>(),
                "partner": partner,
                "at": at.map(facts::knowledge::RunningPoint::as_str),
            }),
        ),
        Step::Remedy(at) => with(plain("remedy", ""), fault(knowledge, engine, at)),
        Step::Readings { at, site } => {
            let probes = json!({"probes": site.as_str(), "at": at.as_str()});
            with(plain("readings", at.as_str()), probes)
        }
        Step::Verify { at } => with(plain("verify", "verify"), json!({"at": at.as_str()})),
        Step::PutBack { item, a, b } => with(
            plain("put-back", item.as_str()),
            json!({"item": item.as_str(), "a": a, "b": b, "cylinders": [a, b]}),
        ),
        Step::End(end) => with(plain("stop", "stop"), json!({"end": end.as_str()})),
    }
}

fn branch(of: Of<'_>, branch: &Branch) -> Value {
    let (knowledge, engine) = (of.knowledge, &of.timeline.engine);
    let leads = branch.leads.map(|(at, probability)| {
        with(fault(knowledge, engine, at), json!({"probability": probability}))
    });
    json!({
        "id": branch.id,
        "text": branch.text,
        "probability": branch.probability,
        "partner": branch.partner,
        "then": branch.then.map(|then| step(of, then)),
        "leads": leads,
    })
}

fn choice(of: Of<'_>, choice: &Choice) -> Value {
    let knowledge = of.knowledge;
    let outcomes = choice.branches.iter().map(|b| branch(of, b));
    let cautions = choice.cautions.iter().map(|&index| knowledge.cautions[index].text.as_str());
    with(
        step(of, choice.step),
        json!({
            "cost": {
                "hands_on_min": choice.cost.hands_on,
                "wait_min": choice.cost.wait,
                "parts": choice.cost.parts,
                "total": choice.total,
            },
            "expected_total": choice.expected_total,
            "expected_hands_on_min": choice.expected_hands_on,
            "lower_bound": choice.lower_bound,
            "gap": choice.gap(),
            "outcomes": outcomes.collect::<Vec<_>>(),
            "cautions": cautions.collect::<Vec<_>>(),
            "before": choice.before.map(|test| &knowledge.tests[test].id),
            "why": choice.why,
        }),
    )
}

/// `next`.
pub(super) fn advice(of: Of<'_>, advice: &Advice) -> Value {
    let knowledge = of.knowledge;
    let alternatives = advice.alternatives.iter().map(|c| choice(of, c));
    let guards = advice.guards.iter().map(|guard| {
        let held = guard.held_back.iter().map(|&s| step(of, s));
        json!({
            "code": guard.code,
            "text": guard.text,
            "held_back": held.collect::<Vec<_>>(),
        })
    });
    let leans = advice.leans.iter().map(|lean| {
        let (figure, cause, outcome) = match &lean.assumption {
            Assumption::Prior(cause) => ("prior", cause, None),
            Assumption::Row { cause, id, .. } => ("row", cause, Some(id)),
        };
        json!({
            "figure": figure,
            "cause": cause.id(knowledge),
            "outcome": outcome,
            "factor": lean.factor,
            "instead": lean.instead.map(|s| step(of, s)),
            "dearer_min": lean.minutes,
        })
    });
    let best = with(choice(of, &advice.best), recalled(knowledge));
    with(
        best,
        json!({
            "lower_bound": advice.lower_bound,
            "gap": advice.gap(),
            "standing": advice.standing.as_str(),
            "sound": advice.sound,
            "holds": advice.holds,
            "sensitivity": leans.collect::<Vec<_>>(),
            "within": advice.in_time.map(|found| json!({
                "minutes": found.minutes,
                "chance": found.chance,
                "takes_min": found.takes,
            })),
            "guards": guards.collect::<Vec<_>>(),
            "alternatives": alternatives.collect::<Vec<_>>(),
        }),
    )
}

/// `verify`.
pub(super) fn verification(
    knowledge: &Knowledge,
    engine: &Engine,
    verification: &Verification,
) -> Value {
    let proof = verification.proof.map(|proof| match proof {
        Proof::Seen => "seen",
        Proof::Reversed => "reversed",
        Proof::Verified => "verified",
    });
    json!({
        "verified": verification.verified(),
        "remedied": verification.remedied.map(|at| fault(knowledge, engine, at)),
        "readings_after": verification.readings_after,
        "gone": verification.gone,
        "left_over": verification.left_over,
        "probability": verification.probability,
        "proof": proof,
        "missing": verification.missing,
    })
}

/// `why CAUSE`.
pub(super) fn cause_explanation(
    knowledge: &Knowledge,
    engine: &Engine,
    explanation: &CauseExplanation,
) -> Value {
    let contribution = |part: &Contribution| {
        json!({
            "entry": part.entry,
            "text": part.text,
            "before": part.before,
            "after": part.after,
            "log_odds": part.log_odds,
        })
    };
    let expected = explanation.expected.iter().map(|shift| {
        json!({
            "entry": shift.entry,
            "at": shift.at.as_str(),
            "probes": shift.site.as_str(),
            "display": shift.display,
            "expected": shift.expected.map(|(mean, sd)| json!({"mean": mean, "sd": sd})),
            "shown": shift.shown,
        })
    });
    with(
        fault(knowledge, engine, explanation.fault),
        json!({
            "kind": "cause",
            "probability": explanation.probability,
            "prior": explanation.prior,
            "contributions":
                explanation.contributions.iter().map(contribution).collect::<Vec<_>>(),
            "expected": expected.collect::<Vec<_>>(),
        }),
    )
}

/// `why TEST`.
pub(super) fn test_explanation(of: Of<'_>, explanation: &TestExplanation) -> Value {
    let (knowledge, engine) = (of.knowledge, &of.timeline.engine);
    let moves = explanation.moves.iter().map(|(outcome, list)| {
        let list = list.iter().map(|&(at, before, after)| {
            let change = json!({"before": before, "after": after});
            with(fault(knowledge, engine, at), change)
        });
        json!({"outcome": outcome, "causes": list.collect::<Vec<_>>()})
    });
    with(
        choice(of, &explanation.choice),
        json!({
            "without": explanation.without,
            "information_bits": explanation.information,
            "moves": moves.collect::<Vec<_>>(),
        }),
    )
}

/// `journal`.
pub(super) fn journal(journal: &Journal) -> Value {
    let fates = journal.fates();
    let entries = (1..).zip(&journal.entries).map(|(number, entry)| {
        let (fate, undo) = (fates[number - 1], matches!(entry.what, What::Undo { .. }));
        let mut document = json!({
            "entry": number,
            "time": entry.time.to_string(),
            "typed": entry.typed,
            "stands": fate == Fate::Stands && !undo,
            "what": entry.what,
        });
        if let Some(earlier) = entry.instead {
            document["instead"] = json!(earlier);
        }
        if let Fate::Corrected { by } = fate {
            document["corrected_by"] = json!(by);
        }
        document
    });
    let standing = standing(journal);
    json!({
        "head": journal.head,
        "entries": entries.collect::<Vec<_>>(),
        "closed": matches!(standing, Standing::Closed(_)),
        "proven": standing == Standing::Closed(Closing::Proven),
    })
}

#[cfg(test)]
mod tests;
