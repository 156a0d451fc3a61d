//! Whether the oddness is gone and the cause proven.

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use judge::diagnosis::Verification;

use super::doc::Doc;
use super::{terms, words};

/// The page.
#[must_use]
pub fn verify(knowledge: &Knowledge, timeline: &Timeline, verification: &Verification) -> Doc {
    let mut doc = Doc::new(if verification.verified() {
        "Verified: the fault is gone and its cause proven"
    } else {
        "Not verified yet"
    });
    doc.fields(fields(knowledge, timeline, verification));
    if !verification.missing.is_empty() {
        doc.heading("Still missing");
        doc.bullets(missing(verification));
    }
    doc
}

/// How far the display that is furthest off still is, in usual differences of healthy cylinders.
fn remaining(left: f64) -> String {
    let times = words::spreads(left.abs());
    let times = times.trim_start_matches('+');
    if left.abs() < 2.0 {
        format!("within normal (at most {times} × the usual scatter)")
    } else {
        format!("{times} × the usual scatter at most (3 is the limit)")
    }
}

/// What is missing, a sentence each.
pub(super) fn missing(verification: &Verification) -> Vec<String> {
    let missing = verification.missing.iter();
    missing.map(|text| words::sentence(text)).collect()
}

/// Names and values that say how it stands; also on the job card.
pub(super) fn fields(
    knowledge: &Knowledge,
    timeline: &Timeline,
    verification: &Verification,
) -> Vec<(&'static str, String)> {
    let (remedied, sure) = verification.remedied.map_or_else(
        || ("none entered".to_owned(), String::new()),
        |fault| {
            (terms::fault_now(knowledge, timeline, fault), words::chance(verification.probability))
        },
    );
    let readings = if verification.readings_after {
        "taken with the engine running"
    } else {
        "none since the last work"
    };
    vec![
        ("Remedied", remedied),
        ("Confidence in cause", sure),
        ("Readings after", readings.to_owned()),
        ("Fault gone", words::chance(verification.gone)),
        ("Remaining difference", verification.left_over.map_or_else(String::new, remaining)),
        ("Proof", verification.proof.map_or("none", terms::proof).to_owned()),
    ]
}
