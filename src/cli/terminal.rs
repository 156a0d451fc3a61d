//! A person at a terminal, asked with prompts.
//!
//! The prompts put the terminal back when they end, however they end. Nothing here knows
//! what is asked about.

use std::io::{self, Write};

use inquire::list_option::ListOption;
use inquire::ui::{RenderConfig, Styled};
use inquire::{InquireError, MultiSelect, Select};

use super::line_prompt::{self, Ended};
use crate::session::{Asked, Asker, Line, Stop, marked, short};

/// Options shown at once, so that question, options and help fit 24 lines.
const WINDOW: usize = 14;

/// The asker of a guided session on a terminal.
pub(super) struct Terminal {
    /// How prompts are drawn: without colour where none is wanted.
    config: RenderConfig<'static>,
    /// Whether prompts have colour.
    colour: bool,
    /// Cells in a line.
    width: usize,
    /// Lines that the next list may take.
    room: Option<usize>,
}

impl Terminal {
    /// Draws in colour or not, in lines of so many cells.
    pub(super) fn new(colour: bool, width: usize) -> Self {
        let config = if colour { RenderConfig::default_colored() } else { RenderConfig::empty() };
        let config = config.with_canceled_prompt_indicator(Styled::new("(back)"));
        Self { config, colour, width, room: None }
    }
}

impl Terminal {
    /// Options of a list that are shown at once; its question and its help take a line each.
    fn window(&mut self) -> usize {
        self.room.take().map_or(WINDOW, |lines| lines.saturating_sub(2).clamp(1, WINDOW))
    }

    fn room_behind(&self, question: &str) -> usize {
        self.width.saturating_sub(question.chars().count() + 4)
    }
}

fn stop(error: InquireError) -> Stop {
    match error {
        InquireError::OperationCanceled => Stop::Back,
        InquireError::OperationInterrupted => Stop::Leave,
        other => Stop::Lost(format!("the terminal is gone ({other})")),
    }
}

impl Asker for Terminal {
    fn say(&mut self, text: &str) -> Asked<()> {
        let mut out = anstream::stdout().lock();
        out.write_all(text.as_bytes())
            .and_then(|()| out.flush())
            .map_err(|error| Stop::Lost(format!("the terminal is gone ({error})")))
    }

    fn more(&mut self) -> Asked<()> {
        let help = "Enter goes on";
        match self.line(Line { question: "more?", help, ..Line::default() }) {
            // Whichever key a hand is on: the next page, and never out of the menu below it.
            Ok(_) | Err(Stop::Back) => Ok(()),
            Err(stop) => Err(stop),
        }
    }

    fn room(&mut self, lines: usize) {
        self.room = Some(lines);
    }

    fn choose(&mut self, question: &str, options: &[String], start: usize) -> Asked<usize> {
        let window = self.window();
        // What was taken stands behind the question; a line that is full would wrap in a word.
        let room = self.room_behind(question);
        let taken = |option: ListOption<&String>| short(option.value, room);
        Select::new(question, options.to_vec())
            .with_starting_cursor(start.min(options.len().saturating_sub(1)))
            .with_page_size(window)
            .with_scorer(&by_words)
            .with_help_message("arrows move, letters search, Enter takes, Esc goes back")
            .with_formatter(&taken)
            .with_render_config(self.config)
            .raw_prompt()
            .map(|chosen| chosen.index)
            .map_err(stop)
    }

    fn choose_many(&mut self, question: &str, options: &[String]) -> Asked<Vec<usize>> {
        let room = self.room_behind(question);
        let taken = |options: &[ListOption<&String>]| {
            let names: Vec<&str> = options.iter().map(|option| option.value.as_str()).collect();
            marked(&names, room)
        };
        MultiSelect::new(question, options.to_vec())
            .with_page_size(WINDOW)
            .with_scorer(&by_words)
            .with_help_message("space marks, letters search, Enter takes, Esc goes back")
            .with_formatter(&taken)
            .with_render_config(self.config)
            .raw_prompt()
            .map(|chosen| {
                let mut list: Vec<usize> = chosen.into_iter().map(|c| c.index).collect();
                list.sort_unstable();
                list
            })
            .map_err(stop)
    }

    fn line(&mut self, line: Line<'_>) -> Asked<String> {
        match line_prompt::ask(line, self.colour) {
            Ok(Ended::Taken(text)) => Ok(text),
            Ok(Ended::Back) => Err(Stop::Back),
            Ok(Ended::Left) => Err(Stop::Leave),
            Err(error) => Err(Stop::Lost(format!("the terminal is gone ({error})"))),
        }
    }
}

/// Options that have every word that is typed, in whatever order, as they stand: `inline four` finds "Four in line".
fn by_words(typed: &str, _: &String, option: &str, index: usize) -> Option<i64> {
    let plain = |text: &str| -> String {
        text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
    };
    let option = plain(option);
    let mut words = typed.split(|c: char| !c.is_alphanumeric());
    let place = i64::try_from(index).unwrap_or(i64::MAX);
    words.all(|word| option.contains(&plain(word))).then_some(-place)
}

/// Whether colour is wanted, by the same rules as everything else that is printed.
pub(super) fn colour() -> bool {
    anstream::AutoStream::choice(&io::stdout()) != anstream::ColorChoice::Never
}
