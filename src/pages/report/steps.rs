//! Steps in words, what must be done before them, and the lines that record them.

use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, Remedy, RunningPoint, Test, TestKind, Thermal};
use judge::diagnosis::CauseRef;
use judge::plan::{JobEnd, Step};
use measure::engine::{Cylinder, Place, Regime};

use super::{terms, typed_lines, words};

/// What is done in a step, without a capital or a full stop.
#[must_use]
pub fn step(knowledge: &Knowledge, timeline: &Timeline, step: Step) -> String {
    match step {
        Step::Test { test, cylinder, partner, at } => {
            let test = &knowledge.tests[test];
            let step = test_step(test, cylinder, partner);
            // Said where there is a choice: at the other points it shows something else.
            match at.filter(|_| test.at_point && timeline.points_of(test).len() > 1) {
                Some(at) => format!("{step}, at {}", terms::point(at)),
                None => step,
            }
        }
        Step::Remedy(fault) => {
            let what = remedy(knowledge, fault.cause)
                .map_or("look for a cause that is in no list", |remedy| {
                    remedy.what.trim_end_matches('.')
                });
            let what = words::lower_first(what);
            match fault.place {
                Place::Nowhere => what,
                place => format!("at {place}, {what}"),
            }
        }
        Step::Readings { at, site } => {
            let at = terms::point_and_site(at, site, timeline.engine.probes);
            format!("take readings at {at}")
        }
        Step::Verify { at } => format!("take the readings that verify the remedy, at {at}"),
        Step::PutBack { item, a, b } => format!("put back {}", terms::two_items(item, a, b)),
        Step::End(JobEnd::Proven) => "close the job".to_owned(),
        Step::End(JobEnd::Closed) => "nothing, the job is closed".to_owned(),
        Step::End(JobEnd::Normal) if timeline.is_recorded() => "close the job".to_owned(),
        Step::End(JobEnd::Normal) => "write it down as normal and close".to_owned(),
        Step::End(JobEnd::Unproven) => "close it without proof: it is gone".to_owned(),
        Step::End(JobEnd::NotFound) => "leave it and watch: not found".to_owned(),
    }
}

/// Whether a remedy was entered.
#[must_use]
pub fn remedied(timeline: &Timeline) -> bool {
    timeline.disturbances.iter().any(|disturbance| disturbance.remedied.is_some())
}

fn test_step(test: &Test, cylinder: Option<Cylinder>, partner: Option<Cylinder>) -> String {
    if let (TestKind::Exchange, Some(item), Some(a), Some(b)) =
        (test.kind, test.item, cylinder, partner)
    {
        return format!("exchange {}", terms::two_items(item, a, b));
    }
    let name = words::lower_first(test.name.trim_end_matches('.'));
    // A name of several clauses reads badly with "on cylinder 3" at its end.
    let long = name.contains([',', ';', ':']);
    match (cylinder, partner) {
        (None, _) => name,
        (Some(a), Some(b)) => format!("{name}, cylinders {a} and {b}"),
        (Some(a), None) if long => format!("{name}, cylinder {a}"),
        (Some(a), None) => format!("{name} on cylinder {a}"),
    }
}

/// What must be done before a step, a sentence each: engine state, then access.
#[must_use]
pub fn set_up(knowledge: &Knowledge, timeline: &Timeline, step: Step) -> Vec<String> {
    let (states, access): (Vec<Thermal>, &[usize]) = match step {
        Step::Test { test, at, .. } => {
            let test = &knowledge.tests[test];
            let states = at.map_or_else(|| test.states.clone(), |at| vec![state_of(at)]);
            (states, &test.access)
        }
        Step::Remedy(fault) => match remedy(knowledge, fault.cause) {
            Some(remedy) => (remedy.states.clone(), &remedy.access),
            None => return Vec::new(),
        },
        Step::Readings { at, .. } | Step::Verify { at } => (vec![state_of(at)], &[]),
        Step::PutBack { .. } | Step::End(_) => return Vec::new(),
    };
    let rates = knowledge.constants.rates;
    let wanted = states.into_iter().min_by(|&a, &b| {
        let effort = |to| {
            let change = knowledge.changes.between(timeline.thermal, to);
            change.total(rates)
        };
        effort(a).total_cmp(&effort(b)).then(a.cmp(&b))
    });
    let mut lines = Vec::new();
    if let Some(wanted) = wanted {
        if wanted >= Thermal::Idle {
            for &open in &timeline.open_access {
                let access = &knowledge.access[open];
                if access.blocks_running {
                    lines.push(format!(
                        "Close up before the engine runs: {}.",
                        words::lower_first(&access.name)
                    ));
                }
            }
        }
        if wanted != timeline.thermal {
            let change = knowledge.changes.between(timeline.thermal, wanted);
            let mut takes = Vec::new();
            if change.hands_on > 0.0 {
                takes.push(words::minutes(change.hands_on));
            }
            if change.wait > 0.0 {
                takes.push(format!("{} waiting", words::minutes(change.wait)));
            }
            let takes =
                if takes.is_empty() { String::new() } else { format!(" ({})", takes.join(", ")) };
            lines.push(format!("Engine to be {}{takes}.", terms::thermal(wanted)));
        }
    }
    for &index in access {
        if !timeline.open_access.contains(&index) {
            let access = &knowledge.access[index];
            lines.push(format!(
                "{} ({} to open and close).",
                words::upper_first(&access.name),
                words::minutes(access.cost.hands_on)
            ));
        }
    }
    lines
}

/// The remedy of a cause, if it is listed and has one.
pub(super) fn remedy(knowledge: &Knowledge, cause: CauseRef) -> Option<&Remedy> {
    match cause {
        CauseRef::Listed(index) => knowledge.causes[index].remedy.as_ref(),
        CauseRef::Unlisted => None,
    }
}

/// The lines to type that record a step: its result, one for each outcome where it has several.
///
/// `job` is the job's name as it is typed; it is quoted for a shell where that is needed.
#[must_use]
pub fn commands(knowledge: &Knowledge, timeline: &Timeline, job: &str, step: Step) -> Vec<String> {
    let mut lists = typed_lines::arguments(knowledge, timeline, job, step);
    // What an exchange shows is read, at the point where readings compare best.
    if let Step::Test { test, .. } = step
        && knowledge.tests[test].kind.follows_seats()
    {
        lists.push(typed_lines::readings(timeline, job, usual_point(timeline), None));
    }
    let line = |words: Vec<String>| {
        let words: Vec<String> = words.iter().map(|word| shell_word(word)).collect();
        format!("oddpot {}", words.join(" "))
    };
    lists.into_iter().map(line).collect()
}

/// The running point at which readings compare best: the last one used, else the one complained of where the engine
/// may be run at it unasked, else warm idle.
#[must_use]
pub fn usual_point(timeline: &Timeline) -> RunningPoint {
    let read = timeline.sets.iter().rev().map(|set| set.at).find(|at| at.settled);
    let complained = || timeline.complaint.at.filter(|at| at.settled && !at.confirm);
    read.or_else(complained).unwrap_or_else(|| timeline.points.of(Regime::Idle))
}

fn state_of(at: RunningPoint) -> Thermal {
    // It warms up by itself once it was started cold.
    if at.is_warming() { Thermal::Cold } else { at.thermal }
}

/// A word as a shell takes it, in single quotes unless it needs none.
#[must_use]
pub fn shell_word(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./:@+,".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}

#[cfg(test)]
mod tests {
    use super::shell_word;

    #[test]
    fn names_are_quoted_where_a_shell_needs_it() {
        for (given, typed) in [
            ("job-7", "job-7"),
            ("--cylinder", "--cylinder"),
            ("jobs/a.ron", "jobs/a.ron"),
            ("my job", "'my job'"),
            ("it's", "'it'\\''s'"),
            ("$(x)", "'$(x)'"),
            ("", "''"),
        ] {
            assert_eq!(shell_word(given), typed);
        }
    }
}
