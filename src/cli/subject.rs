//! Reads `CAUSE[@PLACE]` and `TEST[@N]`.

use super::failure::Failure;
use facts::knowledge::{Knowledge, PlaceKind};
use judge::diagnosis::Assessment;
use measure::engine::{Engine, Place};

/// Splits an id from its place.
pub(super) fn split(given: &str) -> (&str, Option<&str>) {
    match given.split_once('@') {
        Some((id, place)) => (id, Some(place)),
        None => (given, None),
    }
}

/// Reads the place of a cause, or takes the most probable one of the assessment.
///
/// # Errors
/// When it is no place of the cause, or nothing says where.
pub(super) fn place(
    knowledge: &Knowledge,
    engine: &Engine,
    cause: usize,
    given: Option<&str>,
    assess: impl FnOnce() -> Assessment,
) -> Result<Place, Failure> {
    let known = &knowledge.causes[cause];
    if known.place == PlaceKind::Nowhere {
        return Ok(Place::Nowhere);
    }
    let example = match known.place {
        PlaceKind::Cylinder | PlaceKind::Nowhere => "2",
        PlaceKind::Pair | PlaceKind::Neighbours => "1-2",
        PlaceKind::CoilPair => "1-4",
        PlaceKind::Bank => "bank-1",
    };
    let hint = format!("say where, as `{}@{example}`", known.id);
    let Some(code) = given else {
        let assessment = assess();
        let best = assessment
            .suspects
            .iter()
            .find(|suspect| suspect.fault.cause == judge::diagnosis::CauseRef::Listed(cause));
        return best.map(|suspect| suspect.fault.place).ok_or_else(|| {
            Failure::usage(format!("nothing says where `{}` is", known.id)).hint(hint)
        });
    };
    let place = Place::read(code, engine)?;
    let fits = match (known.place, place) {
        (PlaceKind::Cylinder, Place::Cylinder(_))
        | (PlaceKind::Pair, Place::Pair(..))
        | (PlaceKind::Bank, Place::Bank(_)) => true,
        (PlaceKind::CoilPair, Place::Pair(a, b)) => engine.coil_pairs().contains(&(a, b)),
        (PlaceKind::Neighbours, Place::Pair(a, b)) => engine.neighbours().contains(&(a, b)),
        _ => false,
    };
    if fits {
        Ok(place)
    } else {
        Err(Failure::usage(format!(
            "`{}` cannot be at {place}: its place is a {}",
            known.id, known.place
        ))
        .hint(hint))
    }
}

/// The index of a cause that can occur on this engine.
///
/// # Errors
/// When there is no such cause, or not here.
pub(super) fn cause(knowledge: &Knowledge, engine: &Engine, id: &str) -> Result<usize, Failure> {
    let index = knowledge.cause(id).ok_or_else(|| {
        Failure::unknown("cause", id, knowledge.causes.iter().map(|c| c.id.as_str()))
            .hint("`oddpot knowledge list` has all ids")
    })?;
    if knowledge.causes[index].applies.holds(engine) {
        Ok(index)
    } else {
        Err(Failure::usage(format!("`{id}` cannot occur on this engine")))
    }
}

/// The index of a test that can be done on this engine.
///
/// # Errors
/// When there is no such test, or not here.
pub(super) fn test(knowledge: &Knowledge, engine: &Engine, id: &str) -> Result<usize, Failure> {
    let index = knowledge.test(id).ok_or_else(|| {
        Failure::unknown("test", id, knowledge.tests.iter().map(|t| t.id.as_str()))
            .hint("`oddpot knowledge list` has all ids")
    })?;
    if knowledge.tests[index].applies.holds(engine) {
        Ok(index)
    } else {
        Err(Failure::usage(format!("`{id}` cannot be done on this engine")))
    }
}
