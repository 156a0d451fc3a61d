//! The plan against a simulated engine: the mixture law of the knowledge base, probes of unequal depth,
//! readings that scatter, and responses that are not what was measured.

use measure::engine::Regime;
use std::sync::LazyLock;

use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::plan::{
    Bounds, Left, Next, Outcome, Pot, Scene, goes_back, lean_side, may, next, outcome,
};
use super::response::{Set, response};
use super::*;
use crate::diagnosis::assess;
use crate::diagnosis::assess::diagnose;
use crate::plan::verify;
use facts::job::entry::{Entry, Journal, What};
use facts::job::read::read;
use facts::knowledge::{embedded::embedded, load};
use fixture::{degrees, temps};

const SCATTER: f64 = 4.0;
const BOUNDS: Bounds = Bounds { step: 2.0, total: 6.0 };

/// Read once: there are many runs.
static KNOWLEDGE: LazyLock<Knowledge> =
    LazyLock::new(|| load(embedded(), &[]).0.expect("the built-in knowledge base is sound"));

/// A simulated engine at one running point.
struct Engine<'a> {
    knowledge: &'a Knowledge,
    point: usize,
    /// Mixture of each cylinder with its trim at nought.
    phi: Vec<f64>,
    /// What depth adds to each display, °C.
    depth: Vec<f64>,
    /// Factor on what a trim does: below 1 the injector gives less than it is told.
    works: f64,
    random: Pcg64Mcg,
}

impl Engine<'_> {
    fn mixture(&self, trims: &[f64]) -> Vec<f64> {
        let of = |(phi, trim): (&f64, &f64)| phi * (1.0 + self.works * trim / 100.0);
        self.phi.iter().zip(trims).map(of).collect()
    }

    fn read(&mut self, trims: &[f64]) -> Set {
        let level = 10.0 * self.random.random::<f64>();
        let mixture = self.mixture(trims);
        let readings = mixture
            .iter()
            .zip(&self.depth)
            .map(|(phi, depth)| {
                let (a, b): (f64, f64) = (self.random.random(), self.random.random());
                let noise = (-2.0 * (1.0 - a).ln()).sqrt() * (std::f64::consts::TAU * b).cos();
                let curve = &self.knowledge.mixture;
                Some(level + curve.at(Regime::STEADY[self.point], *phi) + depth + SCATTER * noise)
            })
            .collect();
        Set { trims: trims.to_vec(), readings }
    }

    /// What plug colour or an exhaust sample would say of a cylinder at first.
    fn sign(&self, cylinder: usize) -> MixtureSign {
        let mean =
            self.phi.iter().sum::<f64>() / f64::from(u8::try_from(self.phi.len()).expect("few"));
        match self.phi[cylinder] / mean - 1.0 {
            off if off < -0.015 => MixtureSign::Lean,
            off if off > 0.015 => MixtureSign::Rich,
            _ => MixtureSign::Even,
        }
    }
}

/// How a run went.
struct Run {
    trims: Vec<f64>,
    /// Trims in the order in which they were set, with what had stood.
    steps: Vec<(usize, f64, f64)>,
    left: Vec<(u8, Left)>,
    surprises: usize,
}

/// Balances until the plan has nothing more, as a mechanic would who follows it.
fn run(
    engine: &mut Engine<'_>,
    scene: Scene,
    asked: &dyn Fn(&Engine<'_>, usize) -> MixtureSign,
) -> Run {
    let n = engine.phi.len();
    let mut run = Run { trims: vec![0.0; n], steps: Vec::new(), left: Vec::new(), surprises: 0 };
    let mut sets = vec![engine.read(&run.trims)];
    let mut signs = vec![None; n];
    let mut surprised = vec![false; n];
    let mut farthest = vec![0.0_f64; n];
    for _ in 0..200 {
        let found = response(&sets, SCATTER).expect("all displays show numbers");
        let shown: Vec<f64> = (0..n)
            .map(|c| {
                found.offsets[c].value + found.slopes[c].map_or(0.0, |s| s.value) * run.trims[c]
            })
            .collect();
        let mean = shown.iter().sum::<f64>() / f64::from(u8::try_from(n).expect("few"));
        let pots: Vec<Pot> = (0..n)
            .map(|c| Pot {
                cylinder: u8::try_from(c + 1).expect("few"),
                off: shown[c] - mean,
                slope: found.slopes[c],
                stands: run.trims[c],
                sign: signs[c],
                surprised: surprised[c],
                reads: sets
                    .iter()
                    .rev()
                    .take_while(|set| (set.trims[c] - run.trims[c]).abs() < 1e-9)
                    .count(),
                farthest: farthest[c],
            })
            .collect();
        match next(&pots, Scene { steps: run.steps.len(), ..scene }) {
            Next::ReadAgain => {
                sets.push(engine.read(&run.trims));
                let old = sets.len().saturating_sub(12);
                sets.drain(..old);
            }
            Next::AskSign { cylinder } => {
                let c = usize::from(cylinder) - 1;
                signs[c] = Some(asked(engine, c));
            }
            Next::Step { cylinder, to, .. } => {
                assert!(may(&pots, scene, cylinder, to).is_ok(), "the plan's own step is allowed");
                let c = usize::from(cylinder) - 1;
                let (from, before) = (run.trims[c], sets[sets.len() - 1].clone());
                let foreseen = pots[c].slope.map(|s| {
                    let by = to - from;
                    (s.value * by, (s.se * by).hypot(SCATTER * 1.64))
                });
                run.trims[c] = to;
                farthest[c] = farthest[c].max(to);
                run.steps.push((c, from, to));
                let after = engine.read(&run.trims);
                let against = |set: &Set| {
                    let all: Vec<f64> = set.readings.iter().map(|r| r.expect("a number")).collect();
                    let rest = all.iter().sum::<f64>() - all[c];
                    all[c] - rest / f64::from(u8::try_from(n - 1).expect("few"))
                };
                let came = against(&after) - against(&before);
                sets.push(after);
                if let Some((mean, sd)) = foreseen
                    && outcome(mean, sd, came) == Outcome::Otherwise
                {
                    // The rule: put it back, and leave the cylinder alone.
                    run.surprises += 1;
                    run.trims[c] = from;
                    surprised[c] = true;
                    sets.push(engine.read(&run.trims));
                }
                let old = sets.len().saturating_sub(12);
                sets.drain(..old);
            }
            Next::Done { left } => {
                run.left = left;
                return run;
            }
        }
    }
    panic!("it does not come to an end: {:?}", run.steps);
}

fn scene(barred: bool) -> Scene {
    Scene {
        lever: Lever::Fuel,
        bounds: BOUNDS,
        level: 2.0 * SCATTER,
        leaner_barred: barred,
        steps: 0,
    }
}

fn spread(phi: &[f64]) -> f64 {
    let most = phi.iter().copied().fold(f64::MIN, f64::max);
    most - phi.iter().copied().fold(f64::MAX, f64::min)
}

fn engine<'a>(knowledge: &'a Knowledge, point: usize, phi: &[f64], seed: u64) -> Engine<'a> {
    Engine {
        knowledge,
        point,
        phi: phi.to_vec(),
        depth: vec![0.0; phi.len()],
        works: 1.0,
        random: Pcg64Mcg::seed_from_u64(seed),
    }
}

/// What must hold of every run, whatever the engine does.
fn lawful(run: &Run, scene: Scene, cylinders: usize) {
    for &(c, from, to) in &run.steps {
        let small = (to - from).abs() <= BOUNDS.step + 1e-9;
        assert!(small || goes_back(from, to), "step {from} to {to}");
        assert!(to.abs() <= BOUNDS.total + 1e-9, "total {to}");
        assert!(!scene.leaner_barred || to >= -1e-9, "leaner at load: {to}");
        let first = run.steps.iter().find(|step| step.0 == c).expect("it is one");
        assert!(first.2 > first.1, "richer first");
    }
    assert!(run.steps.len() <= 6 * cylinders);
}

#[test]
fn a_lean_cylinder_is_brought_up_on_either_side_of_the_peak() {
    let knowledge = &*KNOWLEDGE;
    // Cruise at the exact mixture, where lean reads cold; full load rich of it, where lean reads hot;
    // idle a little rich.
    for (point, base, low) in [(1, 1.0, 0.945), (2, 1.15, 1.08), (1, 0.96, 0.91), (2, 1.2, 1.12)] {
        let (mut before, mut after) = (0.0, 0.0);
        for seed in 0..40 {
            let mut engine = engine(knowledge, point, &[base, low, base, base], seed);
            let scene = scene(true);
            let run = run(&mut engine, scene, &|e, c| e.sign(c));
            lawful(&run, scene, 4);
            before += spread(&engine.phi);
            after += spread(&engine.mixture(&run.trims));
            for (c, trim) in run.trims.iter().enumerate() {
                assert!(c == 1 || trim.abs() < 1e-9, "a healthy mate was trimmed: {:?}", run.trims);
            }
        }
        assert!(after < 0.6 * before, "point {point}, base {base}: {after} of {before}");
    }
}

#[test]
fn a_rich_cylinder_is_left_where_one_trim_serves_all_loads() {
    let knowledge = &*KNOWLEDGE;
    for seed in 0..40 {
        let mut engine = engine(knowledge, 1, &[1.0, 1.0, 1.09, 1.0], seed);
        let run = run(&mut engine, scene(true), &|e, c| e.sign(c));
        lawful(&run, scene(true), 4);
        assert!(run.trims.iter().all(|trim| *trim >= 0.0));
    }
    // With trims by load it is brought down at light load.
    let (mut before, mut after) = (0.0, 0.0);
    for seed in 0..40 {
        let mut engine = engine(knowledge, 1, &[1.0, 1.0, 1.09, 1.0], seed);
        let run = run(&mut engine, scene(false), &|e, c| e.sign(c));
        lawful(&run, scene(false), 4);
        before += spread(&engine.phi);
        after += spread(&engine.mixture(&run.trims));
    }
    assert!(after < 0.8 * before, "{after} of {before}");
}

#[test]
fn unequal_depths_alone_get_no_trim() {
    let knowledge = &*KNOWLEDGE;
    for seed in 0..60 {
        let mut engine = engine(knowledge, 1 + usize::from(seed % 2 == 0), &[1.15; 4], seed);
        engine.depth = vec![0.0, -38.0, 22.0, 5.0];
        let run = run(&mut engine, scene(false), &|e, c| e.sign(c));
        assert!(run.steps.is_empty(), "{:?}", run.steps);
        assert!(run.left.iter().all(|(_, why)| *why == Left::SignEven));
        assert!(!run.left.is_empty(), "the displays are off, and it says why that is left");
    }
}

#[test]
fn no_step_without_a_sign() {
    let pot = |off| Pot {
        cylinder: 2,
        off,
        slope: None,
        stands: 0.0,
        sign: None,
        surprised: false,
        reads: 2,
        farthest: 0.0,
    };
    assert_eq!(next(&[pot(-40.0)], scene(true)), Next::AskSign { cylinder: 2 });
    assert_eq!(may(&[pot(-40.0)], scene(true), 2, 1.0), Err(Refused::NoSign));
    assert_eq!(next(&[pot(-4.0)], scene(true)), Next::Done { left: Vec::new() });
}

#[test]
fn spark_is_touched_only_where_mixtures_are_alike() {
    let spark =
        Scene { lever: Lever::Spark, bounds: Bounds { step: 1.0, total: 3.0 }, ..scene(true) };
    let pot = |sign| Pot {
        cylinder: 1,
        off: -30.0,
        slope: None,
        stands: 0.0,
        sign,
        surprised: false,
        reads: 2,
        farthest: 0.0,
    };
    let lean = next(&[pot(Some(MixtureSign::Lean))], spark);
    assert_eq!(lean, Next::Done { left: vec![(1, Left::SignAgainst)] });
    let even = next(&[pot(Some(MixtureSign::Even))], spark);
    assert_eq!(even, Next::Step { cylinder: 1, to: 1.0, measures: true });
    assert_eq!(may(&[pot(Some(MixtureSign::Even))], spark, 1, -1.0), Err(Refused::RicherFirst));
}

#[test]
fn a_way_back_is_always_open() {
    assert!(goes_back(2.0, 0.0) && goes_back(-2.0, -1.0) && goes_back(2.0, 1.0));
    assert!(!goes_back(2.0, -1.0) && !goes_back(0.0, 1.0) && !goes_back(2.0, 3.0));
    let pot = Pot {
        cylinder: 1,
        off: 0.0,
        slope: None,
        stands: 4.0,
        sign: None,
        surprised: true,
        reads: 2,
        farthest: 4.0,
    };
    assert_eq!(may(&[pot], scene(true), 1, 0.0), Ok(()));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]
    /// Whatever the mixtures, the depths and what the trims really do, even the wrong way round, a run ends
    /// and stays within its bounds; and where signs are right and trims work, no mixture ends farther off
    /// than it began by more than the two steps that tell the side of the peak.
    #[test]
    fn every_run_is_lawful_and_ends(
        phi in proptest::collection::vec(0.85..1.3f64, 3..7),
        depth in proptest::collection::vec(-40.0..40.0f64, 7),
        point in 0usize..3,
        works in prop_oneof![Just(1.0), Just(0.3), Just(2.5), Just(-1.0), Just(0.0)],
        barred: bool,
        seed in 0u64..1000,
        wrong_signs: bool,
    ) {
        let knowledge = &*KNOWLEDGE;
        let mut engine = engine(knowledge, point, &phi, seed);
        engine.depth = depth[..phi.len()].to_vec();
        engine.works = works;
        let scene = scene(barred);
        let asked = |engine: &Engine<'_>, c: usize| match (engine.sign(c), wrong_signs) {
            (MixtureSign::Lean, true) => MixtureSign::Rich,
            (MixtureSign::Rich, true) => MixtureSign::Lean,
            (sign, _) => sign,
        };
        let run = run(&mut engine, scene, &asked);
        lawful(&run, scene, phi.len());
        if (works - 1.0).abs() < 0.5 && !wrong_signs {
            let mean = phi.iter().sum::<f64>() / f64::from(u8::try_from(phi.len()).expect("few"));
            for (before, after) in phi.iter().zip(engine.mixture(&run.trims)) {
                let steps = 2.0 * scene.bounds.step / 100.0 * before / mean;
                let (before, after) = ((before / mean - 1.0).abs(), (after / mean - 1.0).abs());
                prop_assert!(after <= before + steps + 0.005, "{before} to {after}: {:?}", run.steps);
            }
        }
    }
}

#[test]
fn a_step_that_does_the_wrong_thing_stops_the_cylinder() {
    let knowledge = &*KNOWLEDGE;
    let (mut stopped, mut steps) = (0, 0);
    for seed in 0..60 {
        let mut engine = engine(knowledge, 2, &[1.15, 1.05, 1.15, 1.15], seed);
        // After the response was measured the injector is told and does nothing like it.
        let scene = scene(true);
        let first = engine.read(&[0.0; 4]);
        let second = engine.read(&[0.0, 2.0, 0.0, 0.0]);
        let slope = response(&[first, second], SCATTER).expect("told").slopes[1].expect("moved");
        if lean_side(slope) != Some(false) {
            continue;
        }
        let pot = Pot {
            cylinder: 2,
            off: 30.0,
            slope: Some(slope),
            stands: 2.0,
            sign: Some(MixtureSign::Lean),
            surprised: false,
            reads: 2,
            farthest: 2.0,
        };
        let Next::Step { to, .. } = next(std::slice::from_ref(&pot), scene) else {
            panic!("a step")
        };
        steps += 1;
        let foreseen = slope.value * (to - 2.0);
        let sd = (slope.se * (to - 2.0)).hypot(SCATTER * 1.64);
        // It gets hotter by as much as it should get colder, twice over.
        stopped += usize::from(outcome(foreseen, sd, -2.0 * foreseen) == Outcome::Otherwise);
        let after = Pot { surprised: true, ..pot };
        assert_eq!(next(&[after], scene), Next::Done { left: vec![(2, Left::Otherwise)] });
    }
    assert!(steps > 10, "{steps}");
    assert!(stopped * 10 > steps, "{stopped} of {steps}");
}

/// A job on the knowledge base's own port-injected four with trims.
fn job(whats: Vec<What>) -> Journal {
    let mut journal = fixture::journal();
    journal.head.engine.trims = true;
    journal.head.recent.clear();
    for what in whats {
        journal.push(Entry::new(jiff::Timestamp::UNIX_EPOCH, "typed".to_owned(), what));
    }
    journal
}

fn stands(knowledge: &Knowledge, journal: &Journal) -> Balance {
    let timeline = read(knowledge, journal);
    let assessment = assess(knowledge, &timeline);
    let verification = verify(&diagnose(knowledge, &timeline));
    let asked = Asked { lever: Lever::Fuel, at: None, by_load: false };
    balance(knowledge, &timeline, (&assessment, &verification), asked)
}

/// A depth fault of any size at any cylinder, at any point: as long as it is there, nothing is trimmed,
/// even where the mechanic writes it down as normal and claims a lean mixture.
#[test]
fn a_depth_fault_never_gets_a_trim() {
    let knowledge = &*KNOWLEDGE;
    for cylinder in [1_u8, 3] {
        for short in [45.0, 70.0] {
            for claims in [false, true] {
                let row = |level: f64| {
                    let mut row = [level + 2.0, level - 3.0, level + 1.0, level];
                    row[usize::from(cylinder) - 1] -= short;
                    degrees(&row)
                };
                let mut whats = vec![temps("idle", row(400.0)), temps("cruise", row(620.0))];
                if claims {
                    whats.push(What::Recorded);
                    let by = "plug".to_owned();
                    whats.push(What::Sign { cylinder, sign: MixtureSign::Lean, by });
                }
                let found = stands(knowledge, &job(whats));
                assert_eq!(found.now, Now::Barred, "cylinder {cylinder}, {short} °C: {found:?}");
            }
        }
    }
}

#[test]
fn a_measured_depth_bars_even_a_small_difference() {
    let knowledge = &*KNOWLEDGE;
    let line = |depth| facts::job::fit::FitLine { depth: Some(depth), ..Default::default() };
    let lines = vec![(1, line(15.0)), (2, line(11.0)), (3, line(15.0)), (4, line(15.0))];
    let found = stands(
        knowledge,
        &job(vec![
            temps("cruise", degrees(&[620.0, 606.0, 622.0, 619.0])),
            What::Fitted { lines },
            What::Recorded,
        ]),
    );
    assert!(
        found.barriers.iter().any(|b| matches!(b, Barrier::Depth(2, _))),
        "{:?}",
        found.barriers
    );
    assert_eq!(found.now, Now::Barred);
}

#[test]
fn a_diesel_is_recorded_and_not_levelled() {
    let knowledge = &*KNOWLEDGE;
    let mut journal =
        job(vec![temps("cruise", degrees(&[420.0, 440.0, 422.0, 419.0])), What::Recorded]);
    journal.head.engine.fuel = Fuel::Diesel;
    journal.head.engine.ignition = Ignition::None;
    let found = stands(knowledge, &journal);
    assert_eq!(found.barriers, [Barrier::Diesel]);
    assert_eq!(found.now, Now::Barred);
}

#[test]
fn a_journal_is_followed_step_by_step() {
    // Readings alone clear a chain only so far; here that is enough.
    let mut knowledge = KNOWLEDGE.clone();
    knowledge.constants.chain_share = 0.4;
    knowledge.constants.balance_share = 0.4;
    let knowledge = &knowledge;
    let cruise = |two: f64| temps("cruise", degrees(&[620.0, two, 619.0, 621.0]));
    let mut whats = vec![
        temps("idle", degrees(&[400.0, 396.0, 401.0, 399.0])),
        cruise(604.0),
        cruise(604.0),
        What::Recorded,
    ];
    let now = |whats: &Vec<What>| stands(knowledge, &job(whats.clone()));
    let found = now(&whats);
    assert_eq!(found.barriers, [], "{found:?}");
    assert_eq!(found.now, Now::Next(Next::AskSign { cylinder: 2 }));
    whats.push(What::Sign { cylinder: 2, sign: MixtureSign::Lean, by: "plug".to_owned() });
    let found = now(&whats);
    assert_eq!(found.now, Now::Next(Next::Step { cylinder: 2, to: 2.0, measures: true }));
    let timeline = read(knowledge, &job(whats.clone()));
    let foreseen = foresee(knowledge, &timeline, &found, 2, 2.0).expect("by the law");
    assert!((foreseen.change - 6.4).abs() < 1.0, "{foreseen:?}");
    whats.push(What::Trim { lever: Lever::Fuel, cylinder: 2, to: 2.0, foreseen: Some(foreseen) });
    assert_eq!(now(&whats).now, Now::Read);
    whats.push(cruise(613.0));
    let found = now(&whats);
    assert_eq!(found.taken[0].outcome, Some(Outcome::AsForeseen));
    assert!((found.taken[0].came.expect("read") - 9.0).abs() < 1e-9);
    assert_eq!(found.now, Now::Next(Next::Done { left: Vec::new() }), "{found:?}");
    // The trimmed readings are no evidence of a fault.
    let timeline = read(knowledge, &job(whats.clone()));
    assert_eq!((timeline.sets.len(), timeline.trimming.sets.len()), (3, 1));
    // A step that makes it far colder is put back.
    whats.pop();
    whats.push(cruise(560.0));
    assert_eq!(now(&whats).now, Now::PutBack { cylinder: 2, to: 0.0 });
}
