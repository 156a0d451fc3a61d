//! Whose number must be proven before work on the engine.
//!
//! Engine work on a cylinder waits for the chain that shows it, from the fit to the name of the channel. A bad
//! connector two cylinders on says nothing of it. It must not say how much is too much.

use crate::diagnosis::assess::Diagnosis;
use crate::plan::cases::Case;
use measure::engine::Cylinder;

/// Probability that a fault is still there from which a case counts as having it.
const THERE: f64 = 0.5;

/// The list of [`crate::plan::problem::Problem::first_out`] for work on a cylinder, or on no one in particular.
pub(crate) fn place(cylinder: Option<Cylinder>) -> usize {
    cylinder.map_or(0, usize::from)
}

/// By place: the cases in which a fault of the chain that shows it is there now. Work on no one cylinder waits
/// for all.
pub(super) fn by_place(diagnosis: &Diagnosis<'_>, cases: &[Case]) -> Vec<Vec<bool>> {
    let model = &diagnosis.model;
    let (knowledge, timeline) = (model.knowledge, model.timeline);
    let shown: Vec<Vec<Cylinder>> = cases
        .iter()
        .map(|case| {
            let faults = case.faults.iter().zip(&case.present).zip(&case.candidates);
            let chain = faults.filter(|((fault, present), _)| {
                **present >= THERE && fault.cause.is_measuring(knowledge)
            });
            chain.flat_map(|(_, &candidate)| shows(diagnosis, candidate)).collect()
        })
        .collect();
    let any = shown.iter().map(|cylinders| !cylinders.is_empty()).collect();
    let of = |cylinder| shown.iter().map(|cylinders| cylinders.contains(&cylinder)).collect();
    std::iter::once(any).chain(timeline.engine.all().map(of)).collect()
}

/// The cylinders whose numbers a fault of the chain changes.
fn shows(diagnosis: &Diagnosis<'_>, candidate: usize) -> Vec<Cylinder> {
    let model = &diagnosis.model;
    let known = &model.candidates[candidate];
    if known.renaming.is_some() {
        return known.numbers.clone();
    }
    let now = &model.timeline.arrangement;
    model.displays(known, now, &[]).into_iter().map(|display| now.cylinder_shown(display)).collect()
}
