//! How probable it is that no fault shows at the running points that were read or are asked for.
//!
//! A fault too small to stand out anywhere is not what a job is about, and one that is large where
//! nobody looked yet is. Shifts at points that were not read are forecast with the likelihood of
//! the diagnosis; nothing is judged anew.

use crate::diagnosis::Oddness;
use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::data::Kind;
use crate::engine::{Cylinder, RunningPoint};
use crate::job::arrangement::Arrangement;
use crate::job::entry::Reading;
use crate::plan::cases::{Case, cases};
use crate::plan::forecast::{FAR, Forecaster};

use super::points::Points;

/// Natural standard deviations from which a display that a fault acts on shows it (common practice,
/// no source): below, what the fault does is less than what healthy cylinders do.
const SHOWS: f64 = 2.0;

/// Probability that no fault is there that shows, at a point that was read or at one that was not. What
/// stands off as was `complained`, in which set and on which display, shows however near it is: the
/// customer noticed it.
pub(crate) fn sound(
    diagnosis: &Diagnosis<'_>,
    points: &Points<'_>,
    complained: &[(usize, Cylinder)],
) -> f64 {
    let (cases, _) = cases(diagnosis);
    let timeline = diagnosis.model.timeline;
    let mut off = off_now(diagnosis, points);
    off.extend_from_slice(complained);
    let elsewhere = elsewhere(diagnosis, points, &cases);
    let shows: f64 = cases
        .iter()
        .zip(elsewhere)
        .map(|(case, elsewhere)| {
            let here = off.iter().any(|(set, d)| {
                acts_on(diagnosis, case, &timeline.sets[*set].arrangement).contains(d)
            });
            let shows = if here || misnames(diagnosis, case) { 1.0 } else { elsewhere };
            case.probability * there(diagnosis, case) * shows
        })
        .sum();
    (1.0 - shows).clamp(0.0, 1.0)
}

/// Displays that stand off, or show no number, in the newest set of some point, with the set: who is
/// connected to a display may have changed since.
fn off_now(diagnosis: &Diagnosis<'_>, points: &Points<'_>) -> Vec<(usize, Cylinder)> {
    let timeline = diagnosis.model.timeline;
    let newest = points.newest();
    let far = |odd: &&Oddness| {
        let reading = timeline.sets[odd.set].readings[usize::from(odd.display) - 1];
        newest.contains(&odd.set)
            && (!matches!(reading, Reading::Degrees(_))
                || odd.sigmas.is_none_or(|s| s.abs() >= SHOWS))
    };
    diagnosis.assessment.oddness.iter().filter(far).map(|odd| (odd.set, odd.display)).collect()
}

/// Displays that a case acts on while things are arranged so.
fn acts_on(diagnosis: &Diagnosis<'_>, case: &Case, arrangement: &Arrangement) -> Vec<Cylinder> {
    let model = &diagnosis.model;
    let displays = |&c: &usize| model.displays(&model.candidates[c], arrangement, &[]);
    case.candidates.iter().flat_map(displays).collect()
}

/// Whether a case gives displays each other's names: level displays say nothing about that.
fn misnames(diagnosis: &Diagnosis<'_>, case: &Case) -> bool {
    case.candidates.iter().any(|&c| diagnosis.model.candidates[c].renaming.is_some())
}

/// Probability that one of a case's faults is there now, and is none that is this engine's normal.
fn there(diagnosis: &Diagnosis<'_>, case: &Case) -> f64 {
    let knowledge = diagnosis.model.knowledge;
    let absent: f64 = case
        .faults
        .iter()
        .zip(&case.present)
        .filter(|(fault, _)| !fault.cause.is_normal(knowledge))
        .map(|(_, present)| 1.0 - present)
        .product();
    1.0 - absent
}

/// For each case the largest chance that it stands out at a running point that is asked for and not
/// read yet, on a display that it acts on, beyond what healthy cylinders do. Of a point that nobody
/// spoke of nothing is claimed.
fn elsewhere(diagnosis: &Diagnosis<'_>, points: &Points<'_>, cases: &[Case]) -> Vec<f64> {
    let model = &diagnosis.model;
    let timeline = model.timeline;
    let site = timeline.engine.probes;
    let steady = |at: &RunningPoint| *at != RunningPoint::Warming;
    let unread = points.never_read().into_iter().map(|spot| spot.at).filter(steady);
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
                if acts_on(diagnosis, case, &timeline.arrangement).contains(&display) {
                    *most = most.max(far(&forecaster.row(case)) - usual);
                }
            }
        }
    }
    most
}
