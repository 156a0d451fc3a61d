//! What a correction of an earlier entry makes of those after it.

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use judge::diagnosis::assess;

/// What no longer fits together after a correction that did before it, a clause each.
#[must_use]
pub fn no_longer_fits(
    knowledge: &Knowledge,
    before: &Timeline,
    after: &Timeline,
    corrected: usize,
) -> Vec<String> {
    let mut said: Vec<String> = after
        .unknown
        .iter()
        .filter(|unknown| unknown.0 != corrected && !before.unknown.contains(unknown))
        .map(|(number, what)| format!("entry {number} no longer fits and is not used: {what}"))
        .collect();
    let unexplained = |timeline: &Timeline| assess(knowledge, timeline).surprise.unexplained;
    if unexplained(after) && !unexplained(before) {
        said.push(
            "with this none of the known causes explains what was entered: look at the entries after it"
                .to_owned(),
        );
    }
    said
}
