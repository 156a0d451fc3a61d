//! A job's decision problem in plain numbers, for other programs to recompute.
//!
//! What `tests/reference` feeds to general Bayesian-network libraries and to a second
//! implementation of the arithmetic. It repeats what diagnosis and plan worked with and what
//! they made of it; it must not work anything out in a way of its own.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::diagnosis::assess::{Diagnosis, Way, Weighed, ways};
use crate::diagnosis::gaussian::{Base, Effect, Moved, Tail, Weight};
use crate::diagnosis::linalg::log_sum_exp;
use crate::diagnosis::model::{Model, Part, Sight};
use crate::diagnosis::path::Presence;
use crate::diagnosis::{Assessment, Fault};
use facts::knowledge::{Knowledge, Test};

use super::actions::{Choosable, choices};
use super::advice::Step;
use super::problem::{Price, Probe, Problem, Repair, Situation, World};
use super::value::Planner;

/// Ways of being wrong whose reading likelihood is laid open.
const LAID_OPEN: usize = 24;

/// Everything.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Dump {
    /// The kept hypotheses, most probable first.
    pub hypotheses: Vec<HypothesisDump>,
    /// States of the network's one cause node: a hypothesis with a history of presence.
    pub states: Vec<StateDump>,
    /// Tests and verdicts in words that were entered and count.
    pub evidence: Vec<EvidenceDump>,
    /// The numbers read and how likely they are.
    pub readings: ReadingsDump,
    /// What can be done next and what it is worth.
    pub plan: PlanDump,
}

/// An explanation of everything entered.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HypothesisDump {
    /// Its faults, as `cause@place`.
    pub faults: Vec<String>,
    /// Logarithm of its prior probability.
    pub log_prior: f64,
    /// Logarithm of the likelihood of all entries.
    pub log_likelihood: f64,
    /// Probability among the kept hypotheses.
    pub posterior: f64,
}

/// A hypothesis together with when its faults were there. Weight times the likelihood of the
/// readings is what the network takes as prior weight of the state.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StateDump {
    /// Index into [`Dump::hypotheses`].
    pub hypothesis: usize,
    /// Logarithm of the prior probability of the state.
    pub log_weight: f64,
    /// Logarithm of the likelihood of numbers and display states.
    pub log_readings: f64,
}

/// A test's outcome as evidence.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EvidenceDump {
    /// Number of the journal entry.
    pub entry: usize,
    /// Test id.
    pub test: String,
    /// Outcome ids.
    pub outcomes: Vec<String>,
    /// Index of the outcome seen.
    pub seen: usize,
    /// Chance of each outcome in each state: `[outcome][state]`.
    pub rows: Vec<Vec<f64>>,
}

/// The pieces of the reading likelihood.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingsDump {
    /// Numbers read, °C.
    pub y: Vec<f64>,
    /// Reading set of each.
    pub set: Vec<usize>,
    /// Degrees of freedom of Student's t.
    pub freedom: f64,
    /// Chance that a number is grossly wrong.
    pub misread_chance: f64,
    /// Variance that it then has on top, by number.
    pub misread_extra: Vec<f64>,
    /// Some ways of being wrong, laid open.
    pub cases: Vec<ReadingDump>,
}

/// One of the scales that the likelihood of the numbers is summed over.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ScaleDump {
    /// Log of its weight.
    pub log_weight: f64,
    /// Factor on the natural spread.
    pub spread: f64,
    /// Factor on the repeatability.
    pub noise: f64,
    /// Cylinders that are wide.
    pub wide: Vec<usize>,
    /// Numbers that are misread, by index.
    pub misread: Vec<usize>,
}

/// The likelihood of the numbers under one way of being wrong.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingDump {
    /// Index into [`Dump::hypotheses`].
    pub hypothesis: usize,
    /// Covariance without the effect, °C².
    pub v0: Vec<Vec<f64>>,
    /// Mean shift of the numbers it touches: index and °C.
    pub shift: Vec<(usize, f64)>,
    /// For each touched number, its entries in the columns of the factor of the effect's
    /// covariance, °C.
    pub factor: Vec<Vec<f64>>,
    /// Log density of orthonormal contrasts within the sets at scale one, Student's t.
    pub log_density: f64,
    /// The same with normal tails.
    pub log_density_normal: f64,
    /// The sum over all scales, wide cylinders and misread numbers that the diagnosis sums over.
    pub log_density_guarded: f64,
    /// Those.
    pub scales: Vec<ScaleDump>,
}

/// The choices of the planner.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanDump {
    /// What must be cured: faults of each case.
    pub cases: Vec<Vec<String>>,
    /// Probability of each case.
    pub belief: Vec<f64>,
    /// Repairs that each case needs.
    pub cures: Vec<Vec<usize>>,
    /// Repairs.
    pub repairs: Vec<Repair>,
    /// Prices of moving between situations.
    pub world: World,
    /// Where things stand.
    pub now: Situation,
    /// Price of a search that finds whatever it is.
    pub search: Option<Price>,
    /// Expected price of repairing without another test.
    pub stop: Price,
    /// Repairs in the order in which they would be tried.
    pub order: Vec<usize>,
    /// Tests and further readings.
    pub tests: Vec<TestDump>,
}

/// A test or reading that can be done next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TestDump {
    /// Test id or `readings`, then where.
    pub id: String,
    /// Outcome ids.
    pub outcomes: Vec<String>,
    /// Price, needs, and chance of each outcome in each case.
    pub probe: Probe,
    /// Price of doing it from here, set-ups included.
    pub doing: Price,
    /// Expected price of doing it and then repairing.
    pub one_step: Price,
    /// What it saves against repairing at once, minutes of labour.
    pub value: f64,
}

/// Lays a diagnosis open.
#[must_use]
pub fn dump(diagnosis: &Diagnosis<'_>) -> Dump {
    let Diagnosis { model, kept, assessment, best, .. } = diagnosis;
    let log_prior = |weighed: &Weighed| weighed.log - weighed.log_likelihood;
    let ways: Vec<Vec<Way>> = kept
        .iter()
        .map(|weighed| ways(model, &weighed.candidates, log_prior(weighed), *best))
        .collect();
    let (states, parts) = states(kept, &ways);
    Dump {
        hypotheses: hypotheses(model.knowledge, kept, assessment),
        evidence: evidence(model, &parts),
        states,
        readings: readings(model, &ways),
        plan: plan(diagnosis),
    }
}

fn name(knowledge: &Knowledge, fault: Fault) -> String {
    format!("{}@{}", fault.cause.id(knowledge), fault.place.code())
}

fn hypotheses(
    knowledge: &Knowledge,
    kept: &[Weighed],
    assessment: &Assessment,
) -> Vec<HypothesisDump> {
    kept.iter()
        .zip(&assessment.hypotheses)
        .map(|(weighed, h)| HypothesisDump {
            faults: h.faults.iter().map(|f| name(knowledge, *f)).collect(),
            log_prior: weighed.log - weighed.log_likelihood,
            log_likelihood: weighed.log_likelihood,
            posterior: h.probability,
        })
        .collect()
}

/// Ways of all hypotheses, those that differ only in their sides taken together; with one of the
/// ways of each.
fn states(kept: &[Weighed], ways: &[Vec<Way>]) -> (Vec<StateDump>, Vec<Vec<Part>>) {
    let mut states = Vec::new();
    let mut parts = Vec::new();
    for (hypothesis, (weighed, ways)) in kept.iter().zip(ways).enumerate() {
        // Presence of each fault, and the logs of weight and of weight times likelihood.
        let mut histories: Vec<(Vec<Presence>, Vec<f64>, Vec<f64>)> = Vec::new();
        for way in ways {
            let history: Vec<Presence> = way.parts.iter().map(|part| part.presence).collect();
            let joint = way.weight + way.readings;
            if let Some(known) = histories.iter_mut().find(|h| h.0 == history) {
                known.1.push(way.weight);
                known.2.push(joint);
            } else {
                histories.push((history, vec![way.weight], vec![joint]));
                parts.push(way.parts.clone());
            }
        }
        states.extend(histories.into_iter().map(|(_, logs, joints)| {
            let log_weight = log_sum_exp(&logs);
            StateDump {
                hypothesis,
                log_weight: weighed.log - weighed.log_likelihood + log_weight,
                log_readings: log_sum_exp(&joints) - log_weight,
            }
        }));
    }
    (states, parts)
}

fn evidence(model: &Model<'_>, states: &[Vec<Part>]) -> Vec<EvidenceDump> {
    let knowledge = model.knowledge;
    // What each look was expected to show after those before it: their product is the chance of all.
    let found = model.looks.iter().flat_map(|looks| {
        let sights: Vec<Vec<Sight>> =
            states.iter().map(|parts| model.sights(parts, looks)).collect();
        let one = |(n, &index): (usize, &usize)| {
            let finding = &model.timeline.findings[index];
            let rows: Vec<Vec<f64>> = sights.iter().map(|list| list[n].row.clone()).collect();
            entered(finding.entry, &knowledge.tests[finding.test], finding.outcome, &rows)
        };
        looks.findings.iter().enumerate().map(one).collect::<Vec<_>>()
    });
    let said = model.timeline.disturbances.iter().enumerate().filter_map(|(index, disturbance)| {
        let verdict = disturbance.verdict.as_ref().filter(|verdict| !verdict.superseded)?;
        let rows: Vec<Vec<f64>> =
            states.iter().map(|parts| model.verdict_row(parts, index, verdict)).collect();
        Some(entered(verdict.entry, &knowledge.tests[verdict.test], verdict.outcome, &rows))
    });
    found.chain(said).collect()
}

fn entered(entry: usize, test: &Test, seen: usize, by_state: &[Vec<f64>]) -> EvidenceDump {
    EvidenceDump {
        entry,
        test: test.id.clone(),
        outcomes: test.outcomes.iter().map(|o| o.id.clone()).collect(),
        seen,
        rows: super::actions::transpose(by_state, test.outcomes.len()),
    }
}

fn readings(model: &Model<'_>, ways: &[Vec<Way>]) -> ReadingsDump {
    let constants = &model.knowledge.constants;
    let y: Vec<f64> = model.data.rows.iter().map(|row| row.value).collect();
    let set: Vec<usize> = model.data.rows.iter().map(|row| row.set).collect();
    let all = ways.iter().enumerate().flat_map(|(h, ways)| ways.iter().map(move |w| (h, &w.parts)));
    let cases = all.take(LAID_OPEN).filter_map(|(hypothesis, parts)| {
        let base = model.base_of(parts)?;
        let effects = model.effects_of(base, parts);
        let v0 = model.covariance_of(parts);
        let dense = |tail| {
            let base = Base::new(&y, &set, &v0, tail);
            let effects: Vec<Effect<'_>> =
                effects.iter().map(|effect| as_dense(&base, effect)).collect();
            base.log_density(&effects)
        };
        let (shift, factor) = laid_open(&effects);
        Some(ReadingDump {
            hypothesis,
            v0: (0..v0.rows()).map(|i| v0.row(i).to_vec()).collect(),
            log_density: dense(Tail::Student(FREEDOM)),
            log_density_normal: dense(Tail::Normal),
            log_density_guarded: base.log_density(&effects, |_| true),
            scales: scales(base.weights()),
            shift,
            factor,
        })
    });
    let cases = cases.collect();
    ReadingsDump {
        y,
        set,
        freedom: FREEDOM,
        misread_chance: constants.misread_chance,
        misread_extra: vec![constants.misread_sd.powi(2); model.data.rows.len()],
        cases,
    }
}

/// Degrees of freedom at which Student's t is laid open, so that general libraries can be held against
/// it; the diagnosis itself sums over scales.
const FREEDOM: f64 = 8.0;

/// An effect for the dense likelihood.
fn as_dense<'a>(base: &Base, effect: &Moved<'a>) -> Effect<'a> {
    let touched = effect.on.rows().iter().map(|(row, kind, _)| (*row, *kind)).collect();
    let on = std::rc::Rc::new(base.rows_anew(touched, effect.on.kinds()));
    Effect { on, mean: effect.mean, factor: effect.factor }
}

fn scales(weights: &[Weight]) -> Vec<ScaleDump> {
    let of = |weight: &Weight| ScaleDump {
        log_weight: weight.log,
        spread: weight.spread,
        noise: weight.noise,
        wide: weight.variant.wide.clone(),
        misread: weight.variant.wrong.clone(),
    };
    weights.iter().map(of).collect()
}

/// Mean shift of each number that some effects touch, and its row in the factor of their covariance.
fn laid_open(effects: &[Moved<'_>]) -> (Vec<(usize, f64)>, Vec<Vec<f64>>) {
    let columns: usize = effects.iter().map(|effect| effect.mean.len()).sum();
    let mut numbers: BTreeMap<usize, (f64, Vec<f64>)> = BTreeMap::new();
    let mut from = 0;
    for effect in effects {
        for &(number, kind, _) in effect.on.rows() {
            let (mean, factor) = numbers.entry(number).or_insert_with(|| (0.0, vec![0.0; columns]));
            *mean += effect.mean[kind];
            let row = effect.factor.row(kind);
            factor[from..from + row.len()].copy_from_slice(row);
        }
        from += effect.mean.len();
    }
    numbers.into_iter().map(|(number, (mean, factor))| ((number, mean), factor)).unzip()
}

fn plan(diagnosis: &Diagnosis<'_>) -> PlanDump {
    let knowledge = diagnosis.model.knowledge;
    let choices = choices(diagnosis);
    let planner = Planner::new(&choices.problem);
    let (belief, now) = (&choices.problem.belief, choices.problem.now);
    let stop = planner.stop(belief, now);
    let order = super::value::repair(&choices.problem, planner.prices(), belief, now).order;
    let tests = choices
        .options
        .iter()
        .zip(&choices.problem.probes)
        .enumerate()
        .map(|(index, (option, probe))| {
            let one_step = planner.one_step(belief, now, index);
            TestDump {
                id: step(knowledge, option),
                outcomes: option.outcomes.iter().map(|o| o.0.clone()).collect(),
                probe: probe.clone(),
                doing: planner.doing(index, now).0,
                one_step,
                value: stop.total - one_step.total,
            }
        })
        .collect();
    let faults = |faults: &[Fault]| faults.iter().map(|f| name(knowledge, *f)).collect();
    let cases = choices.cases.iter().map(|case| faults(&case.faults)).collect();
    let Problem { belief, cures, repairs, world, search, .. } = choices.problem;
    PlanDump { cases, belief, cures, repairs, world, now, search, stop, order, tests }
}

fn step(knowledge: &Knowledge, option: &Choosable) -> String {
    match option.step {
        Step::Test { test, cylinder, partner, .. } => {
            let id = &knowledge.tests[test].id;
            match (cylinder, partner) {
                (Some(c), Some(p)) => format!("{id}@{c}-{p}"),
                (Some(c), None) => format!("{id}@{c}"),
                _ => id.clone(),
            }
        }
        Step::Readings { at, site } => format!("readings@{at}-{site}"),
        // No other step is a test.
        Step::Remedy(_) | Step::Verify { .. } | Step::PutBack { .. } | Step::End(_) => {
            String::new()
        }
    }
}
