//! What the program is held against in the field, and whether it kept it.
//!
//! The bars are goals, set before anything was measured. It must not move one.

use serde::Serialize;

use super::policy::Policy;
use super::score::{Mean, Share};
use super::summary::{Line, Summary};

/// A bar with what was measured beside it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bar {
    /// What is measured.
    pub what: &'static str,
    /// The bar, in words.
    pub bar: &'static str,
    /// What was measured, with its interval where it has one.
    pub measured: String,
    /// Whether it was kept.
    pub kept: bool,
}

/// The bars of a world; none where the program did not play.
#[must_use]
pub fn bars(summary: &Summary) -> Vec<Bar> {
    let Some(own) = summary.lines.iter().find(|line| line.policy == Policy::Plan) else {
        return Vec::new();
    };
    let mut list =
        vec![bar("jobs without an end", "none", count(own.never_ended), own.never_ended.of.0 == 0)];
    list.extend(cheaper(
        summary,
        Policy::Human,
        "cost against a sensible mechanic",
        "at most 0.45",
        0.45,
    ));
    list.extend(cheaper(
        summary,
        Policy::PartsFirst,
        "cost against parts first",
        "at most 0.35",
        0.35,
    ));
    list.extend(ends(own));
    if let Some(trust) = &summary.trust {
        let sure = trust.sure_work;
        list.push(bar(
            "right at 95 %, lower end",
            "at least 0.95",
            interval(sure),
            sure.low >= 0.95,
        ));
        let (error, chance) = (trust.all.error, trust.all.by_chance);
        let measured = format!("{error:.3}, chance {chance:.3}");
        list.push(bar(
            "calibration error",
            "chance and 0.02 at most",
            measured,
            error <= chance + 0.02,
        ));
    }
    let [silent, spoke] = own.repeats;
    let measured = format!("{} ({spoke} second looks at what spoke)", silent + spoke);
    list.push(bar("tests again, nothing touched", "none", measured, silent + spoke == 0));
    list
}

fn ends(own: &Line) -> Vec<Bar> {
    vec![
        bar(
            "noticeable fault called normal",
            "at most 5 %",
            percent(own.missed),
            own.missed.share <= 0.05,
        ),
        bar(
            "noticeable fault called not found",
            "at most 12 %",
            percent(own.not_found),
            own.not_found.share <= 0.12,
        ),
        bar(
            "listed cause found and cured",
            "at least 70 %",
            percent(own.cured),
            own.cured.share >= 0.70,
        ),
        bar(
            "proven wrongly, of the proven",
            "at most 2 %",
            percent(own.false_proof),
            own.false_proof.share <= 0.02,
        ),
        bar(
            "sound engine parts in 100 jobs",
            "at most 2",
            format!(
                "{:.1} ({:.1} to {:.1})",
                own.healthy_parts.mean, own.healthy_parts.low, own.healthy_parts.high
            ),
            own.healthy_parts.mean <= 2.0,
        ),
    ]
}

fn cheaper(
    summary: &Summary,
    policy: Policy,
    what: &'static str,
    words: &'static str,
    most: f64,
) -> Option<Bar> {
    let share: Mean = summary.lines.iter().find(|line| line.policy == policy)?.plan_share?;
    let measured = format!("{:.2} ({:.2} to {:.2})", share.mean, share.low, share.high);
    Some(bar(what, words, measured, share.mean <= most))
}

fn bar(what: &'static str, bar: &'static str, measured: String, kept: bool) -> Bar {
    Bar { what, bar, measured, kept }
}

fn count(share: Share) -> String {
    format!("{} of {}", share.of.0, share.of.1)
}

fn percent(share: Share) -> String {
    let [mean, low, high] = [share.share, share.low, share.high].map(|s| 100.0 * s);
    format!("{mean:.1} % ({low:.1} to {high:.1})")
}

fn interval(share: Share) -> String {
    format!("{:.3} ({:.3} to {:.3})", share.share, share.low, share.high)
}
