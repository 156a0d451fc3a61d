//! The page of suspects: the verdict first, then what it rests on.

use std::fmt::Write as _;

use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, Seat};
use judge::diagnosis::{
    Assessment, CauseRef, Hypothesis, OddDisplay, by_chance, odd_display_by_numbers,
};
use measure::readings::outlier::odd_one::SelfScaled;
use measure::units::Scale;

use super::doc::{Bar, Block, Doc, NoticeKind};
use super::{LocalTime, heat, memory, readings, steps, terms, vehicle, words};

/// Suspects that get a bar of their own.
const SHOWN: usize = 8;
/// Reading sets that are shown; the journal has all.
const SETS: usize = 4;
/// Groups and parts below this are not worth a line.
const NEGLIGIBLE: f64 = 0.01;
/// Below this a side is only the likelier of the two.
const LEANING: f64 = 0.6;
/// What the sensor side is, said once on a page.
pub(super) const GLOSS: &str = " (probe, wiring, gauge)";
/// What is said where no cause fits what was entered.
pub const UNEXPLAINED: &str =
    "this doesn't add up: recheck the entries, or suspect something that is not in the list.";

/// The page: verdict, ranked suspects, readings, groups, what was left out, notes.
#[must_use]
pub fn suspects(
    knowledge: &Knowledge,
    timeline: &Timeline,
    assessment: &Assessment,
    (scale, local): (Scale, &LocalTime),
) -> Doc {
    let mut doc = Doc::new("Suspects");
    doc.first(heat::heat_notice(knowledge, timeline, scale));
    doc.para(verdict(knowledge, timeline, assessment));
    if assessment.surprise.unexplained {
        doc.notice(NoticeKind::Doubt, unexplained(assessment));
    }
    doc.blocks.push(Block::Bars(bars(knowledge, timeline, assessment, (SHOWN, 0.0))));
    for comeback in vehicle::comebacks(knowledge, timeline, assessment, local) {
        doc.notice(NoticeKind::Doubt, words::sentence(&comeback));
    }
    let sets = timeline.sets.len();
    let first = sets.saturating_sub(SETS);
    if sets > 0 {
        doc.heading(format!("Readings, {}", scale.sign()));
        let shown: Vec<usize> = (first..sets).collect();
        readings::add(&mut doc, timeline, assessment, &shown, scale);
        let mut legend = readings::LEGEND.to_owned();
        if first > 0 {
            let earlier = words::count(first, "earlier set is", "earlier sets are");
            legend = format!("{legend} {earlier} in the journal.");
        }
        doc.para(legend);
        if let Some(odd) = odd_display_by_numbers(knowledge, timeline) {
            doc.bullets(by_numbers(timeline, &odd));
        }
    }
    let groups = groups(knowledge, assessment);
    let parts = parts(assessment);
    if !groups.is_empty() || !parts.is_empty() {
        doc.heading("By group and part");
        doc.bullets(groups);
        if !parts.is_empty() {
            doc.para(format!("Parts: {}.", parts.join(", ")));
        }
    }
    let mut notes = Vec::new();
    if assessment.pairs_dropped_mass > 0.0 {
        notes.push(format!(
            "Pairs of causes that were too improbable to follow up: {} at most.",
            words::percent(assessment.pairs_dropped_mass)
        ));
    }
    notes.extend(assessment.notes.iter().map(|note| {
        if note.entry == 0 {
            words::sentence(&note.text)
        } else {
            format!("Entry {}: {}", note.entry, words::sentence(&note.text))
        }
    }));
    for (entry, id) in &timeline.unknown {
        notes.push(if *entry == 0 {
            format!("The knowledge base has not the running point `{id}` of the complaint.")
        } else {
            format!(
                "Entry {entry}: the knowledge base no longer has `{id}`; the entry is not used."
            )
        });
    }
    notes.extend(memory::recalled(knowledge, assessment));
    if !notes.is_empty() {
        doc.heading("Notes");
        doc.bullets(notes);
    }
    doc
}

/// The odd display by statistics alone: the known spread, then the tests that know none.
fn by_numbers(timeline: &Timeline, odd: &OddDisplay) -> Vec<String> {
    let (found, set) = (&odd.found, &timeline.sets[odd.set]);
    let verdict = if found.is_odd() { "odd" } else { "nothing unusual" };
    let n = odd.displays.len();
    let mut lines = vec![format!(
        "Entry {}: display {} is furthest off, {} × the usual scatter. Among {n} healthy displays the \
         furthest stays within {:.1} in 19 of 20 sets: {verdict}.",
        set.entry,
        odd.display(),
        words::spreads(found.in_sd),
        found.healthy.p95,
    )];
    let tests: Vec<(&str, &SelfScaled)> =
        [("Grubbs' test", &found.grubbs), ("Dixon's", &found.dixon)]
            .into_iter()
            .filter_map(|(name, result)| result.as_ref().map(|result| (name, result)))
            .collect();
    let calls: Vec<String> = tests
        .iter()
        .map(|(name, test)| {
            let call = match (test.flags(), test.index == found.index) {
                (false, _) => "none odd".to_owned(),
                (true, true) => "it odd".to_owned(),
                (true, false) => format!("display {} odd", odd.displays[test.index]),
            };
            format!("{name} calls {call} ({:.2}, limit {:.2})", test.statistic, test.limit)
        })
        .collect();
    let powers: Vec<String> = tests.iter().map(|(_, test)| words::percent(test.power)).collect();
    if !tests.is_empty() {
        lines.push(format!(
            "{}. With {n} displays one {:.1} × the usual scatter off is seen in {} of cases, so a clean \
             result proves nothing.",
            calls.join(", "),
            found.power_at,
            words::list(&powers)
        ));
    }
    lines
}

/// The answer in a sentence or two: is the number wrong, the engine, or nothing?
#[must_use]
pub fn verdict(knowledge: &Knowledge, timeline: &Timeline, assessment: &Assessment) -> String {
    if timeline.sets.is_empty() && timeline.findings.is_empty() {
        return "Nothing has been read or found yet; this is only how often each cause occurs."
            .to_owned();
    }
    if steps::remedied(timeline) && assessment.present < 0.5 {
        // One that is put right says nothing of the display that still stands off.
        let other = assessment.odd_display.map_or_else(String::new, |n| {
            format!(" But display {n} still reads unlike the others.")
        });
        return format!(
            "The fault is gone as far as the readings tell: {}.{other}",
            words::chance(1.0 - assessment.present)
        );
    }
    let share = |wanted: &dyn Fn(&Hypothesis) -> bool| -> f64 {
        let kept = assessment.hypotheses.iter().filter(|h| wanted(h));
        kept.map(|h| h.probability).sum::<f64>().min(1.0)
    };
    let on_chain = |h: &Hypothesis| h.faults.iter().any(|f| f.cause.is_measuring(knowledge));
    let on_engine = |h: &Hypothesis| {
        h.faults
            .iter()
            .any(|f| f.cause.seat(knowledge) != Seat::Nothing && !f.cause.is_measuring(knowledge))
    };
    let chain = share(&|h| on_chain(h) && !on_engine(h));
    let engine = share(&|h| on_engine(h) && !on_chain(h));
    let both = share(&|h| on_engine(h) && on_chain(h));
    let nothing = share(&|h| h.faults.iter().all(|f| no_fault(knowledge, f.cause)));
    let display = assessment
        .odd_display
        .map_or_else(String::new, |n| format!(" Display {n} is the odd one."));
    let mut sides =
        format!("sensor side{GLOSS} {}, engine {}", words::percent(chain), words::percent(engine));
    if both >= NEGLIGIBLE {
        let _ = write!(sides, ", both {}", words::percent(both));
    }
    if nothing >= chain.max(engine) {
        return format!(
            "{} normal: healthy cylinders differ this much ({}; {sides}).{display}",
            words::upper_first(words::surely(nothing)),
            words::percent(nothing)
        );
    }
    let sure = words::upper_first(words::surely(chain.max(engine)));
    let answer = if both > chain.max(engine) {
        let sure = words::upper_first(words::surely(both));
        format!("{sure} two things are wrong, a number and the engine")
    } else if (chain - engine).abs() < 0.1 {
        "Can't tell yet whether the number or the engine is wrong".to_owned()
    } else if chain.max(engine) < LEANING {
        let (more, less) = if chain > engine { ("number", "engine") } else { ("engine", "number") };
        format!("The {more} is more likely wrong than the {less}")
    } else if chain > engine {
        format!("{sure} the number is wrong, not the engine")
    } else {
        format!("{sure} the engine is wrong, not the number")
    };
    let healthy = if nothing >= NEGLIGIBLE {
        format!(", nothing wrong {}", words::percent(nothing))
    } else {
        String::new()
    };
    format!("{answer}: {sides}{healthy}.{display}")
}

/// A cause of the list that asks for no remedy.
fn no_fault(knowledge: &Knowledge, cause: CauseRef) -> bool {
    match cause {
        CauseRef::Listed(index) => knowledge.causes[index].remedy.is_none(),
        CauseRef::Unlisted => false,
    }
}

fn unexplained(assessment: &Assessment) -> String {
    format!(
        "{UNEXPLAINED} If the best of the known causes were true, so poor a fit would come up in {} of \
         jobs.",
        words::percent(assessment.surprise.p_value)
    )
}

/// The most probable suspects, at most so many and none below a share, and what remains of the
/// others in one bar.
pub(super) fn bars(
    knowledge: &Knowledge,
    timeline: &Timeline,
    assessment: &Assessment,
    (shown, floor): (usize, f64),
) -> Vec<Bar> {
    let mut all: Vec<(String, f64)> = assessment
        .suspects
        .iter()
        .map(|s| (terms::fault_now(knowledge, timeline, s.fault), s.probability))
        .collect();
    if assessment.healthy > 0.0 {
        all.push(("Usual scatter".to_owned(), assessment.healthy));
    }
    all.sort_by(|a, b| by_chance(b.1, a.1));
    let bar = |label: String, value: f64| Bar { label, value, text: words::chance(value) };
    let worth = all.iter().take_while(|(_, share)| *share >= floor).count();
    let rest = all.split_off(shown.min(worth.max(1)).min(all.len()));
    let mut bars: Vec<Bar> = all.into_iter().map(|(label, p)| bar(label, p)).collect();
    if !rest.is_empty() {
        let sum = rest.iter().map(|(_, p)| p).sum::<f64>().min(1.0);
        bars.push(bar(
            words::upper_first(&words::count(rest.len(), "other", "others together")),
            sum,
        ));
    }
    bars
}

/// A line for each top group, its own groups behind it.
fn groups(knowledge: &Knowledge, assessment: &Assessment) -> Vec<String> {
    let kept = |parent: Option<usize>| {
        assessment
            .groups
            .iter()
            .filter(move |(group, p)| *p >= NEGLIGIBLE && knowledge.groups[*group].parent == parent)
    };
    let named =
        |group: usize, p: f64| format!("{} {}", knowledge.groups[group].name, words::percent(p));
    kept(None)
        .map(|&(top, p)| {
            let below: Vec<String> =
                kept(Some(top)).map(|&(group, p)| words::lower_first(&named(group, p))).collect();
            if below.is_empty() {
                named(top, p)
            } else {
                format!("{}: {}", named(top, p), below.join(", "))
            }
        })
        .collect()
}

fn parts(assessment: &Assessment) -> Vec<String> {
    assessment
        .seats
        .iter()
        .filter(|(seat, p)| *seat != Seat::Nothing && *p >= NEGLIGIBLE)
        .map(|&(seat, p)| format!("{} {}", terms::seat(seat), words::percent(p)))
        .collect()
}
