//! The page that says what to do next, and what each outcome would mean before it is done.

use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, Test};
use judge::diagnosis::Assessment;
use judge::plan::{Advice, Assumption, Choice, InTime, Lean, Step};
use measure::units::Scale;

use super::doc::{Align, Block, Doc, NoticeKind, Table};
use super::{above, heat, memory, steps, suspects, terms, words};

/// Alternatives that are shown.
const SHOWN: usize = 6;
/// Up to this share above the bound a plan is called the best possible.
const AS_GOOD_AS_BEST: f64 = 0.005;

/// The page. `job` is the job's name as the reader types it.
///
/// What decides comes first: what, time and tools, set-up, cautions, outcomes. How it is
/// done and what it was weighed against follow.
#[must_use]
pub fn next(
    knowledge: &Knowledge,
    timeline: &Timeline,
    assessment: &Assessment,
    advice: &Advice,
    job: &str,
    scale: Scale,
) -> Doc {
    let best = &advice.best;
    let mut doc = Doc::new(format!("Next: {}", steps::step(knowledge, timeline, best.step)));
    if matches!(best.step, Step::End(_)) {
        doc.para(suspects::verdict(knowledge, timeline, assessment));
    }
    let mut fields = what_it_takes(knowledge, timeline, best);
    if let Step::Remedy(fault) = best.step
        && let Some(suspect) = assessment.suspects.iter().find(|s| s.fault == fault)
    {
        let name = terms::fault_now(knowledge, timeline, fault);
        let against = format!("{name}: {}", words::chance(suspect.probability));
        fields.insert(0, ("Fixes", against));
    }
    doc.fields(fields);
    doc.first(heat::heat_notice(knowledge, timeline, scale));
    for &caution in &best.cautions {
        doc.notice(NoticeKind::Caution, words::sentence(&knowledge.cautions[caution].text));
    }
    if assessment.surprise.unexplained {
        doc.notice(NoticeKind::Doubt, suspects::UNEXPLAINED);
    }
    outcomes(&mut doc, knowledge, timeline, best);
    let how = how(knowledge, best.step);
    if !how.is_empty() {
        doc.heading("How");
        doc.numbered(how);
    }
    recording(
        &mut doc,
        &steps::commands(knowledge, timeline, job, best.step),
        terms::point(steps::usual_point(timeline)),
        scale,
    );
    guards(&mut doc, knowledge, timeline, advice);
    if !matches!(best.step, Step::End(_)) {
        worth(&mut doc, knowledge, timeline, advice);
    }
    alternatives(&mut doc, knowledge, timeline, advice);
    above::add(&mut doc, knowledge, timeline, assessment, scale);
    if let Some(recalled) = memory::recalled(knowledge, assessment) {
        doc.para(recalled);
    }
    doc
}

/// Why, time and parts, tools and set-up of a choice; also on the handover sheet.
pub(super) fn what_it_takes(
    knowledge: &Knowledge,
    timeline: &Timeline,
    choice: &Choice,
) -> Vec<(&'static str, String)> {
    let why: Vec<String> = choice.why.iter().map(|text| words::sentence(text)).collect();
    let (tools, before) = match choice.step {
        Step::Test { test, .. } => (knowledge.tests[test].tools.clone(), String::new()),
        Step::Remedy(_) => (String::new(), evidence_first(knowledge, choice.before)),
        Step::Readings { .. } | Step::Verify { .. } | Step::PutBack { .. } | Step::End(_) => {
            Default::default()
        }
    };
    vec![
        ("Why", why.join(" ")),
        (
            "Takes",
            if matches!(choice.step, Step::End(_)) {
                String::new()
            } else {
                words::cost(choice.cost)
            },
        ),
        ("Tools", tools),
        ("Set-up", steps::set_up(knowledge, timeline, choice.step).join(" ")),
        ("Before it", before),
    ]
}

/// The test that should come before a remedy, if one still must.
fn evidence_first(knowledge: &Knowledge, before: Option<usize>) -> String {
    before.map_or_else(String::new, |test| {
        let name = words::lower_first(&knowledge.tests[test].name);
        format!("{name}; the remedy destroys the evidence")
    })
}

fn outcomes(doc: &mut Doc, knowledge: &Knowledge, timeline: &Timeline, best: &Choice) {
    if best.branches.is_empty() {
        return;
    }
    let here = match best.step {
        Step::Test { cylinder, .. } => cylinder,
        _ => None,
    };
    // Where nothing can be promised, nothing is said of what comes next.
    let promised = best.branches.iter().any(|branch| branch.then.is_some());
    let columns = [
        ("what it can show", Align::Left),
        ("chance", Align::Right),
        ("then leads", Align::Left),
        ("and next", Align::Left),
    ];
    let mut table = Table::new(columns.into_iter().take(if promised { 4 } else { 3 }));
    for branch in &best.branches {
        let leads = branch.leads.map_or_else(String::new, |(fault, p)| {
            // The cylinder the step is about stands in the title already.
            let name = if fault.place.cylinder().is_some_and(|c| here == Some(c)) {
                fault.cause.name(knowledge).to_owned()
            } else {
                terms::fault(knowledge, fault)
            };
            format!("{} {}", words::lower_first(&name), words::percent(p))
        });
        let then =
            branch.then.map_or_else(String::new, |step| steps::step(knowledge, timeline, step));
        let mut row = vec![
            if branch.text.is_empty() {
                branch.id.clone()
            } else {
                words::lower_first(&branch.text)
            },
            words::percent(branch.probability),
            leads,
        ];
        row.extend(promised.then_some(then));
        table.rows.push(row);
    }
    doc.table(table);
}

/// How a step is done, a sentence each; also on the bench sheet.
pub(super) fn how(knowledge: &Knowledge, step: Step) -> Vec<String> {
    match step {
        Step::Test { test, .. } => test_steps(&knowledge.tests[test]),
        Step::Remedy(fault) => match steps::remedy(knowledge, fault.cause) {
            Some(remedy) => {
                vec![words::sentence(&remedy.what), "Then take readings to verify it.".to_owned()]
            }
            None => vec![
                "Go over the whole chain and the cylinder by eye and ear.".to_owned(),
                "Then take readings again.".to_owned(),
            ],
        },
        Step::Readings { at, .. } => vec![
            format!("Hold the engine at {} until all displays are steady.", terms::point(at)),
            "Write down every display within a few seconds of each other.".to_owned(),
        ],
        Step::Verify { at } => vec![
            format!(
                "Hold the engine at {} as before until all displays are steady.",
                terms::point(at)
            ),
            "Write down every display, then verify.".to_owned(),
        ],
        Step::PutBack { .. } => {
            vec!["Exchange the two once more, so that each is where it was.".to_owned()]
        }
        Step::End(_) => Vec::new(),
    }
}

fn test_steps(test: &Test) -> Vec<String> {
    test.steps.iter().map(|text| words::sentence(text)).collect()
}

fn recording(doc: &mut Doc, lines: &[String], point: &str, scale: Scale) {
    if lines.is_empty() {
        return;
    }
    doc.heading("Record it");
    if lines.iter().filter(|line| line.starts_with("oddpot found")).count() > 1 {
        doc.para("Type the one that is true:");
    } else if let Some(note) = reading_note(lines, point, scale) {
        doc.para(note);
    }
    doc.blocks.extend(lines.iter().cloned().map(Block::Command));
}

/// What is typed for the displays, where some of the lines enter readings.
pub(super) fn reading_note(lines: &[String], point: &str, scale: Scale) -> Option<String> {
    let temps = |line: &String| line.starts_with("oddpot temps");
    let first = lines.iter().position(temps)?;
    let jumping = match scale {
        Scale::Celsius => "480..510",
        Scale::Fahrenheit => "900..950",
    };
    let when = if first == 0 {
        String::new()
    } else {
        format!("The first line when it is done, the second with the engine at {point}. ")
    };
    Some(format!(
        "{when}For T1 and on, type what each display shows: a number in {}, open, stuck, falling, \
         or {jumping} if it jumps.",
        scale.sign()
    ))
}

fn guards(doc: &mut Doc, knowledge: &Knowledge, timeline: &Timeline, advice: &Advice) {
    if !advice.guards.is_empty() {
        doc.heading("Don't do yet");
    }
    for guard in &advice.guards {
        let held: Vec<String> =
            guard.held_back.iter().map(|&step| steps::step(knowledge, timeline, step)).collect();
        let held = if held.is_empty() {
            String::new()
        } else {
            format!(" So not now: {}.", held.join("; "))
        };
        doc.notice(NoticeKind::Rule, format!("{}{held}", words::sentence(&guard.text)));
    }
}

fn worth(doc: &mut Doc, knowledge: &Knowledge, timeline: &Timeline, advice: &Advice) {
    doc.heading("What to expect");
    doc.fields([
        (
            "To a proven cure",
            format!(
                "{} of labour in all on average (waiting and parts counted in), {} hands-on",
                words::minutes(advice.best.expected_total),
                words::minutes(advice.best.expected_hands_on)
            ),
        ),
        ("How good", how_good(advice.gap())),
        ("How firm", how_firm(knowledge, timeline, &advice.leans)),
    ]);
}

/// What would change the recommendation, in a line.
fn how_firm(knowledge: &Knowledge, timeline: &Timeline, leans: &[Lean]) -> String {
    if leans.is_empty() {
        return "there is no choice, whatever the figures".to_owned();
    }
    let mut changing: Vec<&Lean> = leans.iter().filter(|lean| lean.instead.is_some()).collect();
    changing.sort_by(|a, b| b.minutes.total_cmp(&a.minutes));
    let Some(first) = changing.first() else {
        return "holds if any cause is twice or half as common as assumed, or any row of this test \
                off by two"
            .to_owned();
    };
    let instead = first.instead.map_or_else(String::new, |step| {
        format!(" (then: {})", steps::step(knowledge, timeline, step))
    });
    let more = match changing.len() - 1 {
        0 => String::new(),
        count => {
            format!("; {} would change it too", words::count(count, "other doubt", "other doubts"))
        }
    };
    format!("holds unless {}{instead}{more}", doubt(knowledge, first))
}

/// A figure that is off, in words.
fn doubt(knowledge: &Knowledge, lean: &Lean) -> String {
    let times = if lean.factor > 1.0 { "twice" } else { "half" };
    match &lean.assumption {
        Assumption::Prior(cause) => {
            let name = words::lower_first(cause.name(knowledge));
            format!("{name} is {times} as common as assumed")
        }
        Assumption::Row { cause, id, .. } => {
            let name = words::lower_first(cause.name(knowledge));
            format!("{name} has {times} the odds of `{id}`")
        }
    }
}

/// The whole table of doubts.
pub fn sensitivity(doc: &mut Doc, knowledge: &Knowledge, timeline: &Timeline, advice: &Advice) {
    doc.heading("If a figure is off by two");
    if advice.leans.is_empty() {
        doc.para("The trade leaves no choice here, whatever the figures.");
        return;
    }
    let mut table = Table::new([
        ("if", Align::Left),
        ("then", Align::Left),
        ("costs more than the best other", Align::Right),
    ]);
    for lean in &advice.leans {
        let then = lean
            .instead
            .map_or_else(|| "stays".to_owned(), |step| steps::step(knowledge, timeline, step));
        let minutes =
            if lean.minutes > 0.0 { words::minutes(lean.minutes) } else { "no".to_owned() };
        table.rows.push(vec![doubt(knowledge, lean), then, minutes]);
    }
    doc.table(table);
}

/// What the time that is left is good for.
pub fn within(doc: &mut Doc, in_time: Option<InTime>, minutes: f64) {
    doc.heading("In the time there is");
    let given = words::minutes(minutes);
    doc.para(match in_time {
        Some(found) => format!(
            "Cured and verified within {given} on the clock with {}; this step takes {} of them.",
            words::percent(found.chance),
            words::minutes(found.takes)
        ),
        None => format!(
            "Nothing that cures can be done and verified within {given}, or the trade leaves no choice \
             about the next step; the advice is the one without a limit."
        ),
    });
}

/// How near to the best plan that is possible.
pub(super) fn how_good(gap: f64) -> String {
    if gap <= AS_GOOD_AS_BEST {
        "the best possible".to_owned()
    } else {
        format!("at most {} above the best possible", words::excess(gap))
    }
}

fn alternatives(doc: &mut Doc, knowledge: &Knowledge, timeline: &Timeline, advice: &Advice) {
    if advice.alternatives.is_empty() {
        return;
    }
    doc.heading("Instead");
    let mut table = Table::new([
        ("what", Align::Left),
        ("hands-on", Align::Right),
        ("waiting", Align::Right),
        ("parts", Align::Right),
        ("to a cure", Align::Right),
    ]);
    for choice in advice.alternatives.iter().take(SHOWN) {
        table.rows.push(vec![
            steps::step(knowledge, timeline, choice.step),
            words::minutes(choice.cost.hands_on),
            words::minutes(choice.cost.wait),
            words::money(choice.cost.parts),
            words::minutes(choice.expected_total),
        ]);
    }
    doc.table(table);
    if let Some(more) = advice.alternatives.len().checked_sub(SHOWN + 1) {
        doc.para(format!("And {} that cost more.", words::count(more + 1, "other", "others")));
    }
}

#[cfg(test)]
mod tests {
    use super::how_good;

    #[test]
    fn best_possible_is_said_only_within_half_a_per_cent() {
        for (gap, text) in [
            (0.0, "the best possible"),
            (0.005, "the best possible"),
            (0.0051, "at most 0.5 % above the best possible"),
            (0.032, "at most 3.2 % above the best possible"),
            (0.251, "at most 26 % above the best possible"),
        ] {
            assert_eq!(how_good(gap), text);
        }
    }
}
