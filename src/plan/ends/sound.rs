//! How probable it is that no fault shows at any running point.
//!
//! A fault too small to stand out anywhere is not what a job is about, and one that is large where
//! nobody looked yet is. Shifts at points that were not read are forecast with the likelihood of
//! the diagnosis; nothing is judged anew.

use crate::diagnosis::CauseRef;
use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::data::Kind;
use crate::engine::RunningPoint;
use crate::plan::cases::{Case, cases};
use crate::plan::forecast::{FAR, Forecaster};

use super::points::{ODD, Points};

/// Probability that no fault is there that shows, at a point that was read or at one that was not.
pub(crate) fn sound(diagnosis: &Diagnosis<'_>, points: &Points<'_>) -> f64 {
    let (cases, _) = cases(diagnosis);
    let odd_now = points.worst_newest().is_some_and(|(size, _)| size >= ODD);
    // What is within the natural spread where it was read can still show elsewhere.
    let elsewhere = if odd_now { vec![1.0; cases.len()] } else { elsewhere(diagnosis, &cases) };
    let shows: f64 = cases
        .iter()
        .zip(elsewhere)
        .map(|(case, shows)| case.probability * there(diagnosis, case) * shows)
        .sum();
    (1.0 - shows).clamp(0.0, 1.0)
}

/// Probability that one of a case's faults is there now, and is a fault.
fn there(diagnosis: &Diagnosis<'_>, case: &Case) -> f64 {
    let knowledge = diagnosis.model.knowledge;
    let absent: f64 = case
        .faults
        .iter()
        .zip(&case.present)
        .filter(|(fault, _)| match fault.cause {
            CauseRef::Listed(index) => !knowledge.causes[index].passes(),
            CauseRef::Unlisted => true,
        })
        .map(|(_, present)| 1.0 - present)
        .product();
    1.0 - absent
}

/// For each case the largest chance that it stands out at a running point not read yet, on a display
/// that it acts on, beyond what healthy cylinders do.
fn elsewhere(diagnosis: &Diagnosis<'_>, cases: &[Case]) -> Vec<f64> {
    let model = &diagnosis.model;
    let timeline = model.timeline;
    let site = timeline.engine.probes;
    let running = [RunningPoint::Idle, RunningPoint::Cruise, RunningPoint::Full];
    let unread = running
        .into_iter()
        .filter(|at| timeline.sets.iter().all(|s| s.at != *at || s.site != site));
    let nothing = Case {
        candidates: Vec::new(),
        members: Vec::new(),
        faults: Vec::new(),
        present: Vec::new(),
        parts: vec![(Vec::new(), 1.0)],
        probability: 0.0,
    };
    let far = |row: &[f64]| FAR.iter().map(|&k| row[k]).sum::<f64>();
    let mut most = vec![0.0_f64; cases.len()];
    for at in unread {
        let mut forecaster = Forecaster::new(diagnosis, Kind { site, at }, 1);
        for display in timeline.engine.all() {
            forecaster.turn_to(display);
            let usual = far(&forecaster.row(&nothing));
            for (case, most) in cases.iter().zip(&mut most) {
                let acts = case.candidates.iter().any(|&c| {
                    let candidate = &model.candidates[c];
                    model.displays(candidate, &timeline.arrangement, &[]).contains(&display)
                });
                if acts {
                    *most = most.max(far(&forecaster.row(case)) - usual);
                }
            }
        }
    }
    most
}
