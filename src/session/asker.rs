//! The one way in which the session asks and tells.
//!
//! A terminal, a script of answers and a test stand behind the same five questions. Nothing
//! here knows what is asked about.

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
}

/// Asks and tells.
pub trait Asker {
    /// Shows text that fits the screen; it ends with a line end.
    ///
    /// # Errors
    /// [`Stop::Lost`] when it cannot be shown.
    fn say(&mut self, text: &str) -> Asked<()>;

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
