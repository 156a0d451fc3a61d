//! How a job may end: what is normal, what is proven, and what is still owed before either.
//!
//! The one place that judges ends. `next`, `verify`, `close`, `record`, session and card ask here
//! and hold no rule of their own. It must not choose a test or a remedy, and it must not judge
//! anew: probabilities are those of the diagnosis.

mod account;
mod outlier;
mod points;
mod proof;
mod sound;

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::{Fault, Oddness, Proof, Verification, is_common};
use crate::heat::{self, AS_BEFORE};
use facts::job::complaint::{Does, NOTICED};
use facts::job::entry::Reading;
use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, Test};
use measure::engine::Cylinder;
use measure::percent::percent;

pub(crate) use outlier::outlier;
pub(crate) use points::{ODD, Points, Spot};
pub(crate) use proof::{CAUSE, seen, tells};

/// Probability that no fault shows from which a job may end, as normal or as cured (theory of
/// troubleshooting: a tenth left is what one comeback in ten costs).
pub const SURE: f64 = 0.9;

/// Probability that nothing is wrong at all, shown or not, below which it is not normal: nobody writes down as
/// normal what is more likely ill than not.
pub(crate) const MOSTLY: f64 = 0.5;

/// Looks at what is complained of, before it is called normal (common practice, no source): readings that
/// are as they should be do not show what comes and goes, or hides.
const LOOKS: usize = 2;

/// What stands between a job and its ends.
#[derive(Debug, Clone)]
pub struct Ends {
    /// What stands off so far now that no end can be thought of, a sentence each.
    pub off: Vec<String>,
    /// That a fault is too likely to be left, where nothing stands off.
    pub doubt: Option<String>,
    /// What is missing before the job is normal, a sentence each.
    pub normal: Vec<String>,
    /// What was put right, and what is missing before it is proven.
    pub verification: Verification,
    /// Probability that no fault shows at the running points that were read or are asked for.
    pub sound: f64,
    /// The same, and that none did that went away by itself.
    pub(crate) ever: f64,
    /// Where it must be read before a cure is proven.
    pub(crate) owed: Option<Spot>,
    /// What was complained of stands off as it did, and nothing was put right for it.
    pub complaint_stands: bool,
    /// It is normal but for this.
    pub(crate) but_for: Option<ButFor>,
    /// What is complained of was looked at often enough to leave the job, or nothing is.
    pub(crate) looked: bool,
    /// The cylinder whose display stands out too, where looks did not say enough of it.
    pub(crate) outlier: Option<Cylinder>,
    /// It would be proven, or normal, but for that display.
    pub(crate) but_for_outlier: bool,
}

/// The one thing for want of which a job is not normal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ButFor {
    /// One more set where what is complained of did not show.
    Again(Spot),
    /// This test of what acts on all displays, which are complained of.
    Common(usize),
    /// Looks at what is complained of.
    Looks,
    /// Something is wrong that does not show, more likely than not; or almost certainly is, or was.
    Hidden,
}

impl Ends {
    /// Whether the spread is this engine's normal.
    #[must_use]
    pub fn is_normal(&self) -> bool {
        self.normal.is_empty()
    }

    /// Whether the cure is proven.
    #[must_use]
    pub fn is_proven(&self) -> bool {
        self.verification.verified()
    }
}

/// What the readings after the last work say of the fault that was put right.
#[must_use]
pub fn verify(diagnosis: &Diagnosis<'_>) -> Verification {
    ends(diagnosis).verification
}

/// Whether a job has come to a good end: cured and proven, or written down as normal.
#[must_use]
pub fn is_done(timeline: &Timeline, verification: &Verification) -> bool {
    verification.verified() || timeline.is_recorded()
}

/// What a job's ends ask for.
#[must_use]
pub fn ends(diagnosis: &Diagnosis<'_>) -> Ends {
    let (knowledge, timeline) = (diagnosis.model.knowledge, diagnosis.model.timeline);
    let assessment = &diagnosis.assessment;
    let points = Points::new(timeline, &assessment.oddness);
    let remedied = proof::remedied(knowledge, timeline, assessment);
    let off = complained_still(diagnosis, &points, remedied.map(|(fault, _)| fault));
    let sound::Sound { now: sound, ever, none, never } = sound::sound(diagnosis, &points, &off);
    let off_now = off_now(knowledge, timeline, &points);
    let doubt = (points.worst_newest().is_none_or(|(size, _)| size < ODD) && sound < SURE)
        .then(|| format!("the chance that a fault is left is {}", percent(1.0 - sound)));
    let outlier = outlier(diagnosis);
    let unlooked = outlier.map(|display| {
        format!(
            "a look or two at display {display}, which stands out too: `oddpot next` says which"
        )
    });
    // What is missing because of it: looks at it, that it stands far off where no other does, and the chance that a
    // fault is left, which these looks move first.
    let due_to_outlier = outlier.map_or(0, |cylinder| {
        let stands_off = points.worst_newest().is_some_and(|(size, _)| size >= ODD);
        let far = stands_off && points.far_at_most_at(cylinder, &assessment.oddness);
        1 + usize::from(far) + usize::from(doubt.is_some())
    });
    let common: Vec<String> =
        off_now.iter().cloned().chain(doubt.clone()).chain(unlooked).collect();
    let found = |(fault, _): (Fault, f64)| seen(knowledge, timeline, fault);
    let owed = points.owed(remedied.is_some_and(found));
    let verification = verification(diagnosis, &points, sound, &common, remedied, owed);
    let mut normal = common;
    if timeline.sets.is_empty() {
        normal.push("readings at a steady point".to_owned());
    } else {
        for spot in points.never_read() {
            normal.push(format!("readings at {}", spot.at));
        }
    }
    if let Some(display) = was_far_off(diagnosis) {
        normal.push(format!(
            "display {display} stood far off as complained of more than once: level now, that is watched"
        ));
    }
    // What was put right in vain was not what is the matter.
    if remedied.is_some_and(|(_, share)| share > 1.0 - SURE) {
        normal.push("something was put right, so that it is not normal but cured".to_owned());
    } else if sound >= SURE && ever < SURE {
        normal.push(format!(
            "the chance that something was wrong, and went away by itself, is {}",
            percent(sound - ever)
        ));
    }
    // What was put right, and was the cause, needs no look any more.
    let looked = looks(timeline) >= LOOKS || remedied.is_some_and(|(_, share)| share >= SURE);
    let but_for = || {
        // A number that is complained of, and does not stand off where it was read, hides nothing else. But what
        // is almost certainly wrong, or was, is not normal however little it shows.
        let of_a_number = matches!(timeline.complaint.does, Some(Does::Low | Does::High));
        let hidden = none < MOSTLY && !of_a_number || never < 1.0 - SURE;
        let again = points.unseen(&assessment.oddness).map(ButFor::Again);
        again
            .or_else(|| common_look(knowledge, timeline).map(ButFor::Common))
            .or_else(|| (!looked).then_some(ButFor::Looks))
            .or_else(|| hidden.then_some(ButFor::Hidden))
    };
    let only = |missing: &[String]| missing.len() == due_to_outlier;
    let but_for_outlier =
        outlier.is_some() && (only(&normal) || remedied.is_some() && only(&verification.missing));
    let but_for = if normal.is_empty() { but_for() } else { None };
    normal.extend(but_for.map(|but_for| match but_for {
        ButFor::Again(spot) => {
            format!("readings at {} once more: what is complained of did not show there", spot.at)
        }
        ButFor::Common(test) => format!(
            "all displays are complained of together, which their differences cannot show: `{}`",
            knowledge.tests[test].id
        ),
        ButFor::Looks => {
            "a look or two at what is complained of: `oddpot next` says which".to_owned()
        }
        ButFor::Hidden => format!(
            "the chance that something is wrong, or was, which does not show at what was read, is {}",
            percent(1.0 - none.min(never))
        ),
    }));
    let complaint_stands = !off.is_empty();
    Ends {
        off: off_now,
        doubt,
        normal,
        verification,
        sound,
        owed,
        complaint_stands,
        but_for,
        looked,
        outlier,
        but_for_outlier,
        ever,
    }
}

/// The cheapest test that tells a fault of all displays from none, where these are complained of and none
/// such was done.
fn common_look(knowledge: &Knowledge, timeline: &Timeline) -> Option<usize> {
    if !timeline.complaint.speaks_of_all() {
        return None;
    }
    let tells = |test: &Test| {
        let common = test.given.iter().filter(|(cause, _)| is_common(&knowledge.causes[**cause]));
        let mut seen = common.flat_map(|(_, row)| row.iter().zip(&test.default));
        test.applies.holds(&timeline.engine) && seen.any(|(with, without)| tells(*with, *without))
    };
    let tests = || knowledge.tests.iter().enumerate().filter(|(_, test)| tells(test));
    let done = |test: usize| timeline.findings.iter().any(|finding| finding.test == test);
    if tests().any(|(test, _)| done(test)) {
        return None;
    }
    // One that cannot be done here is owed all the same where there is no other.
    let barred = |test: usize| timeline.barred.contains(&test);
    let cheap = |test: &Test| test.cost.total(knowledge.constants.rates);
    let order = |a: &(usize, &Test), b: &(usize, &Test)| {
        barred(a.0).cmp(&barred(b.0)).then(cheap(a.1).total_cmp(&cheap(b.1)))
    };
    tests().min_by(order).map(|(test, _)| test)
}

/// Looks, exchanges and substitutions that have to do with what is complained of; enough where nothing is.
fn looks(timeline: &Timeline) -> usize {
    let complaint = &timeline.complaint;
    if !complaint.is_there() {
        return LOOKS;
    }
    let about = |at: Option<Cylinder>| {
        at.is_none_or(|at| complaint.display.is_none_or(|display| display == at))
    };
    let looks = timeline.findings.iter().filter(|finding| about(finding.cylinder)).count();
    let work = timeline.disturbances.iter().filter_map(|d| d.work);
    looks + work.filter(|work| about(Some(work.a)) || work.b.is_some() && about(work.b)).count()
}

/// What every end needs beside hardly a fault left: nothing far off in the newest sets.
fn off_now(knowledge: &Knowledge, timeline: &Timeline, points: &Points<'_>) -> Vec<String> {
    let mut missing = Vec::new();
    match heat::judge(knowledge, timeline).map(|heat| heat.verdict) {
        Some(heat::Verdict::Stop) => {
            missing.push("a display reads what must stop the engine".to_owned());
        }
        Some(heat::Verdict::CannotBe) => {
            missing.push("the displays read what no running engine does".to_owned());
        }
        Some(heat::Verdict::Watch) | None => {}
    }
    if let Some((size, spot)) = points.worst_newest()
        && size >= ODD
    {
        missing.push(if size.is_finite() {
            format!(
                "a display is still off by {size:.1} × the usual scatter at {} (3 is the limit)",
                spot.at
            )
        } else {
            format!("a display shows no steady number at {}", spot.at)
        });
    }
    missing
}

/// The displays that were complained of, or named, where they still stand off as they did: what was put right
/// acts on another, or did nothing for them. Each with the set.
fn complained_still(
    diagnosis: &Diagnosis<'_>,
    points: &Points<'_>,
    remedied: Option<Fault>,
) -> Vec<(usize, Cylinder)> {
    let timeline = diagnosis.model.timeline;
    let complaint = &timeline.complaint;
    // What was put right anywhere was done about its displays, and helped unless they stand as they did.
    let done = timeline.disturbances.iter().filter_map(|d| d.remedied);
    let own: Vec<Cylinder> =
        done.flat_map(|(_, place)| place.cylinders(&timeline.engine)).collect();
    if remedied.is_some() && own.is_empty() {
        return Vec::new();
    }
    let newest = points.newest();
    let mut named: Vec<Cylinder> =
        complaint.display.iter().chain(&complaint.heard.numbers).copied().collect();
    // Names put right cure no number: what was low under one name is low under the other.
    let renamed = timeline
        .disturbances
        .iter()
        .filter_map(|d| d.remedied)
        .filter(|(cause, _)| diagnosis.model.knowledge.causes[*cause].misnames());
    for (_, place) in renamed {
        let both = place.cylinders(&timeline.engine);
        if both.iter().any(|number| named.contains(number)) {
            named.extend(both);
        }
    }
    named.sort_unstable();
    named.dedup();
    let oddness = &diagnosis.assessment.oddness;
    let shown = |odd: &Oddness, number: Cylinder| {
        let sigmas = odd.sigmas.filter(|_| points::may_show(timeline, odd, number))?;
        Some(complaint.shown_by(number, sigmas))
    };
    let at_first = |number: Cylinder| {
        let before = |odd: &&Oddness| timeline.sets[odd.set].after < timeline.remedied_by();
        let sizes = oddness.iter().filter(before).filter_map(|odd| shown(odd, number));
        sizes.reduce(f64::max)
    };
    // Of what was put right with nothing read before nobody can say that it stands as it did.
    let least = |number: Cylinder| match (own.contains(&number), at_first(number)) {
        (false, _) => NOTICED,
        (true, Some(size)) => NOTICED.max(AS_BEFORE * size),
        (true, None) => f64::INFINITY,
    };
    let least: Vec<(Cylinder, f64)> = named.iter().map(|&n| (n, least(n))).collect();
    let stands = |odd: &&Oddness| {
        let far =
            |&(number, least): &(Cylinder, f64)| shown(odd, number).is_some_and(|s| s >= least);
        newest.contains(&odd.set) && least.iter().any(far)
    };
    oddness.iter().filter(stands).map(|odd| (odd.set, odd.display)).collect()
}

/// The display complained of, where it stood far off as complained of in two sets or more: that is no nature of the
/// engine, however level it is now.
fn was_far_off(diagnosis: &Diagnosis<'_>) -> Option<Cylinder> {
    let timeline = diagnosis.model.timeline;
    let complaint = &timeline.complaint;
    let number = complaint.display?;
    let far = diagnosis.assessment.oddness.iter().filter(|odd| {
        let settled = timeline.sets[odd.set].is_settled();
        let shown = odd.sigmas.map(|sigmas| complaint.shown_by(number, sigmas));
        settled && points::may_show(timeline, odd, number) && shown.is_some_and(|s| s >= ODD)
    });
    (far.count() > 1).then_some(number)
}

fn verification(
    diagnosis: &Diagnosis<'_>,
    points: &Points<'_>,
    sound: f64,
    common: &[String],
    remedied: Option<(Fault, f64)>,
    owed: Option<Spot>,
) -> Verification {
    let (knowledge, timeline) = (diagnosis.model.knowledge, diagnosis.model.timeline);
    let assessment = &diagnosis.assessment;
    let probability = remedied.map_or(0.0, |(_, share)| share);
    let after: Vec<usize> = {
        let from = points.last_work().map_or(0, |work| work + 1);
        points.newest().into_iter().filter(|&i| timeline.sets[i].after >= from).collect()
    };
    let left_over = assessment
        .oddness
        .iter()
        .filter(|odd| after.contains(&odd.set))
        .filter_map(|odd| odd.sigmas)
        .map(f64::abs)
        .reduce(f64::max);
    let silent =
        |&i: &usize| timeline.sets[i].readings.iter().any(|r| !matches!(r, Reading::Degrees(_)));
    let mut missing = Vec::new();
    if remedied.is_none() {
        missing.push("no remedy has been entered yet".to_owned());
    }
    if let Some(spot) = owed {
        let times = points.times_since_work(spot);
        missing.push(if times == 0 {
            format!("readings since the last change, settled, at {}", spot.at)
        } else {
            format!("it came and went: one more set at {} that is as it should be", spot.at)
        });
    }
    missing.extend(common.iter().cloned());
    let gone = owed.is_none() && common.is_empty() && !after.iter().any(silent);
    let proof: Option<Proof> = remedied
        .filter(|_| gone)
        .and_then(|(fault, share)| proof::proof(knowledge, timeline, assessment, fault, share));
    if remedied.is_some() && gone && proof.is_none() {
        missing.push(format!(
            "the cause is not proven ({}): look at it directly, or reverse the remedy and see the \
             odd reading come back; else close it as unproven",
            percent(probability)
        ));
    }
    Verification {
        remedied: remedied.map(|(fault, _)| fault),
        readings_after: !after.is_empty(),
        gone: sound,
        left_over,
        probability,
        proof,
        missing,
    }
}
