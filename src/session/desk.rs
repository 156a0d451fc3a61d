//! What every part of the session has at hand: the asker, the knowledge base, the clock, and
//! small questions put the same way everywhere.

use jiff::Timestamp;

use super::asker::{Asked, Asker, Line, Seats, Stop};
use super::sheet::{Sheet, short};
use facts::job::entry::Reading;
use facts::job::typed::reading;
use facts::knowledge::{Item, Knowledge};
use measure::engine::{Cylinder, Engine};
use measure::units::{Celsius, Scale};
use pages::report::{Doc, LocalTime, Style, words};

/// What a session is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Purpose {
    /// Something is complained of.
    #[default]
    Complaint,
    /// An engine that is believed sound is commissioned.
    Commission,
}

/// Where a session is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Medium {
    /// A screen of so many lines, and keys.
    #[default]
    Terminal,
    /// A page that is as long as it must be; files of the computer are not named on it.
    Page,
}

/// How the session looks and where its time comes from.
#[derive(Clone, Copy)]
pub struct Settings<'a> {
    /// Scale of plain numbers, read and shown.
    pub scale: Scale,
    /// The scale was said, so that a job's own does not stand in its place.
    pub scale_said: bool,
    /// Cells in a line.
    pub width: usize,
    /// Lines that are shown before "more?".
    pub height: usize,
    /// Whether pages carry styles.
    pub style: Style,
    /// The time of an entry made now.
    pub now: &'a dyn Fn() -> Timestamp,
    /// The clock by which pages show times.
    pub local: &'a LocalTime,
    /// What to type to come back, as `oddpot`.
    pub again: &'a str,
    /// What new jobs are opened for.
    pub purpose: Purpose,
    /// Where it is shown.
    pub medium: Medium,
}

/// Lines of a prompt that stands below text: question, answer, help.
const PROMPT: usize = 4;

impl Settings<'_> {
    /// Lines of the screen.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.height + PROMPT
    }

    /// Lines for text on a screen of so many.
    #[must_use]
    pub fn height_of(rows: usize) -> usize {
        rows.saturating_sub(PROMPT)
    }
}

/// The asker and what all questions need.
pub(super) struct Desk<'a> {
    pub(super) asker: &'a mut dyn Asker,
    pub(super) knowledge: &'a Knowledge,
    pub(super) settings: Settings<'a>,
}

/// Said where there is no choice.
const NOTHING: &str = "There is nothing to choose from.";

/// A temperature as it was typed; `None` where nothing was.
pub(super) fn temperature(typed: &str, scale: Scale) -> Result<Option<Celsius>, String> {
    if typed.trim().is_empty() {
        return Ok(None);
    }
    match reading(typed.trim(), scale) {
        Ok(Reading::Degrees(value)) => Ok(Some(value)),
        Ok(_) => Err("that is no temperature: type one number".to_owned()),
        Err(error) => Err(error.to_string()),
    }
}

/// A question about something that is being put together; false when it did not arise.
pub(super) type Question<T> = fn(&mut Desk<'_>, &mut T) -> Asked<bool>;

impl Desk<'_> {
    /// Asks one question after the other; a step back leads to the one asked before.
    pub(super) fn walk<T>(&mut self, about: &mut T, questions: &[Question<T>]) -> Asked<()> {
        let mut asked = Vec::new();
        let mut at = 0;
        while let Some(question) = questions.get(at) {
            match question(self, about) {
                Ok(true) => asked.push(at),
                Ok(false) => {}
                Err(Stop::Back) => {
                    // Questions that did not arise are not stopped at on the way back.
                    at = asked.pop().ok_or(Stop::Back)?;
                    continue;
                }
                Err(stop) => return Err(stop),
            }
            at += 1;
        }
        Ok(())
    }

    /// It is shown on a page.
    pub(super) fn on_page(&self) -> bool {
        self.settings.medium == Medium::Page
    }

    /// What is said of keys, or what is said of a page.
    pub(super) fn word(&self, keys: &'static str, page: &'static str) -> &'static str {
        if self.on_page() { page } else { keys }
    }

    /// Says a sentence or two.
    pub(super) fn say(&mut self, text: &str) -> Asked<()> {
        let mut sheet = Sheet::new(self.settings.width);
        sheet.line(text);
        self.show(&sheet)
    }

    /// Says what was given, what is wrong and what to do, and that nothing is lost by it.
    pub(super) fn refuse(&mut self, what: &str) -> Asked<()> {
        let mut sheet = Sheet::new(self.settings.width);
        sheet.item("! ", &words::sentence(what));
        self.show(&sheet)
    }

    /// A temperature, with what was typed; `None` where nothing was.
    pub(super) fn temperature(
        &mut self,
        question: &str,
        help: &str,
    ) -> Asked<Option<(Celsius, String)>> {
        let scale = self.settings.scale;
        let question = format!("{question}, {}?", scale.sign());
        self.line(Line { question: &question, help, ..Line::default() }, |answer| {
            let typed = answer.trim();
            Ok(temperature(typed, scale)?.map(|value| (value, typed.to_owned())))
        })
    }

    /// A line that is asked for until `read` can make something of it; a wrong one stands there to be corrected.
    pub(super) fn line<T>(
        &mut self,
        line: Line<'_>,
        mut read: impl FnMut(&str) -> Result<T, String>,
    ) -> Asked<T> {
        let mut typed = line.typed.to_owned();
        loop {
            let answer = self.asker.line(Line { typed: &typed, ..line })?;
            match read(&answer) {
                Ok(value) => return Ok(value),
                Err(why) => self.refuse(&why)?,
            }
            typed = answer;
        }
    }

    /// Shows a sheet, a screen at a time.
    pub(super) fn show(&mut self, sheet: &Sheet) -> Asked<()> {
        if self.on_page() {
            return self.asker.show(sheet.doc());
        }
        for (index, page) in sheet.pages(self.settings.height).iter().enumerate() {
            if index > 0 {
                self.asker.more()?;
            }
            self.asker.say(page)?;
        }
        Ok(())
    }

    /// Shows a page of a report.
    pub(super) fn page(&mut self, doc: &Doc) -> Asked<()> {
        let sheet = Sheet::of(doc, self.settings.width, self.settings.style);
        self.show(&sheet)
    }

    /// One of several things, each with its label; the one at `start` is offered first.
    pub(super) fn pick<T: Clone>(
        &mut self,
        question: &str,
        choices: &[(String, T)],
        start: usize,
    ) -> Asked<T> {
        // Two marks stand before an option, and a line that is full would wrap.
        let room = self.settings.width.saturating_sub(4);
        let labels: Vec<String> = choices.iter().map(|(label, _)| short(label, room)).collect();
        if labels.is_empty() {
            self.say(&format!("{question} {NOTHING}"))?;
            return Err(Stop::Back);
        }
        let index = self.asker.choose(question, &labels, start.min(labels.len() - 1))?;
        choices.get(index).map(|(_, value)| value.clone()).ok_or(Stop::Back)
    }

    /// The same for places of an engine, which may be shown where they are; what is no place of it
    /// stands behind them.
    pub(super) fn pick_seat(
        &mut self,
        question: &str,
        engine: &Engine,
        choices: &[(String, Option<Cylinder>)],
        start: usize,
    ) -> Asked<Option<Cylinder>> {
        let at = |number: Cylinder| choices.iter().position(|(_, at)| *at == Some(number));
        let seats: Seats = engine
            .banks
            .iter()
            .map(|bank| bank.iter().map(|&number| (number, at(number))).collect())
            .collect();
        let labels: Vec<String> = choices.iter().map(|(label, _)| label.clone()).collect();
        if labels.is_empty() {
            self.say(&format!("{question} {NOTHING}"))?;
            return Err(Stop::Back);
        }
        let start = start.min(labels.len() - 1);
        let index = self.asker.choose_seat(question, &labels, start, &seats)?;
        choices.get(index).map(|(_, at)| *at).ok_or(Stop::Back)
    }

    /// Yes or no.
    pub(super) fn yes(&mut self, question: &str, offered: bool) -> Asked<bool> {
        let choices = [("yes".to_owned(), true), ("no".to_owned(), false)];
        self.pick(question, &choices, usize::from(!offered))
    }

    /// A cylinder, or a display for the box end of a lead, other than those left out.
    pub(super) fn cylinder(
        &mut self,
        question: &str,
        engine: &Engine,
        item: Option<Item>,
        without: &[Cylinder],
        start: Option<Cylinder>,
    ) -> Asked<Cylinder> {
        let word = if item == Some(Item::LeadAtBox) { "display" } else { "cylinder" };
        let list: Vec<(String, Option<Cylinder>)> = engine
            .all()
            .filter(|c| !without.contains(c))
            .map(|c| (format!("{word} {c}"), Some(c)))
            .collect();
        let at = list.iter().position(|(_, c)| *c == start).unwrap_or(0);
        self.pick_seat(question, engine, &list, at)?.ok_or(Stop::Back)
    }
}
