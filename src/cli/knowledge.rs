//! `oddpot knowledge`: what the program knows, and whether it is sound.

use std::fmt::Write;

use serde_json::json;

use super::answer::Answer;
use super::author;
use super::context::Context;
use super::draw;
use super::failure::Failure;
use super::harmless::plain;
use super::workshop::preset;
use facts::knowledge::finding::{any_error, render, to_json};
use facts::knowledge::{list, show};
use judge::testability::testability;
use pages::report;

/// Check, list or show what the program knows
#[derive(Debug, clap::Subcommand)]
#[command(after_long_help = "\
Examples:
  oddpot knowledge list
  oddpot knowledge show fit-shallow
  oddpot knowledge check --knowledge my-knowledge")]
pub(super) enum Args {
    /// Report everything that is wrong with the knowledge files, with file, line and column
    ///
    /// Exit status 1 when something is.
    #[command(
        after_long_help = "Examples:\n  oddpot knowledge check\n  oddpot knowledge check --knowledge my-knowledge"
    )]
    Check,
    /// List causes, tests, recent work and engines with their ids
    #[command(after_long_help = "Examples:\n  oddpot knowledge list")]
    List,
    /// Show a cause, a test or an engine
    #[command(after_long_help = "Examples:\n  oddpot knowledge show swap-probe")]
    Show {
        /// Its id
        id: String,
    },
    /// Say what can be told apart on an engine, which tests never pay, and what a new one is worth
    ///
    /// `oddpot knowledge testability --engine inline-six-diesel`
    Testability {
        /// Kind of engine [default: the first known]
        #[arg(long, value_name = "ID")]
        engine: Option<String>,
    },
    Draw(draw::Args),
    New(author::Args),
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    match args {
        Args::Check => return check(context),
        Args::Draw(args) => return draw::run(context, args),
        Args::New(args) => return author::run(context, args),
        Args::List | Args::Show { .. } | Args::Testability { .. } => {}
    }
    let knowledge = context.knowledge()?;
    match args {
        Args::Check | Args::List | Args::Draw(_) | Args::New(_) => {
            Ok(Answer::new(plain(&list::to_text(&knowledge)), list::document(&knowledge)))
        }
        Args::Show { id } => {
            Ok(Answer::new(plain(&show::to_text(&knowledge, id)?), show::document(&knowledge, id)?))
        }
        Args::Testability { engine } => {
            let preset = preset(&knowledge, engine.as_deref())?.or(knowledge.presets.first());
            let Some(preset) = preset else {
                return Err(Failure::usage("the knowledge base has no engine"));
            };
            let found = testability(&knowledge, &preset.engine);
            let doc = report::testability(&knowledge, &preset.name, &found);
            let document = serde_json::to_value(&found).unwrap_or_else(|_| json!({}));
            Ok(Answer::new(context.page(&doc), document))
        }
    }
}

fn check(context: &Context) -> Result<Answer, Failure> {
    let loaded = context.load()?;
    let sound = !any_error(&loaded.findings) && loaded.knowledge.is_some();
    let mut text = render(&loaded.findings, &loaded.files, true);
    if let Some(knowledge) = &loaded.knowledge {
        let _ = writeln!(
            text,
            "{} causes, {} tests, {} findings",
            knowledge.causes.len(),
            knowledge.tests.len(),
            loaded.findings.len()
        );
    }
    let document = json!({
        "ok": sound,
        "findings": to_json(&loaded.findings, &loaded.files),
    });
    Ok(Answer::new(text, document).yes_if(sound))
}
