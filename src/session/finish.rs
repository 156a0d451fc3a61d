//! The end of a job: remedy, verification, closing, the card.

use super::asker::{Asked, Stop, or_back};
use super::work::Work;
use facts::job::entry::What;
use facts::job::read::minutes_spent;
use facts::job::timeline::Standing;
use judge::diagnosis::prior::places;
use judge::diagnosis::{CauseRef, Fault};
use judge::limits;
use judge::plan::{self, JobEnd, Step};
use measure::engine::Place;
use pages::report::{self, CardInput, terms, usual_point, words};

/// Suspects offered by name before the whole list.
const OFFERED: usize = 12;

impl Work<'_, '_> {
    /// Asks which cause was remedied.
    pub(super) fn remedy(&mut self) -> Asked<()> {
        let knowledge = self.desk.knowledge;
        let picture = self.picture();
        let suspects = picture.assessment.suspects.iter().filter(|s| curable(knowledge, s.fault));
        let mut choices: Vec<(String, Option<Fault>)> = suspects
            .take(OFFERED)
            .map(|s| {
                let name = words::upper_first(&terms::fault(knowledge, s.fault));
                (format!("{name} ({})", words::percent(s.probability)), Some(s.fault))
            })
            .collect();
        choices.push(("Another cause of the list".to_owned(), None));
        loop {
            let fault = match self.desk.pick("What was put right?", &choices, 0)? {
                Some(fault) => fault,
                None => match or_back(self.any_cause())? {
                    Some(fault) => fault,
                    None => continue,
                },
            };
            if or_back(self.remedy_of(fault, false))?.is_some() {
                return Ok(());
            }
        }
    }

    /// Any cause that can occur on this engine, and where.
    fn any_cause(&mut self) -> Asked<Fault> {
        let (knowledge, engine) = (self.desk.knowledge, self.timeline.engine.clone());
        let mut choices: Vec<(String, usize)> = knowledge
            .causes
            .iter()
            .enumerate()
            .filter(|(_, cause)| cause.applies.holds(&engine) && cause.remedy.is_some())
            .map(|(index, cause)| (words::upper_first(&cause.name), index))
            .collect();
        choices.sort();
        loop {
            let index = self.desk.pick("Which? Type a word of it to search.", &choices, 0)?;
            let places: Vec<(String, Place)> = places(&knowledge.causes[index], &engine)
                .into_iter()
                .map(|place| (place.to_string(), place))
                .collect();
            if let Some(place) = or_back(self.desk.pick("Where?", &places, 0))? {
                return Ok(Fault { cause: CauseRef::Listed(index), place });
            }
        }
    }

    /// Enters a remedy, after the look that it would make impossible, and asks for readings.
    ///
    /// Whether it was done is asked unless that was `said`.
    pub(super) fn remedy_of(&mut self, fault: Fault, said: bool) -> Asked<()> {
        let knowledge = self.desk.knowledge;
        let CauseRef::Listed(index) = fault.cause else {
            return self.desk.say(
                "Go over the whole chain and the cylinder by eye and ear. When you have found it, \
                 enter what was put right as a remedy, or take readings again.",
            );
        };
        let correcting = self.correcting.is_some();
        let picture = self.picture();
        let look = plan::first_look(knowledge, &self.timeline, &picture.assessment, fault);
        if let Some(test) = look.filter(|_| !correcting) {
            let name = words::lower_first(&knowledge.tests[test].name);
            let question = "Enter that look first?";
            self.desk.refuse(&format!("the remedy wipes out evidence: first {name}"))?;
            if self.desk.yes(question, true)? {
                let cylinder = fault.place.cylinder();
                return self.record(Step::Test { test, cylinder, partner: None, at: None });
            }
        }
        self.warn_held(Step::Remedy(fault))?;
        let cause = &knowledge.causes[index];
        let done = cause.remedy.as_ref().map_or("", |remedy| remedy.what.as_str());
        let name = terms::fault_now(knowledge, &self.timeline, fault);
        self.desk.say(&format!("{}. {}", words::upper_first(&name), words::sentence(done)))?;
        // Who took "Done: ..." has said so already.
        if !said && !self.desk.yes("Was that done?", true)? {
            return Err(Stop::Back);
        }
        let at = match fault.place {
            Place::Nowhere => String::new(),
            place => format!("@{}", place.code()),
        };
        let what = What::Remedy { cause: cause.id.clone(), place: fault.place };
        let history = self.timeline.history.as_ref();
        let before = history
            .and_then(|h| report::came_back(h, &cause.id, fault.place, self.desk.settings.local));
        if self.enter(format!("remedy {}{at}", cause.id), what)? {
            if let Some(before) = before {
                self.desk.refuse(&before)?;
            }
            if correcting {
                return Ok(());
            }
            self.desk
                .say("Now let it settle and read again: only that says whether it is cured.")?;
            or_back(self.verifying_readings())?;
        }
        Ok(())
    }

    /// Readings where the complaint was clearest.
    pub(super) fn verifying_readings(&mut self) -> Asked<()> {
        let at = match self.picture().advice.best.step {
            Step::Verify { at } | Step::Readings { at, .. } => at,
            _ => usual_point(&self.timeline),
        };
        self.take_readings(Some(at), None)
    }

    /// Writes the difference down as normal.
    pub(super) fn write_down(&mut self) -> Asked<()> {
        if self.timeline.sets.is_empty() {
            return self.desk.refuse("there are no readings to write down: enter some first");
        }
        if !self.timeline.is_recorded() && !self.enter("record".to_owned(), What::Recorded)? {
            return Ok(());
        }
        or_back(self.close()).map(|_| ())
    }

    /// Closes the job, proven or not, with everything back in its place.
    pub(super) fn close(&mut self) -> Asked<()> {
        let picture = self.picture();
        let proven = picture.verification.verified();
        let recorded = picture.advice.best.step == Step::End(JobEnd::Normal);
        let mut typed = "close";
        if !(proven || recorded) {
            typed = "close --unproven";
            for missing in &picture.verification.missing {
                self.desk.refuse(&format!("missing: {missing}"))?;
            }
        }
        if !self.timeline.arrangement.is_original() {
            self.desk.say("Not everything is where it was.")?;
            let question = "Were they put back? (\"no\": the card says where they are)";
            if self.put_back(question, false)? {
                // What was put back was disturbed, so the proof may have to be made again.
                self.desk.say("Now read once more before it is closed.")?;
                return self.verifying_readings();
            }
        }
        // What is proven is closed by the choice itself: it can be opened again. What is normal may be written down
        // without being closed.
        let question = if recorded {
            "Close it as normal for this engine?"
        } else {
            "Close it all the same, as not proven?"
        };
        if !proven && !self.desk.yes(question, recorded)? {
            return Err(Stop::Back);
        }
        if self.enter(typed.to_owned(), What::Close { proven, reason: None })?
            && (!self.desk.on_page() || self.desk.yes("Show the job card?", true)?)
        {
            or_back(self.card())?;
        }
        Ok(())
    }

    /// Writes the card, or the handover sheet of an open job, to a file.
    pub(super) fn card(&mut self) -> Asked<()> {
        let picture = self.picture();
        let open = self.timeline.standing == Standing::Open;
        let letterhead = self.shelf.letterhead();
        let limits = limits::as_set(self.desk.knowledge, self.job.journal());
        let input = CardInput {
            knowledge: self.desk.knowledge,
            journal: self.job.journal(),
            timeline: &self.timeline,
            assessment: &picture.assessment,
            advice: open.then_some(&picture.advice),
            verification: &picture.verification,
            limits: limits.as_ref(),
            spent: minutes_spent(self.desk.knowledge, self.job.journal()),
            letterhead: &letterhead,
            local: self.desk.settings.local,
        };
        let page = report::card(&input, self.desk.settings.scale);
        if self.desk.on_page() {
            return self.desk.page(&page);
        }
        let usual = format!("{}-{}.pdf", self.name, if open { "handover" } else { "card" });
        let help = "its ending says the form: .pdf, .html, .md or .txt; Esc writes none";
        self.file(
            if open { "handover sheet" } else { "job card" },
            help,
            &usual,
            |shelf, file, over| shelf.write(file, &page, over),
        )
    }
}

/// Whether something can be put right.
fn curable(knowledge: &facts::knowledge::Knowledge, fault: Fault) -> bool {
    match fault.cause {
        CauseRef::Listed(index) => knowledge.causes[index].remedy.is_some(),
        CauseRef::Unlisted => false,
    }
}
