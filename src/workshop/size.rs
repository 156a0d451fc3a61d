//! What a fault of drawn size does to the display that it is on.
//!
//! From the kind of harm, through the simple engine or the simple probe, to degrees at each running
//! point. One size acts at all points. It must not know what else is the matter.

use facts::knowledge::Cause;
use measure::engine::{Engine, ProbeSite, Regime};

use super::chance::Chance;
use super::gas::{self, Shares, at_points};
use super::harm::{Harm, Kind, Side, harm};
use super::nature::{AROUND, Nature};
use super::probe;

/// What a display shows instead of a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Silence {
    /// An open circuit.
    Open,
    /// The same number whatever is done.
    Stuck,
    /// Goes down as it gets hotter.
    Falling,
}

/// What a fault does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// Shift of the display at each running point, °C.
    pub shift: [f64; 5],
    /// It shows no number.
    pub silence: Option<Silence>,
    /// Chance that it jumps.
    pub jumps: f64,
    /// Displays show each other's cylinder.
    pub names: bool,
    /// Share of the looks in which it is there, where it comes and goes.
    pub comes_and_goes: Option<f64>,
    /// Chance that undoing its joint cures it.
    pub loose: f64,
}

/// Of the causes that can come and go, how many do, and how much of the time they then show (assumed).
const COME_AND_GO: f64 = 0.5;
const SHOWN: [f64; 2] = [0.4, 0.9];
/// Of broken loops, those that float near the surroundings on a box that does not tell (assumed).
const FLOATS: f64 = 0.25;
/// Of heat that came through the exhaust, what a head probe sees; of what is in the runner (memory).
const HEAD: f64 = 0.5;
const HEAD_RUNNER: f64 = 0.1;
/// Heat of the bay by running point, of what a bay can be: cold, warming, idle, cruise, full (memory).
const BAY: [f64; 5] = [0.0, 0.4, 0.8, 0.6, 1.0];
/// What the engine's harm is worth while it warms up, against idle (assumed).
const WARMING: f64 = 0.6;

/// Draws what a listed cause does here.
pub(super) fn drawn(cause: &Cause, engine: &Engine, nature: &Nature, chance: Chance) -> Effect {
    let row = harm(cause);
    let sign = match row.side {
        Side::Less => -1.0,
        Side::More => 1.0,
        Side::Either => chance.of("side").sign(),
    };
    let size = sign * chance.of("size").over(row.size);
    let goes = cause.is_intermittent() && chance.of("comes and goes").happens(COME_AND_GO);
    let mut silence = match row.kind {
        Kind::Open => Some(Silence::Open),
        Kind::Stuck => Some(Silence::Stuck),
        Kind::Falling => Some(Silence::Falling),
        _ => None,
    };
    let mut shift = shifts(row, size, engine, nature);
    if silence == Some(Silence::Open) && chance.of("floats").happens(FLOATS) {
        silence = None;
        shift = nature.level.map(|level| -0.96 * (level - AROUND));
    }
    Effect {
        shift,
        silence,
        jumps: row.jumps,
        names: row.kind == Kind::Names,
        comes_and_goes: goes.then(|| chance.of("shown").between(SHOWN)),
        loose: row.loose,
    }
}

/// Draws a fault that is in no list: some share of the rise at each point, much of it in common.
pub(super) fn strange(nature: &Nature, chance: Chance) -> Effect {
    let size = chance.of("size").over([0.03, 0.3]);
    let common = chance.of("side").sign();
    let mut shift = [0.0; 5];
    for (k, shift) in shift.iter_mut().enumerate().skip(1) {
        let own = chance.of("point").nth(k).normal();
        *shift = size * (common + 0.5 * own) * (nature.level[k] - AROUND);
    }
    let goes = chance.of("comes and goes").happens(0.2);
    let comes_and_goes = goes.then(|| chance.of("shown").between(SHOWN));
    Effect { shift, silence: None, jumps: 0.03, names: false, comes_and_goes, loose: 0.1 }
}

fn shifts(row: Harm, size: f64, engine: &Engine, nature: &Nature) -> [f64; 5] {
    let rise = nature.level.map(|level| level - AROUND);
    match row.kind {
        Kind::Offset => return [size; 5],
        Kind::Bay => return BAY.map(|heat| heat * size),
        Kind::Gain => return rise.map(|rise| rise * size),
        Kind::Names | Kind::Open | Kind::Stuck | Kind::Falling | Kind::None => return [0.0; 5],
        _ => {}
    }
    let head = engine.probes == ProbeSite::Head;
    let (shares, seen) = in_the_gas(row.kind, size, engine, head);
    let at = |point: usize, part: f64| part * seen * shares[point] * rise[running(point) as usize];
    let warming = seen * WARMING * shares[0] * rise[Regime::Warming as usize];
    let glow = if row.kind == Kind::Glow { size * rise[Regime::Warming as usize] } else { warming };
    [0.0, glow, at(0, 1.0), at(1, 1.0), at(2, 1.0)]
}

fn running(point: usize) -> Regime {
    [Regime::Idle, Regime::Cruise, Regime::Full][point]
}

/// Share of the rise at the running points, and how much of it these probes see.
fn in_the_gas(kind: Kind, size: f64, engine: &Engine, head: bool) -> (Shares, f64) {
    let seen = |of_head: f64| if head { of_head } else { 1.0 };
    let big = size.abs();
    let fuel = |by: Shares| gas::mixture(engine, by.map(|b| (1.0 + b).max(0.05)));
    let shares = match kind {
        Kind::Fuel => fuel([size; 3]),
        Kind::FuelIdle => fuel([size, 0.15 * size, 0.05 * size]),
        Kind::FuelLoad => fuel([0.05 * size, 0.3 * size, size]),
        Kind::AirLeak => gas::air_leak(engine, big),
        Kind::AirShort => gas::less_air(engine, [big; 3]),
        Kind::AirIdle => gas::less_air(engine, [size, 0.4 * size, 0.05 * size]),
        Kind::AirLoad => gas::less_air(engine, [0.1 * big, 0.4 * big, big]),
        Kind::Late => gas::later(size),
        Kind::Inert => gas::inert(big),
        Kind::ExhaustValve => gas::exhaust_valve(big),
        Kind::Lost => gas::lost(big),
        Kind::Missing => gas::missing([big; 3]),
        Kind::Glow => [0.1 * size, 0.0, 0.0],
        Kind::Afterburn => return (gas::afterburn(big), seen(HEAD_RUNNER)),
        Kind::Thinned => return (gas::thinned(big), seen(HEAD_RUNNER)),
        Kind::Blocked => return (gas::blocked(big), seen(HEAD)),
        // Knock heats the head while it cools the gas.
        Kind::Knock => return (gas::knocking(big), seen(-1.5)),
        Kind::Hot if head => return ([0.8 * big, big, big], 1.0),
        Kind::Hot => return ([0.03 * big; 3], 1.0),
        Kind::Depth => return (probe::deeper(size), 1.0),
        Kind::Wall => return (probe::at_the_wall(big), 1.0),
        _ => at_points(|_| 0.0),
    };
    // A later spark leaves less in the head.
    let part = if kind == Kind::Late { -HEAD } else { HEAD };
    (shares, seen(part))
}
