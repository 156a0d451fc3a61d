//! When nothing is run at load.
//!
//! A cylinder that may really overheat is not run where it would, and load is worked up to in steps. It must
//! not look at prices but to add the one that the asker puts on a run at load.

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::{CauseRef, Fault};
use crate::heat;
use crate::plan::actions::Choices;
use crate::plan::advice::{Guard, Step};
use crate::plan::ends::ODD;
use facts::knowledge::{Knowledge, Load, RunningPoint, Thermal};
use measure::percent::percent;

use super::Held;

/// Probability of a hot cylinder up to which load is read where that is what is complained of.
const AT_LOAD: f64 = 0.5;
/// The same where it was put right: the points below, at which it never showed, say nothing of whether it is gone
/// (common practice, no source).
const AT_LOAD_CURED: f64 = 0.2;

/// Whether the engine may be run at a point: at load only after steady cruise, and not while a
/// cylinder may really be overheating, unless the mechanic confirmed it.
pub(crate) fn may_run_at(diagnosis: &Diagnosis<'_>, at: RunningPoint) -> bool {
    let (knowledge, timeline) = (diagnosis.model.knowledge, diagnosis.model.timeline);
    if timeline.load_confirmed {
        return true;
    }
    if !heat::allows(knowledge, timeline, at) {
        return false;
    }
    if !at.is_full_load() {
        return true;
    }
    let climbed = timeline.sets.iter().any(|set| set.at.load == Load::Part);
    climbed && hot(diagnosis) < most_hot(diagnosis)
}

/// Probability of a hot cylinder from which nothing is run at load.
///
/// What is complained of at load, or was put right and showed there, shows nowhere else. Where steady cruise
/// shows nothing far off, and load nothing far above the others, load is read all the same, with care, unless a
/// hot cylinder is more likely than not. After a remedy only the readings since count: what it was for is gone
/// or is not.
fn most_hot(diagnosis: &Diagnosis<'_>) -> f64 {
    let (knowledge, timeline) = (diagnosis.model.knowledge, diagnosis.model.timeline);
    let complaint = &timeline.complaint;
    let since = timeline.remedied_by();
    let sizes = |load, slots: std::ops::Range<usize>| {
        let odd = diagnosis.assessment.oddness.iter();
        let odd = odd.filter(move |odd| {
            let set = &timeline.sets[odd.set];
            set.at.load == load && slots.contains(&set.after)
        });
        odd.filter_map(|odd| odd.sigmas)
    };
    let (before, after) = (0..since, since..usize::MAX);
    let shows_there = complaint.at.is_some_and(RunningPoint::is_full_load)
        || complaint.heard.points.iter().any(|at| at.is_full_load())
        || sizes(Load::Full, before).any(|s| s.abs() >= ODD);
    let level = sizes(Load::Part, after.clone()).map(f64::abs).reduce(f64::max);
    let high = sizes(Load::Full, after).any(|s| s >= ODD);
    if shows_there && level.is_some_and(|most| most < ODD) && !high {
        if since > 0 { AT_LOAD_CURED } else { AT_LOAD }
    } else {
        knowledge.constants.heat_share
    }
}

/// Nothing runs at load while a cylinder may really be overheating, unless confirmed.
pub(super) fn no_load(diagnosis: &Diagnosis<'_>, choices: &Choices, held: &mut Held) {
    let knowledge = diagnosis.model.knowledge;
    let hot = hot(diagnosis);
    let heat = hot >= most_hot(diagnosis);
    let barred = barred(diagnosis, Load::Full);
    if barred.is_empty() {
        return;
    }
    let steps = hold(choices, held, |step| at_load(knowledge, step) && is_barred(step, &barred));
    if !steps.is_empty() {
        held.guards.push(Guard {
            code: "no-load",
            text: if barred.iter().any(|at| !heat::allows(knowledge, diagnosis.model.timeline, *at)) {
                "A display read hotter than it may: nothing is run at full load until that is read again and found \
                 right, or you say that it is safe here (`oddpot confirm-load`). The builder's limit stands above \
                 all."
                    .to_owned()
            } else if heat {
                format!(
                    "A cylinder that really runs hot is possible ({}): nothing is run at full load until \
                     you say that it is safe here (`oddpot confirm-load`). The builder's limit stands above all.",
                    percent(hot)
                )
            } else {
                "Work up in steps: no full load before the readings at steady cruise are in.".to_owned()
            },
            held_back: steps,
        });
    }
}

/// Nothing runs at steady cruise while a display there asks for the engine to be stopped.
pub(super) fn no_cruise(diagnosis: &Diagnosis<'_>, choices: &Choices, held: &mut Held) {
    let barred = barred(diagnosis, Load::Part);
    if barred.is_empty() {
        return;
    }
    let knowledge = diagnosis.model.knowledge;
    let steps = hold(choices, held, |step| cruises(knowledge, step) && is_barred(step, &barred));
    if !steps.is_empty() {
        held.guards.push(Guard {
            code: "no-cruise",
            text: "At steady cruise a display read hotter than it may: nothing is run there until idle was read \
                   without heat after something was put right, or you say that it is safe here (`oddpot \
                   confirm-load`)."
                .to_owned(),
            held_back: steps,
        });
    }
}

/// Holds back the tests and looks of a kind, and says which those are.
fn hold(choices: &Choices, held: &mut Held, is_meant: impl Fn(Step) -> bool) -> Vec<Step> {
    let mut steps = Vec::new();
    for (index, option) in choices.options.iter().enumerate() {
        if is_meant(option.step) {
            held.probes[index] = true;
            steps.push(option.step);
        }
    }
    steps
}

/// Points at some load at which the engine may not be run now.
fn barred(diagnosis: &Diagnosis<'_>, load: Load) -> Vec<RunningPoint> {
    let points = diagnosis.model.timeline.points.iter();
    points.filter(|at| at.load == load && !may_run_at(diagnosis, *at)).collect()
}

/// Whether a step at load is one of those that are barred: readings and looks at their own point, what goes up to
/// that load by itself at any.
fn is_barred(step: Step, barred: &[RunningPoint]) -> bool {
    match step {
        Step::Readings { at, .. } => barred.contains(&at),
        Step::Test { at: Some(at), .. } if barred.iter().any(|other| other.load == at.load) => {
            barred.contains(&at)
        }
        _ => true,
    }
}

/// Whether a step runs the engine at steady cruise and cannot be done below.
fn cruises(knowledge: &Knowledge, step: Step) -> bool {
    match step {
        Step::Readings { at, .. } => at.load == Load::Part,
        Step::Test { test, at, .. } => {
            let test = &knowledge.tests[test];
            let there =
                test.states == [Thermal::Cruise] || at.is_some_and(|at| at.load == Load::Part);
            there || test.leaves == Some(Thermal::Cruise)
        }
        _ => false,
    }
}

/// Probability that a cylinder really runs hot.
fn hot(diagnosis: &Diagnosis<'_>) -> f64 {
    let knowledge = diagnosis.model.knowledge;
    let heats = |(fault, present): (&Fault, &f64)| {
        *present >= 0.5
            && match fault.cause {
                CauseRef::Listed(index) => knowledge.causes[index].heat,
                CauseRef::Unlisted => true,
            }
    };
    let hypotheses = diagnosis.assessment.hypotheses.iter();
    hypotheses.filter(|h| h.faults.iter().zip(&h.present).any(heats)).map(|h| h.probability).sum()
}

/// Whether a step runs the engine at full load.
fn at_load(knowledge: &Knowledge, step: Step) -> bool {
    match step {
        Step::Readings { at, .. } => at.is_full_load(),
        Step::Test { test, at, .. } => {
            let test = &knowledge.tests[test];
            let there =
                test.states == [Thermal::Full] || at.is_some_and(RunningPoint::is_full_load);
            there || test.leaves == Some(Thermal::Full)
        }
        _ => false,
    }
}

/// Adds the price that the asker puts on each run at load, steady cruise counted in, while a
/// cylinder may really overheat.
pub(crate) fn price_the_risk(diagnosis: &Diagnosis<'_>, choices: &mut Choices, risk: f64) {
    let knowledge = diagnosis.model.knowledge;
    if risk <= 0.0 || hot(diagnosis) < knowledge.constants.heat_share {
        return;
    }
    for (probe, option) in choices.problem.probes.iter_mut().zip(&choices.options) {
        if at_load(knowledge, option.step) || cruises(knowledge, option.step) {
            probe.price.total += risk;
        }
    }
}
