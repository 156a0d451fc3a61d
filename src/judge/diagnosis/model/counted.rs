//! Which findings count, and after which readings.
//!
//! What was entered in numbers is not counted once more in words. It must not weigh a finding.

use std::rc::Rc;

use crate::diagnosis::data::{Data, Set};
use crate::diagnosis::looks::{MOST_LOOKS, Shows};
use crate::diagnosis::path::{MOST, Presence};
use facts::job::timeline::{Finding, Timeline};
use facts::knowledge::{Knowledge, RunningPoint, Seat};
use measure::engine::{ProbeSite, Regime};

use super::findings::Looks;
use super::looked_at;

/// Findings that count, as looks at one place each: none that the numbers say already.
pub(super) fn counted_looks(knowledge: &Knowledge, timeline: &Timeline) -> Vec<Looks> {
    let mut list: Vec<Looks> = Vec::new();
    for (index, finding) in timeline.findings.iter().enumerate() {
        let test = &knowledge.tests[finding.test];
        if said_by_rule(knowledge, timeline, finding) || said_by_numbers(&test.id, timeline) {
            continue;
        }
        let (cylinder, at) = (finding.cylinder, finding.at.filter(|_| test.at_point));
        let same = |l: &&mut Looks| l.test == finding.test && l.cylinder == cylinder && l.at == at;
        if let Some(looks) = list.iter_mut().find(same) {
            looks.findings.push(index);
        } else {
            let findings = vec![index];
            list.push(Looks { test: finding.test, cylinder, at, findings, changed: Vec::new() });
        }
    }
    for looks in &mut list {
        looks.changed = looked_at::changed(knowledge, timeline, looks);
    }
    list
}

/// By finding the last reading set before it, by index into the data's.
pub(super) fn read_before(timeline: &Timeline, data: &Data) -> Rc<[Option<usize>]> {
    let entry = |set: &Set| timeline.sets[set.index].entry;
    let before = |finding: &Finding| data.sets.iter().rposition(|set| entry(set) < finding.entry);
    timeline.findings.iter().map(before).collect()
}

/// The reading sets beside which somebody looked at how the engine runs just then: the one before and the one
/// after.
pub(super) fn looked_beside(
    knowledge: &Knowledge,
    timeline: &Timeline,
    looks: &[Looks],
    read_before: &[Option<usize>],
) -> Shows {
    let moment =
        |finding: &&usize| knowledge.tests[timeline.findings[**finding].test].sees_the_moment();
    let findings = looks.iter().flat_map(|looks| &looks.findings).filter(moment);
    let sets = findings.flat_map(|&finding| {
        let before = read_before[finding];
        before.into_iter().chain(std::iter::once(before.map_or(0, |look| look + 1)))
    });
    sets.fold(0, |all, look| all | 1 << look.min(MOST_LOOKS - 1))
}

/// The stretches between disturbances and the journal entries that what was found, said and measured hangs on:
/// when a look was done and which reading set was before it, whether a verdict was before or after what it is on.
/// Whether a fault was there at any other time nothing of this can tell.
pub(super) fn said(
    timeline: &Timeline,
    data: &Data,
    looks: &[Looks],
    read_before: &[Option<usize>],
) -> (Presence, Rc<[usize]>) {
    // What a test of the past asks for was there before anything was done.
    let mut stretches: Presence = 1;
    let mut entries = Vec::new();
    for &index in looks.iter().flat_map(|looks| &looks.findings) {
        let finding = &timeline.findings[index];
        stretches |= 1 << finding.after.min(MOST);
        entries.push(finding.entry);
        if let Some(set) = read_before[index].map(|look| &data.sets[look]) {
            stretches |= 1 << set.slot;
            entries.push(timeline.sets[set.index].entry);
        }
    }
    for measured in timeline.sheet.differences() {
        stretches |= 1 << measured.after.min(MOST);
    }
    for (index, disturbance) in timeline.disturbances.iter().enumerate() {
        if disturbance.verdict.is_some() {
            stretches |= 0b11 << index.min(MOST - 1);
        }
    }
    entries.sort_unstable();
    entries.dedup();
    (stretches, entries.into())
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

/// Whether the temperatures that a test looks at have been entered.
#[must_use]
pub fn said_by_numbers(test: &str, timeline: &Timeline) -> bool {
    let main = timeline.engine.probes;
    let has = |site: ProbeSite, at: RunningPoint| {
        timeline.sets.iter().any(|set| {
            set.site == site && set.at == at && set.readings.iter().any(|r| r.middle().is_some())
        })
    };
    let running: Vec<RunningPoint> = timeline.points.settled().collect();
    match test {
        "cold-compare" => has(main, timeline.points.of(Regime::ColdSoak)),
        "pattern" => running.iter().any(|&at| has(main, at)),
        "point-compare" => running.iter().filter(|&&at| has(main, at)).count() >= 2,
        "head-exh-pair" => {
            running.iter().any(|&at| has(ProbeSite::Exhaust, at) && has(ProbeSite::Head, at))
        }
        _ => false,
    }
}
