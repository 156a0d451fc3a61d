//! `oddpot` without a command: the guided session on a terminal, a word of help elsewhere.

use std::path::Path;

use serde_json::json;

use super::answer::Answer;
use super::context::{Context, quote};
use super::exit;
use super::failure::Failure;
use super::folder::Folder;
use super::memory;
use super::terminal::{Terminal, colour};
use super::texts;
use crate::session::{self, Medium, Purpose, Script, Settings};
use pages::report::{self, Style};

const WHAT_TO_TYPE: &str = "\
oddpot finds out why one cylinder reads a different temperature.

To see a whole job from complaint to job card:
  oddpot example
To start one of your own (also `--engine ID`; `oddpot knowledge list` has the ids):
  oddpot open JOB --cylinders 4
  oddpot temps JOB --at idle 652 590 655 648
  oddpot next JOB
All commands:
  oddpot --help
";

/// Lines of a usual terminal.
const ROWS: usize = 24;
/// Fewer are not reckoned with, nor more: on a taller screen the eye would have to search.
const SIZES: std::ops::RangeInclusive<usize> = 16..=48;

/// Runs the guided session where somebody can be asked or a script of answers was given.
///
/// # Errors
/// When the knowledge base, the store or the script cannot be read, or a scripted answer does not fit.
pub(super) fn run(context: &Context, answers: Option<&Path>) -> Result<Answer, Failure> {
    if answers.is_none() && !super::can_ask() {
        return Ok(Answer::new(
            WHAT_TO_TYPE,
            json!({"ok": true, "said": "no command given: see `oddpot --help`"}),
        ));
    }
    asked(context, answers, Purpose::Complaint)
}

/// Runs the guided session to commission an engine.
///
/// # Errors
/// As [`run`].
pub(super) fn commission(context: &Context, answers: Option<&Path>) -> Result<Answer, Failure> {
    asked(context, answers, Purpose::Commission)
}

fn asked(context: &Context, answers: Option<&Path>, purpose: Purpose) -> Result<Answer, Failure> {
    let knowledge = context.knowledge()?;
    let store = context.store()?;
    let mut shelf = Folder { context, store, memory: memory::used(context)? };
    let mut again = match &context.jobs {
        Some(folder) => format!("oddpot --jobs {}", quote(&folder.display().to_string())),
        None => "oddpot".to_owned(),
    };
    if purpose == Purpose::Commission {
        again.push_str(" commission");
    }
    let colour = answers.is_none() && colour();
    // What a script of answers shows hangs on nobody's window.
    let rows = terminal_size::terminal_size().filter(|_| answers.is_none());
    let rows =
        rows.map_or(ROWS, |(_, rows)| usize::from(rows.0)).clamp(*SIZES.start(), *SIZES.end());
    let now = || context.time();
    let settings = Settings {
        scale: context.scale(),
        scale_said: context.units.is_some(),
        width: context.width.min(100),
        height: Settings::height_of(rows),
        style: if colour { Style::Colour } else { Style::Plain },
        now: &now,
        local: &context.local,
        again: &again,
        purpose,
        medium: Medium::Terminal,
    };
    let (ended, transcript) = match answers {
        None => {
            let mut asker = Terminal::new(colour, settings.width);
            (session::run(&knowledge, &mut shelf, &mut asker, settings), String::new())
        }
        Some(path) => {
            let text = texts::answers(path)?;
            let mut script = Script::new(&text);
            let ended = session::run(&knowledge, &mut shelf, &mut script, settings);
            (ended, script.transcript().to_owned())
        }
    };
    // Jobs may have been closed, and opened again.
    let learned = memory::note_all(context).map_or_else(String::new, |said| format!(" {said}"));
    let said = report::wrap(&format!("{}{learned}", ended.said), settings.width).join("\n");
    let text = format!("{transcript}{said}\n");
    let mut answer = Answer::new(text, json!({"ok": ended.wrong.is_none(), "said": ended.said}));
    if let Some(wrong) = ended.wrong {
        // What was asked and kept up to there is shown all the same.
        answer.status = exit::USAGE;
        answer = answer.notes([format!("the answers do not fit: {wrong}")]);
    }
    Ok(answer)
}
