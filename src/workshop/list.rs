//! Fixed orders of work, as a workshop without a diagnosis would keep them.
//!
//! They look at the odd display's namesake and nothing else. Lists run from their end.

use crate::diagnosis::prior::places;
use crate::diagnosis::{CauseRef, Fault};
use crate::engine::{Cylinder, Place};
use crate::knowledge::{PlaceKind, Seat};
use crate::plan::Step;

use super::world::World;

/// Looking for something in no list.
pub(super) const SEARCH: Step =
    Step::Remedy(Fault { cause: CauseRef::Unlisted, place: Place::Cylinder(1) });

/// The test of the list that looks into the engine.
const COMPRESSION: &str = "compression";
/// Chance of its outcome given a cause at which the list acts on it (assumed).
const SPEAKS: f64 = 0.3;
/// Parts in the order of the list, before and after the compression.
const PARTS: [Seat; 4] = [Seat::Injector, Seat::Plug, Seat::HtLead, Seat::Coil];
const CHAIN: [Seat; 4] = [Seat::Probe, Seat::Fit, Seat::Lead, Seat::Channel];

/// Injector, plug, high-tension lead, coil, compression, then probes and what they hang on.
pub(super) fn parts_first(world: &World<'_>) -> Vec<Step> {
    let cylinder = odd(world);
    let mut list: Vec<Step> = PARTS.iter().filter_map(|&s| renewal(world, s, cylinder)).collect();
    list.extend(world.known.test(COMPRESSION).and_then(|test| {
        let applies = world.known.tests[test].applies.holds(&world.job.engine);
        applies.then_some(Step::Test { test, cylinder: Some(cylinder), partner: None })
    }));
    list.extend(CHAIN.iter().filter_map(|&s| renewal(world, s, cylinder)));
    list.reverse();
    list
}

/// Every remedy that can concern the odd cylinder, the cheapest first.
pub(super) fn cheapest_first(world: &World<'_>) -> Vec<Step> {
    let cylinder = odd(world);
    let mut list: Vec<(f64, &str, Fault)> = Vec::new();
    for (index, cause) in world.known.causes.iter().enumerate() {
        let Some(remedy) = &cause.remedy else { continue };
        if !cause.applies.holds(&world.job.engine) {
            continue;
        }
        let price = remedy.cost.total(world.known.constants.rates);
        for place in places(cause, &world.job.engine) {
            let known = list.iter().any(|(_, id, f)| *id == remedy.id && f.place == place);
            if !known && place.cylinders(&world.job.engine).contains(&cylinder) {
                list.push((price, &remedy.id, Fault { cause: CauseRef::Listed(index), place }));
            }
        }
    }
    list.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.2.cmp(&a.2)));
    list.into_iter().map(|(_, _, fault)| Step::Remedy(fault)).collect()
}

/// The cylinder whose name stands on the odd display.
fn odd(world: &World<'_>) -> Cylinder {
    world.oddest().map_or(1, |(display, _)| display)
}

/// The work that renews what sits on a seat: of several the dearest, for a list renews rather
/// than cleans.
fn renewal(world: &World<'_>, seat: Seat, cylinder: Cylinder) -> Option<Step> {
    let rates = world.known.constants.rates;
    let of_seat = world.known.causes.iter().enumerate().filter_map(|(index, cause)| {
        let here = cause.seat == seat
            && cause.place == PlaceKind::Cylinder
            && cause.applies.holds(&world.job.engine);
        let price = cause.remedy.as_ref()?.cost.total(rates);
        here.then_some((cause.remedy.as_ref()?.cost.parts, price, index))
    });
    let (_, _, index) =
        of_seat.max_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)).then(b.2.cmp(&a.2)))?;
    let cause = CauseRef::Listed(index);
    Some(Step::Remedy(Fault { cause, place: Place::Cylinder(cylinder) }))
}

/// What a bad compression calls for, cheapest last so that it comes first.
pub(super) fn after_compression(world: &World<'_>) -> Option<Vec<Step>> {
    let finding = world.timeline.findings.last()?;
    let test = &world.known.tests[finding.test];
    if test.id != COMPRESSION {
        return None;
    }
    let place = Place::Cylinder(finding.cylinder?);
    let default = test.default[finding.outcome];
    let mut list: Vec<(f64, &str, Fault)> = Vec::new();
    for (&index, row) in &test.given {
        let cause = &world.known.causes[index];
        let Some(remedy) = &cause.remedy else { continue };
        let speaks = row[finding.outcome] >= SPEAKS && default < SPEAKS;
        let known = list.iter().any(|(_, id, _)| *id == remedy.id);
        if speaks && !known && cause.applies.holds(&world.job.engine) {
            let price = remedy.cost.total(world.known.constants.rates);
            list.push((price, &remedy.id, Fault { cause: CauseRef::Listed(index), place }));
        }
    }
    list.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.2.cmp(&a.2)));
    Some(list.into_iter().map(|(_, _, fault)| Step::Remedy(fault)).collect())
}
