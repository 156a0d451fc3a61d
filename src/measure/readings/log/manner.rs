//! How each display behaves beside its mates, over the whole log.
//!
//! Only what the log covers: a start from cold, a step from one speed to a higher one, windows at
//! two speeds, switched electric loads, a point held for three minutes. It must not say what is at
//! fault, nor which test of a knowledge base this would be.

use super::detect::{Found, Hold, Window};
use super::trace::COLD;
use crate::readings::outlier::median;
use crate::readings::settle::compare::{chance_of_growth, pace};
use crate::readings::settle::{Rule, Settling, Verdict, judge_all};

/// What a display did in the first two minutes from cold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rise {
    /// With the others.
    Rises,
    /// Not at all.
    Flat,
    /// Down while the others went up.
    Falls,
    /// Half the time later than the others at half its rise.
    Late,
    /// Up and down again.
    DropsOut,
    /// No numbers.
    Unseen,
}

/// How a display followed a step of speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Follow {
    /// With the others; its time constant over theirs.
    Together(f64),
    /// Slower by this factor.
    Slower(f64),
    /// Faster: this factor is below 1.
    Faster(f64),
    /// Did not move.
    Still,
    /// No course that could be fitted.
    Unclear,
}

/// Scatter at two speeds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Noise {
    /// Grows with speed.
    WithSpeed,
    /// More than the others at both.
    AllSpeeds,
    /// No more than the others.
    LikeOthers,
    /// No numbers.
    Unseen,
}

/// What was seen of all displays in one way.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen<T> {
    /// From, s of the log.
    pub from: f64,
    /// To, s.
    pub to: f64,
    /// One for each display.
    pub each: Vec<T>,
}

/// Scatter of displays at two speeds, °C.
#[derive(Debug, Clone, PartialEq)]
pub struct NoiseAt {
    /// The two speeds.
    pub speeds: (f64, f64),
    /// For each display: what, and its scatter at the two.
    pub each: Vec<(Noise, f64, f64)>,
}

/// Everything of a log beside its windows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Manner {
    /// The start from cold.
    pub start: Option<Seen<Rise>>,
    /// The first step to a higher speed that could be followed.
    pub step: Option<Seen<Follow>>,
    /// Scatter at the slowest and fastest windows.
    pub noise: Option<NoiseAt>,
    /// At switched electric loads: how many, and each display's step, °C, and whether it counts.
    pub switched: Option<(u32, Vec<(f64, bool)>)>,
    /// Stuck all through the log while the others moved.
    pub stuck: Vec<bool>,
    /// Went against the others in a hold beginning here, s, by display.
    pub opposed: Vec<(f64, usize)>,
}

/// A step has to move its displays by this, median, °C, for their pace to be compared.
const FOLLOWED: f64 = 50.0;
/// Slower or faster than its mates: by half, and three standard errors out (common practice).
const ODD_PACE: (f64, f64) = (1.5, 3.0);
/// Scatter of a display counts from this, °C, and at twice that of its mates (common practice).
const ODD_NOISE: (f64, f64) = (1.5, 2.0);
/// Chance by accident below which scatter has grown.
const ACCIDENT: f64 = 0.001;
/// A step at switching that counts, °C, and in its own standard errors.
const ODD_STEP: (f64, f64) = (4.0, 4.0);

/// Looks at what the detector kept.
pub(super) fn manner(found: &Found, rule: &Rule) -> Manner {
    let moved: Vec<f64> = found.ranges.iter().map(|(low, high)| (high - low).max(0.0)).collect();
    let stuck = (0..moved.len()).map(|i| {
        let seen = found.silent[i].0 < found.silent[i].1;
        let mates = median(&without(&moved, i)).unwrap_or(0.0);
        seen && moved[i] <= rule.still && mates >= rule.mates_move
    });
    let mut manner = Manner { stuck: stuck.collect(), ..Manner::default() };
    manner.start = start(found);
    manner.noise = noise(&found.windows);
    if found.switching.times >= 4 {
        let each: Vec<(f64, f64)> = found
            .switching
            .steps
            .iter()
            .map(|m| (m.mean, m.sd() / m.count.max(1.0).sqrt()))
            .collect();
        let means: Vec<f64> = each.iter().map(|(mean, _)| *mean).collect();
        let counts = |i: usize| {
            let (mean, se) = each[i];
            let own = mean - median(&without(&means, i)).unwrap_or(0.0);
            own.abs() >= ODD_STEP.0 && own.abs() >= ODD_STEP.1 * se
        };
        let each = (0..means.len()).map(|i| (means[i], counts(i))).collect();
        manner.switched = Some((found.switching.times, each));
    }
    for hold in found.steps.iter().chain(&found.unsettled) {
        let Some(judged) = judged(hold, rule) else { continue };
        for (display, settling) in judged.iter().enumerate() {
            if settling.as_ref().is_some_and(|s| s.opposes_mates) {
                manner.opposed.push((hold.from, display));
            }
        }
        // From one running speed to a higher one; a start is another matter.
        let faster = hold
            .speed
            .zip(hold.speed_before)
            .is_some_and(|(now, before)| before > 0.2 * now && now > 1.2 * before);
        if manner.step.is_none() && faster && hold.moved() >= FOLLOWED {
            manner.step = follow(hold, &judged, &manner.stuck);
        }
    }
    manner
}

fn without(values: &[f64], index: usize) -> Vec<f64> {
    values.iter().enumerate().filter(|(i, _)| *i != index).map(|(_, v)| *v).collect()
}

/// Verdicts of a hold's displays; nothing for one without numbers.
pub(super) fn judged(hold: &Hold, rule: &Rule) -> Option<Vec<Option<Settling>>> {
    let there: Vec<usize> = (0..hold.traces.len()).filter(|&i| hold.traces[i].len() > 5).collect();
    let traces: Vec<_> = there.iter().map(|&i| hold.traces[i].clone()).collect();
    let judged = judge_all(&traces, rule).ok()?;
    let mut all = vec![None; hold.traces.len()];
    for (index, settling) in there.into_iter().zip(judged) {
        all[index] = Some(settling);
    }
    Some(all)
}

fn follow(hold: &Hold, judged: &[Option<Settling>], stuck: &[bool]) -> Option<Seen<Follow>> {
    let fits: Vec<_> = judged.iter().map(|s| s.as_ref().and_then(|s| s.fit)).collect();
    let known: Vec<_> = fits.iter().flatten().copied().collect();
    // Most displays must follow a first-order course for a pace to mean something.
    if known.len() < 3 || 2 * known.len() <= fits.len() {
        return None;
    }
    let each = (0..fits.len()).map(|i| {
        let mates: Vec<_> =
            fits.iter().enumerate().filter(|(j, _)| *j != i).filter_map(|(_, f)| *f).collect();
        let trace = &hold.traces[i];
        let moved = match (trace.first(), trace.last()) {
            (Some(first), Some(last)) => (last.value - first.value).abs(),
            _ => return Follow::Unclear,
        };
        if stuck[i] || judged[i].as_ref().is_some_and(|s| s.verdict == Verdict::Stuck) {
            return Follow::Still;
        }
        let Some((own, pace)) = fits[i].and_then(|own| Some((own, pace(&own, &mates)?))) else {
            return if moved < 0.05 * hold.moved() { Follow::Still } else { Follow::Unclear };
        };
        // A display that hardly moved has no pace of its own.
        if own.first_gap.abs() < 0.3 * FOLLOWED {
            return Follow::Unclear;
        }
        let clear = pace.ratio.ln().abs() >= ODD_PACE.1 * pace.ln_se;
        match pace.ratio {
            ratio if clear && ratio >= ODD_PACE.0 => Follow::Slower(ratio),
            ratio if clear && ratio <= 1.0 / ODD_PACE.0 => Follow::Faster(ratio),
            ratio => Follow::Together(ratio),
        }
    });
    Some(Seen { from: hold.from, to: hold.to, each: each.collect() })
}

/// The first two minutes from cold, if they are there.
fn start(found: &Found) -> Option<Seen<Rise>> {
    let warm = &found.warm;
    let displays = warm.means.first()?.len();
    let middle = |row: &Vec<f64>| {
        let there: Vec<f64> = row.iter().copied().filter(|v| !v.is_nan()).collect();
        median(&there)
    };
    let cold: Vec<f64> = warm.means.first()?.clone();
    let base = middle(&cold).filter(|base| *base < COLD)?;
    // The start is where the middle display has risen by 15 °C.
    let begin = warm.means.iter().position(|row| middle(row).is_some_and(|m| m > base + 15.0))?;
    let from = warm.times[begin];
    let end = warm.times.iter().rposition(|time| *time <= from + 120.0)?;
    if warm.times[end] < from + 100.0 {
        return None;
    }
    let course = |display: usize| -> Vec<(f64, f64)> {
        (0..=end)
            .filter(|&i| !warm.means[i][display].is_nan())
            .map(|i| (warm.times[i] - from, warm.means[i][display] - cold[display]))
            .collect()
    };
    let courses: Vec<Vec<(f64, f64)>> = (0..displays).map(course).collect();
    let last = |course: &Vec<(f64, f64)>| course.last().map(|(_, rise)| *rise);
    let rises: Vec<f64> = courses.iter().filter_map(last).filter(|r| !r.is_nan()).collect();
    let usual = median(&rises).filter(|rise| *rise >= 60.0)?;
    let half = |course: &Vec<(f64, f64)>| {
        let own = last(course)?;
        course.iter().find(|(_, rise)| *rise >= own / 2.0).map(|(time, _)| *time)
    };
    let halves: Vec<f64> = courses.iter().filter_map(half).collect();
    let usual_half = median(&halves)?;
    let each = courses.iter().map(|course| {
        let Some(own) = last(course).filter(|own| !own.is_nan() && course.len() > 20) else {
            return Rise::Unseen;
        };
        let most = course.iter().map(|(_, rise)| *rise).fold(0.0, f64::max);
        let late = half(course)
            .is_some_and(|own| own - usual_half >= 10.0 && own >= 1.5 * usual_half.max(1.0));
        if own <= -10.0 {
            Rise::Falls
        } else if most >= 0.5 * usual && own < 0.4 * most {
            Rise::DropsOut
        } else if own < 0.1 * usual {
            Rise::Flat
        } else if late {
            Rise::Late
        } else {
            Rise::Rises
        }
    });
    Some(Seen { from, to: warm.times[end], each: each.collect() })
}

/// Scatter at the slowest and the fastest windows, if these are half as fast again.
fn noise(windows: &[Window]) -> Option<NoiseAt> {
    let running = || windows.iter().filter(|w| w.speed.is_some_and(|s| s > 0.0));
    let by = |a: &&Window, b: &&Window| a.speed.unwrap_or(0.0).total_cmp(&b.speed.unwrap_or(0.0));
    let (fast, top) = running().max_by(by).and_then(|w| Some((w, w.speed?)))?;
    let slow = running().filter(|w| w.speed.is_some_and(|s| s > 0.2 * top)).min_by(by)?;
    let low = slow.speed?;
    if top < 1.5 * low {
        return None;
    }
    let sd = |window: &Window| -> Vec<f64> {
        window.shown.iter().map(|s| if s.count > 0 { s.scatter.sd } else { f64::NAN }).collect()
    };
    let (slow_sd, fast_sd) = (sd(slow), sd(fast));
    let mates = |all: &[f64], i: usize| {
        let others: Vec<f64> = without(all, i).into_iter().filter(|v| !v.is_nan()).collect();
        median(&others).unwrap_or(0.0)
    };
    let each = (0..slow_sd.len()).map(|i| {
        let (own_slow, own_fast) = (slow_sd[i], fast_sd[i]);
        if own_slow.is_nan() || own_fast.is_nan() {
            return (Noise::Unseen, 0.0, 0.0);
        }
        let over = |own: f64, all: &[f64]| own >= ODD_NOISE.0 && own >= ODD_NOISE.1 * mates(all, i);
        let grown = own_fast >= ODD_NOISE.1 * own_slow
            && chance_of_growth(slow.shown[i].scatter, fast.shown[i].scatter)
                .is_some_and(|chance| chance < ACCIDENT);
        let what = match (over(own_slow, &slow_sd), over(own_fast, &fast_sd)) {
            (_, true) if grown => Noise::WithSpeed,
            (true, true) => Noise::AllSpeeds,
            _ => Noise::LikeOthers,
        };
        (what, own_slow, own_fast)
    });
    Some(NoiseAt { speeds: (low, top), each: each.collect() })
}
