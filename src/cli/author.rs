//! `oddpot knowledge new`: knowledge of one's own, asked for and written into the overlay.

use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

use ron::extensions::Extensions;
use serde_json::json;

use super::answer::Answer;
use super::context::{Context, quote};
use super::exit;
use super::failure::Failure;
use super::folder::make_folder;
use super::named;
use super::terminal::{Terminal, colour};
use super::texts;
use crate::session::author::{New, Shelves, Written, author};
use crate::session::{Asked, Medium, Purpose, Script, Settings, Stop};
use facts::knowledge::SourceText;
use facts::knowledge::file::SetupsFile;
use facts::knowledge::finding::{any_error, render, to_json};
use facts::knowledge::sources::Role;
use pages::report::Style;

/// Write a cause, a test or an engine of your own, question by question
///
/// The answers become a commented file in the folder of --knowledge, and the whole is checked.
/// Nothing that is there is overwritten. Without a terminal the answers come from --answers or from
/// standard input, one a line, as for the session.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot knowledge new cause --knowledge mine
  oddpot knowledge new test --knowledge mine --answers draught.txt")]
pub(super) struct Args {
    /// What to write
    #[arg(value_parser = named::<New>(New::NAMES))]
    new: New,
    /// Answers, one a line, instead of a person at a terminal
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
}

/// Lines of a usual terminal that are left for text when a prompt stands below it.
const HEIGHT: usize = 20;

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let Some(overlay) = &context.overlay else {
        return Err(Failure::usage("no folder was given to write it to").hint(format!(
            "say which, as `oddpot knowledge new {} --knowledge mine`; it is made if it is not there",
            args.new
        )));
    };
    let answers = answers(args)?;
    make_folder(overlay).map_err(Failure::file)?;
    let loaded = context.load()?;
    let knowledge = context.knowledge()?;
    let parts = parts(&loaded.files);
    let shelves = Shelves { parts: &parts };
    let now = || context.now;
    let colour = answers.is_none() && colour();
    let settings = Settings {
        scale: context.scale(),
        scale_said: context.units.is_some(),
        width: context.width.min(100),
        height: HEIGHT,
        style: if colour { Style::Colour } else { Style::Plain },
        now: &now,
        local: &context.local,
        again: "oddpot knowledge new",
        purpose: Purpose::Complaint,
        medium: Medium::Terminal,
    };
    let mut transcript = String::new();
    let written = match &answers {
        None => {
            let mut asker = Terminal::new(colour, settings.width);
            author(&knowledge, args.new, shelves, &mut asker, settings)
        }
        Some(text) => {
            let mut script = Script::new(text);
            let written = author(&knowledge, args.new, shelves, &mut script, settings);
            script.transcript().clone_into(&mut transcript);
            written
        }
    };
    finish(context, args.new, overlay, written, transcript)
}

/// The answers where nobody is asked.
fn answers(args: &Args) -> Result<Option<String>, Failure> {
    if let Some(path) = &args.answers {
        return texts::answers(path).map(Some);
    }
    if super::can_ask() {
        return Ok(None);
    }
    if io::stdin().is_terminal() {
        return Err(Failure::usage("what is asked cannot be seen: the output is no terminal")
            .hint("give the answers with --answers FILE, or let the output go to the terminal"));
    }
    let text = texts::bounded(io::stdin(), texts::LARGEST);
    text.map(Some).map_err(|error| texts::no_answers("standard input", &error))
}

/// Classes of parts of the files, the last word of each class.
fn parts(files: &[SourceText]) -> Vec<(String, f64)> {
    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    let mut parts: Vec<(String, f64)> = Vec::new();
    for file in files.iter().filter(|file| file.role() == Some(Role::Setups)) {
        // What is wrong with a file, the check has said.
        let Ok(setups) = options.from_str::<SetupsFile<'_>>(file.text()) else { continue };
        for (class, worth, _) in setups.parts {
            match parts.iter_mut().find(|(known, _)| known == class) {
                Some(known) => known.1 = worth,
                None => parts.push((class.to_owned(), worth)),
            }
        }
    }
    parts
}

/// Where it goes: a file of its own, since nothing is overwritten.
fn place(overlay: &Path, new: New, id: &str) -> PathBuf {
    match new {
        New::Cause => overlay.join("causes").join(format!("{id}.ron")),
        New::Test => overlay.join("tests").join(format!("{id}.ron")),
        New::Engine => {
            let usual = overlay.join("engines.ron");
            if usual.exists() { overlay.join(id).join("engines.ron") } else { usual }
        }
    }
}

fn finish(
    context: &Context,
    new: New,
    overlay: &Path,
    written: Asked<Written>,
    transcript: String,
) -> Result<Answer, Failure> {
    let written = match written {
        Ok(written) => written,
        Err(stop) => {
            let (said, status) = match stop {
                Stop::Back | Stop::Leave | Stop::Anew => {
                    ("nothing was written".to_owned(), exit::DONE)
                }
                Stop::Lost(why) | Stop::Wrong(why) => {
                    (format!("nothing was written: {why}"), exit::USAGE)
                }
            };
            let document = json!({"ok": status == exit::DONE, "said": said});
            let mut answer = Answer::new(transcript, document);
            answer.status = status;
            return Ok(answer.notes([said]));
        }
    };
    let path = place(overlay, new, &written.id);
    if let Some(folder) = path.parent() {
        make_folder(folder).map_err(Failure::file)?;
    }
    super::output::write(&path, written.text.as_bytes(), false)?;
    let loaded = context.load()?;
    let sound = !any_error(&loaded.findings) && loaded.knowledge.is_some();
    let findings = render(&loaded.findings, &loaded.files, true);
    let (id, dir) = (&written.id, quote(&overlay.display().to_string()));
    let mut text = format!("{transcript}\nwrote {}\n", path.display());
    text.push_str(&findings);
    if sound {
        let use_it = match new {
            New::Engine => {
                format!("use it:      oddpot open JOB --engine {id} --knowledge {dir}\n")
            }
            New::Cause => format!(
                "let a test speak to it: oddpot knowledge new test --knowledge {dir}\n\
                 use it:      add `--knowledge {dir}` to any command\n"
            ),
            New::Test => format!("use it:      add `--knowledge {dir}` to any command\n"),
        };
        text = format!(
            "{text}It is sound.\nlook at it:  oddpot knowledge show {id} --knowledge {dir}\n{use_it}"
        );
    } else {
        text = format!(
            "{text}Put it right with a text editor, then: oddpot knowledge check --knowledge {dir}\n"
        );
    }
    let document = json!({
        "ok": sound,
        "id": id,
        "file": path.display().to_string(),
        "findings": to_json(&loaded.findings, &loaded.files),
    });
    Ok(Answer::new(text, document).yes_if(sound))
}
