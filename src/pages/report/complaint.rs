//! What the complaint is about, in words.

use facts::job::complaint::{Details, Does, Which};
use facts::knowledge::Knowledge;
use measure::units::Scale;

use super::{terms, words};

/// Which display, at which point, what it does, since which work; empty if nothing was said.
#[must_use]
pub fn about(knowledge: &Knowledge, details: &Details) -> String {
    let since = details.since.as_ref().map(|id| {
        let known = knowledge.recent.iter().find(|work| work.id == *id);
        let text = known.map_or_else(|| id.clone(), |work| words::lower_first(&work.question));
        format!("since: {}", text.trim_end_matches('?'))
    });
    let parts = [
        details.which().map(|which| match which {
            Which::One(display) => format!("display {display}"),
            Which::All => "all displays together".to_owned(),
        }),
        details.at.map(|at| format!("at {}", terms::named_point(&knowledge.points, at))),
        details.does.map(|does| this(does).to_owned()),
        since,
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() { String::new() } else { words::sentence(&parts.join(", ")) }
}

/// The engine builder's limit said when the job was opened.
pub(super) fn limit(details: &Details, scale: Scale) -> String {
    details.builder_limit.map_or_else(String::new, |limit| words::temperature(limit, scale))
}

fn this(does: Does) -> &'static str {
    match does {
        Does::Low => "reads low",
        Does::High => "reads high",
        Does::Jumps => "the display jumps",
        Does::Dead => "the display is dead",
        Does::Misses => "the engine misses",
        Does::Pings => "the engine pings under load",
        Does::RunsOn => "the engine runs on when switched off",
    }
}
