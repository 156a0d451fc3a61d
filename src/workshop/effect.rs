//! What a fault of drawn size does to a display.
//!
//! One size acts at all running points, so far as the cause's law lets points go together. Rows of
//! the knowledge base, its mixture curve and the physics of wiring are used; the moments that the
//! diagnosis makes of them are not.

use crate::diagnosis::CauseRef;
use crate::diagnosis::data::AMBIENT;
use crate::diagnosis::effect::mixture_shift;
use crate::diagnosis::physics;
use crate::engine::{Engine, ProbeSite, RunningPoint};
use crate::knowledge::{Effect, Knowledge, Law, Spread, StateChances};

use super::chance::Chance;
use super::wrong::Truth;

/// What a fault does.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// Shift at each running point, °C.
    pub shift: [f64; 5],
    /// Chances that the display shows no steady number, cold and running, where unusual.
    pub states: [Option<StateChances>; 2],
    /// The number belongs to the other cylinder of the pair.
    pub misnamed: bool,
    /// Passes when one waits.
    pub passes: bool,
}

/// Draws the size of a fault at these levels.
pub(super) fn drawn(
    truth: &Truth,
    engine: &Engine,
    level: &[f64; 5],
    cause: CauseRef,
    pieces: Option<Chance>,
    chance: Chance,
) -> Drawn {
    let knowledge = &truth.knowledge;
    let index = match (cause, pieces) {
        (CauseRef::Listed(index), _) => index,
        // Put together: it moves readings as some fault of the engine's own list does.
        (CauseRef::Unlisted, Some(pieces)) => like_one_of(knowledge, engine, pieces),
        (CauseRef::Unlisted, None) => return unlisted(knowledge, engine, chance),
    };
    let known = &knowledge.causes[index];
    let effects = known.effects_on(engine);
    let side = chance.of("side").weighted(effects.iter().map(|e| e.share));
    let Some(effect) = effects.get(side) else {
        return Drawn {
            shift: [0.0; 5],
            states: [known.states_cold, known.states_running],
            misnamed: false,
            passes: false,
        };
    };
    let badly = Size { common: chance.of("size").normal(), chance };
    let mut shift = [0.0; 5];
    for (k, &at) in RunningPoint::ALL.iter().enumerate() {
        shift[k] = truth.effect[index] * shift_at(knowledge, engine, effect, at, level[k], &badly);
    }
    Drawn {
        shift,
        states: [known.states_cold, known.states_running],
        misnamed: effect.law == Law::Misnamed,
        passes: effect.law == Law::Time,
    }
}

/// A cause of one cylinder that moves readings.
fn like_one_of(knowledge: &Knowledge, engine: &Engine, chance: Chance) -> usize {
    chance.of("readings").weighted(knowledge.causes.iter().map(|cause| {
        let moves = cause.effects.iter().any(|e| !matches!(e.law, Law::Misnamed | Law::Time));
        if moves && cause.applies.holds(engine) { cause.weight } else { 0.0 }
    }))
}

/// A fault in no list, as the knowledge base has it: anything, anywhere.
fn unlisted(knowledge: &Knowledge, engine: &Engine, chance: Chance) -> Drawn {
    let wide = knowledge.constants.unlisted_sd;
    let common = chance.of("size").normal();
    let mut shift = [0.0; 5];
    for (k, &at) in RunningPoint::ALL.iter().enumerate() {
        let sd = match (at, engine.probes) {
            (RunningPoint::ColdSoak, _) => 5.0,
            (_, ProbeSite::Exhaust) => wide,
            (_, ProbeSite::Head) => wide / 3.0,
        };
        shift[k] = sd * together(0.5, common, chance.of("point").nth(k).normal());
    }
    Drawn { shift, states: [None, None], misnamed: false, passes: false }
}

/// How badly, in standard normal units.
struct Size {
    common: f64,
    chance: Chance,
}

impl Size {
    fn at(&self, law: Law, point: usize) -> f64 {
        together(agreement(law), self.common, self.chance.of("point").nth(point).normal())
    }
}

/// Two normals that make one, with a share of its variance in common with other points.
fn together(share: f64, common: f64, own: f64) -> f64 {
    share.sqrt() * common + (1.0 - share).sqrt() * own
}

/// Correlation of sizes at two points; written down a second time from docs/method.md.
fn agreement(law: Law) -> f64 {
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

/// A number that means nothing is anything: sd, °C.
const ANYTHING: f64 = 250.0;

fn shift_at(
    knowledge: &Knowledge,
    engine: &Engine,
    effect: &Effect,
    at: RunningPoint,
    level: f64,
    size: &Size,
) -> f64 {
    let k = at as usize;
    let z = size.at(effect.law, k);
    if engine.probes == ProbeSite::Head {
        let Some(head) = effect.head else { return 0.0 };
        let share = match effect.law {
            Law::Offset => 1.0,
            _ => knowledge.constants.head_share[k],
        };
        return share * head.mean + (share * head.sd).max(1.0) * z;
    }
    let point = match at {
        RunningPoint::ColdSoak => None,
        RunningPoint::Warming | RunningPoint::Idle => Some(0),
        RunningPoint::Cruise => Some(1),
        RunningPoint::Full => Some(2),
    };
    let warming = if at == RunningPoint::Warming { 0.6 } else { 1.0 };
    if let (Some(delta), Some(point)) = (&effect.mixture, point) {
        let change = delta[point].mean + size.common * delta[point].sd;
        let shift = warming * mixture_shift(&knowledge.mixture, engine, point, change);
        let free = size.chance.of("curve").nth(k);
        return shift * (1.0 + 0.25 * free.normal()) + 3.0 * free.of("more").normal();
    }
    let computed =
        effect.physics.and_then(|physics| physics::shift(physics, engine, at, level, None, None));
    let spread = if let Some(computed) = computed {
        computed.number()
    } else {
        let Some(shifts) = &effect.exhaust else { return 0.0 };
        shifts.at(at).map(|s| {
            let scale = warming * scaled(knowledge, effect.law, point, level);
            Spread { mean: scale * s.mean, sd: scale * s.sd }
        })
    };
    spread.map_or(ANYTHING * z, |spread| spread.mean + spread.sd * z)
}

/// Shifts in proportion to the rise stand in the tables for other levels than this engine's.
fn scaled(knowledge: &Knowledge, law: Law, point: Option<usize>, level: f64) -> f64 {
    let Some(point) = point.filter(|_| matches!(law, Law::Proportional | Law::Misfire)) else {
        return 1.0;
    };
    ((level - AMBIENT) / knowledge.constants.reference_rise[point]).clamp(0.2, 1.6)
}
