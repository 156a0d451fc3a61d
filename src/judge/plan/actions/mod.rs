//! The workshop's choices as a decision problem.
//!
//! Fills [`Problem`] from a diagnosis: hypotheses with what cures them, tests that apply and
//! have not been done, further readings, set-ups. What may not be done yet is for `guard`.

mod before;
pub(crate) mod chain;
mod focus;
mod offered;
mod readings;
mod repairs;
mod rows;
mod setups;

use crate::diagnosis::Oddness;
use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::model::DEPTH_IN_WORDS;
use facts::job::arrangement::share_a_coil;
use facts::job::complaint::NOTICED;
use facts::job::entry::Reading;
use facts::job::timeline::{ReadingSet, Timeline};
use facts::knowledge::{Item, Scope, Test, TestKind};
use measure::engine::Cylinder;
use measure::units::Cost;

use super::advice::Step;
use super::cases::{Case, cases};
use super::ends::{ODD, Points, outlier};
use super::guard;
use super::problem::{Probe, Problem, Situation, World};
use crate::heat::AS_BEFORE;
use focus::{partner, suspicion};
use offered::offered;
use readings::readings;
use repairs::{Repairs, price_what_is_hidden, search};
use rows::{Now, Numbers};
use setups::world;

pub use before::first_look;
pub use readings::cautions_at;
pub(crate) use repairs::Cure;
pub(crate) use rows::transpose;
pub(crate) use setups::price;

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
    /// It was looked at before, and nothing that it looks at was touched since.
    pub(crate) again: bool,
}

/// The problem with the meaning of its numbers.
#[derive(Debug)]
pub(crate) struct Choices {
    pub(crate) problem: Problem,
    /// The hypotheses.
    pub(crate) cases: Vec<Case>,
    /// Probability of those that were left out because they are rare.
    pub(crate) left_out: f64,
    /// By repair index.
    pub(crate) cures: Vec<Cure>,
    /// Cost of each repair without set-ups and verification.
    pub(crate) cure_costs: Vec<Cost>,
    /// By probe index.
    pub(crate) options: Vec<Choosable>,
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
    // What stands out beside is looked at before the end.
    let out = outlier(diagnosis).filter(|at| !cylinders.contains(at));
    cylinders.extend(out);

    let mut world = world(knowledge);
    let mut repairs = Repairs::default();
    let (cases, left_out) = cases(diagnosis);
    let belief: Vec<f64> = cases.iter().map(|case| case.probability).collect();
    let cures: Vec<Vec<usize>> =
        cases.iter().map(|case| repairs.of(diagnosis, &world, case)).collect();
    price_what_is_hidden(diagnosis, &cases, &cures, &mut repairs);

    let numbers = Numbers::of(diagnosis, focus, &cases);
    let now = Now::of(diagnosis);
    let since = judged_anew(diagnosis);
    let mut options = Vec::new();
    let mut probes: Vec<Probe> = Vec::new();
    for (index, test) in knowledge.tests.iter().enumerate() {
        if !worth_listing(timeline, test) || timeline.barred.contains(&index) {
            continue;
        }
        let places: Vec<Option<Cylinder>> = match test.scope {
            Scope::Engine => vec![None],
            Scope::Cylinder => cylinders.iter().map(|c| Some(*c)).collect(),
        };
        for cylinder in places {
            let with = (test.kind == TestKind::Exchange).then_some(partner);
            let one_coil = test.item == Some(Item::Coil)
                && cylinder.zip(with).is_some_and(|(a, b)| share_a_coil(&timeline.engine, a, b));
            if with.is_some() && with == cylinder
                || one_coil
                || done(timeline, since, index, test, cylinder, with)
            {
                continue;
            }
            if test.kind.follows_seats()
                && cylinder.is_some_and(|c| !shows_where_read(diagnosis, c))
            {
                continue;
            }
            for (option, probe) in offered(&now, &cases, (index, cylinder, with), numbers.as_ref())
            {
                options.push(option);
                probes.push(probe);
            }
        }
    }
    readings(diagnosis, &cases, focus, &mut options, &mut probes);
    looks_first(diagnosis, &options, &mut probes, &mut repairs, &mut world);
    let situation = Situation {
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
            now: situation,
            search: Some(search(knowledge)),
            first_out: chain::by_place(diagnosis, &cases),
            first_out_share: knowledge.constants.chain_share,
        },
        cases,
        left_out,
        cures: repairs.cures,
        cure_costs: repairs.costs,
        options,
    }
}

/// Makes repairs that would destroy evidence need the look at it: a thing that stays open once it
/// was paid for, by the look or with the repair.
fn looks_first(
    diagnosis: &Diagnosis<'_>,
    options: &[Choosable],
    probes: &mut [Probe],
    repairs: &mut Repairs,
    world: &mut World,
) {
    let (knowledge, timeline) = (diagnosis.model.knowledge, diagnosis.model.timeline);
    let travels = timeline.engine.depth_travels();
    for (repair, cure) in repairs.list.iter_mut().zip(&repairs.cures) {
        let Cure::Remedy(faults) = cure else { continue };
        let look = faults.iter().find_map(|fault| {
            let test = first_look(knowledge, timeline, &diagnosis.assessment, *fault)?;
            let seat = fault.cause.seat(knowledge);
            let at = fault.place.cylinder().map(|n| timeline.arrangement.cylinder_of(seat, n, travels));
            options.iter().position(|option| {
                matches!(option.step, Step::Test { test: t, cylinder, .. } if t == test && cylinder == at)
            })
        });
        let Some(look) = look else { continue };
        if probes[look].opens == 0 {
            let bit = world.access.len();
            if bit >= 64 {
                continue;
            }
            let verified = Situation { state: world.verifying, open: 0 };
            let price = world.ready(verified, &probes[look].needs).0 + probes[look].price;
            world.access.push(price);
            world.lasting |= 1 << bit;
            probes[look].opens = 1 << bit;
        }
        repair.needs.access |= probes[look].opens;
    }
}

/// Whether something stands off on a cylinder's display where work on it would be read: what does not
/// show there is seen neither to move nor to stay.
fn shows_where_read(diagnosis: &Diagnosis<'_>, cylinder: Cylinder) -> bool {
    let timeline = diagnosis.model.timeline;
    let oddness = &diagnosis.assessment.oddness;
    let points = Points::new(timeline, oddness);
    let may = |at| guard::may_run_at(diagnosis, at);
    let Some(spot) = points.to_read_work(may) else { return true };
    let shown = |odd: &&Oddness| {
        let set = &timeline.sets[odd.set];
        set.at == spot.at
            && set.site == spot.site
            && set.arrangement.cylinder_shown(odd.display) == cylinder
    };
    // By the newest set: of what comes and goes nothing is learnt while it is away.
    oddness.iter().rev().find(shown).is_none_or(|odd| {
        let reading = timeline.sets[odd.set].readings[usize::from(odd.display) - 1];
        !matches!(reading, Reading::Degrees(_)) || odd.sigmas.is_none_or(|s| s.abs() >= NOTICED)
    })
}

/// Readings are asked for as readings: the program looks at the numbers itself.
fn worth_listing(timeline: &Timeline, test: &Test) -> bool {
    test.applies.holds(&timeline.engine) && !test.from_readings
}

/// Disturbances up to the last remedy that changed what shows; 0 where none did. Exchanges before it judged
/// what was remedied: what is left showed too little beside it.
fn judged_anew(diagnosis: &Diagnosis<'_>) -> usize {
    let disturbances = diagnosis.model.timeline.disturbances.iter().enumerate().rev();
    let mut remedies = disturbances.filter(|(_, d)| d.remedied.is_some()).map(|(index, _)| index);
    remedies.find(|&remedy| helped(diagnosis, remedy)).map_or(0, |remedy| remedy + 1)
}

/// Whether a cylinder that stood far off stands less so at the first readings after a remedy.
fn helped(diagnosis: &Diagnosis<'_>, remedy: usize) -> bool {
    let timeline = diagnosis.model.timeline;
    let sets = &timeline.sets;
    let size = |set: usize, cylinder: Cylinder| {
        let shows = |odd: &&Oddness| {
            odd.set == set && sets[set].arrangement.cylinder_shown(odd.display) == cylinder
        };
        let odd = diagnosis.assessment.oddness.iter().find(shows)?;
        Some(odd.sigmas.map_or(f64::INFINITY, f64::abs))
    };
    let Some(after) = sets.iter().position(|set| set.after > remedy) else { return false };
    let same = |set: &ReadingSet| (set.at, set.site) == (sets[after].at, sets[after].site);
    let Some(before) = sets[..after].iter().rposition(same) else { return false };
    timeline.engine.all().any(|cylinder| {
        let sizes = size(before, cylinder).zip(size(after, cylinder));
        sizes.is_some_and(|(before, after)| before >= ODD && after < AS_BEFORE * before)
    })
}

/// Whether an exchange was already judged since some disturbance, or what a look would say was measured. What
/// was only looked at may be looked at again: that is worth what it can still correct.
fn done(
    timeline: &Timeline,
    since: usize,
    index: usize,
    test: &Test,
    cylinder: Option<Cylinder>,
    partner: Option<Cylinder>,
) -> bool {
    let exchanged = test.item.is_some()
        && timeline.disturbances[since..].iter().any(|d| {
            d.work.is_some_and(|w| {
                w.test == index
                    && [Some(w.a), w.b].contains(&cylinder)
                    && (w.b.is_some() == partner.is_some())
            })
        });
    let measured = DEPTH_IN_WORDS.contains(&test.id.as_str())
        && cylinder.is_some_and(|c| timeline.depth_known(c).is_some());
    exchanged || measured
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::diagnose;
    use facts::job::entry::What;
    use facts::job::read::read;
    use facts::knowledge::embedded::embedded;
    use facts::knowledge::load;
    use measure::engine::{Ignition, Place, Regime};

    /// Two cylinders with one coil between them have none to exchange: `exchange` would refuse it.
    #[test]
    fn no_exchange_of_a_coil_that_two_cylinders_share_is_asked_for() {
        let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        let exchanges = |cylinders: u8| {
            let mut journal = fixture::journal();
            let engine = &mut journal.head.engine;
            engine.cylinders = cylinders;
            engine.firing_order = (1..=cylinders).collect();
            engine.banks = vec![(1..=cylinders).collect()];
            engine.ignition = Ignition::WastedSpark;
            let mut numbers = vec![655.0; usize::from(cylinders)];
            numbers[1] = 560.0;
            let set = fixture::temps("cruise", fixture::degrees(&numbers));
            journal.entries = vec![fixture::entry(set)];
            let timeline = read(&knowledge, &journal);
            let options = choices(&diagnose(&knowledge, &timeline)).options;
            let coils = options.into_iter().filter_map(|option| match option.step {
                Step::Test { test, cylinder, partner: Some(with), .. }
                    if knowledge.tests[test].item == Some(Item::Coil) =>
                {
                    cylinder.map(|own| share_a_coil(&timeline.engine, own, with))
                }
                _ => None,
            });
            coils.collect::<Vec<bool>>()
        };
        assert_eq!(exchanges(2), Vec::<bool>::new());
        let four = exchanges(4);
        assert!(!four.is_empty() && !four.contains(&true), "{four:?}");
    }

    /// What misses at full load and hardly at idle is looked for there as well, each look with what it would show
    /// at its own point, and as a step of its own.
    #[test]
    fn a_look_at_the_running_engine_is_offered_wherever_it_shows_otherwise() {
        let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        let mut journal = fixture::journal();
        let sets = [
            ("idle", [438.0, 430.0, 434.0, 424.0]),
            ("cruise", [670.0, 665.0, 674.0, 640.0]),
            ("full", [836.0, 823.0, 838.0, 730.0]),
        ];
        let entries = sets
            .map(|(at, numbers)| fixture::entry(fixture::temps(at, fixture::degrees(&numbers))));
        journal.entries = entries.to_vec();
        let timeline = read(&knowledge, &journal);
        let choices = choices(&diagnose(&knowledge, &timeline));
        let count = knowledge.test("misfire-count").expect("a test of the knowledge base");
        let mut shown: Vec<(Option<facts::knowledge::RunningPoint>, f64)> = Vec::new();
        for (option, probe) in choices.options.iter().zip(&choices.problem.probes) {
            let Step::Test { test, cylinder, at, .. } = option.step else { continue };
            let known = &knowledge.tests[test];
            let points = timeline.points_of(known);
            assert!(at.is_none_or(|at| points.contains(&at)), "{}", known.id);
            assert!(!known.at_point || at.is_some(), "{}", known.id);
            if let Some(at) = at {
                assert_eq!(probe.needs.states, [at.thermal as usize], "{}", known.id);
            }
            if test == count && cylinder == Some(4) {
                let belief = choices.problem.belief.iter();
                shown.push((at, probe.rows[0].iter().zip(belief).map(|(p, b)| p * b).sum()));
            }
        }
        let at =
            |point| shown.iter().find(|(at, _)| *at == Some(fixture::at(point))).map(|(_, p)| *p);
        let (idle, full) = (at(Regime::Idle), at(Regime::Full));
        assert!(idle.is_some() && full > idle, "{shown:?}");
    }

    /// A dead plug hides a weak coil: the exchange that was judged by the first says little of the second. After a
    /// remedy in vain it says what it did.
    #[test]
    fn what_was_exchanged_before_a_cure_may_be_exchanged_after_it() {
        let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        let test = knowledge.test("swap-coil").expect("a test of the knowledge base");
        let done_after = |second: f64| {
            let swap = || What::Exchange { item: Item::Coil, a: 2, b: 1 };
            let cruise =
                |own: f64| fixture::temps("cruise", fixture::degrees(&[664.0, own, 681.0, 672.0]));
            let cure = What::Remedy { cause: "plug-dead".to_owned(), place: Place::Cylinder(2) };
            let list = [cruise(201.0), swap(), cruise(203.0), swap(), cure, cruise(second)];
            let mut journal = fixture::journal();
            journal.entries = list.into_iter().map(fixture::entry).collect();
            let timeline = read(&knowledge, &journal);
            let since = judged_anew(&diagnose(&knowledge, &timeline));
            done(&timeline, since, test, &knowledge.tests[test], Some(2), Some(1))
        };
        assert!(!done_after(600.0));
        assert!(done_after(204.0));
    }
}
