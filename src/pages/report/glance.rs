//! The pages of one screen: what to do next, the suspects, and whether it is cured.
//!
//! Each says the verdict, what follows from it and where the rest is found; the whole pages
//! stand beside this file. The guided session shows the same step as the command does.

use std::collections::BTreeSet;

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use judge::diagnosis::{Assessment, Verification};
use judge::plan::{Advice, Choice, Step};
use measure::units::Scale;

use super::doc::{Block, Doc, NoticeKind};
use super::screen::Screen;
use super::{LocalTime, heat, memory, next, steps, suspects, terms, typed_lines, vehicle, words};

/// Suspects that get a bar, and fewer where room is short.
const SHOWN: (usize, usize) = (6, 3);
/// A suspect below this gets no bar.
const FLOOR: f64 = 0.02;

/// How much room a page has, and what the reader knows already.
#[derive(Debug, Clone, Copy)]
pub struct Room<'a> {
    /// Lines.
    pub lines: usize,
    /// The job's name as the reader types it; none where nothing is typed.
    pub job: Option<&'a str>,
    /// Cautions that were read in full already.
    pub told: &'a BTreeSet<usize>,
    /// What stands below the page.
    pub foot: &'a str,
}

/// What is known of a job.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// The knowledge base.
    pub knowledge: &'a Knowledge,
    /// What was entered.
    pub timeline: &'a Timeline,
    /// What it was judged to be.
    pub assessment: &'a Assessment,
    /// Of what is shown.
    pub scale: Scale,
    /// The clock by which days are shown.
    pub local: &'a LocalTime,
}

/// What to do next: verdict, step, how, how to record it.
#[must_use]
pub fn next_at_a_glance(known: &Known<'_>, advice: &Advice, room: &Room<'_>) -> Doc {
    let mut screen = Screen::new(titled(known, &advice.best));
    screen.must(|doc| doc.first(heat::heat_notice(known.knowledge, known.timeline, known.scale)));
    verdict(&mut screen, known);
    doubt(&mut screen, known);
    step(&mut screen, known, &advice.best, room);
    remembered(&mut screen, known);
    screen.page(room.lines, room.foot)
}

/// A step alone, where the verdict stands above it already.
#[must_use]
pub fn step_at_a_glance(known: &Known<'_>, choice: &Choice, room: &Room<'_>) -> Doc {
    let mut screen = Screen::new(titled(known, choice));
    step(&mut screen, known, choice, room);
    screen.page(room.lines, room.foot)
}

/// The suspects: verdict, the likeliest, what the displays show.
#[must_use]
pub fn suspects_at_a_glance(known: &Known<'_>, lines: usize, foot: &str) -> Doc {
    let &Known { knowledge, timeline, assessment, scale, local } = known;
    let mut screen = Screen::new("Suspects");
    screen.must(|doc| doc.first(heat::heat_notice(knowledge, timeline, scale)));
    verdict(&mut screen, known);
    doubt(&mut screen, known);
    let bars = |shown| suspects::bars(knowledge, timeline, assessment, (shown, FLOOR));
    screen.must(|doc| doc.blocks.push(Block::Bars(bars(SHOWN.0))));
    screen.or(|doc| doc.blocks.push(Block::Bars(bars(SHOWN.1))));
    for comeback in vehicle::comebacks(knowledge, timeline, assessment, local) {
        screen.may(1, |doc| doc.notice(NoticeKind::Doubt, words::sentence(&comeback)));
    }
    let newest = newest(timeline, knowledge, scale);
    screen.may(2, |doc| doc.bullets(newest.clone()));
    screen.or(|doc| doc.bullets(newest.iter().take(1).cloned().collect()));
    remembered(&mut screen, known);
    screen.page(lines, foot)
}

/// Whether it is cured and proven, and what is missing.
#[must_use]
pub fn verify_at_a_glance(known: &Known<'_>, verification: &Verification, foot: &str) -> Doc {
    let whole = super::verify(known.knowledge, known.timeline, verification);
    let mut screen = Screen::new(whole.title);
    screen.must(|doc| doc.first(heat::heat_notice(known.knowledge, known.timeline, known.scale)));
    screen.must(|doc| doc.blocks.extend(whole.blocks));
    screen.page(super::screen::LINES, foot)
}

fn titled(known: &Known<'_>, choice: &Choice) -> String {
    format!("Next: {}", steps::step(known.knowledge, known.timeline, choice.step))
}

fn verdict(screen: &mut Screen, known: &Known<'_>) {
    let whole = suspects::verdict(known.knowledge, known.timeline, known.assessment);
    let short = whole.replace(suspects::GLOSS, "");
    screen.must(|doc| doc.para(whole));
    screen.or(|doc| doc.para(short));
}

/// That a memory moved the figures, wherever it did.
fn remembered(screen: &mut Screen, known: &Known<'_>) {
    if let Some(recalled) = memory::recalled(known.knowledge, known.assessment) {
        screen.may(4, |doc| doc.para(recalled));
    }
}

fn doubt(screen: &mut Screen, known: &Known<'_>) {
    if known.assessment.surprise.unexplained {
        screen.must(|doc| doc.notice(NoticeKind::Doubt, suspects::UNEXPLAINED));
    }
}

/// How the displays compare in the newest set of each running point, the latest first.
fn newest(timeline: &Timeline, knowledge: &Knowledge, scale: Scale) -> Vec<String> {
    let mut points = Vec::new();
    let sets = timeline.sets.iter().rev().filter(|set| {
        let new = !points.contains(&(set.at, set.site));
        points.push((set.at, set.site));
        new
    });
    sets.filter_map(|set| {
        let compared = heat::compared(knowledge, timeline, set.entry, scale)?;
        let at = terms::point_and_site(set.at, set.site, timeline.engine.probes);
        Some(format!("{}: {compared} (entry {}).", words::upper_first(&at), set.entry))
    })
    .collect()
}

fn step(screen: &mut Screen, known: &Known<'_>, choice: &Choice, room: &Room<'_>) {
    let &Known { knowledge, timeline, .. } = known;
    let why: Vec<String> = choice.why.iter().map(|text| words::sentence(text)).collect();
    if matches!(choice.step, Step::End(_)) {
        let why = if timeline.is_recorded() {
            vec!["It is written down: what is left is to close the job.".to_owned()]
        } else {
            why
        };
        screen.must(|doc| doc.para(why.join(" ")));
    } else {
        let rest = |short| what_it_takes(known, choice, short);
        let mut whole = rest(false);
        whole.insert(0, ("Why", why.join(" ")));
        screen.may(3, |doc| doc.fields(whole));
        screen.or(|doc| {
            let mut fields = rest(false);
            fields.insert(0, ("Why", why.first().cloned().unwrap_or_default()));
            doc.fields(fields);
        });
        screen.or(|doc| doc.fields(rest(false)));
        screen.or(|doc| doc.fields(rest(true)));
        screen.keep();
    }
    cautions(screen, knowledge, &choice.cautions, room.told);
    let mut how = next::how(knowledge, choice.step);
    if matches!(choice.step, Step::Remedy(_)) && how.len() == 2 {
        // What is done stands in the title.
        let then = how.split_off(1);
        screen.must(|doc| doc.para(then.join(" ")));
    } else if !how.is_empty() {
        screen.must(|doc| {
            doc.heading("How");
            doc.numbered(how);
        });
    }
    if let Some(job) = room.job {
        record(screen, known, choice.step, job);
    }
}

/// Time and tools, set-up; the short form leaves out how long the set-up takes.
fn what_it_takes(known: &Known<'_>, choice: &Choice, short: bool) -> Vec<(&'static str, String)> {
    let &Known { knowledge, timeline, .. } = known;
    let mut fields = Vec::new();
    for (name, text) in next::what_it_takes(knowledge, timeline, choice) {
        match name {
            "Why" => {}
            "Set-up" => fields.push(("First", if short { without_times(&text) } else { text })),
            "Tools" if text.is_empty() || text == "none" => {}
            "Tools" => {
                if let Some((_, takes)) = fields.iter_mut().find(|(name, _)| *name == "Takes") {
                    *takes = format!("{takes}; {text}");
                }
            }
            _ => fields.push((name, text)),
        }
    }
    if let Step::Remedy(fault) = choice.step
        && let Some(suspect) = known.assessment.suspects.iter().find(|s| s.fault == fault)
    {
        let name = terms::fault_now(knowledge, timeline, fault);
        fields.insert(0, ("Fixes", format!("{name} ({})", words::chance(suspect.probability))));
    }
    fields
}

/// A set-up without what stands in brackets.
fn without_times(text: &str) -> String {
    let mut out = String::new();
    let mut deep = 0_usize;
    for c in text.chars() {
        match c {
            '(' => deep += 1,
            ')' => deep = deep.saturating_sub(1),
            c if deep == 0 => out.push(c),
            _ => {}
        }
    }
    out.replace(" .", ".").replace(" ,", ",")
}

/// The first caution whole and the heart of the others; of those that were read before the heart.
/// Where room is short the hearts stand together.
pub(super) fn cautions(
    screen: &mut Screen,
    knowledge: &Knowledge,
    cautions: &[usize],
    told: &BTreeSet<usize>,
) {
    let mut texts: Vec<&str> = Vec::new();
    let mut hearts: Vec<&str> = Vec::new();
    for (place, caution) in cautions.iter().enumerate() {
        let whole = &knowledge.cautions[*caution].text;
        let heart = words::first_sentence(whole);
        texts.push(if told.contains(caution) || place > 0 { heart } else { whole });
        hearts.push(heart);
    }
    let Some((first, others)) = texts.split_first() else { return };
    let together = |texts: &[&str]| {
        let texts: Vec<String> = texts.iter().map(|text| words::sentence(text)).collect();
        texts.join(" ")
    };
    screen.must(|doc| {
        for text in &texts {
            doc.notice(NoticeKind::Caution, words::sentence(text));
        }
    });
    if !others.is_empty() {
        screen.or(|doc| {
            doc.notice(NoticeKind::Caution, words::sentence(first));
            doc.notice(NoticeKind::Caution, together(others));
        });
    }
    screen.or(|doc| doc.notice(NoticeKind::Caution, together(&hearts)));
}

/// What to type: of a test in words one line, with its results named.
pub(super) fn record(screen: &mut Screen, known: &Known<'_>, step: Step, job: &str) {
    let &Known { knowledge, timeline, .. } = known;
    let lines = steps::commands(knowledge, timeline, job, step);
    if lines.is_empty() {
        return;
    }
    let head = |doc: &mut Doc, lines: &[String]| {
        doc.heading("Record it");
        doc.blocks.extend(lines.iter().cloned().map(Block::Command));
    };
    let results = match step {
        Step::Test { test, .. } if lines.len() > 1 && lines[0].starts_with("oddpot found") => {
            &knowledge.tests[test].outcomes[..]
        }
        _ => &[],
    };
    if results.is_empty() {
        let note =
            next::reading_note(&lines, terms::point(steps::usual_point(timeline)), known.scale);
        screen.must(|doc| {
            head(doc, &lines);
            if let Some(note) = note {
                doc.para(note);
            }
        });
        screen.or(|doc| head(doc, &lines));
        return;
    }
    let line = typed_lines::any_result(&lines);
    let words_of = |whole: bool| -> Vec<String> {
        let one = |outcome: &facts::knowledge::Outcome| {
            let partner = if outcome.partner { " (and `--partner M`: the cylinder)" } else { "" };
            let text = words::lower_first(outcome.text.trim_end_matches('.'));
            if whole && !text.is_empty() {
                format!("{}: {text}{partner}", outcome.id)
            } else {
                outcome.id.clone()
            }
        };
        results.iter().map(one).collect()
    };
    screen.must(|doc| {
        head(doc, std::slice::from_ref(&line));
        doc.para("RESULT is one of:");
        doc.bullets(words_of(true));
    });
    screen.or(|doc| {
        head(doc, std::slice::from_ref(&line));
        doc.para(format!("RESULT is one of: {}.", words_of(true).join("; ")));
    });
    screen.or(|doc| {
        head(doc, std::slice::from_ref(&line));
        doc.para(format!("RESULT is one of: {}.", words_of(false).join(", ")));
    });
}
