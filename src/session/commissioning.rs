//! Commissioning in a session: what is done, the next step, what was found.
//!
//! Every step is entered by what the session has for it already. While something is found the ordinary
//! questions are asked; when that is put right it goes on where it stopped.

use super::asker::{Asked, Stop, or_back};
use super::desk::Purpose;
use super::sheet::Sheet;
use super::work::{Picture, Work};
use facts::job::entry::What;
use facts::job::timeline::Standing;
use judge::commission::{LeftOut, State, Step};
use judge::{limits, plan, vehicle};
use measure::engine::Regime;
use measure::units::Celsius;
use pages::report::{self, CommissionInput, Commissioned, Room, Style, words};

/// Said where a new job begins.
pub(super) const WELCOME: &str = "An engine that is believed sound is gone through once: which display is \
     whose, all displays cold, depths, idle, cruise. Kept, it is what later jobs are compared with. Each \
     step can wait: put it away, come back with the same line.";

/// What can be done at a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Doing {
    Step(Step),
    BuilderLimit,
    Sheet,
    Undo,
    Ordinary,
    PutAway,
}

impl Work<'_, '_> {
    /// One step; false where the ordinary questions are to be asked instead.
    pub(super) fn commissioned(&mut self) -> Asked<bool> {
        let picture = self.picture();
        let found = &picture.commission;
        if self.timeline.standing != Standing::Open {
            return Ok(false);
        }
        let Some(next) = found.next() else {
            // What was found is told when something was entered, not with every question.
            if self.stale {
                self.show_commission(&picture)?;
            }
            return Ok(false);
        };
        if std::mem::take(&mut self.stale) {
            self.show_commission(&picture)?;
        }
        let label = report::commission_step(next);
        let mut choices =
            vec![(format!("Do it: {}", words::lower_first(&label)), Doing::Step(next))];
        if let Some(other) = found.or_else() {
            let other_label = words::lower_first(&report::commission_step(other));
            choices.push((format!("Leave it out, go on: {other_label}"), Doing::Step(other)));
        }
        if found.state(Step::Full) == State::LeftOut(LeftOut::NoBuilderLimit)
            && next <= Step::Record
        {
            let label = "Enter the builder's limit, so that full load may be run";
            choices.push((label.to_owned(), Doing::BuilderLimit));
        }
        let sheet = self.desk.word("Write the sheet as it is to a file", "Show the sheet as it is");
        choices.push((sheet.to_owned(), Doing::Sheet));
        if self.job.journal().last_standing().is_some() {
            choices.push(("Undo the last entry".to_owned(), Doing::Undo));
        }
        let label = "Something is wrong, or another step: go on as an ordinary job";
        choices.push((label.to_owned(), Doing::Ordinary));
        choices.push(("Put it away for today".to_owned(), Doing::PutAway));
        self.make_room(choices.len())?;
        let doing = match self.desk.pick("What now?", &choices, 0) {
            // A key too many leads nowhere.
            Err(Stop::Back) => {
                self.stale = true;
                return Ok(true);
            }
            other => other?,
        };
        match doing {
            Doing::Step(step) => self.commission_step(step)?,
            Doing::BuilderLimit => {
                or_back(self.builder_limit())?;
            }
            Doing::Sheet => self.commission_sheet()?,
            Doing::Undo => self.undo()?,
            Doing::Ordinary => {
                self.purpose = Purpose::Complaint;
                self.stale = true;
            }
            Doing::PutAway => return Err(Stop::Leave),
        }
        Ok(true)
    }

    /// Enters one step, as the ordinary session enters it.
    fn commission_step(&mut self, step: Step) -> Asked<()> {
        match step {
            Step::Identity => self.identity(),
            Step::ColdSoak => self.cold_soak(),
            Step::Idle => self.take_readings(Some(self.at(Regime::Idle)), None),
            Step::Cruise => self.take_readings(Some(self.at(Regime::Cruise)), None),
            Step::Full => self.take_readings(Some(self.at(Regime::Full)), None),
            Step::Fit => self.fitting(),
            Step::Record => self.enter("record".to_owned(), What::Recorded).map(|_| ()),
            Step::Limits => self.limiting(),
            Step::Close => {
                self.close()?;
                let sheet = self.desk.word(
                    "Write the commissioning sheet to a file?",
                    "Show the commissioning sheet?",
                );
                if self.timeline.standing != Standing::Open && self.desk.yes(sheet, true)? {
                    self.commission_sheet()?;
                }
                Ok(())
            }
        }
    }

    /// One display after the other, as long as each is its cylinder's.
    fn identity(&mut self) -> Asked<()> {
        let mut before = None;
        loop {
            let picture = self.picture();
            let (knowledge, found) = (self.desk.knowledge, &picture.commission);
            let planned = found.planned(knowledge, &self.timeline, Step::Identity);
            let Some(planned @ plan::Step::Test { test, .. }) = planned else {
                let why = "no test that shows it can be done here: enter one of your own";
                return self.desk.refuse(why);
            };
            // Another test is shown before it is asked about.
            if found.next() != Some(Step::Identity) || before.is_some_and(|before| before != test) {
                return Ok(());
            }
            before = Some(test);
            self.record(planned)?;
        }
    }

    /// All displays of the cold engine, and a thermometer beside them.
    fn cold_soak(&mut self) -> Asked<()> {
        let site = self.timeline.engine.probes;
        let at = self.at(Regime::ColdSoak);
        let mut line = String::new();
        loop {
            let (typed, readings) = self.reading_line(at, site, &line)?;
            let Some(air) = or_back(self.thermometer())? else {
                // One step back: the line is there again, to be corrected.
                line.clear();
                line.push_str(values(&typed));
                continue;
            };
            let typed = match &air {
                Some((_, said)) => format!("{typed} --air {}", report::shell_word(said)),
                None => typed,
            };
            self.beside = air.map(|(air, _)| air);
            self.enter(typed, What::Temps { at: at.id, site, readings, from: None })?;
            return Ok(());
        }
    }

    /// What the thermometer shows, if there is one, and as it was typed.
    fn thermometer(&mut self) -> Asked<Option<(Celsius, String)>> {
        let help = self.desk.word(
            "in the shade of the engine, after some minutes; Enter if there is none",
            "in the shade of the engine, after some minutes; empty if there is none",
        );
        self.desk.temperature("A thermometer beside the engine", help)
    }

    /// Shows how far it is, and the next step or what was found.
    fn show_commission(&mut self, picture: &Picture) -> Asked<()> {
        let height = self.desk.settings.height;
        let about = self.about_commission(picture);
        let room = Room { lines: height - 1, job: None, told: &self.told, foot: "" };
        let doc = report::commission_at_a_glance(&about, &room);
        let mut sheet = Sheet::new(self.desk.settings.width);
        sheet.block();
        sheet.gap();
        sheet.page(&doc, Style::Plain);
        sheet.foot();
        self.filled = sheet.last_page(height);
        self.desk.show(&sheet)
    }

    fn about_commission<'a>(&'a self, picture: &'a Picture) -> Commissioned<'a> {
        Commissioned {
            known: self.known(&picture.assessment),
            found: &picture.commission,
            vehicle: &self.job.journal().head.vehicle,
        }
    }

    /// Writes the commissioning sheet to a file.
    pub(super) fn commission_sheet(&mut self) -> Asked<()> {
        let picture = self.picture();
        let letterhead = self.shelf.letterhead();
        let set = limits::as_set(self.desk.knowledge, self.job.journal());
        let usual = vehicle::after(self.desk.knowledge, &self.timeline);
        let page = report::commission_sheet(&CommissionInput {
            about: self.about_commission(&picture),
            journal: self.job.journal(),
            usual: &usual,
            limits: set.as_ref(),
            letterhead: &letterhead,
            local: self.desk.settings.local,
        });
        if self.desk.on_page() {
            return self.desk.page(&page);
        }
        let usual = format!("{}-commissioned.txt", self.name);
        let help = "its ending says the form: .txt, .md, .html or .pdf";
        self.file("commissioning sheet", help, &usual, |shelf, file, over| {
            shelf.write(file, &page, over)
        })
    }
}

/// The values of a line that enters readings, as they were typed.
fn values(typed: &str) -> &str {
    let from = |mark: &str| typed.rsplit_once(mark).map(|(_, values)| values);
    from("--units f ").or_else(|| from("--at cold ")).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::values;

    #[test]
    fn a_line_of_readings_comes_back_without_what_stands_before_it() {
        assert_eq!(values("temps --at cold 18 18.2 open"), "18 18.2 open");
        assert_eq!(values("temps --at cold --units f 65 66 64"), "65 66 64");
    }
}
