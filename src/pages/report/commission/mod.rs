//! Commissioning as a page: what is done, what comes next and how, what stands in the way; and as a
//! sheet to print. It must not say how far a step is: that is [`judge::commission`].

mod sheet;

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use judge::commission::{Cold, Commission, LeftOut, State, Step, Trouble};
use judge::plan;
use measure::engine::{Cylinder, Regime};
use measure::units::{Scale, TempDelta};

use super::doc::{Align, Block, Doc, NoticeKind, Table};
use super::screen::Screen;
use super::{Known, Room, fit, glance, heat, next, steps, suspects, typed_lines, words};

pub use sheet::{CommissionInput, commission_sheet};

/// The test whose steps say how a cold soak is read.
const COLD_COMPARE: &str = "cold-compare";
/// The test of what is the same for all displays.
const BOX_CHECK: &str = "box-check";

/// A job as commissioning looks at it.
#[derive(Debug, Clone, Copy)]
pub struct Commissioned<'a> {
    /// What is known of it.
    pub known: Known<'a>,
    /// How far it is.
    pub found: &'a Commission,
    /// The vehicle as the job names it; empty where later jobs will not find it.
    pub vehicle: &'a str,
}

/// The page of one screen: what is done, the next step, how, what to type.
#[must_use]
pub fn commission_at_a_glance(about: &Commissioned<'_>, room: &Room<'_>) -> Doc {
    let Commissioned { known, found, .. } = *about;
    let mut screen = Screen::new(title(about));
    screen.must(|doc| doc.first(heat::heat_notice(known.knowledge, known.timeline, known.scale)));
    if found.troubles.is_empty() {
        screen.must(|doc| doc.fields(so_far(about)));
        screen.or(|doc| doc.fields(so_far(about).into_iter().filter(|(name, _)| *name != "Then")));
    }
    if about.vehicle.trim().is_empty() {
        screen.must(|doc| doc.notice(NoticeKind::Doubt, NO_VEHICLE));
    }
    match found.next() {
        _ if !found.troubles.is_empty() => stopped(&mut screen, about, room),
        Some(step) => step_of(&mut screen, about, step, room),
        None => done(&mut screen, about, room),
    }
    screen.page(room.lines, room.foot)
}

/// Said where the job names no vehicle.
const NO_VEHICLE: &str =
    "No vehicle was named (`open --vehicle`): no later job will find this record.";

/// The whole page: every step with what it showed.
#[must_use]
pub fn commission(about: &Commissioned<'_>, room: &Room<'_>) -> Doc {
    let mut doc = Doc::new(title(about));
    doc.first(heat::heat_notice(about.known.knowledge, about.known.timeline, about.known.scale));
    doc.table(table(about));
    let short = commission_at_a_glance(about, &Room { lines: usize::MAX, foot: "", ..*room });
    let told = |block: &&Block| !matches!(block, Block::Fields(_));
    doc.blocks.extend(short.blocks.iter().filter(told).cloned());
    doc
}

fn title(about: &Commissioned<'_>) -> String {
    let found = about.found;
    if found.is_done() {
        return "Commissioned".to_owned();
    }
    match found.next() {
        Some(step) => format!("Commissioning, next: {}", name(step)),
        None if found.troubles.is_empty() => "Not commissioned: the job is closed".to_owned(),
        None => "Commissioning stops: something was found".to_owned(),
    }
}

/// What a step is called.
fn name(step: Step) -> &'static str {
    match step {
        Step::Identity => "which display is whose",
        Step::ColdSoak => "cold soak",
        Step::Fit => "how deep the probes sit",
        Step::Idle => "warm idle",
        Step::Cruise => "steady cruise",
        Step::Full => "full load",
        Step::Record => "write it down as normal",
        Step::Limits => "set warning limits",
        Step::Close => "close the job",
    }
}

/// A step as a choice of the session.
#[must_use]
pub fn commission_step(step: Step) -> String {
    words::upper_first(name(step))
}

/// Done, left out, still to come.
fn so_far(about: &Commissioned<'_>) -> Vec<(&'static str, String)> {
    let closed = about.found.state(Step::Close) == State::Done;
    let to_come = if closed { "Not done" } else { "Then" };
    let mut lines: Vec<(&str, Vec<String>)> =
        vec![("Done", Vec::new()), ("Left out", Vec::new()), (to_come, Vec::new())];
    let next = about.found.next();
    for (step, state) in &about.found.steps {
        let shown = shown(about, *step);
        let text = match (shown.is_empty(), state) {
            (false, State::Done | State::LeftOut(_)) => format!("{} ({shown})", name(*step)),
            _ => name(*step).to_owned(),
        };
        match state {
            State::Done => lines[0].1.push(text),
            State::LeftOut(_) => lines[1].1.push(text),
            State::ToDo if Some(*step) != next => lines[2].1.push(text),
            State::ToDo => {}
        }
    }
    lines.into_iter().map(|(name, list)| (name, list.join("; "))).collect()
}

/// What a step showed, or why it is left out, in a few words.
fn shown(about: &Commissioned<'_>, step: Step) -> String {
    let (found, timeline, scale) = (about.found, about.known.timeline, about.known.scale);
    match (found.state(step), step) {
        (State::LeftOut(why), _) => match why {
            LeftOut::NoBuilderLimit => "the builder's limit is not known".to_owned(),
            LeftOut::Held => "a rule holds load back".to_owned(),
            LeftOut::PassedOver => "passed over".to_owned(),
        },
        (_, Step::Identity) if !found.identified.is_empty() => {
            let shown: Vec<Cylinder> = found.identified.keys().copied().collect();
            format!("{} shown", displays(&shown))
        }
        (State::Done, Step::ColdSoak) => {
            found.cold.as_ref().map_or_else(String::new, |cold| agreement(cold, scale))
        }
        (State::Done, Step::Fit) => {
            let far = fit::differences(timeline).iter().map(|(_, mm)| mm.abs()).fold(0.0, f64::max);
            format!("within {far:.1} mm of each other")
        }
        (State::Done, Step::Idle) => apart(timeline, Regime::Idle, scale),
        (State::Done, Step::Cruise) => apart(timeline, Regime::Cruise, scale),
        (State::Done, Step::Full) => apart(timeline, Regime::Full, scale),
        (State::Done, Step::Record) if !timeline.is_recorded() => "cured and proven".to_owned(),
        _ => String::new(),
    }
}

/// How far apart the highest and the lowest display were when a point was last read.
fn apart(timeline: &Timeline, regime: Regime, scale: Scale) -> String {
    let at = timeline.points.of(regime);
    let set = timeline.sets.iter().rfind(|s| (s.at, s.site) == (at, timeline.engine.probes));
    let values: Vec<f64> =
        set.into_iter().flat_map(|set| &set.readings).filter_map(|r| r.middle()).collect();
    let highest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let lowest = values.iter().copied().fold(f64::INFINITY, f64::min);
    if values.len() < 2 {
        String::new()
    } else {
        format!("{} apart", size(highest - lowest, scale))
    }
}

/// A difference without a sign.
fn size(kelvin: f64, scale: Scale) -> String {
    format!("{:.1} {}", scale.show_delta(TempDelta(kelvin.abs())), scale.sign())
}

/// How the displays agree cold, in a few words.
fn agreement(cold: &Cold, scale: Scale) -> String {
    let apart =
        format!("{} apart of {} allowed", size(cold.spread, scale), size(cold.apart(), scale));
    match cold.above_air {
        Some(above) if above.abs() < 0.05 => format!("{apart}; as the thermometer"),
        Some(above) => {
            let way = if above > 0.0 { "above" } else { "below" };
            format!("{apart}; {} {way} the thermometer", size(above, scale))
        }
        None => format!("{apart}; no thermometer read"),
    }
}

/// What the limits of a cold soak are, and where they are from.
fn tolerance(cold: &Cold, scale: Scale) -> String {
    format!(
        "Allowed cold: {} between two displays (class 2 of IEC 60584-1, {} each way for each probe, and {} \
         for the box: common practice), {} from the thermometer.",
        size(cold.apart(), scale),
        size(cold.each, scale),
        size(judge::commission::cold::BOX, scale),
        size(cold.from_air(), scale)
    )
}

/// `display 3`, `displays 1, 2 and 4`.
fn displays(list: &[Cylinder]) -> String {
    let numbers: Vec<String> = list.iter().map(ToString::to_string).collect();
    let word = if list.len() == 1 { "display" } else { "displays" };
    format!("{word} {}", words::list(&numbers))
}

/// Every step with how far it is and what it showed.
fn table(about: &Commissioned<'_>) -> Table {
    let mut table = Table::new([
        ("no", Align::Right),
        ("step", Align::Left),
        ("", Align::Left),
        ("it showed", Align::Left),
    ]);
    let next = about.found.next();
    for (number, (step, state)) in (1..).zip(&about.found.steps) {
        let state = match state {
            State::Done => "done",
            State::LeftOut(_) => "left out",
            State::ToDo if Some(*step) == next => "next",
            State::ToDo => "to do",
        };
        let shown = shown(about, *step);
        table.rows.push(vec![number.to_string(), name(*step).to_owned(), state.to_owned(), shown]);
    }
    table
}

/// The next step: cautions, how, what to type.
fn step_of(screen: &mut Screen, about: &Commissioned<'_>, step: Step, room: &Room<'_>) {
    let known = &about.known;
    let (knowledge, timeline) = (known.knowledge, known.timeline);
    let planned = about.found.planned(knowledge, timeline, step);
    if step == Step::ColdSoak {
        let sure = judge::commission::cold::allowed(timeline);
        screen.may(4, |doc| doc.para(tolerance(&sure, known.scale)));
    }
    glance::cautions(screen, knowledge, &cautions(knowledge, step, planned), room.told);
    let how = how(about, step, planned);
    match how.as_slice() {
        [] => {}
        [one] => {
            let one = one.clone();
            screen.must(|doc| doc.para(one));
        }
        _ => screen.must(|doc| {
            doc.heading("How");
            doc.numbered(how);
        }),
    }
    let Some(job) = room.job else { return };
    if let (Step::Identity, Some(planned)) = (step, planned) {
        glance::record(screen, known, planned, job);
    } else {
        let lines = lines(timeline, job, step);
        screen.must(|doc| {
            doc.heading("Record it");
            doc.blocks.extend(lines.into_iter().map(Block::Command));
        });
    }
    if let Some(other) = about.found.or_else() {
        screen.may(2, |doc| doc.para(instead(step, other, timeline, job)));
    }
}

/// How to go on where a step is passed over.
fn instead(step: Step, other: Step, timeline: &Timeline, job: &str) -> String {
    let why = match step {
        Step::Fit => "Not measured?",
        Step::Full => "Not to be run?",
        _ => "No controller that warns?",
    };
    let lines: Vec<String> =
        lines(timeline, job, other).iter().map(|line| format!("`{line}`")).collect();
    format!("{why} Leave it out and go on: {}.", lines.join(", then "))
}

fn cautions(knowledge: &Knowledge, step: Step, planned: Option<plan::Step>) -> Vec<usize> {
    match planned {
        Some(plan::Step::Test { test, .. }) => knowledge.tests[test].cautions.clone(),
        Some(plan::Step::Readings { at, .. }) => plan::cautions_at(knowledge, at),
        _ if step == Step::Fit => {
            knowledge.cautions.iter().position(|c| c.id == "hot-exhaust").into_iter().collect()
        }
        _ => Vec::new(),
    }
}

fn how(about: &Commissioned<'_>, step: Step, planned: Option<plan::Step>) -> Vec<String> {
    let (knowledge, timeline) = (about.known.knowledge, about.known.timeline);
    match (step, planned) {
        (Step::Identity, Some(planned)) => {
            let left = about.found.unasked(timeline);
            let mut how = next::how(knowledge, planned);
            let what = steps::step(knowledge, timeline, planned);
            how.insert(0, format!("{}; {} to do.", words::upper_first(&what), displays(&left)));
            how
        }
        (Step::ColdSoak, _) => knowledge.test(COLD_COMPARE).map_or_else(Vec::new, |test| {
            // The last says what to compare: that is done here.
            let steps = &knowledge.tests[test].steps;
            steps.iter().take(steps.len() - 1).map(|text| words::sentence(text)).collect()
        }),
        (_, Some(planned)) => next::how(knowledge, planned),
        (Step::Fit, _) => vec![
            "Measure how far each tip stands past the inner wall, or what shows of its stem \
             (`--stems`), and mark the stem at its fitting."
                .to_owned(),
        ],
        (Step::Record, _) if about.found.cured => vec![
            "Something was put right in this job, so that it ends as proven: `oddpot verify` says what is \
             missing."
                .to_owned(),
        ],
        (Step::Record, _) => {
            vec!["All displays are as they should be: this becomes the engine's own record.".to_owned()]
        }
        (Step::Limits, _) => {
            vec!["Look at the limits, set them in the controller, then say so with `--set`.".to_owned()]
        }
        _ => vec!["Closed, it is what later jobs of this vehicle are compared with.".to_owned()],
    }
}

/// What is typed for the next step as lists of arguments without the program's name: of the test that shows
/// whose a display is one for each outcome, of which one is true; else one after the other.
#[must_use]
pub fn commission_arguments(about: &Commissioned<'_>, job: &str) -> Vec<Vec<String>> {
    let (knowledge, timeline) = (about.known.knowledge, about.known.timeline);
    let Some(step) = about.found.next() else { return Vec::new() };
    match about.found.planned(knowledge, timeline, step) {
        Some(planned @ plan::Step::Test { .. }) => {
            typed_lines::arguments(knowledge, timeline, job, planned)
        }
        _ => arguments(timeline, job, step),
    }
}

fn arguments(timeline: &Timeline, job: &str, step: Step) -> Vec<Vec<String>> {
    let read = |at| typed_lines::readings(timeline, job, timeline.points.of(at), None);
    let words = |words: &[&str]| words.iter().map(|word| (*word).to_owned()).collect();
    let with = |mut list: Vec<String>, more: Vec<String>| {
        list.extend(more);
        vec![list]
    };
    match step {
        // Which test shows it is not for here to say.
        Step::Identity => Vec::new(),
        Step::ColdSoak => with(read(Regime::ColdSoak), words(&["--air", "T"])),
        Step::Fit => {
            let depths = timeline.engine.all().map(|n| format!("D{n}")).collect();
            with(words(&["fit", job, "--depths"]), depths)
        }
        Step::Idle => vec![read(Regime::Idle)],
        Step::Cruise => vec![read(Regime::Cruise)],
        Step::Full => vec![read(Regime::Full)],
        Step::Record => vec![words(&["record", job])],
        Step::Limits => vec![words(&["limits", job]), words(&["limits", job, "--set"])],
        Step::Close => vec![words(&["close", job])],
    }
}

/// The same as lines to type; the job's name is one as it is typed.
fn lines(timeline: &Timeline, job: &str, step: Step) -> Vec<String> {
    let all = arguments(timeline, job, step);
    all.into_iter().map(|words| format!("oddpot {}", words.join(" "))).collect()
}

/// What was found, and that the job goes on as any other.
fn stopped(screen: &mut Screen, about: &Commissioned<'_>, room: &Room<'_>) {
    let troubles = commission_troubles(about);
    let box_alone = matches!(about.found.troubles.as_slice(), [Trouble::Cold(_)]);
    screen.must(|doc| doc.bullets(troubles));
    if !about.known.timeline.sets.is_empty() {
        let Known { knowledge, timeline, assessment, .. } = about.known;
        screen.may(2, |doc| doc.para(suspects::verdict(knowledge, timeline, assessment)));
    }
    screen.must(|doc| {
        doc.para(
            "What was entered is kept: from here this is an ordinary job. When that is put right and read \
             again, commissioning goes on where it stopped.",
        );
    });
    let Some(job) = room.job else { return };
    screen.must(|doc| {
        if box_alone {
            doc.para(
                "What all displays have in common is looked at first, then they are read again:",
            );
            doc.blocks.push(Block::Command(format!("oddpot found {job} {BOX_CHECK} RESULT")));
            let again = lines(about.known.timeline, job, Step::ColdSoak);
            doc.blocks.extend(again.into_iter().map(Block::Command));
        }
        doc.blocks.push(Block::Command(format!("oddpot next {job}")));
    });
}

/// What was found on the way, a sentence each.
#[must_use]
pub fn commission_troubles(about: &Commissioned<'_>) -> Vec<String> {
    let (knowledge, scale) = (about.known.knowledge, about.known.scale);
    let one = |trouble: &Trouble| match trouble {
        Trouble::NotItsOwn(display, asked) => {
            let test = &knowledge.tests[asked.test];
            let outcome = &test.outcomes[asked.outcome];
            let seen = words::lower_first(outcome.text.trim_end_matches('.'));
            format!(
                "Display {display} did not answer as its cylinder's: {seen} (entry {}).",
                asked.entry
            )
        }
        Trouble::Cold(cold) => {
            let far = if cold.beyond.is_empty() {
                String::new()
            } else {
                format!(" Too far off: {}.", displays(&cold.beyond))
            };
            format!(
                "The cold displays do not agree: {}.{far} {}",
                agreement(cold, scale),
                tolerance(cold, scale)
            )
        }
        Trouble::Missing(text) => words::sentence(text),
        Trouble::Unproven => "The job was closed without proof.".to_owned(),
    };
    about.found.troubles.iter().map(one).collect()
}

/// All is done, or the job is closed.
fn done(screen: &mut Screen, about: &Commissioned<'_>, room: &Room<'_>) {
    let whole = about.found.is_done();
    screen.must(|doc| {
        doc.para(if whole {
            "This engine is commissioned: a later job opened with the same `--vehicle` is compared with it."
        } else {
            "The job is closed, and not all that a record asks for was done."
        });
    });
    let Some(job) = room.job else { return };
    let (head, line) = if whole {
        ("Print it", format!("oddpot commission {job} -o commissioned.pdf"))
    } else {
        ("To go on with it", format!("oddpot reopen {job}"))
    };
    screen.must(|doc| {
        doc.heading(head);
        doc.blocks.push(Block::Command(line));
    });
}
