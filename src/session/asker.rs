//! The one way in which the session asks and tells.
//!
//! A terminal, a script of answers, a page in the hand and a test stand behind the same five
//! questions. Nothing here knows what is asked about.

use pages::report::{Doc, NoticeKind, Style, text};

/// Why a question has no answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stop {
    /// One step back (Esc).
    Back,
    /// Out of the session, by the mechanic's wish (Ctrl-C, or put away).
    Leave,
    /// There is nobody left to ask: the terminal is gone, or the script is at its end.
    Lost(String),
    /// A script gave an answer that is not among the choices.
    Wrong(String),
    /// Another has entered something: back to where the job stands, read again.
    Anew,
}

/// An answer, or why there is none.
pub type Asked<T> = Result<T, Stop>;

/// A question that is answered with a line of text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Line<'a> {
    /// The question.
    pub question: &'a str,
    /// What may be typed, shown below.
    pub help: &'a str,
    /// Taken when nothing is typed; empty for none.
    pub default: &'a str,
    /// Already in the line, to be corrected.
    pub typed: &'a str,
    /// Where a value for each of so many places is asked for, parted by spaces; nought for a free line.
    pub values: u8,
    /// Words that may stand for such a value.
    pub states: &'a [&'a str],
    /// Such a value may lie below nought.
    pub below_zero: bool,
    /// Such a value is no greater than this, so that a digit too many begins the next; nought where any may be.
    pub most: u32,
}

/// The places of an engine from above, as a choice among them: bank by bank, each with its number and
/// the option that it is, if it may be chosen.
pub type Seats = Vec<Vec<(u8, Option<usize>)>>;

/// The job that is on the bench, for whoever can keep it in sight.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bench {
    /// Its name.
    pub name: String,
    /// Vehicle and complaint.
    pub about: String,
    /// Why the engine must stop or be watched.
    pub notice: Option<(NoticeKind, String)>,
    /// Entries that the session knows of.
    pub entries: usize,
}

/// Asks and tells.
pub trait Asker {
    /// Shows text that fits the screen; it ends with a line end.
    ///
    /// # Errors
    /// [`Stop::Lost`] when it cannot be shown.
    fn say(&mut self, text: &str) -> Asked<()>;

    /// Shows a page as it is, where there is no screen to fill.
    ///
    /// # Errors
    /// As [`Asker::say`].
    fn show(&mut self, page: &Doc) -> Asked<()> {
        self.say(&text::render(page, text::USUAL_WIDTH, Style::Plain))
    }

    /// Tells which job is on the bench and how it stands, whenever that changes; `None` for no job.
    fn bench(&mut self, _bench: Option<Bench>) {}

    /// The next question is the main one, at which nothing is half entered; `anew` where what is shown
    /// before it says where the job stands.
    fn rest(&mut self, _anew: bool) {}

    /// So many lines of the screen are free below what was shown: the list that is asked next must not push it away.
    fn room(&mut self, _lines: usize) {}

    /// Waits until what was shown is read.
    ///
    /// # Errors
    /// As the session ends; a step back goes on as well.
    fn more(&mut self) -> Asked<()>;

    /// One of the options, by index; `start` is offered first. Options can be searched.
    ///
    /// # Errors
    /// When there is no answer.
    fn choose(&mut self, question: &str, options: &[String], start: usize) -> Asked<usize>;

    /// One of the options, which are places of an engine.
    ///
    /// # Errors
    /// When there is no answer.
    fn choose_seat(
        &mut self,
        question: &str,
        options: &[String],
        start: usize,
        _seats: &Seats,
    ) -> Asked<usize> {
        self.choose(question, options, start)
    }

    /// Any number of the options, by index, in order.
    ///
    /// # Errors
    /// When there is no answer.
    fn choose_many(&mut self, question: &str, options: &[String]) -> Asked<Vec<usize>>;

    /// A line of text.
    ///
    /// # Errors
    /// When there is no answer.
    fn line(&mut self, line: Line<'_>) -> Asked<String>;
}

/// Turns "one step back" into an answer of its own, so that the caller can repeat its question.
///
/// # Errors
/// Every other reason to stop.
pub fn or_back<T>(answer: Asked<T>) -> Asked<Option<T>> {
    match answer {
        Ok(value) => Ok(Some(value)),
        Err(Stop::Back) => Ok(None),
        Err(stop) => Err(stop),
    }
}
