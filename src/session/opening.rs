//! The first questions: which job, or what a new one is about.

use super::asker::{Asked, Line, Stop, or_back};
use super::commissioning;
use super::describe;
use super::desk::{Desk, Purpose, Question, temperature};
use super::shelf::{Shelf, Spine};
use facts::job::check;
use facts::job::complaint::{self, Details};
use facts::job::entry::{EngineState, Entry, Head, Journal, What};
use facts::job::read::standing;
use facts::job::timeline::Standing;
use judge::vehicle;
use measure::engine::Engine;
use pages::report::{self, LocalTime, shell_word, terms, words};

/// What is being written down of a new job.
#[derive(Debug, Default)]
struct Draft {
    vehicle: String,
    /// The same with plate and mileage, as typed.
    vehicle_line: String,
    plate: Option<String>,
    mileage: Option<String>,
    complaint: String,
    details: Details,
    /// The lines as they were typed, so that they can be corrected on the way back.
    typed: [String; 2],
    engine: Option<(String, Engine)>,
    recent: Vec<String>,
    state: Option<EngineState>,
}

/// Asks for a job until there is one, and gives its name and whether it is new.
pub(super) fn job(desk: &mut Desk<'_>, shelf: &mut dyn Shelf) -> Asked<(String, bool)> {
    loop {
        let jobs = shelf
            .list()
            .unwrap_or_else(|problem| vec![Spine { name: String::new(), job: Err(problem) }]);
        if jobs.is_empty() && desk.settings.purpose == Purpose::Complaint {
            let keys = desk.word("Esc goes one step back, Ctrl-C stops", "Back goes one step back");
            desk.say(&format!(
                "One cylinder reads a different temperature: is the number wrong, or the engine? \
                 This asks its way to the answer. First a few questions about the job. {keys}; what \
                 has been entered is always kept."
            ))?;
            return new(desk, shelf).map(|name| (name, true));
        }
        let picked = if jobs.is_empty() { None } else { pick(desk, &jobs)? };
        let Some(which) = picked else {
            match or_back(new(desk, shelf))? {
                Some(name) => return Ok((name, true)),
                None if jobs.is_empty() => return Err(Stop::Back),
                None => continue,
            }
        };
        match &jobs[which].job {
            Ok(_) => return Ok((jobs[which].name.clone(), false)),
            Err(problem) => desk.refuse(&format!(
                "{problem}; choose another job, or mend the file with a text editor"
            ))?,
        }
    }
}

/// The list of jobs, open ones first, the one worked on last on top; `None` for a new one.
fn pick(desk: &mut Desk<'_>, jobs: &[Spine]) -> Asked<Option<usize>> {
    let mut order: Vec<usize> = (0..jobs.len()).collect();
    let last = |spine: &Spine| {
        let journal = spine.job.as_ref().ok()?;
        let entered = journal.entries.last().map_or(journal.head.opened, |entry| entry.time);
        Some((standing(journal) == Standing::Open, entered))
    };
    order.sort_by_key(|&i| std::cmp::Reverse(last(&jobs[i])));
    let mut choices: Vec<(String, Option<usize>)> =
        order.into_iter().map(|i| (title(&jobs[i], desk.settings.local), Some(i))).collect();
    let any_open = jobs.iter().any(|j| last(j).is_some_and(|(open, _)| open));
    let new = ("Start a new job".to_owned(), None);
    if any_open {
        choices.push(new);
    } else {
        choices.insert(0, new);
    }
    desk.pick("Which job?", &choices, 0)
}

fn title(spine: &Spine, local: &LocalTime) -> String {
    match &spine.job {
        Err(problem) => format!("{}: cannot be read ({problem})", spine.name),
        Ok(journal) => {
            let head = &journal.head;
            let entered = journal.entries.last().map_or(head.opened, |entry| entry.time);
            let about = if head.complaint.is_empty() {
                terms::engine(&head.engine)
            } else {
                head.complaint.clone()
            };
            format!(
                "{} ({}, last entry {}): {about}",
                spine.name,
                terms::standing(standing(journal)),
                local.moment(entered),
            )
        }
    }
}

/// Asks about a new job, question by question with the way back, and keeps it.
fn new(desk: &mut Desk<'_>, shelf: &mut dyn Shelf) -> Asked<String> {
    let mut draft = Draft::default();
    if desk.settings.purpose == Purpose::Commission {
        desk.say(commissioning::WELCOME)?;
    }
    loop {
        let questions: &[Question<Draft>] = match desk.settings.purpose {
            // How warm it is shows in the first readings, and the builder's limit is asked for before load is run.
            Purpose::Complaint => &[vehicle, complaint, engine, about, recent],
            // Nothing is complained of; without a name no later job would find the record.
            Purpose::Commission => &[named_vehicle, engine, limit, recent, state],
        };
        desk.walk(&mut draft, questions)?;
        if let Some(name) = keep(desk, shelf, &draft)? {
            return Ok(name);
        }
    }
}

fn engine(desk: &mut Desk<'_>, draft: &mut Draft) -> Asked<bool> {
    let before = draft.engine.as_ref().map(|(_, engine)| engine.clone());
    draft.engine = Some(describe::engine(desk, before.as_ref())?);
    Ok(true)
}

fn vehicle(desk: &mut Desk<'_>, draft: &mut Draft) -> Asked<bool> {
    draft.vehicle_line = desk.asker.line(Line {
        question: "Which vehicle or engine?",
        help: "in your words; plate and mileage may follow, as: blue estate; AB 123; 84210 km",
        default: "",
        typed: &draft.vehicle_line,
        ..Line::default()
    })?;
    (draft.vehicle, draft.plate, draft.mileage) = complaint::vehicle_line(&draft.vehicle_line);
    Ok(true)
}

/// The same, asked until there is a name.
fn named_vehicle(desk: &mut Desk<'_>, draft: &mut Draft) -> Asked<bool> {
    loop {
        vehicle(desk, draft)?;
        if !draft.vehicle.trim().is_empty() {
            return Ok(true);
        }
        desk.refuse("the record is found again by the vehicle's name: type one")?;
    }
}

fn complaint(desk: &mut Desk<'_>, draft: &mut Draft) -> Asked<bool> {
    draft.complaint = desk.asker.line(Line {
        question: "What is the complaint?",
        help: "as: cylinder 3 reads high at idle; may be left empty",
        default: "",
        typed: &draft.complaint,
        ..Line::default()
    })?;
    Ok(true)
}

/// Which cylinder, at which point, what it does: in one line, which may be left empty. It is not asked for where
/// the complaint was put so already, nor where there is none.
fn about(desk: &mut Desk<'_>, draft: &mut Draft) -> Asked<bool> {
    let Some((_, engine)) = &draft.engine else { return Err(Stop::Back) };
    let works: Vec<&str> = desk.knowledge.recent.iter().map(|work| work.id.as_str()).collect();
    let points = &desk.knowledge.points;
    let read = |line: &str| {
        complaint::details(line, points, &works).and_then(|details| match details.cylinder {
            Some(c) if !engine.all().any(|known| known == c) => Err(format!(
                "cylinder {c} does not exist: this engine has 1 to {}",
                engine.cylinders
            )),
            _ => Ok(details),
        })
    };
    if let Ok(details) = read(&draft.complaint) {
        let taken = report::complaint_about(desk.knowledge, &details);
        draft.details = details;
        if !taken.is_empty() {
            desk.say(&format!("Taken as: {}", words::lower_first(&taken)))?;
        }
        return Ok(false);
    }
    // What the words name already is there to be looked over, not to be typed again.
    if draft.typed[0].is_empty() {
        draft.typed[0] = complaint::gist(&draft.complaint, points, engine.cylinders);
    }
    loop {
        let line = desk.asker.line(Line {
            question: "Which cylinder, at which point, what does it do?",
            help: desk.word(
                "as: 3 full high, all low; jumps, dead, misses, pings, runs-on; Enter skips",
                "as: 3 full high, all low; jumps, dead, misses, pings, runs-on; may be left empty",
            ),
            typed: &draft.typed[0],
            ..Line::default()
        })?;
        let details = read(&line);
        draft.typed[0] = line;
        match details {
            Ok(details) => {
                draft.details = details;
                return Ok(true);
            }
            Err(problem) => desk.refuse(&format!("{problem}. Correct the line"))?,
        }
    }
}

/// The engine builder's limit, which may be skipped.
fn limit(desk: &mut Desk<'_>, draft: &mut Draft) -> Asked<bool> {
    let scale = desk.settings.scale;
    let question = format!("The builder's limit for one display, {}?", scale.sign());
    loop {
        let line = desk.asker.line(Line {
            question: &question,
            help: "from the engine builder's papers, as 900C or 1650F; Enter if not known",
            default: "",
            typed: &draft.typed[1],
            ..Line::default()
        })?;
        let read = temperature(&line, scale);
        draft.typed[1] = line;
        match read {
            Ok(limit) => {
                draft.details.builder_limit = limit;
                return Ok(true);
            }
            Err(problem) => desk.refuse(&problem)?,
        }
    }
}

/// Kinds of recent work that make a cause likelier which can occur on this engine.
fn recent(desk: &mut Desk<'_>, draft: &mut Draft) -> Asked<bool> {
    let Some((_, engine)) = &draft.engine else { return Err(Stop::Back) };
    let knowledge = desk.knowledge;
    let matters = |id: &str| {
        knowledge.causes.iter().any(|cause| {
            cause.applies.holds(engine) && cause.recent.get(id).is_some_and(|f| *f > 1.0)
        })
    };
    let kinds: Vec<_> = knowledge.recent.iter().filter(|kind| matters(&kind.id)).collect();
    let labels: Vec<String> = kinds.iter().map(|kind| kind.question.clone()).collect();
    if labels.is_empty() {
        return Ok(false);
    }
    let chosen = desk.asker.choose_many("What was done lately? Mark all that apply.", &labels)?;
    draft.recent = chosen.into_iter().filter_map(|i| kinds.get(i)).map(|k| k.id.clone()).collect();
    Ok(true)
}

fn state(desk: &mut Desk<'_>, draft: &mut Draft) -> Asked<bool> {
    draft.state = Some(engine_state(desk, EngineState::Warm)?);
    Ok(true)
}

/// How warm the engine is.
pub(super) fn engine_state(desk: &mut Desk<'_>, now: EngineState) -> Asked<EngineState> {
    let choices = [
        ("warm: it ran lately".to_owned(), EngineState::Warm),
        ("cold, but stood less than eight hours".to_owned(), EngineState::Cold),
        ("cold soaked: untouched for eight hours or more".to_owned(), EngineState::ColdSoaked),
    ];
    let at = choices.iter().position(|(_, state)| *state == now).unwrap_or(0);
    desk.pick("How is the engine now?", &choices, at)
}

/// Writes the job down; `None` when it could not be kept, which was said.
fn keep(desk: &mut Desk<'_>, shelf: &mut dyn Shelf, draft: &Draft) -> Asked<Option<String>> {
    let Some((engine_name, engine)) = draft.engine.clone() else { return Ok(None) };
    let state = draft.state.unwrap_or(EngineState::Warm);
    let mut typed = format!("open (asked) --cylinders {} --state {state}", engine.cylinders);
    for (flag, value) in [("vehicle", &draft.vehicle), ("complaint", &draft.complaint)] {
        if !value.is_empty() {
            typed = format!("{typed} --{flag} {}", shell_word(value));
        }
    }
    let settings = &desk.settings;
    let (plate, mileage) = (draft.plate.clone(), draft.mileage.clone());
    let details = Details { plate, mileage, ..draft.details.clone() };
    for (flag, value) in complaint::flags(&details) {
        typed = format!("{typed} --{flag} {}", shell_word(&value));
    }
    let mut recent = draft.recent.clone();
    recent.extend(draft.details.since.clone().filter(|since| !draft.recent.contains(since)));
    let scale = settings.scale_said.then_some(settings.scale);
    let mut journal = Journal::new(Head {
        opened: (desk.settings.now)(),
        typed,
        vehicle: draft.vehicle.clone(),
        complaint: draft.complaint.clone(),
        engine_name,
        engine,
        recent,
        state,
        details: Details { scale, ..details },
    });
    let jobs: Vec<Spine> = shelf.list().unwrap_or_default();
    let linked: Vec<(String, &Journal)> =
        jobs.iter().filter_map(|s| Some((s.name.clone(), s.job.as_ref().ok()?))).collect();
    let (engine, opened) = (&journal.head.engine, journal.head.opened);
    let found = vehicle::record(desk.knowledge, &draft.vehicle, engine, &linked, opened);
    let earlier = found.history.visits.len();
    let mut told: Vec<String> = Vec::new();
    if earlier > 0 {
        let typed = "history of the vehicle".to_owned();
        told.extend(report::fitted_before(&found.history, desk.settings.local));
        told.extend(report::last_time(desk.knowledge, &found.history, desk.settings.local));
        told.extend(found.drifts.iter().filter(|drift| drift.drifts()).map(|drift| {
            format!("display {} drifts at {}", drift.display, terms::point(drift.kind.at))
        }));
        journal.push(Entry::new(opened, typed, What::History(found.history)));
    }
    if let Err(error) = check::journal(&journal) {
        desk.refuse(&format!("{error}: go back and change the engine"))?;
        return Ok(None);
    }
    let taken: Vec<String> = jobs.into_iter().map(|spine| spine.name).collect();
    let mut name = name_for(&draft.vehicle, &taken);
    while let Err(problem) = shelf.create(&name, &journal) {
        desk.refuse(&format!("the job could not be kept: {problem}; what was said is not lost"))?;
        if desk.on_page() {
            // A page names no files of the computer that it comes from.
            match or_back(desk.yes("Try again?", true))? {
                Some(true) => continue,
                Some(false) | None => return Ok(None),
            }
        }
        let elsewhere = desk.asker.line(Line {
            question: "File to keep it in instead?",
            help: "a path on another disk that ends in .ron; Enter tries the same again",
            default: "",
            typed: "",
            ..Line::default()
        });
        match or_back(elsewhere)? {
            Some(file) if file.trim().is_empty() => {}
            Some(file) => name = file,
            None => return Ok(None),
        }
    }
    desk.say(&format!("The job is open and kept as `{name}`."))?;
    if earlier > 0 {
        let jobs = words::count(earlier, "earlier job", "earlier jobs");
        desk.say(&format!("Compared with its own history: {jobs}, on the card."))?;
        for line in told {
            desk.say(&words::sentence(&line))?;
        }
    }
    Ok(Some(name))
}

/// A job name from what the vehicle is called, unlike those taken.
#[must_use]
pub fn name_for(vehicle: &str, taken: &[String]) -> String {
    let mut name = String::new();
    for c in vehicle.to_lowercase().chars() {
        if c.is_alphanumeric() {
            name.push(c);
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
        if name.chars().count() >= 24 {
            break;
        }
    }
    let name = name.trim_end_matches('-');
    let name = if name.is_empty() { "job" } else { name };
    // Among one more than are taken, one is free.
    (1..=taken.len() + 1)
        .map(|n| if n == 1 { name.to_owned() } else { format!("{name}-{n}") })
        .find(|name| !taken.contains(name))
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::name_for;

    #[test]
    fn jobs_are_named_after_their_vehicles() {
        for (vehicle, name) in [
            ("Blue estate", "blue-estate"),
            ("  AB 12/34 ", "ab-12-34"),
            ("", "job"),
            ("../../etc", "etc"),
            ("taken", "taken-3"),
        ] {
            let taken = ["taken", "taken-2"].map(str::to_owned);
            assert_eq!(name_for(vehicle, &taken), name);
        }
    }
}
