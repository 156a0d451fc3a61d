//! Why a suspect stands where it stands.
//!
//! The same diagnosis on the journal cut off after each entry: the differences are what the
//! entries added or took. No second model, so nothing here can disagree with the answer.

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use measure::engine::Cylinder;

use super::assess::{assess, diagnose};
use super::model::{Model, Part};
use super::oddness::from_others;
use super::path::MOST;
use super::result::{
    Assessment, CauseExplanation, CauseRef, Contribution, ExpectedShift, Fault, Suspect,
};

/// Explains one suspect.
#[must_use]
pub fn explain_cause(knowledge: &Knowledge, timeline: &Timeline, fault: Fault) -> CauseExplanation {
    let whole = diagnose(knowledge, timeline);
    let probability = probability(&whole.assessment, fault);
    let mut contributions = Vec::new();
    let mut before = probability_at(knowledge, timeline, 0, fault);
    contributions.push(Contribution {
        entry: 0,
        text: "before any entry".to_owned(),
        before,
        after: before,
        log_odds: 0.0,
    });
    for (entry, text) in entries(knowledge, timeline) {
        let after = probability_at(knowledge, timeline, entry, fault);
        contributions.push(Contribution {
            entry,
            text,
            before,
            after,
            log_odds: log_odds(after) - log_odds(before),
        });
        before = after;
    }
    CauseExplanation {
        fault,
        probability,
        prior: prior_words(knowledge, timeline, fault),
        contributions,
        expected: expected(&whole.model, fault),
    }
}

fn log_odds(p: f64) -> f64 {
    let p = p.clamp(1e-12, 1.0 - 1e-12);
    (p / (1.0 - p)).ln()
}

fn probability(assessment: &Assessment, fault: Fault) -> f64 {
    assessment.suspects.iter().find(|s: &&Suspect| s.fault == fault).map_or(0.0, |s| s.probability)
}

fn probability_at(knowledge: &Knowledge, timeline: &Timeline, entry: usize, fault: Fault) -> f64 {
    probability(&assess(knowledge, &upto(timeline, entry)), fault)
}

/// The timeline as it was after an entry.
#[must_use]
pub fn upto(timeline: &Timeline, entry: usize) -> Timeline {
    let mut cut = timeline.clone();
    cut.sets.retain(|s| s.entry <= entry);
    cut.findings.retain(|f| f.entry <= entry);
    cut.disturbances.retain(|d| d.entry <= entry);
    cut.sheet.noted.retain(|n| n.entry <= entry);
    for disturbance in &mut cut.disturbances {
        if disturbance.verdict.as_ref().is_some_and(|v| v.entry > entry) {
            disturbance.verdict = None;
        }
    }
    cut
}

/// Entries that carry evidence, each in a line.
fn entries(knowledge: &Knowledge, timeline: &Timeline) -> Vec<(usize, String)> {
    let mut list: Vec<(usize, String)> = Vec::new();
    for set in &timeline.sets {
        list.push((set.entry, format!("readings, {}", set.at)));
    }
    for finding in &timeline.findings {
        let test = &knowledge.tests[finding.test];
        let at = finding.cylinder.map_or_else(String::new, |c| format!(", cylinder {c}"));
        list.push((
            finding.entry,
            format!("{}{at}: {}", test.name, test.outcomes[finding.outcome].text),
        ));
    }
    for noted in &timeline.sheet.noted {
        list.push((noted.entry, "how the probes sit".to_owned()));
    }
    for disturbance in &timeline.disturbances {
        let text = match (disturbance.remedied, disturbance.work) {
            (Some((cause, place)), _) => {
                format!("remedied: {}, {place}", knowledge.causes[cause].name)
            }
            (None, Some(work)) => match work.b {
                Some(b) => format!("{}, {} and {b}", knowledge.tests[work.test].name, work.a),
                None => format!("{}, {}", knowledge.tests[work.test].name, work.a),
            },
            (None, None) => continue,
        };
        if let Some(verdict) = disturbance.verdict.as_ref().filter(|v| v.entry != disturbance.entry)
        {
            let outcome = &knowledge.tests[verdict.test].outcomes[verdict.outcome];
            list.push((verdict.entry, format!("verdict: {}", outcome.text)));
        }
        list.push((disturbance.entry, text));
    }
    list.sort();
    list.dedup_by_key(|(entry, _)| *entry);
    list
}

fn prior_words(knowledge: &Knowledge, timeline: &Timeline, fault: Fault) -> Vec<String> {
    let CauseRef::Listed(index) = fault.cause else {
        return vec!["Every list has gaps: a little is kept for what is in none.".to_owned()];
    };
    let cause = &knowledge.causes[index];
    let mut words = vec![format!("usual frequency: {} in the list's own units", cause.weight)];
    for (_, factor) in cause.weight_if.iter().filter(|(when, _)| when.holds(&timeline.engine)) {
        words.push(format!("on an engine of this kind: × {factor}"));
    }
    for flag in &timeline.recent {
        if let Some(factor) = cause.recent.get(flag) {
            words.push(format!("after recent work ({flag}): × {factor}"));
        }
    }
    words
}

/// What the cause would have done to each reading set, if it had been there throughout.
fn expected(model: &Model<'_>, fault: Fault) -> Vec<ExpectedShift> {
    let Some(index) = model.candidates.iter().position(|c| c.fault == fault) else {
        return Vec::new();
    };
    let candidate = &model.candidates[index];
    let cured_by = |slot: usize| {
        // The likeliest path says whether it was there.
        let best = candidate.paths.iter().max_by(|a, b| a.probability.total_cmp(&b.probability));
        best.is_some_and(|path| path.presence >> slot.min(MOST) & 1 == 1)
    };
    let mut list = Vec::new();
    for set in &model.data.sets {
        let timeline_set = &model.timeline.sets[set.index];
        let displays: Vec<Cylinder> = model.displays(candidate, &timeline_set.arrangement, &[]);
        for display in displays {
            let (mut mean, mut square, mut sum, mut any) = (0.0, 0.0, 0.0, false);
            let presence = candidate.paths.iter().map(|p| p.presence).fold(0, |a, p| a | p);
            for (number, side) in model.sides(index).iter().enumerate() {
                let part = Part::always(index, number, presence);
                // A measured depth leaves little of a side that it does not go with.
                let share = side.share * model.log_depths(&[part]).exp();
                let side = model.moments_of(&part);
                sum += share;
                if side.meaningful[set.kind] {
                    any = true;
                }
                let m = side.mean[set.kind];
                let v: f64 = side.factor.row(set.kind).iter().map(|f| f * f).sum();
                mean += share * m;
                square += share * (v + m * m);
            }
            let (mean, square) = (mean / sum, square / sum);
            let expected = any.then(|| {
                if cured_by(set.slot) {
                    (mean, (square - mean * mean).max(0.0).sqrt())
                } else {
                    (0.0, 0.0)
                }
            });
            list.push(ExpectedShift {
                entry: timeline_set.entry,
                at: timeline_set.at,
                site: timeline_set.site,
                display,
                expected,
                shown: from_others(&timeline_set.readings, display),
            });
        }
    }
    list
}
