//! How probable it is that no fault shows at the running points that were read or are asked for.
//!
//! A fault too small to stand out anywhere is not what a job is about, and one that is large where
//! nobody looked yet is. Shifts at points that were not read are forecast with the likelihood of
//! the diagnosis; nothing is judged anew.

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::data::Kind;
use crate::diagnosis::{Fault, Hypothesis, Oddness, does_it};
use crate::plan::cases::{Case, cases};
use crate::plan::forecast::{FAR, Forecaster};
use facts::job::arrangement::Arrangement;
use facts::job::entry::Reading;
use facts::knowledge::RunningPoint;
use measure::engine::Cylinder;

use super::account::accounts_for;
use super::points::{ODD, Points, may_show};

/// Natural standard deviations from which a display that a fault acts on shows it (common practice,
/// no source): below, what the fault does is less than what healthy cylinders do.
const SHOWS: f64 = 2.0;

/// Probabilities that no fault shows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sound {
    /// That none is there now that shows.
    pub(super) now: f64,
    /// That none is there, and none was that went away again: only then the engine was sound all along.
    pub(super) ever: f64,
    /// That none is there now at all, were it too small to show.
    pub(super) none: f64,
    /// That none is there or was at any time, were it too small to show.
    pub(super) never: f64,
}

/// Probability that no fault is there that shows, at a point that was read or at one that was not. What
/// stands off as was `complained`, in which set and on which display, shows however near it is: the
/// customer noticed it.
pub(super) fn sound(
    diagnosis: &Diagnosis<'_>,
    points: &Points<'_>,
    complained: &[(usize, Cylinder)],
) -> Sound {
    let (cases, _) = cases(diagnosis);
    let (knowledge, timeline) = (diagnosis.model.knowledge, diagnosis.model.timeline);
    let mut off = off(diagnosis, points);
    off.extend_from_slice(complained);
    // Names matter where something was complained of, stands off or was put right.
    let done = timeline.disturbances.iter().filter_map(|d| d.remedied);
    let mut names: Vec<Cylinder> =
        done.flat_map(|(_, place)| place.cylinders(&timeline.engine)).collect();
    names.extend(timeline.complaint.display);
    names.extend(off.iter().map(|(_, display)| *display));
    // A second fault that says little is no case of its own for the plan. It shows all the same.
    let mut unread = vec![0.0; diagnosis.kept.len()];
    for (case, most) in cases.iter().zip(elsewhere(diagnosis, points, &cases)) {
        for &(index, _) in &case.members {
            unread[index] = most;
        }
    }
    let hypotheses = diagnosis.kept.iter().zip(&diagnosis.assessment.hypotheses);
    let mut shows = 0.0;
    let mut showed = 0.0;
    let mut there_at_all = 0.0;
    let mut at_any_time = 0.0;
    for ((weighed, hypothesis), unread) in hypotheses.zip(unread) {
        let misnamed = |k: usize| {
            let candidate = &diagnosis.model.candidates[weighed.candidates[k]];
            candidate.renaming.is_some() && names.iter().any(|n| candidate.numbers.contains(n))
        };
        let any = there(diagnosis, hypothesis, |_| 1.0);
        // What is felt or heard, and does not show while it is read, is there all the same.
        let complaint = &timeline.complaint;
        let felt = |k: usize| {
            let cause = hypothesis.faults[k].cause;
            does_it(knowledge, complaint, cause)
                || complaint.heard.felt
                    && !cause.is_measuring(knowledge)
                    && !cause.passes(knowledge)
        };
        let acting: Vec<f64> = (0..weighed.candidates.len())
            .map(|k| {
                let plain = misnamed(k) || felt(k);
                if plain { 1.0 } else { accounts_for(diagnosis, weighed, k, &off) }
            })
            .collect();
        let showing = there(diagnosis, hypothesis, |k| acting[k]);
        let elsewhere = (any - showing) * unread;
        there_at_all += hypothesis.probability * any;
        shows += hypothesis.probability * (showing + elsewhere);
        let faults = hypothesis.faults.iter().zip(&acting);
        let none_was: f64 = faults
            .filter(|(fault, _)| !fault.cause.is_normal(knowledge))
            .map(|(_, acting)| 1.0 - acting)
            .product();
        let was = 1.0 - none_was;
        let fault = |fault: &Fault| !fault.cause.is_normal(knowledge);
        if hypothesis.faults.iter().any(fault) {
            at_any_time += hypothesis.probability;
        }
        showed += hypothesis.probability * was.max(showing + elsewhere);
    }
    let none_of = |p: f64| (1.0 - p).clamp(0.0, 1.0);
    let [now, ever, none, never] = [shows, showed, there_at_all, at_any_time].map(none_of);
    Sound { now, ever, none, never }
}

/// Displays that stand off, or show no number, in the newest set of some point, and those that stood far
/// off in any, with the set: who is connected to a display may have changed since. What came and went is
/// there; whether it was a misread number, or was cured since, the probabilities say.
fn off(diagnosis: &Diagnosis<'_>, points: &Points<'_>) -> Vec<(usize, Cylinder)> {
    let timeline = diagnosis.model.timeline;
    let newest = points.newest();
    let far = |odd: &&Oddness| {
        let reading = timeline.sets[odd.set].readings[usize::from(odd.display) - 1];
        // What is complained of was noticed, so that it was there however near nature it came, and on whatever
        // display the parts that may carry it were then.
        let complaint = &timeline.complaint;
        let complained = complaint.display.is_some_and(|number| {
            may_show(timeline, odd, number)
                && complaint.shown_by(number, odd.sigmas.unwrap_or(0.0)) >= SHOWS
        });
        let least = if newest.contains(&odd.set) || complained { SHOWS } else { ODD };
        points.counts(&timeline.sets[odd.set])
            && (!matches!(reading, Reading::Degrees(_))
                || odd.sigmas.is_none_or(|s| s.abs() >= least))
    };
    diagnosis.assessment.oddness.iter().filter(far).map(|odd| (odd.set, odd.display)).collect()
}

/// Displays that a candidate acts on while things are arranged so.
pub(super) fn acts_on(
    diagnosis: &Diagnosis<'_>,
    candidate: usize,
    arrangement: &Arrangement,
) -> Vec<Cylinder> {
    let model = &diagnosis.model;
    model.displays(&model.candidates[candidate], arrangement, &[])
}

/// Probability that one of a hypothesis' faults is there now, each counted by how far it is `wanted`, by
/// position, and is none that is this engine's normal.
fn there(diagnosis: &Diagnosis<'_>, hypothesis: &Hypothesis, wanted: impl Fn(usize) -> f64) -> f64 {
    let knowledge = diagnosis.model.knowledge;
    let absent: f64 = hypothesis
        .faults
        .iter()
        .zip(&hypothesis.present)
        .enumerate()
        .filter(|(_, (fault, _))| !fault.cause.is_normal(knowledge))
        .map(|(k, (_, present))| 1.0 - present * wanted(k))
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
    let steady = |at: &RunningPoint| !at.is_warming();
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
                let here =
                    |&c: &usize| acts_on(diagnosis, c, &timeline.arrangement).contains(&display);
                if case.candidates.iter().any(here) {
                    *most = most.max(far(&forecaster.row(case)) - usual);
                }
            }
        }
    }
    most
}
