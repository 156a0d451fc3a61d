//! Answers from a text instead of a person, and the transcript they make.
//!
//! A line is an answer: for a choice its text or an unmistakable part of it, for several
//! choices such parts with ` + ` between, for a line of text that line. An empty line takes
//! what is offered, `<esc>` goes a step back, `<ctrl-c>` leaves, `#` begins a remark.

use std::collections::{BTreeSet, VecDeque};

use super::asker::{Asked, Asker, Line, Stop};
use super::sheet::{marked, short};

/// Options that a transcript shows at once, as a terminal of 24 lines would.
const WINDOW: usize = 14;

/// Cells of that terminal in a line.
const WIDTH: usize = 80;

/// A script with the transcript so far.
#[derive(Debug, Clone, Default)]
pub struct Script {
    /// Number of the line and its text.
    answers: VecDeque<(usize, String)>,
    transcript: String,
    /// Lists that were shown; they are not repeated.
    seen: BTreeSet<String>,
}

impl Script {
    /// Reads a script.
    #[must_use]
    pub fn new(text: &str) -> Self {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let answers = (1..)
            .zip(text.lines())
            .filter(|(_, line)| !line.starts_with('#'))
            .map(|(number, line)| (number, line.trim().to_owned()))
            .collect();
        Self { answers, ..Self::default() }
    }

    /// What was asked, answered and said.
    #[must_use]
    pub fn transcript(&self) -> &str {
        &self.transcript
    }

    /// How many answers are left.
    #[must_use]
    pub fn left(&self) -> usize {
        self.answers.len()
    }

    fn answer(&mut self, question: &str) -> Asked<(usize, String)> {
        let Some((number, answer)) = self.answers.pop_front() else {
            return Err(Stop::Lost(format!("the answers end before \"{question}\"")));
        };
        match answer.as_str() {
            "<esc>" => {
                self.echo(question, "(back)");
                Err(Stop::Back)
            }
            "<ctrl-c>" => {
                self.echo(question, "<Ctrl-C>");
                Err(Stop::Leave)
            }
            _ => Ok((number, answer)),
        }
    }

    fn echo(&mut self, question: &str, answer: &str) {
        let line = format!("? {question} {answer}");
        self.transcript.push_str(line.trim_end());
        self.transcript.push('\n');
    }

    /// Shows a list with what was taken the first time it comes up; false when it was shown.
    fn list(&mut self, question: &str, options: &[String], chosen: &[usize]) -> bool {
        let key = format!("{question}\n{}", options.join("\n"));
        if !self.seen.insert(key) {
            return false;
        }
        let mut shown = vec![format!("? {question}")];
        let first = chosen.first().copied().unwrap_or(0);
        let start = (first + 1).saturating_sub(WINDOW);
        for (index, option) in options.iter().enumerate().skip(start).take(WINDOW) {
            let mark = if chosen.contains(&index) { '>' } else { ' ' };
            shown.push(format!("{mark} {option}"));
        }
        let hidden = options.len().saturating_sub(WINDOW);
        if hidden > 0 {
            shown.push(format!("  ... {hidden} more; type to search"));
        }
        self.transcript.push_str(&shown.join("\n"));
        self.transcript.push('\n');
        true
    }
}

/// The option meant: the same text, else the only one that begins with or has it.
fn find(options: &[String], answer: &str) -> Result<usize, String> {
    let wanted = answer.to_lowercase();
    let low: Vec<String> = options.iter().map(|o| o.to_lowercase()).collect();
    let tries: [&dyn Fn(&str) -> bool; 3] =
        [&|o| o == wanted, &|o| o.starts_with(&wanted), &|o| o.contains(&wanted)];
    for fits in tries {
        let found: Vec<usize> = (0..low.len()).filter(|&i| fits(&low[i])).collect();
        match found.as_slice() {
            [] => {}
            [one] => return Ok(*one),
            [..] => {
                let names: Vec<&str> = found.iter().map(|&i| options[i].as_str()).collect();
                return Err(format!("`{answer}` could be any of: {}", names.join("; ")));
            }
        }
    }
    Err(format!("`{answer}` is none of: {}", options.join("; ")))
}

impl Asker for Script {
    fn say(&mut self, text: &str) -> Asked<()> {
        self.transcript.push_str(text);
        Ok(())
    }

    fn more(&mut self) -> Asked<()> {
        self.transcript.push_str("-- more? (enter) --\n");
        Ok(())
    }

    fn choose(&mut self, question: &str, options: &[String], start: usize) -> Asked<usize> {
        let (number, answer) = self.answer(question)?;
        let index = if answer.is_empty() {
            start
        } else {
            let wrong = |error| Stop::Wrong(format!("line {number}, \"{question}\": {error}"));
            find(options, &answer).map_err(wrong)?
        };
        if self.list(question, options, &[index]) {
            return Ok(index);
        }
        let room = WIDTH.saturating_sub(question.chars().count() + 4);
        let chosen = short(options.get(index).map_or("", String::as_str), room);
        self.echo(question, &chosen);
        Ok(index)
    }

    fn choose_many(&mut self, question: &str, options: &[String]) -> Asked<Vec<usize>> {
        let (number, answer) = self.answer(question)?;
        let mut chosen = BTreeSet::new();
        for part in answer.split(" + ").filter(|part| !part.is_empty()) {
            let wrong = |error| Stop::Wrong(format!("line {number}, \"{question}\": {error}"));
            chosen.insert(find(options, part).map_err(wrong)?);
        }
        let chosen: Vec<usize> = chosen.into_iter().collect();
        if self.list(question, options, &chosen) {
            return Ok(chosen);
        }
        let room = WIDTH.saturating_sub(question.chars().count() + 4);
        let names: Vec<&str> =
            chosen.iter().filter_map(|&i| options.get(i)).map(String::as_str).collect();
        let said = marked(&names, room);
        self.echo(question, &said);
        Ok(chosen)
    }

    fn line(&mut self, line: Line<'_>) -> Asked<String> {
        let (_, answer) = self.answer(line.question)?;
        let answer = if answer.is_empty() { line.default.to_owned() } else { answer };
        self.echo(line.question, &answer);
        Ok(answer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_option_is_found_by_an_unmistakable_part() {
        let options = ["Take readings", "Undo", "Undo all"].map(str::to_owned);
        assert_eq!(find(&options, "undo"), Ok(1));
        assert_eq!(find(&options, "take"), Ok(0));
        assert_eq!(find(&options, "readings"), Ok(0));
        assert!(find(&options, "u").expect_err("two").contains("Undo all"));
        assert!(find(&options, "close").expect_err("none").contains("none of"));
    }

    #[test]
    fn words_in_brackets_are_keys() {
        let mut script = Script::new("# remark\n<esc>\n<ctrl-c>\n\nnine");
        let options = ["a".to_owned(), "b".to_owned()];
        assert_eq!(script.choose("q", &options, 1), Err(Stop::Back));
        assert_eq!(script.choose("q", &options, 1), Err(Stop::Leave));
        assert_eq!(script.choose("q", &options, 1), Ok(1));
        assert!(matches!(script.choose("q", &options, 1), Err(Stop::Wrong(_))));
        assert!(matches!(script.choose("q", &options, 1), Err(Stop::Lost(_))));
    }
}
