//! Rules of the trade that hold something back.
//!
//! Each rule says what it forbids and why, as data. They come before any cost: the planner
//! chooses among what is left. No rule here may look at prices.

mod load;

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::{CauseRef, Fault};
use facts::knowledge::{Item, Test, TestKind};
use measure::engine::Place;
use measure::percent::percent;

use super::actions::{Choices, Cure, chain, first_look};
use super::advice::{Guard, Step};
use super::ends::SURE;
use super::problem::{Needs, Repair};

pub(crate) use load::{may_run_at, price_the_risk};

/// Tests that change a mixture or a spark: not on a number that may be wrong (trap 5).
const CHANGES_MIXTURE: [&str; 4] = ["trim-rich", "trim-lean", "trim-retard", "mixture-sweep"];

/// Exchanges and substitutions of engine parts, and trims, wait until probe and lead are cleared.
pub(crate) fn waits_for_the_chain(test: &Test) -> bool {
    let engine_part = matches!(test.kind, TestKind::Exchange | TestKind::Substitute)
        && matches!(test.item, Some(Item::Injector | Item::Plug | Item::Coil | Item::HtLead));
    engine_part || CHANGES_MIXTURE.contains(&test.id.as_str())
}

/// What the rules forbid now.
pub(crate) struct Held {
    /// By probe index: may not be done now.
    pub(crate) probes: Vec<bool>,
    /// By repair index: may not be done now.
    pub(crate) repairs: Vec<bool>,
    /// By repair index: held back for being dear, and for nothing else.
    pub(crate) dear: Vec<bool>,
    /// By repair index: the look that must come first, where nothing else holds it back.
    pub(crate) looks: Vec<Option<usize>>,
    /// The rules that bite, with what they hold back.
    pub(crate) guards: Vec<Guard>,
}

/// Share of the belief that work with dear parts or long hours must have for it.
pub(crate) const BUY: f64 = 0.6;
/// Minutes of labour, in parts or hours, from which work counts as dear; and those of parts alone.
const DEAR: f64 = 60.0;
pub(crate) const DEAR_PART: f64 = 40.0;
/// How much likelier an outcome must be with a fault than with the others, as likely as they are, for the
/// fault to be found by it.
pub(crate) const FOUND_AGAIN: f64 = 3.0;

/// Chance of the usual outcome, misnamed, up to which a test tells whose number a display shows.
const MISNAMED: f64 = 0.1;

/// Applies every rule.
pub(crate) fn held(diagnosis: &Diagnosis<'_>, choices: &mut Choices) -> Held {
    let mut held = Held {
        probes: vec![false; choices.options.len()],
        repairs: vec![false; choices.cures.len()],
        dear: vec![false; choices.cures.len()],
        looks: vec![None; choices.cures.len()],
        guards: Vec::new(),
    };
    chain_first(diagnosis, choices, &mut held);
    load::no_load(diagnosis, choices, &mut held);
    load::no_cruise(diagnosis, choices, &mut held);
    prove_before_buying(diagnosis, choices, &mut held);
    look_first(diagnosis, choices, &mut held);
    whose_number_first(diagnosis, choices, &mut held);
    let barred = not_twice(diagnosis, choices, &mut held);
    found_by_search(choices, &barred);
    held
}

/// No engine part is exchanged or bought, and no mixture changed, while the measuring chain that shows the
/// cylinder holds a material share.
fn chain_first(diagnosis: &Diagnosis<'_>, choices: &Choices, held: &mut Held) {
    let problem = &choices.problem;
    let mut steps = Vec::new();
    // Belief in the faults that must be out first, at those of some places where they are not.
    let not_out = |places: &[usize]| {
        let waiting = places.iter().filter(|place| !problem.cleared(&problem.belief, **place));
        waiting.map(|place| problem.first(&problem.belief, *place)).reduce(f64::max)
    };
    let mut share: f64 = 0.0;
    for (index, probe) in problem.probes.iter().enumerate() {
        if let Some(first) = not_out(probe.held_back.as_slice()) {
            share = share.max(first);
            held.probes[index] = true;
            steps.push(choices.options[index].step);
        }
    }
    for (index, cure) in choices.cures.iter().enumerate() {
        let Cure::Remedy(faults) = cure else { continue };
        if let Some(first) = not_out(&engine_places(diagnosis, faults)) {
            share = share.max(first);
            held.repairs[index] = true;
            name(choices, index, faults, &mut steps);
        }
    }
    if share > 0.0 {
        held.guards.push(Guard {
            code: "chain-first",
            text: format!(
                "Prove the number first: the sensor side is at {}, and until it is below {} no engine part is exchanged \
                 or bought and no mixture changed.",
                percent(share),
                percent(problem.first_out_share)
            ),
            held_back: steps,
        });
    }
}

/// The places whose numbers must be proven before work on some faults; none where one of them is of the
/// measuring chain itself.
pub(crate) fn engine_places(diagnosis: &Diagnosis<'_>, faults: &[Fault]) -> Vec<usize> {
    let model = &diagnosis.model;
    if faults.iter().any(|fault| fault.cause.is_measuring(model.knowledge)) {
        return Vec::new();
    }
    let cylinders = faults.iter().flat_map(|f| f.place.cylinders(&model.timeline.engine));
    let places: Vec<usize> = cylinders.map(|cylinder| chain::place(Some(cylinder))).collect();
    if places.is_empty() { vec![chain::place(None)] } else { places }
}

/// Dear work needs a cause that is more likely than not, as long as a test is left.
fn prove_before_buying(diagnosis: &Diagnosis<'_>, choices: &Choices, held: &mut Held) {
    let knowledge = diagnosis.model.knowledge;
    if choices.options.is_empty() {
        return;
    }
    let mut steps = Vec::new();
    for (index, cure) in choices.cures.iter().enumerate() {
        let cost = choices.cure_costs[index];
        let Cure::Remedy(faults) = cure else { continue };
        let dear = cost.total(knowledge.constants.rates) >= DEAR
            || cost.parts > DEAR_PART * knowledge.constants.rates.labour_per_minute;
        if dear && mass(choices, index) < BUY {
            held.dear[index] = !held.repairs[index];
            held.repairs[index] = true;
            name(choices, index, faults, &mut steps);
        }
    }
    if let Some(Step::Remedy(fault)) = steps.first() {
        let name = fault.cause.name(knowledge);
        held.guards.push(Guard {
            code: "prove-first",
            text: format!(
                "Nothing expensive is bought or taken apart on less than {}: here that holds for {name}, {}.",
                percent(BUY),
                fault.place
            ),
            held_back: steps,
        });
    }
}

/// A remedy that destroys the evidence waits for the look that costs nothing (trap 2).
fn look_first(diagnosis: &Diagnosis<'_>, choices: &Choices, held: &mut Held) {
    let (knowledge, timeline) = (diagnosis.model.knowledge, diagnosis.model.timeline);
    let mut steps = Vec::new();
    let mut look = None;
    for (index, cure) in choices.cures.iter().enumerate() {
        let Cure::Remedy(faults) = cure else { continue };
        if let Some((fault, test)) = faults
            .iter()
            .find_map(|f| Some((f, first_look(knowledge, timeline, &diagnosis.assessment, *f)?)))
            // A look that is no choice, since it could tell nothing, must not bar the way.
            && choices.options.iter().any(|o| matches!(o.step, Step::Test { test: t, .. } if t == test))
        {
            if !held.repairs[index] {
                held.looks[index] = Some(test);
            }
            held.dear[index] = false;
            held.repairs[index] = true;
            // Only worth a word where it is likely.
            if mass(choices, index) > 0.05 {
                steps.push(Step::Remedy(*fault));
                look = look.or(Some(test));
            }
        }
    }
    if let Some(test) = look {
        held.guards.push(Guard {
            code: "look-before-moving",
            text: format!(
                "Setting it right would wipe out the evidence. First: {}. Write down what was found.",
                knowledge.tests[test].name
            ),
            held_back: steps,
        });
    }
}

/// Where probes or their leads were worked on, no engine part is bought for a cylinder before it was seen
/// that the display which bears its number shows it.
fn whose_number_first(diagnosis: &Diagnosis<'_>, choices: &Choices, held: &mut Held) {
    let (knowledge, timeline) = (diagnosis.model.knowledge, diagnosis.model.timeline);
    let misnames: Vec<usize> =
        (0..knowledge.causes.len()).filter(|&c| knowledge.causes[c].misnames()).collect();
    let worked_on = |&c: &usize| {
        let recent = &knowledge.causes[c].recent;
        timeline.recent.iter().any(|flag| recent.get(flag).is_some_and(|factor| *factor > 1.0))
    };
    if !misnames.iter().any(worked_on) {
        return;
    }
    // What a healthy cylinder shows is seen of none that is misnamed.
    let tells = |test: usize| {
        let test = &knowledge.tests[test];
        let usual = test.usual();
        misnames.iter().all(|c| test.given.get(c).is_some_and(|row| row[usual] <= MISNAMED))
    };
    let mut steps = Vec::new();
    let mut look = None;
    for (index, cure) in choices.cures.iter().enumerate() {
        let Cure::Remedy(faults) = cure else { continue };
        let bought = choices.cure_costs[index].parts > 0.0;
        let Some(fault) = faults.first().filter(|f| bought && !f.cause.is_measuring(knowledge))
        else {
            continue;
        };
        let Some(cylinder) = fault.place.cylinder() else { continue };
        let known = timeline.findings.iter().any(|f| f.cylinder == Some(cylinder) && tells(f.test));
        let cheapest = choices
            .options
            .iter()
            .enumerate()
            .filter(|(p, _)| !held.probes[*p])
            .filter_map(|(_, option)| match option.step {
                Step::Test { test, cylinder: Some(c), partner: None, .. }
                    if c == cylinder && tells(test) =>
                {
                    Some((test, option.own.hands_on))
                }
                _ => None,
            })
            .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        if let Some((test, _)) = cheapest.filter(|_| !known) {
            if !held.repairs[index] {
                held.looks[index] = Some(test);
            }
            held.dear[index] = false;
            name(choices, index, faults, &mut steps);
            held.repairs[index] = true;
            look = look.or(Some(test));
        }
    }
    if let (Some(test), false) = (look, steps.is_empty()) {
        held.guards.push(Guard {
            code: "whose-number",
            text: format!(
                "Probes or leads were worked on: before an engine part is bought, see that the display shows the \
                 cylinder whose number it bears ({}).",
                knowledge.tests[test].name
            ),
            held_back: steps,
        });
    }
}

/// What was put right and did not help is not put right again, unless it is almost certain still and a look since found
/// it: then the work did not take, or the new part is bad. Says which repairs that bars.
fn not_twice(diagnosis: &Diagnosis<'_>, choices: &Choices, held: &mut Held) -> Vec<usize> {
    let (knowledge, timeline) = (diagnosis.model.knowledge, diagnosis.model.timeline);
    let work = |cause: usize| knowledge.causes[cause].remedy.as_ref().map(|r| r.id.as_str());
    let mut steps = Vec::new();
    let mut barred = Vec::new();
    for (index, cure) in choices.cures.iter().enumerate() {
        let Cure::Remedy(faults) = cure else { continue };
        let same = |(cause, place): (usize, Place)| {
            faults.iter().any(|fault| {
                let CauseRef::Listed(own) = fault.cause else { return false };
                fault.place == place && work(own) == work(cause)
            })
        };
        let done = &timeline.disturbances;
        let last = done.iter().rposition(|d| d.remedied.is_some_and(same));
        let Some(last) = last else { continue };
        let certain = mass(choices, index) >= SURE;
        let found = || {
            timeline.findings.iter().filter(|f| f.after > last).any(|finding| {
                let test = &knowledge.tests[finding.test];
                faults.iter().any(|fault| {
                    let CauseRef::Listed(own) = fault.cause else { return false };
                    let here = finding
                        .cylinder
                        .is_none_or(|c| fault.place.cylinders(&timeline.engine).contains(&c));
                    let row = test.given.get(&own);
                    let others = usual(choices, index, test, finding.outcome);
                    here && row.is_some_and(|row| row[finding.outcome] > FOUND_AGAIN * others)
                })
            })
        };
        if !certain || !found() {
            held.repairs[index] = true;
            held.dear[index] = false;
            held.looks[index] = None;
            barred.push(index);
            name(choices, index, faults, &mut steps);
        }
    }
    if let Some(Step::Remedy(fault)) = steps.first() {
        held.guards.push(Guard {
            code: "not-twice",
            text: format!(
                "What was put right and did not help is not done again unless a look finds it, and it is almost certain still \
                 (as for {}, {}).",
                fault.cause.name(knowledge),
                fault.place
            ),
            held_back: steps,
        });
    }
    barred
}

/// What is not done again is not counted on either: nobody knows what would cure it, so that it is found as what no
/// list has is, by the one long search.
fn found_by_search(choices: &mut Choices, barred: &[usize]) {
    let Some(price) = choices.problem.search.filter(|_| !barred.is_empty()) else { return };
    let search = choices.cures.iter().position(|cure| *cure == Cure::Search);
    for &index in barred {
        let states = (0..choices.problem.world.change.len()).collect();
        let needs = Needs { states, access: 0, openings: 1.0 };
        choices.problem.repairs[index] = Repair { price, own_hands_on: 0.0, in_vain: 0.0, needs };
        for cures in &mut choices.problem.cures {
            if let Some(search) = search
                && cures.contains(&index)
            {
                cures.retain(|cure| *cure != index && *cure != search);
                cures.push(search);
                cures.sort_unstable();
            }
        }
    }
}

/// Chance of an outcome where a repair cures nothing, by what else may be the matter.
fn usual(choices: &Choices, repair: usize, test: &Test, outcome: usize) -> f64 {
    let (mut sum, mut chance) = (0.0, 0.0);
    for (case, cures) in choices.cases.iter().zip(&choices.problem.cures) {
        if cures.contains(&repair) {
            continue;
        }
        let rows = case.faults.iter().filter_map(|fault| match fault.cause {
            CauseRef::Listed(cause) => test.given.get(&cause),
            CauseRef::Unlisted => None,
        });
        let shown = rows.map(|row| row[outcome]).fold(test.default[outcome], f64::max);
        sum += case.probability;
        chance += case.probability * shown;
    }
    if sum > 0.0 { chance / sum } else { test.default[outcome] }
}

/// Probability that nothing is wrong, or was nothing but unsteady when first read.
pub(crate) fn no_fault(diagnosis: &Diagnosis<'_>) -> f64 {
    let assessment = &diagnosis.assessment;
    if !diagnosis.model.timeline.read_again() {
        return assessment.healthy;
    }
    let knowledge = diagnosis.model.knowledge;
    let list = assessment.suspects.iter().filter(|s| s.fault.cause.passes(knowledge));
    assessment.healthy + list.map(|s| s.probability).sum::<f64>()
}

/// Lists a remedy that is held back, if it is likely enough to be missed.
fn name(choices: &Choices, repair: usize, faults: &[Fault], steps: &mut Vec<Step>) {
    if mass(choices, repair) >= 0.02 {
        steps.extend(faults.first().map(|f| Step::Remedy(*f)));
    }
}

/// Belief in the hypotheses that a repair has a part in.
pub(crate) fn mass(choices: &Choices, repair: usize) -> f64 {
    let problem = &choices.problem;
    problem
        .belief
        .iter()
        .zip(&problem.cures)
        .filter(|(_, cures)| cures.contains(&repair))
        .map(|(p, _)| p)
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::diagnose;
    use crate::plan::actions::choices;
    use facts::job::read::read;
    use facts::knowledge::embedded::embedded;
    use facts::knowledge::load;

    /// What any dead cylinder shows speaks for none of its causes; that the controller has cut it speaks for that.
    #[test]
    fn an_outcome_speaks_for_a_cause_against_the_others_that_are_left() {
        let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base");
        let mut journal = fixture::journal();
        journal.entries = [[400.0, 405.0, 403.0, 190.0], [401.0, 404.0, 402.0, 192.0]]
            .map(|set| fixture::entry(fixture::temps("idle", fixture::degrees(&set))))
            .into();
        let timeline = read(&knowledge, &journal);
        let diagnosis = diagnose(&knowledge, &timeline);
        let choices = choices(&diagnosis);
        let cut = knowledge.cause("cyl-cut").expect("a cause");
        let cures = |cure: &Cure| match cure {
            Cure::Remedy(faults) => faults.iter().any(|f| f.cause == CauseRef::Listed(cut)),
            _ => false,
        };
        let repair = choices.cures.iter().position(cures).expect("a remedy");
        let times = |test: &str, outcome: &str| {
            let test = &knowledge.tests[knowledge.test(test).expect("a test")];
            let outcome = test.outcomes.iter().position(|o| o.id == outcome).expect("an outcome");
            test.given[&cut][outcome] / usual(&choices, repair, test, outcome)
        };
        assert!(times("trim-retard", "still") < FOUND_AGAIN);
        assert!(times("misfire-count", "cut") > FOUND_AGAIN);
    }

    /// A display that is dead on one cylinder says nothing of the number on another: work on that need not wait.
    #[test]
    fn engine_work_waits_for_the_chain_of_its_own_cylinder() {
        let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base");
        let mut journal = fixture::journal();
        let set = |at: &str, level: f64, low: f64| {
            let mut readings = fixture::degrees(&[level, level - low, level + 3.0, level - 2.0]);
            readings[2] = facts::job::entry::Reading::Open;
            fixture::temps(at, readings)
        };
        let found = |test: &str, outcome: &str| facts::job::entry::What::Found {
            test: test.to_owned(),
            outcome: outcome.to_owned(),
            cylinder: Some(2),
            partner: None,
        };
        let whats = vec![
            set("idle", 400.0, 60.0),
            set("cruise", 620.0, 110.0),
            found("second-thermometer", "agrees"),
            found("look-fit", "alike"),
            found("runner-surface", "same-way"),
        ];
        journal.entries = whats.into_iter().map(fixture::entry).collect();
        let timeline = read(&knowledge, &journal);
        let diagnosis = diagnose(&knowledge, &timeline);
        let mut choices = choices(&diagnosis);
        let held = held(&diagnosis, &mut choices);
        let cylinder = |at: &str| {
            let waits = held.guards.iter().filter(|guard| guard.code == "chain-first");
            let steps = waits.flat_map(|guard| &guard.held_back).filter_map(|step| match step {
                Step::Remedy(fault) => fault.place.cylinder(),
                Step::Test { cylinder, .. } => *cylinder,
                _ => None,
            });
            steps.filter(|c| c.to_string() == at).count()
        };
        assert!(choices.problem.first(&choices.problem.belief, chain::place(None)) > 0.9);
        assert!(choices.cases.iter().any(|case| case.faults.len() == 2));
        assert_eq!(cylinder("2"), 0, "{:?}", held.guards);
        assert!(cylinder("3") > 0, "{:?}", held.guards);
    }

    /// A box that reads in another scale shows no cylinder's number: no engine work is begun on any.
    #[test]
    fn engine_work_waits_for_a_box_that_all_cylinders_have_in_common() {
        let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base");
        let mut journal = fixture::journal();
        let sets = [("idle", [1.2, 1.3, 1.1, 0.9]), ("cruise", [1.3, 1.2, 1.4, 1.0])];
        journal.entries = sets
            .map(|(at, values)| fixture::entry(fixture::temps(at, fixture::degrees(&values))))
            .into();
        let timeline = read(&knowledge, &journal);
        let diagnosis = diagnose(&knowledge, &timeline);
        let problem = choices(&diagnosis).problem;
        for place in 0..=4 {
            assert!(!problem.cleared(&problem.belief, place), "{place}");
        }
    }
}
