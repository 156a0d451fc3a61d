//! A virtual job: an engine with something the matter, and how it came to the workshop.
//!
//! Draws a kind of engine, what was done to it lately, what is wrong and how badly, and what is
//! natural to its cylinders. It draws parameters and never asks the diagnosis for a likelihood, so
//! that it is a check on it. What a display then shows is for `world`.

use crate::diagnosis::prior::{pairs_up, places, weight};
use crate::diagnosis::{CauseRef, Fault};
use crate::engine::{Cylinder, Engine, Fuel, Place, ProbeSite, RunningPoint};
use crate::job::entry::EngineState;
use crate::knowledge::{Knowledge, PlaceKind, Preset, Seat};

use super::chance::Chance;
use super::effect::{Drawn, drawn};
use super::wrong::Truth;

/// Something that is the matter, with its size.
#[derive(Debug, Clone, PartialEq)]
pub struct TrueFault {
    /// Which.
    pub fault: Fault,
    /// What it is attached to.
    pub seat: Seat,
    /// First numbers of the seats it is on.
    pub numbers: Vec<Cylinder>,
    /// What it does to a display at each running point.
    pub effect: Drawn,
    /// Where it is in no list: the causes that its pieces are taken from, if it is put together.
    pub pieces: Option<Chance>,
}

/// What is natural to the engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Nature {
    /// What healthy cylinders show on average, °C, by running point.
    pub level: [f64; 5],
    /// What each cylinder differs by, °C, by running point.
    pub offset: Vec<[f64; 5]>,
    /// Factor on its noise: some engines repeat less well than others.
    pub restless: f64,
}

/// An engine that came in, before anything was read.
#[derive(Debug, Clone, PartialEq)]
pub struct VirtualEngine {
    /// The chance everything about it is drawn from.
    pub chance: Chance,
    /// Id of the preset.
    pub preset: String,
    /// How it is built.
    pub engine: Engine,
    /// Flags of recent work.
    pub recent: Vec<String>,
    /// What is the matter.
    pub faults: Vec<TrueFault>,
    /// What is natural to it.
    pub nature: Nature,
    /// Running point at which it was noticed.
    pub noticed_at: RunningPoint,
    /// How it stands in the workshop.
    pub state: EngineState,
}

/// Share of engines on which something was done lately, and that stood overnight (assumed).
const RECENT: f64 = 0.35;
const OVERNIGHT: f64 = 0.3;
/// Where a driver looks at the displays: at idle, cruise and full load (assumed).
const NOTICED_AT: [(RunningPoint, f64); 3] =
    [(RunningPoint::Idle, 0.4), (RunningPoint::Cruise, 0.5), (RunningPoint::Full, 0.1)];

impl VirtualEngine {
    /// Draws an engine, any of the presets or the one named.
    #[must_use]
    pub fn draw(truth: &Truth, preset: Option<&Preset>, chance: Chance) -> Option<Self> {
        let knowledge = &truth.knowledge;
        let any = chance.of("preset").weighted(knowledge.presets.iter().map(|_| 1.0));
        let preset = preset.or_else(|| knowledge.presets.get(any))?;
        let engine = preset.engine.clone();
        let mut recent = Vec::new();
        let flags = &knowledge.recent;
        if chance.of("recent").happens(RECENT) && !flags.is_empty() {
            let which = chance.of("which work").weighted(flags.iter().map(|_| 1.0));
            recent.push(flags[which].id.clone());
        }
        let nature = nature(knowledge, &engine, chance.of("nature"));
        let faults = faults(knowledge, &engine, &recent, chance.of("faults"))
            .into_iter()
            .enumerate()
            .map(|(k, fault)| made(truth, &engine, &nature, fault, chance.of("fault").nth(k)))
            .collect();
        let at = chance.of("noticed").weighted(NOTICED_AT.map(|(_, share)| share));
        let overnight = chance.of("overnight").happens(OVERNIGHT);
        let state = if overnight { EngineState::ColdSoaked } else { EngineState::Warm };
        Some(Self {
            chance,
            preset: preset.id.clone(),
            engine,
            recent,
            faults,
            nature,
            noticed_at: NOTICED_AT[at].0,
            state,
        })
    }
}

/// What is the matter, by the world's own frequencies.
fn faults(knowledge: &Knowledge, engine: &Engine, recent: &[String], chance: Chance) -> Vec<Fault> {
    let constants = &knowledge.constants;
    let mut list: Vec<(Option<Fault>, f64)> = Vec::new();
    for (index, cause) in knowledge.causes.iter().enumerate() {
        let weight = weight(cause, engine, recent);
        let places = places(cause, engine);
        if cause.place == PlaceKind::Nowhere {
            // A healthy engine comes in only if it looks odd, which is left to its readings.
            if cause.seat != Seat::Nothing {
                // A box that is wrong as a whole is not among the virtual faults.
                continue;
            }
            let seldom = constants.noticed_fault / constants.noticed_healthy;
            list.push((None, weight * seldom));
            continue;
        }
        for &place in &places {
            let share = weight / places.iter().map(|_| 1.0).sum::<f64>();
            list.push((Some(Fault { cause: CauseRef::Listed(index), place }), share));
        }
    }
    for cylinder in engine.all() {
        let fault = Fault { cause: CauseRef::Unlisted, place: Place::Cylinder(cylinder) };
        let share = constants.unlisted_weight / f64::from(engine.cylinders);
        list.push((Some(fault), share));
    }
    let first = chance.of("first").weighted(list.iter().map(|(_, w)| *w));
    let Some(first) = list.get(first).and_then(|(fault, _)| *fault) else { return Vec::new() };
    if !pairs_up(knowledge, first) || !chance.of("two").happens(constants.two_faults) {
        return vec![first];
    }
    let others = list.iter().map(|(fault, weight)| match fault {
        Some(fault) if *fault != first && pairs_up(knowledge, *fault) => *weight,
        _ => 0.0,
    });
    let weights: Vec<f64> = others.collect();
    let second = chance.of("second").weighted(weights.iter().copied());
    let mut both = vec![first];
    both.extend(list.get(second).and_then(|(fault, _)| *fault));
    both
}

/// A fault with its size drawn.
fn made(
    truth: &Truth,
    engine: &Engine,
    nature: &Nature,
    fault: Fault,
    chance: Chance,
) -> TrueFault {
    let pieces = (fault.cause == CauseRef::Unlisted && truth.strange).then(|| chance.of("pieces"));
    let seat = match fault.cause {
        CauseRef::Listed(index) => truth.knowledge.causes[index].seat,
        CauseRef::Unlisted => Seat::Cylinder,
    };
    TrueFault {
        fault,
        seat,
        numbers: fault.place.cylinders(engine),
        effect: drawn(truth, engine, &nature.level, fault.cause, pieces, chance),
        pieces,
    }
}

/// Readings of healthy engines, °C, cold, warming, idle, cruise and full load: exhaust of a spark
/// engine and of a diesel, and heads (the knowledge base's reference readings; heads assumed).
const SPARK: [f64; 5] = [20.0, 250.0, 400.0, 620.0, 860.0];
const DIESEL: [f64; 5] = [20.0, 90.0, 125.0, 325.0, 525.0];
const HEADS: [f64; 5] = [20.0, 60.0, 100.0, 140.0, 170.0];
/// Sd of the level between engines as a share of the rise above 20 °C (assumed).
const LEVELS: f64 = 0.06;

fn nature(knowledge: &Knowledge, engine: &Engine, chance: Chance) -> Nature {
    let constants = &knowledge.constants;
    let usual = match (engine.probes, engine.fuel) {
        (ProbeSite::Head, _) => HEADS,
        (ProbeSite::Exhaust, Fuel::Diesel) => DIESEL,
        (ProbeSite::Exhaust, _) => SPARK,
    };
    let warmer = 1.0 + LEVELS * chance.of("level").normal();
    let level = usual.map(|t| 20.0 + (t - 20.0) * warmer);
    // Whole engines are unruly, and single cylinders.
    let unruly = (constants.spread_scale * chance.of("unruly").normal()).exp();
    let restless = (constants.noise_scale * chance.of("restless").normal()).exp();
    let common = constants.offset_correlation;
    // One number that shows at all running points, and one of each point's own.
    let at_points = |own: Chance| -> [f64; 5] {
        let wide = own.of("wide").happens(constants.wide_chance);
        let wide = if wide { constants.wide_factor } else { 1.0 };
        let shared = own.of("all points").normal();
        let mut offset = [0.0; 5];
        for (k, &at) in RunningPoint::ALL.iter().enumerate() {
            let alone = own.of("point").nth(k).normal();
            let sd = knowledge.natural_sd(engine, engine.probes, at) * unruly * wide;
            offset[k] = sd
                * match at {
                    RunningPoint::ColdSoak => alone,
                    _ => common.sqrt() * shared + (1.0 - common).sqrt() * alone,
                };
        }
        offset
    };
    let banks: Vec<[f64; 5]> =
        (0..engine.banks.len()).map(|b| at_points(chance.of("bank").nth(b))).collect();
    let share = if banks.len() > 1 { constants.bank_share } else { 0.0 };
    let offset = engine
        .all()
        .map(|c| {
            let mut offset = at_points(chance.of("cylinder").nth(c));
            let bank = banks.get(engine.bank_of(c)).or(banks.first());
            for (o, b) in offset.iter_mut().zip(bank.into_iter().flatten()) {
                *o += share * b;
            }
            offset
        })
        .collect();
    Nature { level, offset, restless }
}
