//! What anybody sees who has the readings and a table of usual spreads.
//!
//! Shared by the ways of working without a diagnosis. It must not know what is the matter.

use facts::job::entry::Reading;
use measure::engine::Cylinder;

use super::reading::off_its_mates;
use super::world::World;

/// Usual spreads beyond which a display is odd to somebody with a table of them.
const ODD: f64 = 3.0;

/// The oddest display of the last readings, by how many degrees and how many usual spreads it stands off;
/// no number of degrees where it shows none.
pub(super) fn oddest(world: &World<'_>) -> Option<(Cylinder, Option<f64>, f64)> {
    let (at, readings) = world.last.as_ref()?;
    let usual = world.known.natural_sd(&world.job.engine, world.job.engine.probes, *at);
    let sizes = (1..).zip(readings).map(|(display, reading): (Cylinder, &Reading)| {
        let off = off_its_mates(readings, display);
        let size = match reading {
            Reading::Open | Reading::Stuck | Reading::Falling => f64::INFINITY,
            // Jumping is odd whatever it jumps about.
            Reading::Erratic { .. } => off.map_or(0.0, |off| off.abs() / usual).max(1.01 * ODD),
            Reading::Degrees(_) => off.map_or(0.0, |off| off.abs() / usual),
        };
        (display, off, size)
    });
    sizes.max_by(|a, b| a.2.total_cmp(&b.2).then(b.0.cmp(&a.0)))
}

/// Whether the last readings look as they should.
pub(super) fn looks_normal(world: &World<'_>) -> bool {
    oddest(world).is_none_or(|(_, _, size)| size < ODD)
}

/// The display to work on: the oddest, else the one complained of.
pub(super) fn odd(world: &World<'_>) -> Cylinder {
    match oddest(world) {
        Some((display, _, size)) if size >= ODD => display,
        _ => world.job.said.display,
    }
}
