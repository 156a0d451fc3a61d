//! The display that stands out beside what a job is about.
//!
//! A job is over when what it was opened for is cured. A display that stands out beside it may be nature's or
//! a second fault, and looks at it cost minutes: they go on until they have spoken. It must not choose them.

use crate::diagnosis::Oddness;
use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::model::Part;
use facts::job::complaint::NOTICED;
use facts::job::timeline::Timeline;
use measure::engine::Cylinder;

use super::LOOKS;
use super::points::Points;
use super::sound::acts_on;

/// Natural standard deviations from which a display stands out though it may well be nature's (common
/// practice, no source): one display of eighty by chance.
const STANDS_OUT: f64 = 2.5;
/// Looks after which one is left, whatever they said, and after which all are, once something was put right (common
/// practice, no source).
const ENOUGH: usize = 5;
/// By how much looks make a fault there the less likely that is left after them (common practice, no source):
/// three times. A look at what nobody would have seen so makes it hardly less likely.
const SPOKEN: f64 = 1.0 / 3.0;

/// The cylinder, by its display, that stands out most in the newest sets, that the job is not about, and of which
/// looks did not say enough. Once something was put right the job is not about a display any more that was named
/// beside it and where nothing was: who names it has seen it stand off, so that it need not stand out as far.
pub(crate) fn outlier(diagnosis: &Diagnosis<'_>) -> Option<Cylinder> {
    let timeline = diagnosis.model.timeline;
    // What stands exchanged takes its fault along: whether a display is off by itself shows when parts are home.
    if !timeline.arrangement.is_original() {
        return None;
    }
    let points = Points::new(timeline, &diagnosis.assessment.oddness);
    let newest = points.newest();
    let shown = |odd: &Oddness| timeline.sets[odd.set].arrangement.cylinder_shown(odd.display);
    let put_right = timeline.put_right();
    let concerned = timeline.concerned();
    let about = |cylinder: &Cylinder| {
        put_right.contains(cylinder) || put_right.is_empty() && concerned.contains(cylinder)
    };
    if looks_beside(timeline, about) >= ENOUGH {
        return None;
    }
    let known = |cylinder: Cylinder| about(&cylinder) || looked_at(diagnosis, cylinder);
    // A display that the job is about is not beside it, whatever cylinder its lead is at just now.
    let beside = |odd: &&Oddness| newest.contains(&odd.set) && !about(&odd.display);
    let far = |odd: &&Oddness| {
        let least = if concerned.contains(&odd.display) { NOTICED } else { STANDS_OUT };
        odd.sigmas.is_some_and(|sigmas| sigmas.abs() >= least)
    };
    let odd = diagnosis.assessment.oddness.iter().filter(beside).filter(far);
    let mut out: Vec<(f64, Cylinder)> =
        odd.filter_map(|odd| Some((odd.sigmas?.abs(), shown(odd)))).collect();
    out.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    out.into_iter().map(|(_, cylinder)| cylinder).find(|cylinder| !known(*cylinder))
}

/// Whether looks at a cylinder are done with.
fn looked_at(diagnosis: &Diagnosis<'_>, cylinder: Cylinder) -> bool {
    let looks = looks(diagnosis.model.timeline, cylinder);
    looks >= ENOUGH || looks >= LOOKS && told(diagnosis, cylinder) <= SPOKEN
}

/// Looks at cylinders that the job is not about since something was put right.
fn looks_beside(timeline: &Timeline, about: impl Fn(&Cylinder) -> bool) -> usize {
    let cured = timeline.disturbances.iter().find(|d| d.remedied.is_some());
    let since = |entry: usize| cured.is_some_and(|cured| entry > cured.entry);
    let findings = timeline.findings.iter().filter(|finding| since(finding.entry));
    findings.filter(|finding| finding.cylinder.is_some_and(|number| !about(&number))).count()
}

fn looks(timeline: &Timeline, cylinder: Cylinder) -> usize {
    timeline.findings.iter().filter(|finding| finding.cylinder == Some(cylinder)).count()
}

/// By how much the looks at a cylinder have changed the odds of a fault that shows there: what such faults
/// come to, over what they would come to without these looks. One where there is none such.
fn told(diagnosis: &Diagnosis<'_>, cylinder: Cylinder) -> f64 {
    let model = &diagnosis.model;
    let arrangement = &model.timeline.arrangement;
    let display = arrangement.display_of(cylinder);
    let here = |part: &Part| acts_on(diagnosis, part.candidate, arrangement) == [display];
    let mut with = 0.0;
    let mut without = 0.0;
    for (weighed, hypothesis) in diagnosis.kept.iter().zip(&diagnosis.assessment.hypotheses) {
        // Ways of one explanation differ little in what looks say of it.
        let Some((parts, _)) = weighed.parts.first() else { continue };
        let others: Vec<Part> = parts.iter().filter(|part| !here(part)).copied().collect();
        if others.len() == parts.len() {
            continue;
        }
        let own = model.looks.iter().filter(|looks| looks.cylinder == Some(cylinder));
        let said: f64 =
            own.map(|looks| model.log_looks(parts, looks) - model.log_looks(&others, looks)).sum();
        with += hypothesis.probability;
        without += hypothesis.probability * (-said).exp();
    }
    if without > 0.0 { with / without } else { 1.0 }
}
