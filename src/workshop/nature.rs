//! What is natural to a virtual engine: its levels, what its healthy cylinders differ by, its noise.
//!
//! Figures are the world's own, from memory and without a source. Tails are heavy: each cylinder differs
//! by a Student t with four degrees of freedom, each engine has a scale of its own. It must not know
//! faults.

use measure::engine::{Cooling, Engine, Fuel, Intake, ProbeSite};

use super::chance::Chance;

/// Temperature of the surroundings, °C.
pub(super) const AROUND: f64 = 20.0;

/// Levels of healthy engines at cold soak, warming, idle, cruise, full load, °C.
const SPARK: [f64; 5] = [20.0, 230.0, 415.0, 635.0, 830.0];
const DIESEL: [f64; 5] = [20.0, 95.0, 130.0, 320.0, 515.0];
const LIQUID: [f64; 5] = [20.0, 55.0, 95.0, 135.0, 165.0];
const FINNED: [f64; 5] = [20.0, 75.0, 120.0, 165.0, 200.0];
/// Sd of the rise between engines, as a share; no engine lies beyond two.
const LEVELS: f64 = 0.05;

/// Scale of the t by which healthy cylinders differ, °C.
const EVEN: [f64; 5] = [0.7, 17.0, 8.5, 9.5, 11.5];
const UNEVEN: [f64; 5] = [0.7, 27.0, 14.5, 15.0, 18.0];
const DIESELS: [f64; 5] = [0.7, 15.0, 7.5, 8.5, 11.0];
const LIQUIDS: [f64; 5] = [0.5, 4.5, 2.2, 2.6, 3.2];
const FINS: [f64; 5] = [0.6, 10.0, 6.0, 7.5, 10.0];
/// Sd of the log of an engine's own scale.
const SCALE: f64 = 0.3;
/// Share of a cylinder's difference that it has at all running points alike.
const COMMON: f64 = 0.8;
/// Sd between banks, of the scale between cylinders.
const BANKS: f64 = 0.35;
/// What a probe that was out and in again shows otherwise, of the scale (memory).
const REFITTED: f64 = 0.3;

/// Sd of a reading against the one before, °C, exhaust and head.
const NOISE: [f64; 5] = [0.6, 9.0, 3.5, 4.0, 5.5];
const NOISE_HEAD: [f64; 5] = [0.5, 2.0, 0.8, 1.0, 1.3];
/// Sd of the log of a job's own noise.
const RESTLESS: f64 = 0.35;

/// What is natural to an engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Nature {
    /// Levels of its healthy cylinders, °C, by running point.
    pub level: [f64; 5],
    /// What each cylinder differs by, °C, by running point.
    pub offset: Vec<[f64; 5]>,
    /// Noise of its readings, °C, by running point.
    pub noise: [f64; 5],
    /// Scale of what a probe shows otherwise once it was out, °C.
    pub refitted: [f64; 5],
}

impl Nature {
    /// Draws what is natural to an engine.
    #[must_use]
    pub fn draw(engine: &Engine, chance: Chance) -> Self {
        let (level, scale) = kind(engine);
        let warmer = 1.0 + LEVELS * chance.of("level").normal().clamp(-2.0, 2.0);
        let own = (SCALE * chance.of("scale").normal()).exp();
        let restless = (RESTLESS * chance.of("restless").normal()).exp();
        let noise = if engine.probes == ProbeSite::Head { NOISE_HEAD } else { NOISE };
        let offset = engine.all().map(|cylinder| {
            let cylinder_chance = chance.of("cylinder").nth(cylinder);
            let common = COMMON * cylinder_chance.of("common").heavy();
            let bank = chance.of("bank").nth(engine.bank_of(cylinder)).normal();
            let bank = if engine.banks.len() > 1 { BANKS * bank } else { 0.0 };
            std::array::from_fn(|k| {
                let alone = cylinder_chance.of("point").nth(k).normal();
                // Cold, every probe is at the temperature of the shed.
                let share = if k == 0 { alone } else { common + 0.6 * alone + bank };
                own * scale[k] * share
            })
        });
        Self {
            level: level.map(|t| AROUND + (t - AROUND) * warmer),
            offset: offset.collect(),
            noise: noise.map(|sd| sd * restless),
            refitted: scale.map(|sd| REFITTED * sd),
        }
    }
}

fn kind(engine: &Engine) -> ([f64; 5], [f64; 5]) {
    match (engine.probes, engine.cooling, engine.fuel) {
        (ProbeSite::Head, Cooling::Air, _) => (FINNED, FINS),
        (ProbeSite::Head, ..) => (LIQUID, LIQUIDS),
        (_, _, Fuel::Diesel) => (DIESEL, DIESELS),
        (_, _, Fuel::Carburettor) if engine.intake != Intake::Individual => (SPARK, UNEVEN),
        _ if engine.intake == Intake::Log => (SPARK, UNEVEN),
        _ => (SPARK, EVEN),
    }
}
