//! What a log shows beside its steady numbers, as outcomes of the tests that ask for it.
//!
//! Nothing counts twice. A display that is open, stuck, falling or erratic in a set entered from
//! the log is evidence by that state, and gets no outcome in words from the same log. Scatter that
//! could be compared at two speeds says more than "erratic": there the set has the mean, and the
//! outcome the scatter ([`told_in_words`]). A display that steps with electric loads scatters by
//! these steps, so that only they count. Outcomes that compare steady numbers are never entered,
//! since the numbers are.

use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, Scope};
use judge::diagnosis::assess;
use measure::engine::{Cylinder, ProbeSite};
use measure::readings::log::{Follow, Log, Noise, Rest, Rise, rest};
use measure::readings::settle::Rule;

// Tests that are ways of looking at temperatures over time, answered by a log that covers them.
const FROM_COLD: &str = "warmup-trace";
const STEP_OF_SPEED: &str = "load-response";
const SCATTER: &str = "scatter-speed";
const SWITCHED: &str = "load-electric";
const HELD: &str = "settle-watch";
/// Seconds a point must be held for [`HELD`], by probes: exhaust, head (common practice).
const HOLD: (f64, f64) = (180.0, 480.0);
/// Whether a display's scatter, from 0, is entered as an outcome and so is not a state.
pub(super) fn told_in_words(knowledge: &Knowledge, log: &Log, display: usize) -> bool {
    let odd = |(what, ..): &(Noise, f64, f64)| matches!(what, Noise::WithSpeed | Noise::AllSpeeds);
    knowledge.test(SCATTER).is_some()
        && log.manner.noise.as_ref().is_some_and(|noise| odd(&noise.each[display]))
}

/// Whether a display, from 0, steps with electric loads.
fn steps(log: &Log, display: usize) -> bool {
    log.manner.switched.as_ref().is_some_and(|(_, each)| each[display].1)
}

/// A log and what was entered of it.
#[derive(Clone, Copy)]
pub(super) struct Seen<'a> {
    pub(super) log: &'a Log,
    pub(super) rule: &'a Rule,
    /// Windows entered as sets, from 0.
    pub(super) used: &'a [usize],
    /// Displays, from 0, whose state is in such a set.
    pub(super) stated: &'a [usize],
    /// Which probes.
    pub(super) site: ProbeSite,
}

/// Outcomes of tests that the log answers: test, outcome, display.
///
/// Every display that does not do the usual, and for the odd one the usual too: that it follows
/// its mates clears what would have made it slow.
pub(super) fn outcomes(
    knowledge: &Knowledge,
    timeline: &Timeline,
    seen: Seen<'_>,
) -> Vec<(&'static str, &'static str, Cylinder)> {
    let Seen { log, rule, used, stated, site } = seen;
    let odd = assess(knowledge, timeline).odd_display.map(|d| usize::from(d) - 1);
    let mut all: Vec<(&'static str, &'static str, usize, bool)> = Vec::new();
    let manner = &log.manner;
    if let Some(start) = &manner.start {
        for (display, rise) in start.each.iter().enumerate() {
            let (outcome, usual) = match rise {
                Rise::Rises => ("rises", true),
                Rise::Flat => ("flat", false),
                Rise::Falls => ("falls", false),
                Rise::Late => ("late", false),
                Rise::DropsOut => ("drops-out", false),
                Rise::Unseen => continue,
            };
            all.push((FROM_COLD, outcome, display, usual));
        }
    }
    if let Some(step) = &manner.step {
        for (display, follow) in step.each.iter().enumerate() {
            let (outcome, usual) = match follow {
                Follow::Together(_) => ("together", true),
                Follow::Slower(_) => ("slower", false),
                Follow::Faster(_) => ("faster", false),
                Follow::Still => ("none", false),
                Follow::Unclear => continue,
            };
            all.push((STEP_OF_SPEED, outcome, display, usual));
        }
    }
    if let Some(noise) = &manner.noise {
        for (display, (what, ..)) in noise.each.iter().enumerate() {
            let (outcome, usual) = match what {
                Noise::WithSpeed => ("with-speed", false),
                Noise::AllSpeeds => ("all-speeds", false),
                Noise::LikeOthers => ("like-others", true),
                Noise::Unseen => continue,
            };
            if !usual && steps(log, display) {
                continue;
            }
            all.push((SCATTER, outcome, display, usual));
        }
    }
    if let Some((_, each)) = &manner.switched {
        for (display, (_, counts)) in each.iter().enumerate() {
            let outcome = if *counts { "steps" } else { "no-change" };
            all.push((SWITCHED, outcome, display, !counts));
        }
    }
    let least = if site == ProbeSite::Head { HOLD.1 } else { HOLD.0 };
    if let Some(display) = odd {
        let held = used.iter().any(|&window| {
            log.windows[window].to - log.windows[window].hold_from >= least
                && log.windows[window].speed.is_some_and(|speed| speed > 0.0)
                && rest(log, rule, window, display) == Rest::Settled
        });
        if held {
            all.push((HELD, "steady-odd", display, true));
        }
    }
    all.into_iter()
        .filter(|(test, outcome, display, usual)| {
            let known = knowledge.test(test).map(|index| &knowledge.tests[index]);
            known.is_some_and(|test| {
                test.scope == Scope::Cylinder && test.outcomes.iter().any(|o| o.id == *outcome)
            }) && !stated.contains(display)
                && (!usual || odd == Some(*display))
        })
        .filter_map(|(test, outcome, display, _)| {
            Some((test, outcome, Cylinder::try_from(display + 1).ok()?))
        })
        .collect()
}
