//! Findings: outcomes of tests that have a table.
//!
//! Which of them count, which faults a test on a cylinder looks at, and the chances of its
//! outcomes under them. It must not judge an exchange or a re-seat: those follow from the seats.

use crate::engine::{Cylinder, Place, ProbeSite, RunningPoint};
use crate::job::arrangement::Arrangement;
use crate::job::timeline::{Finding, Timeline};
use crate::knowledge::{Knowledge, Scope, Seat, Test};

use super::{Candidate, Model, Part};
use crate::diagnosis::path::MOST;
use crate::diagnosis::result::CauseRef;
use crate::diagnosis::tables;

impl Model<'_> {
    /// Chances of a finding's outcomes.
    pub(crate) fn finding_row(&self, parts: &[Part], finding: &Finding) -> Vec<f64> {
        let test = &self.knowledge.tests[finding.test];
        let slot = finding.after.min(MOST);
        let present =
            parts.iter().filter(|part| part.there(slot, finding.entry)).map(|p| p.candidate);
        self.outcome_row(present, test, finding.cylinder, &finding.arrangement)
    }

    /// Chances of a table test's outcomes when these candidates are present.
    pub(crate) fn outcome_row(
        &self,
        present: impl Iterator<Item = usize>,
        test: &Test,
        cylinder: Option<Cylinder>,
        arrangement: &Arrangement,
    ) -> Vec<f64> {
        let mut rows: Vec<Vec<f64>> = Vec::new();
        for index in present {
            let candidate = &self.candidates[index];
            if !self.concerns(candidate, test, cylinder, arrangement) {
                continue;
            }
            match candidate.fault.cause {
                CauseRef::Listed(cause) => rows.extend(test.given.get(&cause).cloned()),
                CauseRef::Unlisted => rows.push(unlisted_row(&test.default)),
            }
        }
        let rows: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
        tables::together(&test.default, &rows)
    }

    /// Whether a test on a cylinder looks at what a candidate is attached to.
    pub(crate) fn concerns(
        &self,
        candidate: &Candidate,
        test: &Test,
        cylinder: Option<Cylinder>,
        arrangement: &Arrangement,
    ) -> bool {
        let (Scope::Cylinder, Some(cylinder)) = (test.scope, cylinder) else {
            return true;
        };
        if let Place::Bank(_) = candidate.fault.place {
            return candidate.fault.place.cylinders(&self.timeline.engine).contains(&cylinder);
        }
        let travels = self.timeline.engine.depth_travels();
        // What is at the box is looked at from its display; all else where it is.
        let at_the_box = matches!(candidate.seat, Seat::Lead | Seat::Channel | Seat::Settings);
        candidate.numbers.iter().any(|&number| {
            arrangement.cylinder_of(candidate.seat, number, travels) == cylinder
                || at_the_box
                    && arrangement.display_showing(candidate.seat, number, travels) == cylinder
        })
    }
}

/// Findings that add something: the last of a repeated one, and none that the numbers say
/// already.
pub(super) fn counted_findings(knowledge: &Knowledge, timeline: &Timeline) -> Vec<usize> {
    let findings = &timeline.findings;
    (0..findings.len())
        .filter(|&i| {
            let this = &findings[i];
            let same =
                |other: &&Finding| other.test == this.test && other.cylinder == this.cylinder;
            let repeated =
                findings[i + 1..].iter().filter(same).any(|later| later.after == this.after);
            !repeated
                && !seen_again(knowledge, this, findings[..i].iter().filter(same), false)
                && !seen_again(knowledge, this, findings[i + 1..].iter().filter(same), true)
                && !said_by_rule(knowledge, timeline, this)
                && !said_by_numbers(&knowledge.tests[this.test].id, timeline)
        })
        .collect()
}

/// Whether the same was seen at another time, so that it is no news: of signs the last counts, of
/// silence the first.
///
/// What a test shows of a thing hangs on that thing; looking at it once more after work elsewhere
/// shows the same, and must not count twice.
fn seen_again<'a>(
    knowledge: &Knowledge,
    this: &Finding,
    mut others: impl Iterator<Item = &'a Finding>,
    later: bool,
) -> bool {
    let test = &knowledge.tests[this.test];
    let silent = tables::silent(&test.default) == this.outcome;
    silent != later && others.any(|other| other.outcome == this.outcome)
}

/// Tests that look at a probe's depth.
pub(crate) const DEPTH_IN_WORDS: [&str; 2] = ["look-fit", "depth-measure"];

/// Whether a finding says of a depth what was entered in millimetres at the same time.
fn said_by_rule(knowledge: &Knowledge, timeline: &Timeline, finding: &Finding) -> bool {
    let test = &knowledge.tests[finding.test];
    let Some(cylinder) = finding.cylinder else { return false };
    // A mark of the wall on the tip is no depth.
    if !DEPTH_IN_WORDS.contains(&test.id.as_str())
        || test.outcomes[finding.outcome].id == "wall-mark"
    {
        return false;
    }
    let travels = timeline.engine.depth_travels();
    let number = finding.arrangement.number_at(Seat::Fit, cylinder, travels);
    timeline.sheet.differences().iter().any(|d| d.number == number && d.after == finding.after)
}

/// Tests that are a way of looking at temperatures: with numbers they have nothing to add.
pub(crate) const READINGS_IN_WORDS: [&str; 4] =
    ["cold-compare", "pattern", "point-compare", "head-exh-pair"];

/// Whether the temperatures that a test looks at have been entered.
#[must_use]
pub fn said_by_numbers(test: &str, timeline: &Timeline) -> bool {
    let main = timeline.engine.probes;
    let has = |site: ProbeSite, at: RunningPoint| {
        timeline.sets.iter().any(|set| {
            set.site == site && set.at == at && set.readings.iter().any(|r| r.middle().is_some())
        })
    };
    let running = [RunningPoint::Idle, RunningPoint::Cruise, RunningPoint::Full];
    match test {
        "cold-compare" => has(main, RunningPoint::ColdSoak),
        "pattern" => running.iter().any(|&at| has(main, at)),
        "point-compare" => running.iter().filter(|&&at| has(main, at)).count() >= 2,
        "head-exh-pair" => {
            running.iter().any(|&at| has(ProbeSite::Exhaust, at) && has(ProbeSite::Head, at))
        }
        _ => false,
    }
}

/// A cause in no list may show anything: half as the default, half evenly spread.
fn unlisted_row(default: &[f64]) -> Vec<f64> {
    let even = 1.0 / f64::from(u32::try_from(default.len()).unwrap_or(1));
    default.iter().map(|d| f64::midpoint(*d, even)).collect()
}
