//! A question that waits for its answer, as data.
//!
//! The session asks, what it asked is parked here, a page shows it, and a form answers it. Nothing here
//! knows what is asked about.

use super::form::Form;
use crate::session::{Bench, Seats};
use pages::report::{Block, NoticeKind};

/// A question.
#[derive(Debug, Clone, PartialEq)]
pub enum Question {
    /// One of the options.
    Choose {
        /// The question.
        question: String,
        /// Its options.
        options: Vec<String>,
        /// The one that is offered first.
        start: usize,
        /// Where they are on the engine, if they are places of it.
        seats: Option<Seats>,
    },
    /// Any number of the options.
    Many {
        /// The question.
        question: String,
        /// Its options.
        options: Vec<String>,
    },
    /// A line of text.
    Line(Line),
}

/// A question that is answered with a line.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Line {
    /// The question.
    pub question: String,
    /// What may be typed.
    pub help: String,
    /// Taken when nothing is typed.
    pub default: String,
    /// Already in the line.
    pub typed: String,
    /// So many values make up the line; nought for a free one.
    pub values: u8,
    /// Words that may stand for a value.
    pub states: Vec<String>,
    /// A value may lie below nought.
    pub below_zero: bool,
}

/// An answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// The option of an index.
    Choice(usize),
    /// The options of these.
    Many(Vec<usize>),
    /// A line.
    Line(String),
    /// One step back.
    Back,
    /// Others have entered something.
    Anew,
}

/// Everything that a page shows of a session that waits.
#[derive(Debug, Clone, PartialEq)]
pub struct Parked {
    /// Which question of the session this is; it is answered once.
    pub number: u64,
    /// The job on the bench.
    pub bench: Option<Bench>,
    /// What was said since the last question.
    pub said: Vec<Block>,
    /// Where the job stands, as it was last said.
    pub stands: Vec<Block>,
    /// It is the main question, at which nothing is half entered.
    pub rest: bool,
    /// The question.
    pub question: Question,
}

impl Parked {
    /// Whether the engine must stop or be watched, and why.
    #[must_use]
    pub fn notice(&self) -> Option<&(NoticeKind, String)> {
        self.bench.as_ref()?.notice.as_ref()
    }
}

impl Question {
    /// The question as it is asked.
    #[must_use]
    pub fn asked(&self) -> &str {
        match self {
            Self::Choose { question, .. } | Self::Many { question, .. } => question,
            Self::Line(line) => &line.question,
        }
    }

    /// Reads the answer out of a form.
    ///
    /// # Errors
    /// When it is none to this question.
    pub fn answer(&self, form: &Form) -> Result<Answer, &'static str> {
        if form.one("back").is_some() {
            return Ok(Answer::Back);
        }
        let index = |text: &str, options: &[String]| {
            text.parse().ok().filter(|index| *index < options.len()).ok_or(NONE)
        };
        match self {
            Self::Choose { options, .. } => {
                let choice = form.one("choice").ok_or(NONE)?;
                index(choice, options).map(Answer::Choice)
            }
            Self::Many { options, .. } => {
                let marked: Result<Vec<usize>, _> =
                    form.all("choice").map(|choice| index(choice, options)).collect();
                let mut marked = marked?;
                marked.sort_unstable();
                marked.dedup();
                Ok(Answer::Many(marked))
            }
            Self::Line(line) => {
                let text = if line.values > 0 && form.one("line").is_none() {
                    line.put_together(form)
                } else {
                    form.one("line").ok_or(NONE)?.to_owned()
                };
                // As at a terminal: an empty line takes what is offered.
                let empty = text.trim().is_empty();
                Ok(Answer::Line(if empty { line.default.clone() } else { text }))
            }
        }
    }
}

/// What is said of an answer that is none.
const NONE: &str = "that is none of the answers to this question";

/// Stands in the place of a value that was not given, so that the others keep theirs; no value is read so.
const MISSING: &str = "?";

impl Line {
    /// The line that the fields of the values make; empty where nothing was given at all.
    fn put_together(&self, form: &Form) -> String {
        let value = |place: u8| {
            let state =
                form.one(&format!("s{place}")).filter(|word| self.states.iter().any(|s| s == word));
            let typed = form.one(&format!("v{place}")).unwrap_or_default();
            // A blank would make two values of one.
            let typed: String = typed.chars().filter(|c| !c.is_whitespace()).collect();
            state.map_or(typed, str::to_owned)
        };
        let values: Vec<String> = (1..=self.values).map(value).collect();
        if values.iter().all(String::is_empty) {
            return String::new();
        }
        let whole = values.iter().map(|v| if v.is_empty() { MISSING } else { v.as_str() });
        whole.collect::<Vec<_>>().join(" ")
    }

    /// The values that are in the line already, one for each place; what does not fit is left out.
    #[must_use]
    pub fn parts(&self) -> Vec<String> {
        let words = self.typed.split([' ', '\t', ';', '/', '|']).filter(|word| !word.is_empty());
        let mut parts: Vec<String> = words.map(|w| w.trim_end_matches(',').to_owned()).collect();
        parts.iter_mut().filter(|part| *part == MISSING).for_each(String::clear);
        parts.resize(usize::from(self.values), String::new());
        parts
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(text: &str) -> Form {
        Form::read(text.as_bytes()).expect("a form")
    }

    fn options() -> Vec<String> {
        ["a", "b", "c"].map(str::to_owned).to_vec()
    }

    #[test]
    fn one_option_is_taken_if_it_is_there() {
        let (question, options) = ("Which?".to_owned(), options());
        let asked = Question::Choose { question, options, start: 0, seats: None };
        assert_eq!(asked.answer(&form("choice=2")), Ok(Answer::Choice(2)));
        assert_eq!(asked.answer(&form("choice=2&back=1")), Ok(Answer::Back));
        for bad in ["", "choice=3", "choice=-1", "choice=", "choice=a", "line=a"] {
            assert_eq!(asked.answer(&form(bad)), Err(NONE), "{bad}");
        }
    }

    #[test]
    fn many_options_are_taken_in_order_and_once() {
        let asked = Question::Many { question: "Which?".to_owned(), options: options() };
        assert_eq!(asked.answer(&form("choice=2&choice=0&choice=2")), Ok(Answer::Many(vec![0, 2])));
        assert_eq!(asked.answer(&form("")), Ok(Answer::Many(Vec::new())));
        assert_eq!(asked.answer(&form("choice=0&choice=9")), Err(NONE));
    }

    #[test]
    fn a_line_is_taken_as_it_is_or_as_offered() {
        let line = Line { default: "3".to_owned(), ..Line::default() };
        let asked = Question::Line(line);
        assert_eq!(asked.answer(&form("line=+x+")), Ok(Answer::Line(" x ".to_owned())));
        assert_eq!(asked.answer(&form("line=+")), Ok(Answer::Line("3".to_owned())));
        assert_eq!(asked.answer(&form("choice=1")), Err(NONE));
    }

    #[test]
    fn values_keep_their_places() {
        let states = vec!["open".to_owned(), "stuck".to_owned()];
        let line = Line { values: 3, states, ..Line::default() };
        let asked = Question::Line(line.clone());
        for (given, taken) in [
            ("v1=512&v2=505,5&v3=498", "512 505,5 498"),
            ("v1=512&s2=open&v3=498", "512 open 498"),
            ("v1=512&v2=7&s2=open&v3=498", "512 open 498"),
            ("v1=5+12&v2=7&s2=broken&v3=1", "512 7 1"),
            ("v1=&v2=&v3=498", "? ? 498"),
            ("v1=&v2=&v3=", ""),
            ("line=1+2+3", "1 2 3"),
        ] {
            assert_eq!(asked.answer(&form(given)), Ok(Answer::Line(taken.to_owned())), "{given}");
        }
        let again = |typed: &str| Line { typed: typed.to_owned(), ..line.clone() }.parts();
        assert_eq!(again("512 open"), ["512", "open", ""]);
        assert_eq!(again("? 505,5, 498 7"), ["", "505,5", "498"]);
    }
}
