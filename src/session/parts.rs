//! Parts exchanged, re-seated or renewed, and where everything is.

use super::asker::{Asked, Stop, or_back};
use super::sheet::Sheet;
use super::work::Work;
use facts::job::arrangement::coil_mate;
use facts::job::entry::What;
use facts::job::timeline::test_for;
use facts::knowledge::{Item, Test};
use measure::engine::{Cylinder, Ignition};
use pages::report::{self, terms, usual_point};

/// What was done to an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Doing {
    Exchanged,
    Reseated,
    Renewed,
}

/// What follows on work.
#[derive(Debug, Clone, Copy)]
enum After {
    Numbers,
    Words,
    Later,
}

impl Work<'_, '_> {
    /// Asks what was done to which item where, enters it, and what it showed.
    pub(super) fn parts(&mut self) -> Asked<()> {
        loop {
            let choices = [
                ("two of a kind changed places".to_owned(), Doing::Exchanged),
                ("one was taken out or undone and put back".to_owned(), Doing::Reseated),
                ("one was replaced by a known good one".to_owned(), Doing::Renewed),
            ];
            let doing = self.desk.pick("What was done?", &choices, 0)?;
            while let Some(item) = or_back(self.item(doing))? {
                if or_back(self.do_parts(item, doing, None, None))?.is_some() {
                    return Ok(());
                }
            }
        }
    }

    /// The items of this engine that this can be done to.
    fn item(&mut self, doing: Doing) -> Asked<Item> {
        let (knowledge, engine) = (self.desk.knowledge, &self.timeline.engine);
        let choices: Vec<(String, Item)> = Item::ALL
            .iter()
            .filter(|&&item| {
                let id = test_for(item, doing == Doing::Exchanged, doing == Doing::Renewed);
                let test = knowledge.test(id).map(|index| &knowledge.tests[index]);
                test.is_some_and(|test| test.applies.holds(engine))
            })
            .map(|&item| (name(item, doing).to_owned(), item))
            .collect();
        self.desk.pick("Which?", &choices, 0)
    }

    /// Asks for the places that are not known yet, enters the work, and what it showed.
    pub(super) fn do_parts(
        &mut self,
        item: Item,
        doing: Doing,
        a: Option<Cylinder>,
        b: Option<Cylinder>,
    ) -> Asked<()> {
        let engine = self.timeline.engine.clone();
        let what = loop {
            let at = match a {
                Some(a) => a,
                None => self.which("Which one?", Some(item))?,
            };
            if doing != Doing::Exchanged {
                break What::Remake { item, cylinder: at, new: doing == Doing::Renewed };
            }
            if let Some(b) = b {
                break What::Exchange { item, a: at, b };
            }
            let mut without = vec![at];
            if item == Item::Coil && engine.ignition == Ignition::WastedSpark {
                without.extend(coil_mate(&engine, at));
            }
            let with = self.desk.cylinder("With which?", &engine, Some(item), &without, None);
            match or_back(with)? {
                Some(b) => break What::Exchange { item, a: at, b },
                // One step back is the first of the two, where that was asked for.
                None if a.is_some() => return Err(Stop::Back),
                None => {}
            }
        };
        let typed = match &what {
            What::Exchange { a, b, .. } => format!("exchange {item} {a} {b}"),
            What::Remake { cylinder, new: true, .. } => format!("remake {item} {cylinder} --new"),
            What::Remake { cylinder, .. } => format!("remake {item} {cylinder}"),
            _ => String::new(),
        };
        let (first, correcting) = (self.timeline.sets.is_empty(), self.correcting.is_some());
        let minutes = or_back(self.took())?.flatten();
        let took = minutes.map_or_else(String::new, |m| format!(" --minutes {m}"));
        if self.enter_timed(typed + &took, what.clone(), minutes, None)? && !correcting {
            if first {
                self.desk.say(
                    "No readings were entered before this, so numbers after it tell less; undo \
                     it and enter them first if you have them.",
                )?;
            }
            or_back(self.shown_by(&what, item, doing))?;
        }
        Ok(())
    }

    /// What the displays say after the work, in numbers or in words.
    fn shown_by(&mut self, what: &What, item: Item, doing: Doing) -> Asked<()> {
        let knowledge = self.desk.knowledge;
        let id = test_for(item, doing == Doing::Exchanged, doing == Doing::Renewed);
        let test = knowledge.test(id).map(|index| &knowledge.tests[index]);
        let at = usual_point(&self.timeline);
        let mut choices =
            vec![(format!("the numbers at {} (best)", terms::point(at)), After::Numbers)];
        if test.is_some() {
            choices.push(("in words: where the odd reading is now".to_owned(), After::Words));
        }
        choices.push(("nothing yet: later".to_owned(), After::Later));
        loop {
            let done = match self.desk.pick("What do the displays say now?", &choices, 0)? {
                After::Numbers => self.take_readings(Some(at), None),
                After::Words => match test {
                    Some(test) => self.in_words(what, test),
                    None => Ok(()),
                },
                After::Later => Ok(()),
            };
            if or_back(done)?.is_some() {
                return Ok(());
            }
        }
    }

    fn in_words(&mut self, what: &What, test: &Test) -> Asked<()> {
        let (odd, partner) = match *what {
            What::Exchange { a, b, .. } => (a, Some(b)),
            What::Remake { cylinder, .. } => (cylinder, None),
            _ => return Ok(()),
        };
        let choices: Vec<(String, String)> =
            test.outcomes.iter().map(|o| (o.text.clone(), o.id.clone())).collect();
        let outcome = self.desk.pick("What did it show?", &choices, 0)?;
        let with = partner.map_or_else(String::new, |b| format!(" --partner {b}"));
        let typed = format!("found {} {outcome} --cylinder {odd}{with}", test.id);
        let what = What::Found { test: test.id.clone(), outcome, cylinder: Some(odd), partner };
        self.enter(typed, what)?;
        Ok(())
    }

    /// Where everything is, and the exchanges that put it back, to be entered at once.
    pub(super) fn whereabouts(&mut self) -> Asked<()> {
        let picture = self.picture();
        let scale = self.desk.settings.scale;
        let page = report::whereabouts(&self.timeline, &picture.assessment, scale);
        self.desk.page(&page)?;
        if self.timeline.arrangement.is_original() {
            return Ok(());
        }
        self.put_back("Enter all of these exchanges as done?", false).map(|_| ())
    }

    /// Shows what is not in its place; true when everything is, or was put back.
    pub(super) fn put_back(&mut self, question: &str, offered: bool) -> Asked<bool> {
        let arrangement = &self.timeline.arrangement;
        if arrangement.is_original() {
            self.desk.say("Everything is where it was when the job was opened.")?;
            return Ok(true);
        }
        let steps = self.timeline.put_back(self.desk.knowledge);
        let mut sheet = Sheet::new(self.desk.settings.width);
        sheet.block();
        for text in terms::displaced(arrangement) {
            sheet.item("  ", &text);
        }
        sheet.block();
        sheet.line("To put everything back:");
        for (number, &step) in (1..).zip(&steps) {
            sheet.item(&format!("{number:>3}. "), &terms::put_back(step));
        }
        self.desk.show(&sheet)?;
        if self.timeline.standing != facts::job::timeline::Standing::Open {
            return Ok(false);
        }
        if !self.desk.yes(question, offered)? {
            return Ok(false);
        }
        for step in steps {
            let (item, (a, b)) = (step.item, step.positions);
            if !self.enter(format!("exchange {item} {a} {b}"), What::Exchange { item, a, b })? {
                return Ok(false);
            }
        }
        Ok(true)
    }
}

/// An item in words for what was done to it.
fn name(item: Item, doing: Doing) -> &'static str {
    match (item, doing) {
        (Item::Probe, Doing::Exchanged) => "probes",
        (Item::Probe, _) => "probe",
        (Item::LeadAtBox, Doing::Exchanged) => "leads, at the display box",
        (Item::LeadAtBox, Doing::Reseated) => "lead, at the display box",
        (Item::LeadAtBox, Doing::Renewed) => "input of the box: lead moved to a spare one",
        (Item::LeadAtProbe, Doing::Exchanged) => "leads, at the probes",
        (Item::LeadAtProbe, Doing::Reseated) => "lead, at the probe",
        (Item::LeadAtProbe, Doing::Renewed) => "lead: a known good one run instead",
        (Item::Injector, Doing::Exchanged) => "injectors",
        (Item::Injector, _) => "injector",
        (Item::Plug, Doing::Exchanged) => "spark plugs",
        (Item::Plug, _) => "spark plug",
        (Item::Coil, Doing::Exchanged) => "coils",
        (Item::Coil, _) => "coil",
        (Item::HtLead, Doing::Exchanged) => "HT leads",
        (Item::HtLead, _) => "HT lead",
    }
}
