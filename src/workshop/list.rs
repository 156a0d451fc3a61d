//! Fixed orders of work, as a workshop without a diagnosis would keep them.
//!
//! They look at the odd display's namesake and nothing else. Lists run from their end.

use facts::knowledge::{PlaceKind, Seat};
use measure::engine::{Cylinder, Place};

use super::act::{Act, places};
use super::mechanic::odd;
use super::world::{Shown, World};

/// The test of the list that looks into the engine.
const COMPRESSION: &str = "compression";
/// Chance of its outcome given a cause at which the list acts on it (assumed).
const SPEAKS: f64 = 0.3;
/// Parts in the order of the list, before and after the compression.
const PARTS: [Seat; 4] = [Seat::Injector, Seat::Plug, Seat::HtLead, Seat::Coil];
const CHAIN: [Seat; 4] = [Seat::Probe, Seat::Fit, Seat::Lead, Seat::Channel];

/// Injector, plug, high-tension lead, coil, compression, then probes and what they hang on.
pub(super) fn parts_first(world: &World<'_>) -> Vec<Act> {
    let cylinder = odd(world);
    let mut list: Vec<Act> = PARTS.iter().filter_map(|&s| renewal(world, s, cylinder)).collect();
    list.extend(world.known.test(COMPRESSION).and_then(|test| {
        let applies = world.known.tests[test].applies.holds(&world.job.engine);
        applies.then_some(Act::Test { test, cylinder: Some(cylinder), partner: None, at: None })
    }));
    list.extend(CHAIN.iter().filter_map(|&s| renewal(world, s, cylinder)));
    list.reverse();
    list
}

/// Every remedy that can concern the odd cylinder and costs no more than the long search, the cheapest
/// first.
pub(super) fn cheapest_first(world: &World<'_>) -> Vec<Act> {
    let cylinder = odd(world);
    let rates = world.known.constants.rates;
    let search = world.known.constants.unlisted_cure.total(rates);
    let mut list: Vec<(f64, &str, usize, Place)> = Vec::new();
    for (cause, known) in world.known.causes.iter().enumerate() {
        let Some(remedy) = &known.remedy else { continue };
        let price = remedy.cost.total(rates);
        if !known.applies.holds(&world.job.engine) || price > search {
            continue;
        }
        for place in places(known, &world.job.engine) {
            let listed = list.iter().any(|(_, id, _, p)| *id == remedy.id && *p == place);
            // With whom a pair is crossed nobody knows who has not looked.
            let here = !matches!(place, Place::Pair(..))
                && place.cylinders(&world.job.engine).contains(&cylinder);
            if !listed && here {
                list.push((price, &remedy.id, cause, place));
            }
        }
    }
    list.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.2.cmp(&a.2)));
    list.into_iter().map(|(_, _, cause, place)| Act::Remedy { cause, place }).collect()
}

/// The work that renews what sits on a seat: of several the dearest, for a list renews rather
/// than cleans.
fn renewal(world: &World<'_>, seat: Seat, cylinder: Cylinder) -> Option<Act> {
    let rates = world.known.constants.rates;
    let of_seat = world.known.causes.iter().enumerate().filter_map(|(index, cause)| {
        let here = cause.seat == seat
            && cause.place == PlaceKind::Cylinder
            && cause.applies.holds(&world.job.engine);
        let price = cause.remedy.as_ref()?.cost.total(rates);
        here.then_some((cause.remedy.as_ref()?.cost.parts, price, index))
    });
    let (_, _, cause) =
        of_seat.max_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)).then(b.2.cmp(&a.2)))?;
    Some(Act::Remedy { cause, place: Place::Cylinder(cylinder) })
}

/// What a bad compression calls for, cheapest last so that it comes first.
pub(super) fn after_compression(world: &World<'_>, act: Act, shown: &Shown) -> Vec<Act> {
    let (Act::Test { test, cylinder: Some(cylinder), .. }, Shown::Outcome(outcome)) = (act, shown)
    else {
        return Vec::new();
    };
    let test = &world.known.tests[test];
    if test.id != COMPRESSION || *outcome == test.usual() {
        return Vec::new();
    }
    let rates = world.known.constants.rates;
    let mut list: Vec<(f64, &str, usize)> = Vec::new();
    for (&index, row) in &test.given {
        let cause = &world.known.causes[index];
        let Some(remedy) = &cause.remedy else { continue };
        let listed = list.iter().any(|(_, id, _)| *id == remedy.id);
        if row[*outcome] >= SPEAKS && !listed && cause.applies.holds(&world.job.engine) {
            list.push((remedy.cost.total(rates), &remedy.id, index));
        }
    }
    list.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.2.cmp(&a.2)));
    let place = Place::Cylinder(cylinder);
    list.into_iter().map(|(_, _, cause)| Act::Remedy { cause, place }).collect()
}
