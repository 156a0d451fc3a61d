//! What is typed to enter a step, as lists of arguments without the program's name.
//!
//! Every list enters as it stands, but for words that stand for what is seen: `T1` and on for what
//! the displays show, `M` for the cylinder that an outcome points at. It must not choose the step.

use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, RunningPoint, TestKind};
use judge::diagnosis::CauseRef;
use judge::plan::{JobEnd, Step};
use measure::engine::{Place, ProbeSite};

/// The lists that enter a step: of a test in words one for each outcome, of which one is true; of
/// any other work one after the other.
#[must_use]
pub fn arguments(
    knowledge: &Knowledge,
    timeline: &Timeline,
    job: &str,
    step: Step,
) -> Vec<Vec<String>> {
    let list = |words: &[&str]| -> Vec<String> { words.iter().map(|w| (*w).to_owned()).collect() };
    match step {
        Step::Test { test, cylinder, partner, at } => {
            let test = &knowledge.tests[test];
            let number = |n: Option<u8>| n.map_or_else(String::new, |n| n.to_string());
            let (a, b) = (number(cylinder), number(partner));
            match (test.kind, test.item, cylinder, partner) {
                (TestKind::Exchange, Some(item), Some(_), Some(_)) => {
                    vec![list(&["exchange", job, item.as_str(), &a, &b])]
                }
                (TestKind::Reseat, Some(item), Some(_), _) => {
                    vec![list(&["remake", job, item.as_str(), &a])]
                }
                (TestKind::Substitute, Some(item), Some(_), _) => {
                    vec![list(&["remake", job, item.as_str(), &a, "--new"])]
                }
                _ => {
                    let on: &[&str] = if cylinder.is_some() { &["--cylinder", &a] } else { &[] };
                    let one = |outcome: &facts::knowledge::Outcome| {
                        let mut words = list(&["found", job, &test.id, &outcome.id]);
                        words.extend(list(on));
                        if let Some(at) = at.filter(|_| test.at_point) {
                            words.extend(list(&["--at", at.as_str()]));
                        }
                        if outcome.partner && cylinder.is_some() {
                            words.extend(list(&["--partner", "M"]));
                        }
                        words
                    };
                    test.outcomes.iter().map(one).collect()
                }
            }
        }
        Step::Remedy(fault) => match (fault.cause, fault.place) {
            // What it was must be named before it can be entered.
            (CauseRef::Unlisted, _) => Vec::new(),
            (cause, Place::Nowhere) => vec![list(&["remedy", job, cause.id(knowledge)])],
            (cause, place) => {
                let at = format!("{}@{}", cause.id(knowledge), place.code());
                vec![list(&["remedy", job, &at])]
            }
        },
        Step::Readings { at, site } => vec![readings(timeline, job, at, Some(site))],
        Step::Verify { at } => {
            vec![readings(timeline, job, at, None), list(&["verify", job])]
        }
        Step::PutBack { item, a, b } => {
            vec![list(&["exchange", job, item.as_str(), &a.to_string(), &b.to_string()])]
        }
        Step::End(JobEnd::Proven) => vec![list(&["close", job])],
        Step::End(JobEnd::Normal) if timeline.is_recorded() => vec![list(&["close", job])],
        Step::End(JobEnd::Normal) => vec![list(&["record", job]), list(&["close", job])],
        Step::End(JobEnd::Unproven) => {
            vec![list(&["close", job, "--unproven", "gone, cause not shown"])]
        }
        Step::End(JobEnd::NotFound) => {
            vec![list(&["close", job, "--unproven", "not found: to be watched"])]
        }
        Step::End(JobEnd::Closed) => Vec::new(),
    }
}

/// The lines of a test's results as one, with `RESULT` in the place of the words that differ.
pub(super) fn any_result(lines: &[String]) -> String {
    let first = lines.first().map_or("", |line| line.trim_end_matches(" --partner M"));
    let mut words: Vec<&str> = first.split(' ').collect();
    // After the last id comes the result: the one word that is not the same in all of them.
    let differs =
        |at: usize| lines.iter().any(|line| line.split(' ').nth(at) != words.get(at).copied());
    if let Some(at) = (0..words.len()).find(|&at| differs(at)) {
        words[at] = "RESULT";
    }
    words.join(" ")
}

/// One value for each display at a point.
pub(super) fn readings(
    timeline: &Timeline,
    job: &str,
    at: RunningPoint,
    site: Option<ProbeSite>,
) -> Vec<String> {
    let usual = timeline.engine.probes;
    let head = site.unwrap_or(usual) == ProbeSite::Head && usual != ProbeSite::Head;
    let mut words = vec!["temps".to_owned(), job.to_owned(), "--at".to_owned(), at.to_string()];
    words.extend(head.then(|| "--head".to_owned()));
    words.extend(timeline.engine.all().map(|n| format!("T{n}")));
    words
}
