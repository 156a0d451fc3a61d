//! What a cause does to a reading, as mean and covariance over the kinds of reading of a job.
//!
//! Turns the rows of the knowledge base into numbers for this engine: scaled to its
//! temperatures, put through its mixture curve, by the diesel's own law. It must not know where
//! a cause is.

use facts::job::timeline::Timeline;
use facts::knowledge::{
    Charge, Constants, Effect, Knowledge, Law, MixtureCurve, RunningPoint, Spread,
};
use measure::engine::{Engine, Fuel, ProbeSite, Regime};

use super::data::Kind;
use super::linalg::Matrix;
use super::physics::{self, Installed};
use facts::knowledge::AMBIENT;

/// Standard deviation of a reading that means nothing, °C: anything from ambient to full scale.
const MEANINGLESS: f64 = 250.0;

/// Mean shift and a factor of its covariance, one entry per kind of reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Moments {
    /// Share of the engines with this cause that show this side.
    pub share: f64,
    /// Mean, °C.
    pub mean: Vec<f64>,
    /// Lower Cholesky factor of the covariance, °C.
    pub factor: Matrix,
    /// Whether the reading means anything at all at each kind.
    pub meaningful: Vec<bool>,
    /// What there is to burn in the cylinder.
    pub charge: Charge,
}

/// Correlation of a cause's sizes at two running points.
///
/// Engineering judgement, common practice, no source: an offset is one number, a misfire may
/// differ from point to point.
fn correlation(law: Law) -> f64 {
    match law {
        Law::Offset => 0.98,
        Law::Proportional => 0.95,
        Law::Wall => 0.9,
        Law::Mixture => 0.8,
        Law::Bay | Law::Misfire => 0.7,
        Law::EngineEffect | Law::Time => 0.6,
        Law::Misnamed => 0.5,
        Law::Noise | Law::Invalid => 0.3,
    }
}

/// What an effect needs to know of the job.
#[derive(Debug, Clone, Copy)]
pub struct Context<'a> {
    /// The knowledge base.
    pub knowledge: &'a Knowledge,
    /// The engine.
    pub engine: &'a Engine,
    /// Kinds of reading.
    pub kinds: &'a [Kind],
    /// Typical level of each, °C.
    pub levels: &'a [f64],
    /// How the probes sit at each, where that is known.
    pub(crate) installed: &'a [Option<Installed>],
}

/// How exhaust probes sit at each kind of reading.
pub(crate) fn installed(
    timeline: &Timeline,
    kinds: &[Kind],
    levels: &[f64],
) -> Vec<Option<Installed>> {
    let (engine, assumed) = (&timeline.engine, timeline.fitting_assumed);
    let one = |(kind, level): (&Kind, &f64)| match kind.site {
        ProbeSite::Exhaust => Installed::at(engine, assumed, kind.at.regime, *level),
        ProbeSite::Head => None,
    };
    kinds.iter().zip(levels).map(one).collect()
}

/// All sides of a cause; `measured` is how much deeper the probe in question was found, mm.
#[must_use]
pub fn moments(context: Context<'_>, index: usize, measured: Option<f64>) -> Vec<Moments> {
    let cause = &context.knowledge.causes[index];
    let effects = cause.effects_on(context.engine);
    if effects.is_empty() {
        let k = context.kinds.len();
        return vec![Moments {
            share: 1.0,
            mean: vec![0.0; k],
            factor: Matrix::zeros(k, k),
            meaningful: vec![true; k],
            charge: Charge::Usual,
        }];
    }
    let measuring = context.knowledge.is_measuring(index);
    let mut list = Vec::new();
    for effect in effects {
        for (share, richer) in bases(context, effect) {
            let mut side = side(context, measuring, effect, measured, richer);
            side.share *= share;
            list.extend(by_severity(context, effect, side));
        }
    }
    if !cause.passes() {
        let doubted = doubted(context, measuring, &mut list);
        list.extend(doubted);
    }
    list
}

/// The sides of a cause that does something else than its rows say, for which the others make room.
fn doubted(context: Context<'_>, measuring: bool, sides: &mut [Moments]) -> Vec<Moments> {
    let doubt = context.knowledge.constants.effect_doubt;
    if doubt <= 0.0 {
        return Vec::new();
    }
    for side in sides {
        side.share *= 1.0 - doubt;
    }
    // A fault of the complaint's probes does not touch the other site's.
    let touched = |kind: &Kind| !measuring || kind.site == context.engine.probes;
    let mut any = of_any_size(context, touched);
    for side in &mut any {
        side.share *= doubt;
    }
    any
}

/// How rich the engine may run at idle and cruise beyond what is tabulated, with shares, as far as an
/// effect depends on it.
fn bases(context: Context<'_>, effect: &Effect) -> Vec<(f64, f64)> {
    let [share, richer] = context.knowledge.constants.mixture_rich;
    let running = |kind: &Kind| {
        kind.site == ProbeSite::Exhaust
            && matches!(kind.at.regime, Regime::Warming | Regime::Idle | Regime::Cruise)
    };
    let depends = effect.mixture.is_some() && context.kinds.iter().any(running);
    if share > 0.0 && depends && context.engine.fuel != Fuel::Diesel {
        vec![(1.0 - share, 0.0), (share, richer)]
    } else {
        vec![(1.0, 0.0)]
    }
}

/// Whether a law gives sizes that go with how grave the fault is: not one that is computed from what
/// is known of the fitting, nor one that has no size or is at its limit already.
fn goes_with_severity(effect: &Effect) -> bool {
    effect.physics.is_none()
        && matches!(
            effect.law,
            Law::Offset
                | Law::Proportional
                | Law::Wall
                | Law::Mixture
                | Law::Bay
                | Law::EngineEffect
        )
}

/// Mean of all points together, in standard deviations, from which a side has a sign.
const SIGNED: f64 = 0.7;

/// A side as usual and, in some, gross: one severity acts at all points.
///
/// What a workshop finds was let go for a day or for years, so that a size is a number about one and
/// not the one that is tabulated; what has no sign of its own is spread about nothing already.
fn by_severity(context: Context<'_>, effect: &Effect, side: Moments) -> Vec<Moments> {
    let [share, times, sd, gross_sd] = context.knowledge.constants.severity;
    let k = side.mean.len();
    let variance = |i: usize| (0..k).map(|c| side.factor[(i, c)].powi(2)).sum::<f64>();
    let signed = (0..k).any(|i| side.mean[i].abs() > SIGNED * variance(i).sqrt().max(1e-9));
    if share <= 0.0 || !goes_with_severity(effect) || !signed {
        return vec![side];
    }
    let of = |share: f64, times: f64, sd: f64| {
        let mut covariance = Matrix::from_fn(k, k, |i, j| {
            let own: f64 = (0..k).map(|c| side.factor[(i, c)] * side.factor[(j, c)]).sum();
            times * times * own + sd * sd * side.mean[i] * side.mean[j]
        });
        covariance.cholesky();
        Moments {
            share: side.share * share,
            mean: side.mean.iter().map(|mean| times * mean).collect(),
            factor: covariance,
            meaningful: side.meaningful.clone(),
            charge: side.charge,
        }
    };
    vec![of(1.0 - share, 1.0, sd), of(share, times, gross_sd)]
}

/// The moments of a cause in no list: of the sizes that listed ones have, at any point, usual and gross.
#[must_use]
pub fn unlisted(context: Context<'_>) -> Vec<Moments> {
    of_any_size(context, |_| true)
}

/// Sizes as listed causes have them, at the kinds of reading that are touched.
fn of_any_size(context: Context<'_>, touched: impl Fn(&Kind) -> bool) -> Vec<Moments> {
    let constants = &context.knowledge.constants;
    let [usual @ .., _, _, _] = constants.unlisted_sizes;
    let [_, _, _, gross @ ..] = constants.unlisted_sizes;
    let of = |share: f64, sizes: [f64; 3]| {
        let spread = |kind: &Kind| {
            let sd = kind.at.regime.of_three(sizes).unwrap_or(5.0) * kind.at.times_regime();
            // A head varies with load about a third as much as its exhaust.
            let head = kind.site == ProbeSite::Head && !kind.at.is_cold();
            let sd = if head { sd / 3.0 } else { sd };
            Some(Spread { mean: 0.0, sd: if touched(kind) { sd } else { 0.0 } })
        };
        let spreads: Vec<Option<Spread>> = context.kinds.iter().map(spread).collect();
        from_spreads(share, &spreads, 0.5)
    };
    let [share, ..] = constants.severity;
    vec![of(1.0 - share, usual), of(share, gross)]
}

fn side(
    context: Context<'_>,
    measuring: bool,
    effect: &Effect,
    measured: Option<f64>,
    richer: f64,
) -> Moments {
    let rows: Vec<Option<Spread>> = context
        .kinds
        .iter()
        .zip(context.levels)
        .zip(context.installed)
        .map(|((kind, level), installed)| {
            // A fault of the complaint's probes does not touch the other site's.
            if measuring && kind.site != context.engine.probes {
                return Some(Spread { mean: 0.0, sd: 0.0 });
            }
            let computed = effect.physics.and_then(|physics| {
                let (engine, installed) = (context.engine, installed.as_ref());
                physics::shift(physics, engine, kind.at.regime, *level, installed, measured)
            });
            match computed {
                Some(computed) => computed.number(),
                None => row(context, effect, *kind, *level),
            }
        })
        .collect();
    let mut moments = from_spreads(effect.share, &rows, correlation(effect.law));
    moments.charge = effect.charge;
    if let Some(delta) = effect.mixture {
        through_the_curve(context, &delta, richer, &mut moments);
    }
    moments
}

/// The tabulated shift for a kind of reading, `None` where the number means nothing.
fn row(context: Context<'_>, effect: &Effect, kind: Kind, level: f64) -> Option<Spread> {
    let constants = &context.knowledge.constants;
    match kind.site {
        ProbeSite::Exhaust => {
            let Some(shifts) = &effect.exhaust else {
                return Some(Spread { mean: 0.0, sd: 0.0 });
            };
            let spread = shifts.at(kind.at)?;
            let scale = scale(constants, effect.law, kind.at, level);
            Some(if kind.at.is_warming() && !shifts.warms(kind.at) {
                // Half-way up the curve, and nobody knows how far.
                Spread { mean: 0.6 * scale * spread.mean, sd: (0.6 * scale * spread.sd).hypot(5.0) }
            } else {
                Spread { mean: scale * spread.mean, sd: scale * spread.sd }
            })
        }
        ProbeSite::Head => {
            let Some(head) = effect.head else {
                return Some(Spread { mean: 0.0, sd: 0.0 });
            };
            let share = match (kind.at, effect.law) {
                (_, Law::Offset) => 1.0,
                (at, _) => constants.head_share.at(at),
            };
            Some(Spread { mean: share * head.mean, sd: (share * head.sd).max(1.0) })
        }
    }
}

/// Shifts in proportion to the reading are tabulated for the reference readings; this engine may
/// run cooler or hotter.
fn scale(constants: &Constants, law: Law, at: RunningPoint, level: f64) -> f64 {
    let reference = constants.reference_rise_at(at);
    match law {
        Law::Proportional | Law::Misfire if !at.is_cold() => {
            ((level - AMBIENT) / reference).clamp(0.2, 1.6)
        }
        _ => 1.0,
    }
}

fn from_spreads(share: f64, spreads: &[Option<Spread>], correlation: f64) -> Moments {
    let k = spreads.len();
    let sd = |i: usize| spreads[i].map_or(MEANINGLESS, |s| s.sd);
    let mut factor = Matrix::from_fn(k, k, |i, j| {
        let both_mean_something = spreads[i].is_some() && spreads[j].is_some();
        match (i == j, both_mean_something) {
            (true, _) => sd(i) * sd(i),
            (false, true) => correlation * sd(i) * sd(j),
            (false, false) => 0.0,
        }
    });
    factor.cholesky();
    Moments {
        share,
        mean: spreads.iter().map(|s| s.map_or(0.0, |s| s.mean)).collect(),
        factor,
        meaningful: spreads.iter().map(Option::is_some).collect(),
        charge: Charge::Usual,
    }
}

/// Size of the defect in standard normal units, with weights: 21 points from −3 to 3.
fn sizes() -> impl Iterator<Item = (f64, f64)> {
    let weight = |z: f64| (-0.5 * z * z).exp();
    let sum: f64 = (-10..=10).map(|i| weight(f64::from(i) * 0.3)).sum();
    (-10..=10).map(move |i| {
        let z = f64::from(i) * 0.3;
        (z, weight(z) / sum)
    })
}

/// Of an engine that stands, at which no mixture burns.
const NO_CHANGE: Spread = Spread { mean: 0.0, sd: 0.0 };

/// Replaces the exhaust entries by what the mixture curve gives at this engine's base mixture.
///
/// One size of the defect acts at all points, so that a cylinder that is lean at idle is lean at
/// load too, and turns over where the base is rich of the peak. A quarter of the mean and 3 °C
/// are left free at each point for what the curve does not know.
fn through_the_curve(
    context: Context<'_>,
    delta: &[Spread; 3],
    richer: f64,
    moments: &mut Moments,
) {
    let mut engine = context.engine.clone();
    engine.mixture.idle += richer;
    engine.mixture.cruise += richer;
    let engine = &engine;
    let [times, free] = context.knowledge.constants.mixture_size;
    let points: Vec<(usize, Regime, f64)> = context
        .kinds
        .iter()
        .enumerate()
        .filter(|(_, kind)| kind.site == ProbeSite::Exhaust)
        .filter(|(_, kind)| !kind.at.is_cold())
        .map(|(k, kind)| {
            let share = if kind.at.is_warming() { 0.6 } else { 1.0 };
            (k, kind.at.regime, share * kind.at.times_regime())
        })
        .collect();
    if points.is_empty() {
        return;
    }
    let shifts: Vec<(f64, Vec<f64>)> = sizes()
        .map(|(z, weight)| {
            let shift = points
                .iter()
                .map(|&(_, regime, share)| {
                    let delta = regime.of_three(*delta).unwrap_or(NO_CHANGE);
                    let change = delta.mean + z * delta.sd;
                    let own = mixture_shift(&context.knowledge.mixture, engine, regime, change);
                    times * share * own
                })
                .collect();
            (weight, shift)
        })
        .collect();
    let mean: Vec<f64> = (0..points.len())
        .map(|i| shifts.iter().map(|(weight, shift)| weight * shift[i]).sum())
        .collect();
    let k = context.kinds.len();
    let old = moments.factor.clone();
    let mut covariance =
        Matrix::from_fn(k, k, |i, j| (0..k).map(|c| old[(i, c)] * old[(j, c)]).sum());
    for (i, &(a, _, _)) in points.iter().enumerate() {
        moments.mean[a] = mean[i];
        for j in 0..k {
            covariance[(a, j)] = 0.0;
            covariance[(j, a)] = 0.0;
        }
    }
    for (i, &(a, _, _)) in points.iter().enumerate() {
        for (j, &(b, _, _)) in points.iter().enumerate() {
            covariance[(a, b)] = shifts
                .iter()
                .map(|(weight, shift)| weight * (shift[i] - mean[i]) * (shift[j] - mean[j]))
                .sum();
        }
        covariance[(a, a)] += (free * mean[i]).powi(2) + 9.0;
    }
    covariance.cholesky();
    moments.factor = covariance;
}

/// Shift of an exhaust reading, °C, for a relative change of fuel over air in one cylinder.
///
/// Spark engines: s(φ₀(1 + δ)) − s(φ₀) on the curve of the knowledge base. Diesels are always
/// lean: the rise above the inlet goes with the fuel, less a tenth for losses (energy balance,
/// domain facts 3.4; rises of 100, 300 and 500 °C at idle, cruise and full load are assumed).
#[must_use]
pub fn mixture_shift(curve: &MixtureCurve, engine: &Engine, at: Regime, change: f64) -> f64 {
    if engine.fuel == Fuel::Diesel {
        return 0.9 * at.of_three([100.0, 300.0, 500.0]).unwrap_or(0.0) * change;
    }
    let base = &engine.mixture;
    let base = at.of_three([base.idle, base.cruise, base.full]).unwrap_or(base.idle);
    curve.at(at, base * (1.0 + change)) - curve.at(at, base)
}
