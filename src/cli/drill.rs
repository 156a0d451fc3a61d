//! `oddpot drill`: a person plays the mechanic on a virtual engine.

use std::path::PathBuf;

use serde_json::json;

use super::answer::Answer;
use super::context::Context;
use super::exit;
use super::failure::Failure;
use super::terminal::{Terminal, colour};
use super::texts;
use super::workshop::preset;
use crate::session::{DrillSettings, Drilled, Script, Stop, drill};
use ::workshop::{Field, VirtualEngine, Wrong};
use pages::report::Style;

/// Play the mechanic on a virtual engine, then see what was best
///
/// `oddpot drill --seed 7`. The engine is one of the simulated workshop's, as `oddpot workshop` plays
/// them; the same seed is the same engine. Without a seed it is number 4, picked because the program is
/// neither at its best nor at its worst there: of the seeds 1 to 9 three cost it more beside a sensible
/// mechanic, five less. `--answers FILE` plays from a file, one answer a line.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot drill --seed 7
  oddpot drill --seed 3 --engine inline-four-diesel")]
pub(super) struct Args {
    /// Seed: another number, another engine
    #[arg(long, value_name = "N", default_value_t = 4)]
    seed: u64,
    /// Kind of engine [default: any that is known]
    #[arg(long, value_name = "ID")]
    engine: Option<String>,
    /// Answers, one a line, instead of a person at a terminal
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let knowledge = context.knowledge()?;
    let preset = preset(&knowledge, args.engine.as_deref())?;
    let field = Field::of(&knowledge, Wrong::Nothing, args.seed);
    let preset = preset.map(|preset| preset.id.as_str());
    let Some(job) = VirtualEngine::came_in(&field, preset, args.seed, 1) else {
        return Err(Failure::usage("the knowledge base has no engine to draw"));
    };
    let colour = args.answers.is_none() && colour();
    let settings = DrillSettings {
        scale: context.scale(),
        width: context.width.min(100),
        style: if colour { Style::Colour } else { Style::Plain },
    };
    let Some(path) = &args.answers else {
        if !super::can_ask() {
            return Err(Failure::usage("a drill asks what to do, and there is nobody to ask here")
                .hint("run it on a terminal, or give `--answers FILE`"));
        }
        let mut asker = Terminal::new(colour, settings.width);
        let drilled = drill(&field, &job, &mut asker, settings);
        return Ok(answered(String::new(), drilled));
    };
    let text = texts::answers(path)?;
    let mut script = Script::new(&text);
    let drilled = drill(&field, &job, &mut script, settings);
    Ok(answered(script.transcript().to_owned(), drilled))
}

fn answered(transcript: String, drilled: Result<Drilled, Stop>) -> Answer {
    match drilled {
        Ok(drilled) => {
            let others = drilled.others.iter().map(|(policy, total)| (policy.to_string(), *total));
            let others: serde_json::Map<_, _> =
                others.map(|(policy, total)| (policy, json!(total))).collect();
            let document = json!({
                "steps": drilled.steps.len(), "told": drilled.told, "total": drilled.total, "proven": drilled.proven,
                "others": others,
            });
            Answer::new(transcript, document)
        }
        Err(Stop::Back | Stop::Leave | Stop::Anew) => {
            let said = "Left; nothing is kept of a drill.\n";
            Answer::new(format!("{transcript}{said}"), json!({"ok": true, "said": said.trim()}))
        }
        Err(Stop::Lost(why) | Stop::Wrong(why)) => {
            let mut answer = Answer::new(transcript, json!({"ok": false, "said": why}));
            answer.status = exit::USAGE;
            answer.notes([format!("the drill stopped: {why}")])
        }
    }
}
