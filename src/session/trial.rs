//! Tests: the recommended one, an alternative, or one of the mechanic's own choice.

use super::asker::{Asked, Stop, or_back};
use super::parts::Doing;
use super::sheet::Sheet;
use super::work::Work;
use facts::job::entry::What;
use facts::knowledge::{CANNOT, Item, RunningPoint, Scope, Test, TestKind};
use judge::diagnosis;
use judge::plan::{self, Choice, JobEnd, Step};
use measure::engine::Cylinder;
use pages::report::{self, words};

/// Answers beside the outcomes of a test.
const HERE: &str = "(here)";
const NEVER: &str = "(never)";

impl Work<'_, '_> {
    /// Asks for what a step showed and enters it.
    pub(super) fn record(&mut self, step: Step) -> Asked<()> {
        match step {
            Step::Test { test, cylinder, partner, at } => {
                let knowledge = self.desk.knowledge;
                let test = &knowledge.tests[test];
                match (test.item, doing(test)) {
                    (Some(item), Some(doing)) => self.do_parts(item, doing, cylinder, partner),
                    _ => self.found(test, cylinder, at),
                }
            }
            Step::Remedy(fault) => self.remedy_of(fault, true),
            Step::Readings { at, site } => self.take_readings(Some(at), Some(site)),
            Step::Verify { at } => self.take_readings(Some(at), None),
            Step::PutBack { item, a, b } => self.do_parts(item, Doing::Exchanged, Some(a), Some(b)),
            Step::End(JobEnd::Normal) => self.write_down(),
            Step::End(_) => self.close(),
        }
    }

    /// The outcome of a test in words.
    pub(super) fn found(
        &mut self,
        test: &Test,
        cylinder: Option<Cylinder>,
        running: Option<RunningPoint>,
    ) -> Asked<()> {
        let running = running.filter(|_| test.at_point);
        loop {
            let at = match (test.scope, cylinder) {
                (Scope::Engine, _) => None,
                (Scope::Cylinder, Some(cylinder)) => Some(cylinder),
                (Scope::Cylinder, None) => Some(self.which("On which one?", test.item)?),
            };
            let mut choices: Vec<(String, Option<String>)> = test
                .outcomes
                .iter()
                .map(|o| (o.text.trim_end_matches('.').to_owned(), Some(o.id.clone())))
                .collect();
            choices.push((
                "(cannot be done here: do not ask again)".to_owned(),
                Some(HERE.to_owned()),
            ));
            choices.push(("(never in this workshop)".to_owned(), Some(NEVER.to_owned())));
            choices.push(("(not done: go back)".to_owned(), None));
            let place = if test.item == Some(Item::LeadAtBox) { "display" } else { "cylinder" };
            let on = at.map_or_else(String::new, |c| format!(" on {place} {c}"));
            let question = format!("What did it show{on}?");
            match or_back(self.desk.pick(&question, &choices, 0))? {
                Some(Some(outcome)) => {
                    if outcome == HERE || outcome == NEVER {
                        return self.cannot(test, outcome == NEVER);
                    }
                    let Some(partner) = or_back(self.pointed_at(test, &outcome, at))? else {
                        continue;
                    };
                    let on = at.map_or_else(String::new, |c| format!(" --cylinder {c}"));
                    let with = partner.map_or_else(String::new, |c| format!(" --partner {c}"));
                    let there = running.map_or_else(String::new, |at| format!(" --at {at}"));
                    let typed = format!("found {} {outcome}{on}{with}{there}", test.id);
                    let test = test.id.clone();
                    let what = What::Found { test, outcome, cylinder: at, partner };
                    // A step back is no answer to this either: what was seen is kept.
                    let minutes = or_back(self.took())?.flatten();
                    let took = minutes.map_or_else(String::new, |m| format!(" --minutes {m}"));
                    self.enter_timed(typed + &took, what, minutes, running)?;
                    return Ok(());
                }
                // One step back is the cylinder, where it was asked for.
                None if test.scope == Scope::Cylinder && cylinder.is_none() => {}
                Some(None) | None => return Err(Stop::Back),
            }
        }
    }

    /// Enters that a test cannot be done here, and keeps it for all jobs if it never can.
    pub(super) fn cannot(&mut self, test: &Test, always: bool) -> Asked<()> {
        if always {
            match self.shelf.never(&test.id) {
                Ok(place) => self.desk.say(&format!("Kept for all jobs in {place}."))?,
                Err(problem) => self.desk.refuse(&problem)?,
            }
        }
        let (typed, id) = (format!("found {} {CANNOT}", test.id), test.id.clone());
        let outcome = CANNOT.to_owned();
        let what = What::Found { test: id, outcome, cylinder: None, partner: None };
        self.enter(typed, what)?;
        Ok(())
    }

    /// Asks whether what is advised can be done in this job or in none.
    pub(super) fn cannot_do(&mut self, step: Step) -> Asked<()> {
        let Step::Test { test, .. } = step else { return Ok(()) };
        let knowledge = self.desk.knowledge;
        let test = &knowledge.tests[test];
        let choices = [
            ("not on this vehicle".to_owned(), false),
            ("never in this workshop".to_owned(), true),
        ];
        let name = words::lower_first(test.name.trim_end_matches('.'));
        let always = self.desk.pick(&format!("Cannot {name}:"), &choices, 0)?;
        self.cannot(test, always)
    }

    /// The cylinder that an outcome points at, where it points at one.
    fn pointed_at(
        &mut self,
        test: &Test,
        outcome: &str,
        at: Option<Cylinder>,
    ) -> Asked<Option<Cylinder>> {
        let points = test.outcomes.iter().any(|o| o.id == outcome && o.partner);
        let Some(at) = at.filter(|_| points) else { return Ok(None) };
        let others = self.timeline.engine.all().filter(|c| *c != at);
        let mut choices: Vec<(String, Option<Cylinder>)> =
            others.map(|c| (c.to_string(), Some(c))).collect();
        choices.push(("not known".to_owned(), None));
        let engine = self.timeline.engine.clone();
        self.desk.pick_seat("Which one does it point at?", &engine, &choices, 0)
    }

    /// A cylinder, the odd one offered first.
    pub(super) fn which(&mut self, question: &str, item: Option<Item>) -> Asked<Cylinder> {
        let engine = self.timeline.engine.clone();
        let odd = self.picture().assessment.odd_display.map(|display| match item {
            Some(Item::LeadAtBox) => display,
            _ => self.timeline.arrangement.cylinder_shown(display),
        });
        self.desk.cylinder(question, &engine, item, &[], odd)
    }

    /// Another choice of the plan: shown in full, then entered.
    pub(super) fn alternatives(&mut self) -> Asked<()> {
        let picture = self.picture();
        let (knowledge, timeline) = (self.desk.knowledge, &self.timeline);
        let choices: Vec<(String, usize)> = picture
            .advice
            .alternatives
            .iter()
            .enumerate()
            .map(|(index, choice)| {
                let what = words::upper_first(&report::step(knowledge, timeline, choice.step));
                let room = self.desk.settings.width.saturating_sub(24);
                let what = super::sheet::short(&what, room);
                (format!("{what} ({})", words::minutes(choice.cost.hands_on)), index)
            })
            .collect();
        loop {
            let index = self.desk.pick("Instead, hands-on minutes behind it:", &choices, 0)?;
            let choice = &picture.advice.alternatives[index];
            if or_back(self.look_and_record(choice.step, Some(choice)))?.is_some() {
                return Ok(());
            }
        }
    }

    /// Shows a choice and what its outcomes would mean, then asks whether it was done.
    fn look_and_record(&mut self, step: Step, choice: Option<&Choice>) -> Asked<()> {
        let mut sheet = Sheet::new(self.desk.settings.width);
        match choice {
            Some(choice) => self.choice(&mut sheet, choice),
            None => self.bare(&mut sheet, step),
        }
        self.desk.show(&sheet)?;
        self.warn_held(step)?;
        let choices = [("Done: enter what it showed".to_owned(), true), ("Back".to_owned(), false)];
        while self.desk.pick("And now?", &choices, 0)? {
            if or_back(self.record(step))?.is_some() {
                return Ok(());
            }
        }
        Err(Stop::Back)
    }

    /// Names the rule that holds a step back, if one does.
    pub(super) fn warn_held(&mut self, step: Step) -> Asked<()> {
        let same = |held: &Step| match (*held, step) {
            (Step::Test { test: a, .. }, Step::Test { test: b, .. }) => a == b,
            (a, b) => a == b,
        };
        let picture = self.picture();
        for guard in picture.advice.guards.iter().filter(|g| g.held_back.iter().any(same)) {
            self.desk.refuse(&format!("Better not now. {}", guard.text))?;
        }
        Ok(())
    }

    /// A test that the plan says nothing about.
    fn bare(&mut self, sheet: &mut Sheet, step: Step) {
        let Step::Test { test, .. } = step else { return };
        let test = &self.desk.knowledge.tests[test];
        let choice = Choice {
            step,
            cost: test.cost,
            total: 0.0,
            expected_total: 0.0,
            expected_hands_on: 0.0,
            lower_bound: 0.0,
            branches: Vec::new(),
            cautions: self.desk.knowledge.cautions_on(&self.timeline.engine, &test.cautions),
            before: None,
            why: vec![
                "the plan has no use for it now; what it shows is used all the same".to_owned(),
            ],
        };
        self.choice(sheet, &choice);
    }

    /// Any test that this engine allows.
    pub(super) fn own_test(&mut self) -> Asked<()> {
        let (knowledge, engine) = (self.desk.knowledge, &self.timeline.engine);
        let mut choices: Vec<(String, usize)> = knowledge
            .tests
            .iter()
            .enumerate()
            .filter(|(_, test)| test.applies.holds(engine))
            .map(|(index, test)| (words::upper_first(test.name.trim_end_matches('.')), index))
            .collect();
        choices.sort();
        loop {
            let test = self.desk.pick("Which test? Type a word of it to search.", &choices, 0)?;
            let known = &knowledge.tests[test];
            let cylinder = match known.scope {
                Scope::Engine => None,
                Scope::Cylinder => match or_back(self.which("On which one?", known.item))? {
                    Some(cylinder) => Some(cylinder),
                    None => continue,
                },
            };
            let step = Step::Test { test, cylinder, partner: None, at: None };
            let diagnosis = diagnosis::diagnose(knowledge, &self.timeline);
            let choice = plan::explain_test(&diagnosis, step).map(|known| known.choice);
            drop(diagnosis);
            // The plan may name a partner; which one it really was is asked.
            if or_back(self.look_and_record(step, choice.as_ref()))?.is_some() {
                return Ok(());
            }
        }
    }
}

/// The work on a part that a test is, if it is one.
fn doing(test: &Test) -> Option<Doing> {
    match test.kind {
        TestKind::Exchange => Some(Doing::Exchanged),
        TestKind::Reseat => Some(Doing::Reseated),
        TestKind::Substitute => Some(Doing::Renewed),
        TestKind::Observe | TestKind::Measure | TestKind::Disturb => None,
    }
}
