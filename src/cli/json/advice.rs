//! Steps with what they cost and show, and what is advised: `next`.
//!
//! It must not choose: what is best comes in.

use serde::Serialize;

use super::{FaultDocument, Recalled, fault, recalled};
use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, RunningPoint};
use judge::plan::{Advice, Assumption, Branch, Choice, Guard, Lean, Step};
use measure::engine::Cylinder;
use pages::report;

/// The job that steps belong to.
#[derive(Clone, Copy)]
pub(in crate::cli) struct Of<'a> {
    pub(in crate::cli) knowledge: &'a Knowledge,
    pub(in crate::cli) timeline: &'a Timeline,
    /// Its name as it was typed.
    pub(in crate::cli) job: &'a str,
}

/// A step; what its kind does not have is null.
#[derive(Debug, Default, Serialize)]
struct StepDocument<'a> {
    kind: &'static str,
    id: &'a str,
    /// Of a remedy: what it is for.
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'a str>,
    place: Option<String>,
    cylinder: Option<Cylinder>,
    cylinders: Vec<Cylinder>,
    partner: Option<Cylinder>,
    probes: Option<&'static str>,
    at: Option<&'static str>,
    item: Option<&'static str>,
    a: Option<Cylinder>,
    b: Option<Cylinder>,
    end: Option<&'static str>,
    /// The lists of arguments that enter it.
    r#type: Vec<Vec<String>>,
}

fn step<'a>(of: Of<'a>, step: Step) -> StepDocument<'a> {
    let Of { knowledge, timeline, job } = of;
    let plain = |kind, id: &'a str| StepDocument {
        kind,
        id,
        r#type: report::arguments(knowledge, timeline, job, step),
        ..StepDocument::default()
    };
    match step {
        Step::Test { test, cylinder, partner, at } => StepDocument {
            cylinder,
            cylinders: cylinder.into_iter().chain(partner).collect(),
            partner,
            at: at.map(RunningPoint::as_str),
            ..plain("test", &knowledge.tests[test].id)
        },
        Step::Remedy(at) => {
            let FaultDocument { id, name, place, cylinder, cylinders } =
                fault(knowledge, &timeline.engine, at);
            let (name, place) = (Some(name), Some(place));
            StepDocument { name, place, cylinder, cylinders, ..plain("remedy", id) }
        }
        Step::Readings { at, site } => StepDocument {
            probes: Some(site.as_str()),
            at: Some(at.as_str()),
            ..plain("readings", at.as_str())
        },
        Step::Verify { at } => StepDocument { at: Some(at.as_str()), ..plain("verify", "verify") },
        Step::PutBack { item, a, b } => StepDocument {
            item: Some(item.as_str()),
            a: Some(a),
            b: Some(b),
            cylinders: vec![a, b],
            ..plain("put-back", item.as_str())
        },
        Step::End(end) => StepDocument { end: Some(end.as_str()), ..plain("stop", "stop") },
    }
}

#[derive(Debug, Serialize)]
struct BranchDocument<'a> {
    id: &'a str,
    text: &'a str,
    probability: f64,
    partner: bool,
    then: Option<StepDocument<'a>>,
    leads: Option<LeaderDocument<'a>>,
}

/// The suspect that would then lead.
#[derive(Debug, Serialize)]
struct LeaderDocument<'a> {
    #[serde(flatten)]
    fault: FaultDocument<'a>,
    probability: f64,
}

fn branch<'a>(of: Of<'a>, branch: &'a Branch) -> BranchDocument<'a> {
    let leads = branch.leads.map(|(at, probability)| LeaderDocument {
        fault: fault(of.knowledge, &of.timeline.engine, at),
        probability,
    });
    BranchDocument {
        id: &branch.id,
        text: &branch.text,
        probability: branch.probability,
        partner: branch.partner,
        then: branch.then.map(|then| step(of, then)),
        leads,
    }
}

/// A step with what it costs and can show.
#[derive(Debug, Serialize)]
pub(super) struct ChoiceDocument<'a> {
    #[serde(flatten)]
    step: StepDocument<'a>,
    cost: CostDocument,
    expected_total: f64,
    expected_hands_on_min: f64,
    lower_bound: f64,
    gap: f64,
    outcomes: Vec<BranchDocument<'a>>,
    cautions: Vec<&'a str>,
    before: Option<&'a str>,
    why: &'a [String],
}

#[derive(Debug, Serialize)]
struct CostDocument {
    hands_on_min: f64,
    wait_min: f64,
    parts: f64,
    total: f64,
}

pub(super) fn choice<'a>(of: Of<'a>, choice: &'a Choice) -> ChoiceDocument<'a> {
    let knowledge = of.knowledge;
    let cautions = choice.cautions.iter();
    ChoiceDocument {
        step: step(of, choice.step),
        cost: CostDocument {
            hands_on_min: choice.cost.hands_on,
            wait_min: choice.cost.wait,
            parts: choice.cost.parts,
            total: choice.total,
        },
        expected_total: choice.expected_total,
        expected_hands_on_min: choice.expected_hands_on,
        lower_bound: choice.lower_bound,
        gap: choice.gap(),
        outcomes: choice.branches.iter().map(|of_it| branch(of, of_it)).collect(),
        cautions: cautions.map(|&index| knowledge.cautions[index].text.as_str()).collect(),
        before: choice.before.map(|test| knowledge.tests[test].id.as_str()),
        why: &choice.why,
    }
}

/// `next`.
#[derive(Debug, Serialize)]
pub(in crate::cli) struct AdviceDocument<'a> {
    #[serde(flatten)]
    best: ChoiceDocument<'a>,
    #[serde(flatten)]
    recalled: Recalled<'a>,
    // Of all plans together: these two stand in the place of those of the first choice.
    lower_bound: f64,
    gap: f64,
    standing: &'static str,
    sound: f64,
    holds: bool,
    sensitivity: Vec<LeanDocument<'a>>,
    within: Option<WithinDocument>,
    guards: Vec<GuardDocument<'a>>,
    alternatives: Vec<ChoiceDocument<'a>>,
}

/// What a figure that is off would do.
#[derive(Debug, Serialize)]
struct LeanDocument<'a> {
    figure: &'static str,
    cause: &'a str,
    outcome: Option<&'a str>,
    factor: f64,
    instead: Option<StepDocument<'a>>,
    dearer_min: f64,
}

#[derive(Debug, Serialize)]
struct WithinDocument {
    minutes: f64,
    chance: f64,
    takes_min: f64,
}

#[derive(Debug, Serialize)]
struct GuardDocument<'a> {
    code: &'static str,
    text: &'a str,
    held_back: Vec<StepDocument<'a>>,
}

fn guard<'a>(of: Of<'a>, guard: &'a Guard) -> GuardDocument<'a> {
    let held_back = guard.held_back.iter().map(|&held| step(of, held)).collect();
    GuardDocument { code: guard.code, text: &guard.text, held_back }
}

fn lean<'a>(of: Of<'a>, lean: &'a Lean) -> LeanDocument<'a> {
    let (figure, cause, outcome) = match &lean.assumption {
        Assumption::Prior(cause) => ("prior", cause, None),
        Assumption::Row { cause, id, .. } => ("row", cause, Some(id.as_str())),
    };
    LeanDocument {
        figure,
        cause: cause.id(of.knowledge),
        outcome,
        factor: lean.factor,
        instead: lean.instead.map(|instead| step(of, instead)),
        dearer_min: lean.minutes,
    }
}

/// `next`.
pub(in crate::cli) fn advice<'a>(of: Of<'a>, advice: &'a Advice) -> AdviceDocument<'a> {
    AdviceDocument {
        best: choice(of, &advice.best),
        recalled: recalled(of.knowledge),
        lower_bound: advice.lower_bound,
        gap: advice.gap(),
        standing: advice.standing.as_str(),
        sound: advice.sound,
        holds: advice.holds,
        sensitivity: advice.leans.iter().map(|figure| lean(of, figure)).collect(),
        within: advice.in_time.map(|found| WithinDocument {
            minutes: found.minutes,
            chance: found.chance,
            takes_min: found.takes,
        }),
        guards: advice.guards.iter().map(|rule| guard(of, rule)).collect(),
        alternatives: advice.alternatives.iter().map(|other| choice(of, other)).collect(),
    }
}
