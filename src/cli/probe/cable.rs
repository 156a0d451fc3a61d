//! `oddpot probe cable`: colours of extension cable.

use serde_json::{Value, json};

use crate::cli::answer::Answer;
use crate::cli::context::Context;
use crate::cli::failure::Failure;
use crate::cli::named;
use measure::thermocouple::Standard;
use measure::thermocouple::colour::{self, Code, Colour, Leg, magnetic_leg};
use pages::report::probe::{cable, every_cable, meanings, trap_words};

/// Show extension cable colours, what a colour may mean, and the magnet check
///
/// `oddpot probe cable green` says what a green sheath may be, `oddpot probe cable --type K` what
/// colours type K has.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Args {
    /// Colour of the sheath, as green, purple or gray
    #[arg(conflicts_with = "standard")]
    colour: Option<String>,
    /// Type
    #[arg(long = "type", value_name = "TYPE", value_parser = named::<Standard>(Standard::NAMES))]
    standard: Option<Standard>,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let sheath = args.colour.as_deref().map(colour_of).transpose()?;
    let (doc, types) = match (sheath, args.standard) {
        (Some(sheath), _) => {
            let all = colour::meanings(sheath);
            let meant = |standard: &&Standard| all.iter().any(|(_, found)| found == *standard);
            (meanings(sheath), Standard::ALL.iter().filter(meant).copied().collect())
        }
        (None, Some(standard)) => (cable(standard), vec![standard]),
        (None, None) => (every_cable(), Standard::ALL.to_vec()),
    };
    let mut document = json!({"types": types.into_iter().map(kind).collect::<Vec<_>>()});
    if let Some(sheath) = sheath {
        let may_be = colour::meanings(sheath);
        let may_be = may_be
            .iter()
            .map(|(code, standard)| json!({"code": code.as_str(), "type": standard.as_str()}));
        document["sheath"] = json!(sheath.as_str());
        document["may_be"] = json!(may_be.collect::<Vec<_>>());
    }
    Ok(Answer::new(context.page(&doc), document))
}

/// A colour by its own name or the other one it goes by.
fn colour_of(typed: &str) -> Result<Colour, Failure> {
    let word = typed.trim().to_lowercase();
    let word = match word.as_str() {
        "purple" => "violet",
        "gray" => "grey",
        other => other,
    };
    word.parse().map_err(|_| {
        Failure::unknown("colour", typed, Colour::NAMES.iter().copied())
            .hint(format!("colours of cable: {}", Colour::NAMES.join(", ")))
    })
}

fn kind(standard: Standard) -> Value {
    let codes = Code::ALL.iter().map(|&code| {
        let cable = colour::cable(standard, code);
        let traps = colour::traps(standard, code);
        let traps = traps.iter().map(|&t| json!({"id": t.as_str(), "text": trap_words(t)}));
        json!({
            "code": code.as_str(),
            "sheath": cable.sheath.as_str(),
            "positive": cable.positive.as_str(),
            "negative": cable.negative.as_str(),
            "seen_in_a_chart": cable.seen,
            "traps": traps.collect::<Vec<_>>(),
        })
    });
    json!({
        "type": standard.as_str(),
        "magnetic_leg": magnetic_leg(standard).map(Leg::as_str),
        "cables": codes.collect::<Vec<_>>(),
    })
}
