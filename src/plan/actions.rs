//! The workshop's choices as a decision problem.
//!
//! Fills [`Problem`] from a diagnosis: hypotheses with what cures them, tests that apply and
//! have not been done, further readings, set-ups. What may not be done yet is for `guard`.

use std::collections::BTreeMap;

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::data::Kind;
use crate::diagnosis::model::{READINGS_IN_WORDS, arranged, chances, verdict_row};
use crate::diagnosis::{CauseRef, Fault};
use crate::engine::{Cylinder, Ignition, Place, ProbeSite, RunningPoint};
use crate::job::arrangement::coil_mate;
use crate::job::read::{thermal_at, would_touch};
use crate::job::timeline::{Disturbance, Timeline};
use crate::knowledge::{Access, Item, Knowledge, Remedy, Scope, Test, TestKind, Thermal};
use crate::units::Cost;

use super::advice::Step;
use super::cases::{Case, cases};
use super::forecast::{self, Forecaster, shows_no_number};
use super::guard;
use super::problem::{Needs, Price, Probe, Problem, Repair, Situation, World};

/// What ends a hypothesis.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Cure {
    /// Work on a fault; any of these causes at the place is cured by it.
    Remedy(Vec<Fault>),
    /// Nothing is wrong: write it down.
    Record,
    /// Wait until it has settled and read again.
    Settle,
    /// It has gone away: make sure.
    Confirm,
    /// Search for something in no list.
    Search,
}

/// A test or reading that can be done next.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Choosable {
    /// What to do.
    pub(crate) step: Step,
    /// Outcomes: id and what is seen.
    pub(crate) outcomes: Vec<(String, String)>,
    /// Cost without set-ups.
    pub(crate) own: Cost,
    /// Warnings.
    pub(crate) cautions: Vec<usize>,
}

/// The problem with the meaning of its numbers.
#[derive(Debug)]
pub(crate) struct Choices {
    pub(crate) problem: Problem,
    /// The hypotheses.
    pub(crate) cases: Vec<Case>,
    /// By repair index.
    pub(crate) cures: Vec<Cure>,
    /// Cost of each repair without set-ups and verification.
    pub(crate) cure_costs: Vec<Cost>,
    /// By probe index.
    pub(crate) options: Vec<Choosable>,
    /// The cylinder in the middle of things.
    pub(crate) focus: Cylinder,
}

/// Share of the suspicion above which a second cylinder is worth testing.
const SECOND: f64 = 0.15;

/// Everything that could be done next.
pub(crate) fn choices(diagnosis: &Diagnosis<'_>) -> Choices {
    let model = &diagnosis.model;
    let (knowledge, timeline) = (model.knowledge, model.timeline);
    let suspicion = suspicion(diagnosis);
    let focus = suspicion.first().map_or(1, |s| s.0);
    let partner = partner(diagnosis, focus, &suspicion);
    let mut cylinders = vec![focus];
    cylinders.extend(suspicion.iter().skip(1).filter(|s| s.1 >= SECOND).map(|s| s.0).take(1));

    let world = world(knowledge);
    let mut repairs = Repairs::default();
    let cases = cases(diagnosis);
    let belief: Vec<f64> = cases.iter().map(|case| case.probability).collect();
    let cures: Vec<Vec<usize>> =
        cases.iter().map(|case| repairs.of(diagnosis, &world, case)).collect();

    let mut options = Vec::new();
    let mut probes = Vec::new();
    for (index, test) in knowledge.tests.iter().enumerate() {
        if !worth_listing(timeline, test) {
            continue;
        }
        let places: Vec<Option<Cylinder>> = match test.scope {
            Scope::Engine => vec![None],
            Scope::Cylinder => cylinders.iter().map(|c| Some(*c)).collect(),
        };
        for cylinder in places {
            let with = (test.kind == TestKind::Exchange).then_some(partner);
            if with.is_some() && with == cylinder || done(timeline, index, test, cylinder, with) {
                continue;
            }
            let rows = rows(diagnosis, &cases, index, test, cylinder, with);
            if tells_nothing(&rows) {
                continue;
            }
            options.push(Choosable {
                step: Step::Test { test: index, cylinder, partner: with },
                outcomes: test.outcomes.iter().map(|o| (o.id.clone(), o.text.clone())).collect(),
                own: test.cost,
                cautions: test.cautions.clone(),
            });
            probes.push(Probe {
                price: price(knowledge, test.cost),
                needs: needs(&test.states, &test.access, &knowledge.access, with.is_some()),
                leaves: test.leaves.map(|s| s as usize),
                rows,
                held_back: guard::waits_for_the_chain(test),
            });
        }
    }
    readings(diagnosis, &cases, focus, &mut options, &mut probes);
    let now = Situation {
        state: timeline.thermal as usize,
        open: timeline.open_access.iter().fold(0, |open, a| open | 1 << a),
    };
    Choices {
        problem: Problem {
            belief,
            cures,
            repairs: repairs.list,
            probes,
            world,
            now,
            search: Some(price(knowledge, knowledge.constants.unlisted_cure)),
            first_out: measuring(knowledge, &cases),
            first_out_share: knowledge.constants.chain_share,
        },
        cases,
        cures: repairs.cures,
        cure_costs: repairs.costs,
        options,
        focus,
    }
}

/// Cases in which the measuring chain is at fault, now.
fn measuring(knowledge: &Knowledge, cases: &[Case]) -> Vec<bool> {
    let chain =
        |(fault, present): (&Fault, &f64)| *present >= 0.5 && fault.cause.is_measuring(knowledge);
    cases.iter().map(|case| case.faults.iter().zip(&case.present).any(chain)).collect()
}

/// A cost in minutes of labour.
pub(crate) fn price(knowledge: &Knowledge, cost: Cost) -> Price {
    Price { total: cost.total(knowledge.constants.rates), hands_on: cost.hands_on }
}

/// Set-ups of the knowledge base.
fn world(knowledge: &Knowledge) -> World {
    let states = Thermal::ALL;
    let runs = |s: Thermal| matches!(s, Thermal::Idle | Thermal::Cruise | Thermal::Full);
    let change = states
        .iter()
        .map(|&a| {
            states.iter().map(|&b| price(knowledge, knowledge.changes.between(a, b))).collect()
        })
        .collect();
    // Only a running engine gets hotter.
    let by_running = states
        .iter()
        .map(|&a| states.iter().map(|&b| b > a && b >= Thermal::Cool).collect())
        .collect();
    World {
        change,
        access: knowledge.access.iter().map(|a| price(knowledge, a.cost)).collect(),
        blocking: bits(
            knowledge.access.iter().enumerate().filter(|a| a.1.blocks_running).map(|a| a.0),
        ),
        runs: states.iter().map(|&s| runs(s)).collect(),
        by_running,
        verifying: Thermal::Idle as usize,
    }
}

fn bits(indices: impl Iterator<Item = usize>) -> u64 {
    indices.fold(0, |bits, index| bits | 1 << index)
}

pub(crate) fn needs(
    states: &[Thermal],
    access: &[usize],
    list: &[Access],
    two_cylinders: bool,
) -> Needs {
    let per_cylinder = access.iter().any(|&a| list[a].per_cylinder);
    Needs {
        states: states.iter().map(|s| *s as usize).collect(),
        access: bits(access.iter().copied()),
        openings: if two_cylinders && per_cylinder { 2.0 } else { 1.0 },
    }
}

/// Cylinders by how much suspicion rests on them, most first.
fn suspicion(diagnosis: &Diagnosis<'_>) -> Vec<(Cylinder, f64)> {
    let timeline = diagnosis.model.timeline;
    let engine = &timeline.engine;
    let mut by_cylinder: BTreeMap<Cylinder, f64> = engine.all().map(|c| (c, 0.0)).collect();
    let travels = engine.depth_travels();
    for (weighed, h) in diagnosis.kept.iter().zip(&diagnosis.assessment.hypotheses) {
        for &c in &weighed.candidates {
            let candidate = &diagnosis.model.candidates[c];
            let share =
                h.probability / f64::from(u32::try_from(candidate.numbers.len()).unwrap_or(1));
            for &number in &candidate.numbers {
                let at = timeline.arrangement.cylinder_of(candidate.seat, number, travels);
                *by_cylinder.entry(at).or_default() += share;
            }
        }
    }
    // Where one display stands out, its cylinder leads ties.
    let odd = diagnosis.assessment.odd_display.map(|d| timeline.arrangement.cylinder_shown(d));
    let mut list: Vec<(Cylinder, f64)> = by_cylinder.into_iter().collect();
    list.sort_by(|a, b| {
        let tie = (Some(b.0) == odd).cmp(&(Some(a.0) == odd));
        if (a.1 - b.1).abs() < 1e-9 { tie.then(a.0.cmp(&b.0)) } else { b.1.total_cmp(&a.1) }
    });
    list
}

/// A healthy, unsuspected mate: least suspicion, same bank before the other, lowest number.
fn partner(diagnosis: &Diagnosis<'_>, focus: Cylinder, suspicion: &[(Cylinder, f64)]) -> Cylinder {
    let engine = &diagnosis.model.timeline.engine;
    let rank = |c: Cylinder, p: f64| {
        // Suspicion in steps of 2 %, so that a trifle does not send one to the far bank.
        let steps = (p * 50.0).round();
        let shared_coil =
            engine.ignition == Ignition::WastedSpark && coil_mate(engine, focus) == Some(c);
        (steps, engine.bank_of(c) != engine.bank_of(focus), shared_coil, c)
    };
    suspicion
        .iter()
        .filter(|s| s.0 != focus)
        .map(|&(c, p)| rank(c, p))
        .min_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2, a.3).cmp(&(b.1, b.2, b.3))))
        .map_or(focus, |r| r.3)
}

/// Readings are asked for as readings: the program looks at the numbers itself.
fn worth_listing(timeline: &Timeline, test: &Test) -> bool {
    test.applies.holds(&timeline.engine) && !READINGS_IN_WORDS.contains(&test.id.as_str())
}

/// Whether a test was done already, with nothing disturbed since, or an exchange already judged.
fn done(
    timeline: &Timeline,
    index: usize,
    test: &Test,
    cylinder: Option<Cylinder>,
    partner: Option<Cylinder>,
) -> bool {
    let found = timeline.findings.iter().any(|f| {
        f.test == index && (f.cylinder == cylinder || f.cylinder.is_none()) && {
            // Its own re-seating, if any, is not a reason to look again.
            let since = timeline.disturbances.len() - f.after;
            since <= usize::from(!test.reseats.is_empty())
        }
    });
    let exchanged = test.item.is_some()
        && timeline.disturbances.iter().any(|d| {
            d.work.is_some_and(|w| {
                w.test == index
                    && [Some(w.a), w.b].contains(&cylinder)
                    && (w.b.is_some() == partner.is_some())
            })
        });
    found || exchanged
}

/// Chances of the outcomes under each kept hypothesis: `[outcome][hypothesis]`.
fn rows(
    diagnosis: &Diagnosis<'_>,
    cases: &[Case],
    index: usize,
    test: &Test,
    cylinder: Option<Cylinder>,
    partner: Option<Cylinder>,
) -> Vec<Vec<f64>> {
    let of = |case: &Case| {
        if test.kind.follows_seats() {
            let at = cylinder.unwrap_or(1);
            handling_row(diagnosis, case, index, at, partner)
        } else {
            let timeline = diagnosis.model.timeline;
            let there = case.candidates.iter().zip(&case.present).filter(|(_, p)| **p >= 0.5);
            let candidates = there.map(|(c, _)| *c);
            diagnosis.model.outcome_row(candidates, test, cylinder, &timeline.arrangement)
        }
    };
    transpose(&cases.iter().map(of).collect::<Vec<_>>(), test.outcomes.len())
}

pub(crate) fn transpose(by_hypothesis: &[Vec<f64>], outcomes: usize) -> Vec<Vec<f64>> {
    (0..outcomes).map(|o| by_hypothesis.iter().map(|row| row[o]).collect()).collect()
}

/// An exchange, re-seat or substitution: what would be said of it, from the seats.
fn handling_row(
    diagnosis: &Diagnosis<'_>,
    case: &Case,
    index: usize,
    cylinder: Cylinder,
    partner: Option<Cylinder>,
) -> Vec<f64> {
    let model = &diagnosis.model;
    let (knowledge, timeline) = (model.knowledge, model.timeline);
    let test = &knowledge.tests[index];
    let before = &timeline.arrangement;
    let after = arranged(before, &timeline.engine, test, cylinder, partner);
    let disturbance = Disturbance {
        entry: 0,
        touched: would_touch(knowledge, timeline, index, cylinder, partner),
        remedied: None,
        verdict: None,
        work: None,
    };
    let here = match test.item {
        Some(Item::LeadAtBox) => cylinder,
        _ => before.display_of(cylinder),
    };
    // Each fault stays or is cured, independently.
    let mut cases: Vec<(f64, bool, bool, bool)> = vec![(1.0, false, false, false)];
    for (&c, &there) in case.candidates.iter().zip(&case.present) {
        if there < 0.5 {
            continue;
        }
        let candidate = &model.candidates[c];
        let cure = chances(
            knowledge,
            timeline,
            candidate.fault,
            candidate.seat,
            &candidate.numbers,
            &disturbance,
        )
        .cure;
        let shown = model.displays(candidate, before, &[]);
        let then = model.displays(candidate, &after, &[]);
        cases = cases
            .into_iter()
            .flat_map(|(p, had, stays, elsewhere)| {
                let had = had || shown.contains(&here);
                let now = (
                    p * (1.0 - cure),
                    had,
                    stays || then.contains(&here),
                    elsewhere || then.iter().any(|d| *d != here && !shown.contains(d)),
                );
                [(p * cure, had, stays, elsewhere), now]
            })
            .collect();
    }
    let mut row = vec![0.0; test.outcomes.len()];
    for (p, had, stays, elsewhere) in cases {
        let seen = had.then_some((stays, elsewhere));
        for (to, from) in row.iter_mut().zip(verdict_row(seen, test)) {
            *to += p * from;
        }
    }
    row
}

fn tells_nothing(rows: &[Vec<f64>]) -> bool {
    rows.iter().all(|row| {
        let (low, high) = row.iter().fold((1.0_f64, 0.0_f64), |(l, h), p| (l.min(*p), h.max(*p)));
        high - low < 1e-6
    })
}

/// Further readings at points not yet read since the last disturbance.
fn readings(
    diagnosis: &Diagnosis<'_>,
    cases: &[Case],
    focus: Cylinder,
    options: &mut Vec<Choosable>,
    probes: &mut Vec<Probe>,
) {
    let model = &diagnosis.model;
    let (knowledge, timeline) = (model.knowledge, model.timeline);
    let slot = timeline.disturbances.len();
    let display = timeline.arrangement.display_of(focus);
    let mut sites = vec![timeline.engine.probes];
    if timeline.sets.iter().any(|set| set.site != timeline.engine.probes) {
        sites.push(match timeline.engine.probes {
            ProbeSite::Exhaust => ProbeSite::Head,
            ProbeSite::Head => ProbeSite::Exhaust,
        });
    }
    for site in sites {
        for &at in RunningPoint::ALL {
            let read =
                timeline.sets.iter().any(|s| s.site == site && s.at == at && s.after == slot);
            if at == RunningPoint::Warming || read {
                continue;
            }
            // A display that shows no number will show none elsewhere.
            if shows_no_number(diagnosis, display) && at != RunningPoint::ColdSoak {
                continue;
            }
            let forecaster = Forecaster::new(diagnosis, Kind { site, at }, display);
            let rows: Vec<Vec<f64>> = cases.iter().map(|case| forecaster.row(case)).collect();
            let own = settled(knowledge, site);
            options.push(Choosable {
                step: Step::Readings { at, site },
                outcomes: forecast::OUTCOMES
                    .iter()
                    .map(|(id, text)| ((*id).to_owned(), (*text).to_owned()))
                    .collect(),
                own,
                cautions: load_cautions(knowledge, at),
            });
            probes.push(Probe {
                price: price(knowledge, own),
                needs: Needs { states: vec![thermal_at(at) as usize], access: 0, openings: 1.0 },
                leaves: None,
                rows: transpose(&rows, forecast::OUTCOMES.len()),
                held_back: false,
            });
        }
    }
}

/// Taking readings that have settled: a head needs five minutes more than an exhaust (common
/// practice: three against eight).
fn settled(knowledge: &Knowledge, site: ProbeSite) -> Cost {
    let mut cost = knowledge.constants.readings;
    if site == ProbeSite::Head {
        cost.wait += 5.0;
    }
    cost
}

fn load_cautions(knowledge: &Knowledge, at: RunningPoint) -> Vec<usize> {
    let ids: &[&str] = match at {
        RunningPoint::ColdSoak => &[],
        RunningPoint::Full => &["builder-limit", "loaded-running", "carbon-monoxide"],
        _ => &["carbon-monoxide", "hot-exhaust"],
    };
    ids.iter().filter_map(|id| knowledge.cautions.iter().position(|c| c.id == *id)).collect()
}

/// Repairs gathered from the hypotheses, each once.
#[derive(Default)]
struct Repairs {
    keys: BTreeMap<(String, Place), usize>,
    list: Vec<Repair>,
    cures: Vec<Cure>,
    costs: Vec<Cost>,
}

impl Repairs {
    /// Repairs that a hypothesis needs.
    fn of(&mut self, diagnosis: &Diagnosis<'_>, world: &World, case: &Case) -> Vec<usize> {
        let knowledge = diagnosis.model.knowledge;
        let constants = &knowledge.constants;
        if case.faults.is_empty() {
            return vec![self.plain(
                "record",
                Cure::Record,
                constants.record,
                price(knowledge, constants.record),
            )];
        }
        let mut cures = Vec::new();
        for (fault, there) in case.faults.iter().zip(&case.present) {
            if *there < 0.5 {
                continue;
            }
            let CauseRef::Listed(index) = fault.cause else {
                let cost = constants.unlisted_cure;
                cures.push(self.plain("search", Cure::Search, cost, price(knowledge, cost)));
                continue;
            };
            let Some(remedy) = &knowledge.causes[index].remedy else {
                let cost = constants.readings + Cost { hands_on: 1.0, wait: 5.0, parts: 0.0 };
                cures.push(self.plain("settle", Cure::Settle, cost, price(knowledge, cost)));
                continue;
            };
            let key = (remedy.id.clone(), fault.place);
            let repair = if let Some(&known) = self.keys.get(&key) {
                if let Cure::Remedy(faults) = &mut self.cures[known]
                    && !faults.contains(fault)
                {
                    faults.push(*fault);
                }
                known
            } else {
                let (repair, cost) = repair(knowledge, world, remedy);
                self.add(key, repair, Cure::Remedy(vec![*fault]), cost)
            };
            if !cures.contains(&repair) {
                cures.push(repair);
            }
        }
        if cures.is_empty() {
            let cost = constants.verify;
            cures.push(self.plain("confirm", Cure::Confirm, cost, price(knowledge, cost)));
        }
        cures.sort_unstable();
        cures
    }

    fn plain(&mut self, id: &str, cure: Cure, cost: Cost, price: Price) -> usize {
        let key = (id.to_owned(), Place::Nowhere);
        if let Some(&known) = self.keys.get(&key) {
            return known;
        }
        let states = (0..Thermal::ALL.len()).collect();
        let repair =
            Repair { price, own_hands_on: 0.0, needs: Needs { states, access: 0, openings: 1.0 } };
        self.add(key, repair, cure, cost)
    }

    fn add(&mut self, key: (String, Place), repair: Repair, cure: Cure, cost: Cost) -> usize {
        self.list.push(repair);
        self.cures.push(cure);
        self.costs.push(cost);
        self.keys.insert(key, self.list.len() - 1);
        self.list.len() - 1
    }
}

/// A remedy with the readings that verify it.
fn repair(knowledge: &Knowledge, world: &World, remedy: &Remedy) -> (Repair, Cost) {
    let mut total = price(knowledge, remedy.cost) + price(knowledge, knowledge.constants.verify);
    let back = remedy
        .states
        .iter()
        .map(|s| world.change[*s as usize][world.verifying])
        .min_by(|a, b| a.total.total_cmp(&b.total));
    total += back.unwrap_or_default();
    let repair = Repair {
        price: total,
        own_hands_on: remedy.cost.hands_on,
        needs: needs(&remedy.states, &remedy.access, &knowledge.access, false),
    };
    (repair, remedy.cost)
}

/// The cheapest test that must still be done before a fault's remedy destroys the evidence.
#[must_use]
pub fn look_before(knowledge: &Knowledge, timeline: &Timeline, fault: Fault) -> Option<usize> {
    let CauseRef::Listed(index) = fault.cause else { return None };
    let remedy = knowledge.causes[index].remedy.as_ref()?;
    let engine = &timeline.engine;
    let cylinders = fault.place.cylinders(engine);
    // What was wholly undone already can tell nothing more.
    let wholly = |seat| remedy.reseats.iter().any(|&(s, share)| s == seat && share >= 1.0);
    let undone = timeline
        .disturbances
        .iter()
        .flat_map(|d| &d.touched)
        .any(|&(seat, number, _)| wholly(seat) && cylinders.contains(&number));
    let possible: Vec<usize> = remedy
        .first
        .iter()
        .copied()
        .filter(|&t| knowledge.tests[t].applies.holds(engine))
        .collect();
    let done = timeline.findings.iter().any(|f| {
        possible.contains(&f.test)
            && f.cylinder.is_none_or(|c| cylinders.is_empty() || cylinders.contains(&c))
    });
    if undone || done {
        return None;
    }
    let total = |t: usize| knowledge.tests[t].cost.total(knowledge.constants.rates);
    possible.into_iter().min_by(|a, b| total(*a).total_cmp(&total(*b)))
}
