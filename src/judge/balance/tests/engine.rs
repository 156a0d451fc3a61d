//! A simulated engine, and a balance gone through on it as a mechanic would who follows the plan.
//!
//! It must not know what the plan should come to.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use crate::balance::plan::{
    Bounds, Left, Next, Outcome, Pot, Scene, goes_back, may, next, outcome,
};
use crate::balance::response::{Set, response};
use facts::job::trim::{Lever, MixtureSign};
use facts::knowledge::Knowledge;
use measure::engine::Regime;

pub(super) const SCATTER: f64 = 4.0;

pub(super) const BOUNDS: Bounds = Bounds { step: 2.0, total: 6.0 };

/// A simulated engine at one running point.
pub(super) struct Engine<'a> {
    knowledge: &'a Knowledge,
    point: usize,
    /// Mixture of each cylinder with its trim at nought.
    pub(super) phi: Vec<f64>,
    /// What depth adds to each display, °C.
    pub(super) depth: Vec<f64>,
    /// Factor on what a trim does: below 1 the injector gives less than it is told.
    pub(super) works: f64,
    random: Pcg64Mcg,
}

impl Engine<'_> {
    pub(super) fn mixture(&self, trims: &[f64]) -> Vec<f64> {
        let of = |(phi, trim): (&f64, &f64)| phi * (1.0 + self.works * trim / 100.0);
        self.phi.iter().zip(trims).map(of).collect()
    }

    pub(super) fn read(&mut self, trims: &[f64]) -> Set {
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
    pub(super) fn sign(&self, cylinder: usize) -> MixtureSign {
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
pub(super) struct Run {
    pub(super) trims: Vec<f64>,
    /// Trims in the order in which they were set, with what had stood.
    pub(super) steps: Vec<(usize, f64, f64)>,
    pub(super) left: Vec<(u8, Left)>,
    pub(super) surprises: usize,
}

/// Balances until the plan has nothing more, as a mechanic would who follows it.
pub(super) fn run(
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

pub(super) fn scene(barred: bool) -> Scene {
    Scene {
        lever: Lever::Fuel,
        bounds: BOUNDS,
        level: 2.0 * SCATTER,
        leaner_barred: barred,
        steps: 0,
    }
}

pub(super) fn spread(phi: &[f64]) -> f64 {
    let most = phi.iter().copied().fold(f64::MIN, f64::max);
    most - phi.iter().copied().fold(f64::MAX, f64::min)
}

pub(super) fn engine<'a>(
    knowledge: &'a Knowledge,
    point: usize,
    phi: &[f64],
    seed: u64,
) -> Engine<'a> {
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
pub(super) fn lawful(run: &Run, scene: Scene, cylinders: usize) {
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
