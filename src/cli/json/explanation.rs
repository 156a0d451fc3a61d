//! Why a cause is where it is, and what a test separates: `why`.
//!
//! It must not word anything but names of fields.

use serde::Serialize;

use super::advice::{ChoiceDocument, Of, choice};
use super::{FaultDocument, fault};
use facts::knowledge::Knowledge;
use judge::diagnosis::{CauseExplanation, Contribution, ExpectedShift};
use judge::plan::TestExplanation;
use measure::engine::{Cylinder, Engine};

/// `why CAUSE`.
#[derive(Debug, Serialize)]
pub(in crate::cli) struct CauseDocument<'a> {
    #[serde(flatten)]
    fault: FaultDocument<'a>,
    kind: &'static str,
    probability: f64,
    prior: &'a [String],
    contributions: Vec<ContributionDocument<'a>>,
    expected: Vec<ExpectedDocument>,
}

#[derive(Debug, Serialize)]
struct ContributionDocument<'a> {
    entry: usize,
    text: &'a str,
    before: f64,
    after: f64,
    log_odds: f64,
}

/// What the cause would do in a reading set.
#[derive(Debug, Serialize)]
struct ExpectedDocument {
    entry: usize,
    at: &'static str,
    probes: &'static str,
    display: Cylinder,
    expected: Option<NormalDocument>,
    shown: Option<f64>,
}

#[derive(Debug, Serialize)]
struct NormalDocument {
    mean: f64,
    sd: f64,
}

/// `why CAUSE`.
pub(in crate::cli) fn cause_explanation<'a>(
    knowledge: &'a Knowledge,
    engine: &Engine,
    explanation: &'a CauseExplanation,
) -> CauseDocument<'a> {
    let contribution = |part: &'a Contribution| ContributionDocument {
        entry: part.entry,
        text: &part.text,
        before: part.before,
        after: part.after,
        log_odds: part.log_odds,
    };
    let expected = |shift: &ExpectedShift| ExpectedDocument {
        entry: shift.entry,
        at: shift.at.as_str(),
        probes: shift.site.as_str(),
        display: shift.display,
        expected: shift.expected.map(|(mean, sd)| NormalDocument { mean, sd }),
        shown: shift.shown,
    };
    CauseDocument {
        fault: fault(knowledge, engine, explanation.fault),
        kind: "cause",
        probability: explanation.probability,
        prior: &explanation.prior,
        contributions: explanation.contributions.iter().map(contribution).collect(),
        expected: explanation.expected.iter().map(expected).collect(),
    }
}

/// `why TEST`.
#[derive(Debug, Serialize)]
pub(in crate::cli) struct TestDocument<'a> {
    #[serde(flatten)]
    choice: ChoiceDocument<'a>,
    without: f64,
    information_bits: f64,
    moves: Vec<MovesDocument<'a>>,
}

/// What an outcome would move.
#[derive(Debug, Serialize)]
struct MovesDocument<'a> {
    outcome: &'a str,
    causes: Vec<MovedDocument<'a>>,
}

#[derive(Debug, Serialize)]
struct MovedDocument<'a> {
    #[serde(flatten)]
    fault: FaultDocument<'a>,
    before: f64,
    after: f64,
}

/// `why TEST`.
pub(in crate::cli) fn test_explanation<'a>(
    of: Of<'a>,
    explanation: &'a TestExplanation,
) -> TestDocument<'a> {
    let moves = explanation.moves.iter().map(|(outcome, list)| {
        let causes = list.iter().map(|&(at, before, after)| MovedDocument {
            fault: fault(of.knowledge, &of.timeline.engine, at),
            before,
            after,
        });
        MovesDocument { outcome, causes: causes.collect() }
    });
    TestDocument {
        choice: choice(of, &explanation.choice),
        without: explanation.without,
        information_bits: explanation.information,
        moves: moves.collect(),
    }
}
