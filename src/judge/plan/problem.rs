//! The decision problem, stripped of everything a mechanic would recognise.
//!
//! Hypotheses with probabilities, repairs that end them, tests that tell them apart, and a
//! world of set-ups between which moving costs something. It knows no engine: `plan::actions`
//! fills it in, fixtures and random instances in the tests do too.

use serde::Serialize;

/// A cost in minutes of labour, with the hands-on part apart.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Price {
    /// Everything, in minutes of labour.
    pub total: f64,
    /// Hands-on minutes.
    pub hands_on: f64,
}

impl Price {
    /// A price that is all hands-on.
    #[must_use]
    pub fn labour(minutes: f64) -> Self {
        Self { total: minutes, hands_on: minutes }
    }

    /// Scaled.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self { total: self.total * factor, hands_on: self.hands_on * factor }
    }
}

impl std::ops::Add for Price {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { total: self.total + other.total, hands_on: self.hands_on + other.hands_on }
    }
}

impl std::ops::AddAssign for Price {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

/// The engine's state and what stands open, in numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Situation {
    /// State of the engine, an index into [`World::change`].
    pub state: usize,
    /// Bit per thing that stands open.
    pub open: u64,
}

/// Prices of moving between situations.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct World {
    /// From state to state.
    pub change: Vec<Vec<Price>>,
    /// Opening (and later closing) each thing.
    pub access: Vec<Price>,
    /// Things that must be shut before the engine runs.
    pub blocking: u64,
    /// Whether the engine runs in a state.
    pub runs: Vec<bool>,
    /// Whether going from state to state means running the engine on the way.
    pub by_running: Vec<Vec<bool>>,
    /// State in which a repair is verified.
    pub verifying: usize,
    /// Things that stay open for good, as what was looked at before it was moved.
    pub lasting: u64,
}

impl World {
    /// A world without set-ups.
    #[must_use]
    pub fn flat() -> Self {
        Self {
            change: vec![vec![Price::default()]],
            access: Vec::new(),
            blocking: 0,
            runs: vec![false],
            by_running: vec![vec![false]],
            verifying: 0,
            lasting: 0,
        }
    }

    /// The situation after a repair was verified that was begun in another.
    #[must_use]
    pub fn verified(&self, from: Situation) -> Situation {
        Situation { state: self.verifying, open: from.open & self.lasting }
    }

    /// The cheapest way to get ready for work, its price, and the situation then.
    #[must_use]
    pub fn ready(&self, from: Situation, needs: &Needs) -> (Price, Situation) {
        let mut best: Option<(Price, Situation)> = None;
        for &state in &needs.states {
            let mut price = self.change[from.state][state];
            let mut open = from.open;
            if self.runs[state] || self.by_running[from.state][state] {
                open &= !self.blocking;
            }
            for (index, access) in self.access.iter().enumerate() {
                if needs.access >> index & 1 == 1 && open >> index & 1 == 0 {
                    price += access.times(needs.openings);
                }
            }
            open |= needs.access;
            let better = best.is_none_or(|(b, _)| price.total < b.total - 1e-12);
            if better {
                best = Some((price, Situation { state, open }));
            }
        }
        best.unwrap_or((Price::default(), from))
    }

    /// The situation after work done in `at` that leaves the engine in `leaves`.
    #[must_use]
    pub fn after(&self, at: Situation, leaves: Option<usize>) -> Situation {
        let state = leaves.unwrap_or(at.state);
        let open = if self.runs[state] { at.open & !self.blocking } else { at.open };
        Situation { state, open }
    }
}

/// What work needs before it can start.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Needs {
    /// States in which it can be done.
    pub states: Vec<usize>,
    /// Bit per thing that must be open.
    pub access: u64,
    /// How many of each must be opened (two cylinders of an exchange).
    pub openings: f64,
}

impl Needs {
    /// Nothing.
    #[must_use]
    pub fn nothing() -> Self {
        Self { states: vec![0], access: 0, openings: 1.0 }
    }
}

/// Work that ends a hypothesis.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Repair {
    /// Price with verification, set-ups left out.
    pub price: Price,
    /// Its own hands-on minutes, which are not counted when it is the last.
    pub own_hands_on: f64,
    /// What it costs on top where it was not what was needed, minutes of labour: a part in vain, an
    /// engine that comes back.
    pub in_vain: f64,
    /// What it needs.
    pub needs: Needs,
}

/// Work that tells hypotheses apart.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Probe {
    /// Price, set-ups left out.
    pub price: Price,
    /// What it needs.
    pub needs: Needs,
    /// State it leaves the engine in.
    pub leaves: Option<usize>,
    /// Bit per lasting thing that it opens.
    pub opens: u64,
    /// Chance of each outcome under each hypothesis: `rows[outcome][hypothesis]`.
    pub rows: Vec<Vec<f64>>,
    /// May be done only when the mass under this list of [`Problem::first_out`] is small.
    pub held_back: Option<usize>,
}

/// The whole problem.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Probability of each hypothesis; they sum to one.
    pub belief: Vec<f64>,
    /// Repairs that each hypothesis needs, all of them.
    pub cures: Vec<Vec<usize>>,
    /// Repairs.
    pub repairs: Vec<Repair>,
    /// Tests.
    pub probes: Vec<Probe>,
    /// Set-ups.
    pub world: World,
    /// Where things stand.
    pub now: Situation,
    /// Price of a search that finds whatever it is, before its own repair; none where there is no
    /// such thing.
    pub search: Option<Price>,
    /// By place of the work: hypotheses that must be improbable before work there that is held back is done (the
    /// measuring chain of a cylinder, before its engine parts).
    pub first_out: Vec<Vec<bool>>,
    /// Share of the belief they must be below.
    pub first_out_share: f64,
}

impl Problem {
    /// What a repair costs on top at a belief for the cases that do not need it, not normalised.
    #[must_use]
    pub fn in_vain(&self, belief: &[f64], repair: usize) -> f64 {
        let price = self.repairs[repair].in_vain;
        if price <= 0.0 {
            return 0.0;
        }
        let others = belief.iter().zip(&self.cures).filter(|(_, cures)| !cures.contains(&repair));
        price * others.map(|(p, _)| p).sum::<f64>()
    }

    /// The problem with only the cases that hold more than a share of a belief, and their repairs;
    /// everything else as it is. Tests keep their numbers, cases and repairs do not; only `tests` keep
    /// their rows, since to copy those of all takes longer than it spares.
    #[must_use]
    pub fn narrowed(&self, belief: &[f64], share: f64, tests: &[usize]) -> Self {
        let least = share * belief.iter().sum::<f64>();
        let kept: Vec<usize> = (0..belief.len()).filter(|&case| belief[case] > least).collect();
        let mut new = vec![usize::MAX; self.repairs.len()];
        let mut repairs = Vec::new();
        let mut cures = Vec::with_capacity(kept.len());
        for &case in &kept {
            let renumbered = self.cures[case].iter().map(|&repair| {
                if new[repair] == usize::MAX {
                    new[repair] = repairs.len();
                    repairs.push(self.repairs[repair].clone());
                }
                new[repair]
            });
            cures.push(renumbered.collect());
        }
        let of = |list: &[f64]| -> Vec<f64> { kept.iter().map(|&case| list[case]).collect() };
        let probe = |(index, probe): (usize, &Probe)| Probe {
            rows: if tests.contains(&index) {
                probe.rows.iter().map(|row| of(row)).collect()
            } else {
                Vec::new()
            },
            needs: probe.needs.clone(),
            ..*probe
        };
        Self {
            belief: of(belief),
            cures,
            repairs,
            probes: self.probes.iter().enumerate().map(probe).collect(),
            world: self.world.clone(),
            first_out: self
                .first_out
                .iter()
                .map(|of| kept.iter().map(|&c| of[c]).collect())
                .collect(),
            ..*self
        }
    }

    /// Price of doing a test from a situation, and the situation after it.
    #[must_use]
    pub fn doing(&self, probe: usize, from: Situation) -> (Price, Situation) {
        let probe = &self.probes[probe];
        let (ready, at) = self.world.ready(from, &probe.needs);
        let mut then = self.world.after(at, probe.leaves);
        then.open |= probe.opens;
        (ready + probe.price, then)
    }

    /// Whether work at a place that is held back may be done at a belief.
    #[must_use]
    pub fn cleared(&self, belief: &[f64], place: usize) -> bool {
        let sum: f64 = belief.iter().sum();
        self.first(belief, place) < self.first_out_share * sum
    }

    /// Belief in the hypotheses that must be improbable first, not normalised.
    #[must_use]
    pub fn first(&self, belief: &[f64], place: usize) -> f64 {
        let list = belief.iter().zip(&self.first_out[place]);
        list.filter(|(_, first)| **first).map(|(p, _)| p).sum()
    }
}
