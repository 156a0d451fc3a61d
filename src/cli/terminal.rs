//! A person at a terminal, asked with prompts.
//!
//! The prompts put the terminal back when they end, however they end. Nothing here knows
//! what is asked about.

use std::io::{self, Write};

use inquire::ui::RenderConfig;
use inquire::{InquireError, MultiSelect, Select, Text};

use crate::session::{Asked, Asker, Line, Stop};

/// Options shown at once, so that question, options and help fit 24 lines.
const WINDOW: usize = 14;

/// The asker of a guided session on a terminal.
pub(super) struct Terminal {
    /// How prompts are drawn: without colour where none is wanted.
    config: RenderConfig<'static>,
}

impl Terminal {
    /// Draws in colour or not.
    pub(super) fn new(colour: bool) -> Self {
        let config = if colour { RenderConfig::default_colored() } else { RenderConfig::empty() };
        Self { config }
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
        let prompt = Text::new("more?").with_help_message("Enter goes on, Esc skips the rest");
        prompt.with_render_config(self.config).prompt().map(|_| ()).map_err(stop)
    }

    fn choose(&mut self, question: &str, options: &[String], start: usize) -> Asked<usize> {
        Select::new(question, options.to_vec())
            .with_starting_cursor(start.min(options.len().saturating_sub(1)))
            .with_page_size(WINDOW)
            .with_help_message("arrows move, letters search, Enter takes, Esc goes back")
            .with_render_config(self.config)
            .raw_prompt()
            .map(|chosen| chosen.index)
            .map_err(stop)
    }

    fn choose_many(&mut self, question: &str, options: &[String]) -> Asked<Vec<usize>> {
        MultiSelect::new(question, options.to_vec())
            .with_page_size(WINDOW)
            .with_help_message("space marks, letters search, Enter takes, Esc goes back")
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
        let mut prompt = Text::new(line.question).with_render_config(self.config);
        if !line.help.is_empty() {
            prompt = prompt.with_help_message(line.help);
        }
        if !line.default.is_empty() {
            prompt = prompt.with_default(line.default);
        }
        if !line.typed.is_empty() {
            prompt = prompt.with_initial_value(line.typed);
        }
        prompt.prompt().map_err(stop)
    }
}

/// Whether colour is wanted, by the same rules as everything else that is printed.
pub(super) fn colour() -> bool {
    anstream::AutoStream::choice(&io::stdout()) != anstream::ColorChoice::Never
}
