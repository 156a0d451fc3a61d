//! Where to work: the cylinder that suspicion rests on, and a mate to exchange parts with.
//!
//! It must not look at tests or prices.

use std::collections::BTreeMap;

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::by_chance;
use facts::job::arrangement::share_a_coil;
use measure::engine::Cylinder;

/// Cylinders by how much suspicion rests on them, most first.
pub(super) fn suspicion(diagnosis: &Diagnosis<'_>) -> Vec<(Cylinder, f64)> {
    let timeline = diagnosis.model.timeline;
    let engine = &timeline.engine;
    let mut by_cylinder: BTreeMap<Cylinder, f64> = engine.all().map(|c| (c, 0.0)).collect();
    let travels = engine.depth_travels();
    for (weighed, h) in diagnosis.kept.iter().zip(&diagnosis.assessment.hypotheses) {
        // Suspected is what is there now: what was cured is not looked for any more, and what passes by itself
        // is not looked for at all.
        for (&c, there) in weighed.candidates.iter().zip(&h.present) {
            let candidate = &diagnosis.model.candidates[c];
            if diagnosis.model.passes(c) {
                continue;
            }
            let share = there * h.probability
                / f64::from(u32::try_from(candidate.numbers.len()).unwrap_or(1));
            for &number in &candidate.numbers {
                let at = timeline.arrangement.cylinder_of(candidate.seat, number, travels);
                *by_cylinder.entry(at).or_default() += share;
            }
        }
    }
    // Where one display stands out, its cylinder leads ties.
    let odd = diagnosis.assessment.odd_display.map(|d| timeline.arrangement.cylinder_shown(d));
    let mut list: Vec<(Cylinder, f64)> = by_cylinder.into_iter().collect();
    list.sort_by(|a, b| {
        let tie = (Some(b.0) == odd).cmp(&(Some(a.0) == odd));
        by_chance(b.1, a.1).then(tie).then(a.0.cmp(&b.0))
    });
    list
}

/// A healthy, unsuspected mate: one with a coil of its own where there is any, least suspicion, same bank before
/// the other, lowest number.
pub(super) fn partner(
    diagnosis: &Diagnosis<'_>,
    focus: Cylinder,
    suspicion: &[(Cylinder, f64)],
) -> Cylinder {
    let engine = &diagnosis.model.timeline.engine;
    let rank = |c: Cylinder, p: f64| {
        // Suspicion in steps of 2 %, so that a trifle does not send one to the far bank.
        let steps = (p * 50.0).round();
        (share_a_coil(engine, focus, c), steps, engine.bank_of(c) != engine.bank_of(focus), c)
    };
    suspicion
        .iter()
        .filter(|s| s.0 != focus)
        .map(|&(c, p)| rank(c, p))
        .min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then((a.2, a.3).cmp(&(b.2, b.3))))
        .map_or(focus, |r| r.3)
}
