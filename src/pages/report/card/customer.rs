//! What the customer reads: what was wrong, what was done, how it was proven, in words.
//!
//! No figure of the statistics stands here but degrees, minutes and money. What is normal, was not
//! found or is handed over has words of its own.

use facts::job::entry::{Reading, What};
use facts::job::timeline::Timeline;
use facts::knowledge::Seat;
use judge::diagnosis::{CauseRef, Oddness, Proof};
use judge::plan::Step;
use measure::engine::Cylinder;
use measure::units::Scale;

use super::super::{next, pictures, steps, suspects, terms, words};
use super::model::{End, Field, put_right};
use super::{CardInput, odds};

/// Probability below which something was put right in vain, and is not what was wrong.
const BELIEVED: f64 = 0.5;
/// Tests that are named; the others are counted.
const NAMED: usize = 4;

/// The lines of page one, by how the job came out.
pub(super) fn fields(input: &CardInput<'_>, end: End, scale: Scale) -> Vec<Field> {
    let work = words::cost_in(input.spent, &input.letterhead.currency);
    let join = |parts: &[String]| {
        let parts: Vec<&str> =
            parts.iter().map(|part| part.trim()).filter(|part| !part.is_empty()).collect();
        parts.join(" ")
    };
    match end {
        End::Proven => vec![
            ("What was wrong", wrong(input)),
            ("What was done", join(&[done(input), parts_home(input)])),
            ("How it was proven", join(&[before_and_since(input, scale), proof(input)])),
            ("Time and parts", work),
        ],
        End::Gone => vec![
            ("What was found", join(&["It is gone. What it was could not be shown.".to_owned(), likeliest(input), before_and_since(input, scale), still_off(input, scale).unwrap_or_default(), reason(input)])),
            ("What was done", join(&[done(input), parts_home(input)])),
            ("From here", match input.assessment.odd_display {
                Some(display) => format!("Watch display {display}, and whether the other comes back. Note at which speed and load, hot or cold, wet or dry, and bring this card."),
                None => "Run it as usual. If it comes back, note which display, at which speed and load, hot or cold, wet or dry, and bring this card.".to_owned(),
            }),
            ("Time and parts", work),
        ],
        End::Normal => vec![
            ("What was checked", checked(input)),
            ("What was found", join(&["Nothing is wrong.".to_owned(), furthest(input, scale)])),
            ("What was done", join(&[done(input), parts_home(input)])),
            ("From here", "Run it as it is. Come back if a display moves away from where it is now, jumps, or shows nothing.".to_owned()),
            ("Time and parts", work),
        ],
        End::NotFound => vec![
            ("What was checked", checked(input)),
            ("What was found", join(&["The cause was not found.".to_owned(), likeliest(input), reason(input)])),
            ("What was done", join(&[done(input), parts_home(input)])),
            ("From here", "Watch it. Note which display is off, at which speed and load, hot or cold, wet or dry, and bring that note with this card: it is the shortest way to the cause.".to_owned()),
            ("Time and parts", work),
        ],
        End::HandedOver => {
            let verdict = suspects::verdict(input.knowledge, input.timeline, input.assessment);
            let mut fields = vec![("So far", verdict)];
            // Who takes the job over looks for this first.
            fields.extend(to_do(input));
            fields.extend([
                ("Checked", checked(input)),
                ("Put right", done_if_any(input)),
                ("Left as", state(input)),
                ("Time and parts", work),
            ]);
            fields
        }
    }
}

/// What was put right and is believed to have been the cause, with what that is, and on which side.
fn wrong(input: &CardInput<'_>) -> String {
    let faults = put_right(input.timeline).into_iter();
    let believed = faults.filter(|fault| odds::of(input, *fault) >= BELIEVED);
    let told: Vec<String> = believed
        .map(|fault| {
            let what = match fault.cause {
                CauseRef::Listed(index) => words::sentence(&input.knowledge.causes[index].what),
                CauseRef::Unlisted => String::new(),
            };
            let side = match fault.cause.seat(input.knowledge) {
                Seat::Nothing => "",
                _ if fault.cause.is_measuring(input.knowledge) => {
                    "The number was wrong, not the engine."
                }
                _ => "The engine was at fault, not the number.",
            };
            let name = words::sentence(&terms::fault(input.knowledge, fault));
            format!("{name} {what} {side}").trim_end().to_owned()
        })
        .collect();
    told.join(" ")
}

/// The remedies, a sentence each; empty where none was done.
fn done_if_any(input: &CardInput<'_>) -> String {
    let told: Vec<String> = put_right(input.timeline)
        .into_iter()
        .map(|fault| {
            let step = steps::step(input.knowledge, input.timeline, Step::Remedy(fault));
            words::sentence(&step)
        })
        .collect();
    told.join(" ")
}

fn done(input: &CardInput<'_>) -> String {
    let done = done_if_any(input);
    if done.is_empty() { "Nothing was changed.".to_owned() } else { done }
}

/// Whether what was moved for the checks is back.
fn parts_home(input: &CardInput<'_>) -> String {
    let entries = input.journal.standing();
    let moved = entries.iter().any(|(_, entry)| matches!(entry.what, What::Exchange { .. }));
    match (moved, input.timeline.arrangement.is_original()) {
        (false, true) => "",
        (true, true) => "Parts that were exchanged for the checks are back in their places.",
        (_, false) => "Some parts are not in their own places: see the next sheet.",
    }
    .to_owned()
}

/// How it was proven, in a sentence.
fn proof(input: &CardInput<'_>) -> String {
    match input.verification.proof {
        Some(Proof::Seen) => "The fault itself was seen.",
        Some(Proof::Reversed) => "It went with the work, and came back when that was undone once.",
        Some(Proof::Verified) => {
            "Everything that was read and looked at points to what was put right, and it has stayed away since."
        }
        None => "",
    }
    .to_owned()
}

/// Why the job was closed as it was.
fn reason(input: &CardInput<'_>) -> String {
    let entries = input.journal.standing();
    let reason = entries.iter().rev().find_map(|(_, entry)| match &entry.what {
        What::Close { reason: Some(reason), .. } => Some(words::sentence(reason)),
        _ => None,
    });
    reason.map_or_else(String::new, |reason| format!("Said when it was closed: {reason}"))
}

/// The likeliest cause in words, where one stands out at all.
fn likeliest(input: &CardInput<'_>) -> String {
    let best =
        input.assessment.suspects.first().filter(|s| s.probability > input.assessment.healthy);
    let Some(best) = best.filter(|best| odds::of(input, best.fault) >= 0.2) else {
        return String::new();
    };
    let name = terms::fault_now(input.knowledge, input.timeline, best.fault);
    format!("Likeliest so far: {}.", words::lower_first(&name))
}

/// How far a display is from the others, in words.
fn off(difference: Option<f64>, scale: Scale) -> String {
    let Some(difference) = difference else { return "no steady number".to_owned() };
    let size = words::difference(difference.abs(), scale);
    let size = size.trim_start_matches('+');
    if size.starts_with("0 ") {
        "level with the others".to_owned()
    } else if difference > 0.0 {
        format!("{size} above the others")
    } else {
        format!("{size} below the others")
    }
}

fn size_of(odd: &Oddness) -> f64 {
    odd.sigmas.map_or(f64::INFINITY, f64::abs)
}

/// Where the displays that it was about stood before the work, and where they stand since.
fn before_and_since(input: &CardInput<'_>, scale: Scale) -> String {
    let timeline = input.timeline;
    let works = match timeline.remedied_by() {
        0 => timeline.disturbances.len(),
        works => works,
    };
    let first = complained_of(input, works);
    // Of more than one thing that was put right each has its own proof.
    let others =
        put_right(timeline).into_iter().filter(|fault| odds::of(input, *fault) >= BELIEVED);
    let others: Vec<Oddness> = others
        .flat_map(|fault| fault.place.cylinders(&timeline.engine))
        .filter_map(|cylinder| stood(input, cylinder))
        .filter(|odd| first.is_none_or(|first| first.display != odd.display))
        .collect();
    let told: Vec<String> =
        first.iter().chain(&others).map(|was| since(input, was, works, scale)).collect();
    told.join(" ")
}

/// Where a cylinder's display was furthest off before anything was touched, if it stood off then.
fn stood(input: &CardInput<'_>, cylinder: Cylinder) -> Option<Oddness> {
    let early = input.assessment.oddness.iter().filter(|odd| {
        input.timeline.sets[odd.set].after == 0
            && odd.display == cylinder
            && size_of(odd) >= pictures::BAND
    });
    early.max_by(|a, b| size_of(a).total_cmp(&size_of(b))).copied()
}

/// Where a display stood before the work, and where it stands since.
fn since(input: &CardInput<'_>, was: &Oddness, works: usize, scale: Scale) -> String {
    let timeline = input.timeline;
    let set = &timeline.sets[was.set];
    let cylinder = set.arrangement.cylinder_shown(was.display);
    let now = input.assessment.oddness.iter().rev().find(|odd| {
        let later = &timeline.sets[odd.set];
        later.after >= works
            && (later.site, later.at) == (set.site, set.at)
            && later.arrangement.display_of(cylinder) == odd.display
    });
    let at = terms::point_and_site(set.at, set.site, timeline.engine.probes);
    let jumped =
        |odd: &Oddness| match timeline.sets[odd.set].readings.get(usize::from(odd.display) - 1) {
            Some(Reading::Erratic { lo, hi }) => {
                let lo = words::reading(Reading::Degrees(*lo), scale);
                Some(format!("jumped between {lo} and {}", words::temperature(*hi, scale)))
            }
            _ => None,
        };
    let before = jumped(was).unwrap_or_else(|| {
        let verb = if was.difference.is_none() { "showed" } else { "stood" };
        format!("{verb} {}", off(was.difference, scale))
    });
    let Some(now) = now else {
        return format!("At {at} display {} {before} before the work.", was.display);
    };
    let since = match (jumped(now), now.difference) {
        (Some(_), _) => "still jumps".to_owned(),
        (None, None) => "shows no steady number since".to_owned(),
        (None, Some(_)) => format!("is {} since", off(now.difference, scale)),
    };
    format!("At {at} display {} {before} before the work and {since}.", was.display)
}

/// The display that it was about, where it was furthest off: before anything was touched if anything
/// was read then, else before the work with this number.
fn complained_of(input: &CardInput<'_>, works: usize) -> Option<Oddness> {
    let timeline = input.timeline;
    let complaint = &timeline.complaint;
    let put_right = put_right(timeline);
    let cured = put_right.iter().flat_map(|fault| fault.place.cylinders(&timeline.engine));
    let about: Vec<Cylinder> =
        complaint.display.iter().chain(&complaint.heard.numbers).copied().chain(cured).collect();
    for least in [1, works] {
        let early = |odd: &&Oddness| timeline.sets[odd.set].after < least.min(works);
        for wanted in [true, false] {
            let list = input.assessment.oddness.iter().filter(early);
            let list = list.filter(|odd| !wanted || about.contains(&odd.display));
            let worst = list.max_by(|a, b| size_of(a).total_cmp(&size_of(b)));
            if let Some(worst) = worst.filter(|odd| !wanted || size_of(odd) >= 1.0) {
                return Some(*worst);
            }
        }
    }
    None
}

/// The display that still reads unlike the others, where one does: what was put right did not touch it.
fn still_off(input: &CardInput<'_>, scale: Scale) -> Option<String> {
    let display = input.assessment.odd_display?;
    let odd = newest_odd(input).filter(|odd| odd.display == display);
    let odd = odd.max_by(|a, b| size_of(a).total_cmp(&size_of(b)))?;
    let set = &input.timeline.sets[odd.set];
    let at = terms::point_and_site(set.at, set.site, input.timeline.engine.probes);
    Some(format!("But display {display} still reads {} at {at}.", off(odd.difference, scale)))
}

/// How far displays stand off in the newest sets.
fn newest_odd<'a>(input: &CardInput<'a>) -> impl Iterator<Item = &'a Oddness> {
    let timeline = input.timeline;
    let newest = move |odd: &&Oddness| {
        let set = &timeline.sets[odd.set];
        let mut later = timeline.sets[odd.set + 1..].iter();
        set.is_settled() && !later.any(|l| (l.site, l.at) == (set.site, set.at))
    };
    input.assessment.oddness.iter().filter(newest)
}

/// The display that is furthest off in the newest sets, against what is usual.
fn furthest(input: &CardInput<'_>, scale: Scale) -> String {
    let timeline = input.timeline;
    let list = newest_odd(input).filter(|odd| odd.sigmas.is_some());
    let Some(odd) = list.max_by(|a, b| size_of(a).total_cmp(&size_of(b))) else {
        return String::new();
    };
    let set = &timeline.sets[odd.set];
    let at = terms::point_and_site(set.at, set.site, timeline.engine.probes);
    let reach = pictures::reach(input.knowledge, timeline, set);
    let usual = words::difference(reach, scale);
    let usual = usual.trim_start_matches('+');
    let where_to = if odd.difference.is_some_and(|d| d.abs() <= reach) {
        format!("healthy engines of this kind differ by up to {usual} there")
    } else {
        format!(
            "most healthy engines of this kind keep within {usual} there, and this one has its own way, which was written down"
        )
    };
    format!(
        "Furthest from the others is display {}, {} at {at}; {where_to}.",
        odd.display,
        off(odd.difference, scale).replace(" the others", " them")
    )
}

/// What was read and looked at.
fn checked(input: &CardInput<'_>) -> String {
    let timeline = input.timeline;
    let mut points: Vec<String> = Vec::new();
    for set in &timeline.sets {
        let at = terms::point_and_site(set.at, set.site, timeline.engine.probes);
        if !points.contains(&at) {
            points.push(at);
        }
    }
    let mut told = Vec::new();
    if !points.is_empty() {
        told.push(format!("all displays at {}", words::list(&points)));
    }
    let mut tests: Vec<String> = Vec::new();
    // Of a test's name here the cylinder is not known, so that "this injector" would be none.
    let named = |test: usize| {
        let name = words::lower_first(input.knowledge.tests[test].name.trim_end_matches('.'));
        name.replace(" this ", " the ")
    };
    let findings = timeline.findings.iter().map(|finding| named(finding.test));
    let works = timeline.disturbances.iter().filter_map(|d| d.work).map(|work| {
        match (input.knowledge.tests[work.test].item, work.b) {
            (Some(item), Some(b)) => format!("{} exchanged", terms::two_items(item, work.a, b)),
            _ => named(work.test),
        }
    });
    for name in findings.chain(works) {
        if !tests.contains(&name) {
            tests.push(name);
        }
    }
    let more = tests.len().saturating_sub(NAMED);
    tests.truncate(NAMED);
    told.extend(tests);
    if more > 0 {
        told.push(format!("{} more", words::count(more, "look", "looks")));
    }
    if told.is_empty() { "Nothing yet.".to_owned() } else { words::sentence(&told.join("; ")) }
}

/// The engine as it stands.
fn state(input: &CardInput<'_>) -> String {
    let (knowledge, timeline) = (input.knowledge, input.timeline);
    let open = open(input);
    let mut told = vec![words::sentence(terms::thermal(timeline.thermal))];
    told.push(if open.is_empty() {
        "Nothing is open.".to_owned()
    } else {
        format!("Open: {}.", open.join("; "))
    });
    told.push(
        if timeline.load_confirmed {
            "Running at load was confirmed to be safe."
        } else {
            "Running at load was not confirmed to be safe."
        }
        .to_owned(),
    );
    told.extend(barred(timeline, knowledge.tests.len()));
    told.join(" ")
}

fn open(input: &CardInput<'_>) -> Vec<String> {
    let access = input.timeline.open_access.iter().map(|&index| &input.knowledge.access[index]);
    access
        .map(|access| {
            let running =
                if access.blocks_running { " (close before the engine runs)" } else { "" };
            format!("{}{running}", words::lower_first(&access.name))
        })
        .collect()
}

/// How many tests cannot be done on this vehicle.
fn barred(timeline: &Timeline, known: usize) -> Option<String> {
    let barred = timeline.barred.iter().filter(|test| **test < known).count();
    (barred > 0).then(|| format!("{} cannot be done here.", words::count(barred, "test", "tests")))
}

/// What to do next, and what it takes.
fn to_do(input: &CardInput<'_>) -> Vec<Field> {
    let Some(advice) = input.advice else {
        return vec![("To do next", "No advice was worked out.".to_owned())];
    };
    let step = steps::step(input.knowledge, input.timeline, advice.best.step);
    let mut fields = vec![("To do next", words::sentence(&step))];
    fields.extend(next::what_it_takes(input.knowledge, input.timeline, &advice.best));
    fields
}
