//! What another knowledge base would have advised on a past job.
//!
//! A job is gone through moment by moment: what led and what was next with the one and with the
//! other. Pure. It must not say which is better where the cause was not proven.

use std::collections::BTreeSet;

use crate::diagnosis::{CauseRef, diagnose, upto};
use crate::engine::Place;
use crate::job::brief::Brief;
use crate::job::entry::{Journal, What};
use crate::job::read::read;
use crate::job::timeline::Timeline;
use crate::knowledge::Knowledge;
use crate::plan::{Step, advise};

/// What one knowledge base said at a moment. By ids, since indices are its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// The first suspect: cause id, place, probability; none where nothing is wrong most probably.
    pub first: Option<(String, Place, f64)>,
    /// The step: `test`, `remedy`, `readings`, `verify` or `stop`.
    pub kind: &'static str,
    /// Id of the test or cause.
    pub id: String,
    /// Where.
    pub place: String,
    /// The step in words.
    pub step: String,
    /// Probability of the cause that was proven in the end, if one was.
    pub truth: Option<f64>,
}

impl Said {
    /// Whether the same step is advised.
    #[must_use]
    pub fn same_step(&self, other: &Self) -> bool {
        (self.kind, &self.id, &self.place) == (other.kind, &other.id, &other.place)
    }

    /// Whether the same cause at the same place leads.
    #[must_use]
    pub fn same_first(&self, other: &Self) -> bool {
        let which = |said: &Self| said.first.as_ref().map(|(id, place, _)| (id.clone(), *place));
        which(self) == which(other)
    }
}

/// A moment of a job at which something had to be decided.
#[derive(Debug, Clone, PartialEq)]
pub struct Decision {
    /// Entry it is after; 0 before the first.
    pub entry: usize,
    /// With the knowledge base as it was.
    pub before: Said,
    /// With the changed one.
    pub after: Said,
}

/// A job gone through.
#[derive(Debug, Clone, PartialEq)]
pub struct Reviewed {
    /// What was decided on.
    pub decisions: Vec<Decision>,
    /// The cause that was proven, and where.
    pub proven: Option<(String, Place)>,
}

impl Reviewed {
    /// Whether anything was said otherwise.
    #[must_use]
    pub fn changed(&self) -> bool {
        let same = |d: &Decision| d.before.same_step(&d.after) && d.before.same_first(&d.after);
        !self.decisions.iter().all(same)
    }

    /// Logarithmic score of the proven cause when its remedy was chosen, before and after the change:
    /// ln of its probability, nearer to 0 is better.
    #[must_use]
    pub fn score(&self) -> Option<(f64, f64)> {
        let last = self.decisions.last()?;
        let ln = |p: f64| p.max(LEAST).ln();
        Some((ln(last.before.truth?), ln(last.after.truth?)))
    }
}

/// Probability below which a score gets no worse, so that one surprise does not drown all else.
const LEAST: f64 = 1e-6;

/// Goes through a job with two knowledge bases, up to the remedy that ended it.
#[must_use]
pub fn review(before: &Knowledge, after: &Knowledge, journal: &Journal) -> Reviewed {
    let brief = Brief::of(journal);
    let proven = brief.proven().and(brief.remedied.clone());
    let end = end(journal);
    let timelines = [read(before, journal), read(after, journal)];
    let decisions = moments(&timelines[0])
        .into_iter()
        .filter(|entry| *entry < end)
        .map(|entry| Decision {
            entry,
            before: said(before, &upto(&timelines[0], entry), proven.as_ref()),
            after: said(after, &upto(&timelines[1], entry), proven.as_ref()),
        })
        .collect();
    Reviewed { decisions, proven }
}

/// The entry with which there was no more to decide: the last remedy, or the closing.
fn end(journal: &Journal) -> usize {
    let standing = journal.standing();
    let last = |wanted: &dyn Fn(&What) -> bool| {
        standing.iter().rev().find(|(_, entry)| wanted(&entry.what)).map(|(number, _)| *number)
    };
    last(&|what| matches!(what, What::Remedy { .. }))
        .or_else(|| last(&|what| matches!(what, What::Close { .. } | What::Recorded)))
        .unwrap_or(usize::MAX)
}

/// Entries after which something was known that was not before.
fn moments(timeline: &Timeline) -> Vec<usize> {
    let mut entries: BTreeSet<usize> = timeline.sets.iter().map(|set| set.entry).collect();
    entries.extend(timeline.findings.iter().map(|finding| finding.entry));
    entries.extend(timeline.disturbances.iter().filter_map(|d| Some(d.verdict.as_ref()?.entry)));
    entries.into_iter().collect()
}

fn said(knowledge: &Knowledge, timeline: &Timeline, proven: Option<&(String, Place)>) -> Said {
    let diagnosis = diagnose(knowledge, timeline);
    let assessment = &diagnosis.assessment;
    let first =
        assessment.suspects.first().filter(|s| s.probability > assessment.healthy).map(|suspect| {
            let id = suspect.fault.cause.id(knowledge).to_owned();
            (id, suspect.fault.place, suspect.probability)
        });
    let truth = proven.map(|(id, place)| {
        let found = assessment.suspects.iter().find(|suspect| {
            suspect.fault.place == *place
                && matches!(suspect.fault.cause, CauseRef::Listed(i) if knowledge.causes[i].id == *id)
        });
        found.map_or(0.0, |suspect| suspect.probability)
    });
    let step = advise(&diagnosis).best.step;
    let (kind, id, place) = match step {
        Step::Test { test, cylinder, partner } => {
            let list: Vec<String> =
                cylinder.iter().chain(&partner).map(ToString::to_string).collect();
            ("test", knowledge.tests[test].id.clone(), list.join("-"))
        }
        Step::Remedy(fault) => ("remedy", fault.cause.id(knowledge).to_owned(), fault.place.code()),
        Step::Readings { at, .. } => ("readings", at.to_string(), String::new()),
        Step::Verify { .. } => ("verify", String::new(), String::new()),
        Step::PutBack { .. } => ("put-back", String::new(), String::new()),
        Step::End(_) => ("stop", String::new(), String::new()),
    };
    let step = crate::report::step(knowledge, timeline, step);
    Said { first, kind, id, place, step, truth }
}
