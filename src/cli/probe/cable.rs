//! `oddpot probe cable`: colours of extension cable.

use serde::Serialize;

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
    let document = CableDocument {
        types: types.into_iter().map(TypeDocument::of).collect(),
        asked: sheath.map(SheathDocument::of),
    };
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

/// `probe cable`.
#[derive(Debug, Serialize)]
struct CableDocument {
    types: Vec<TypeDocument>,
    /// Where a colour was asked for.
    #[serde(flatten)]
    asked: Option<SheathDocument>,
}

#[derive(Debug, Serialize)]
struct SheathDocument {
    sheath: &'static str,
    may_be: Vec<MeaningDocument>,
}

#[derive(Debug, Serialize)]
struct MeaningDocument {
    code: &'static str,
    r#type: &'static str,
}

#[derive(Debug, Serialize)]
struct TypeDocument {
    r#type: &'static str,
    magnetic_leg: Option<&'static str>,
    cables: Vec<CodeDocument>,
}

/// Colours of a type by one code.
#[derive(Debug, Serialize)]
struct CodeDocument {
    code: &'static str,
    sheath: &'static str,
    positive: &'static str,
    negative: &'static str,
    seen_in_a_chart: bool,
    traps: Vec<TrapDocument>,
}

#[derive(Debug, Serialize)]
struct TrapDocument {
    id: &'static str,
    text: &'static str,
}

impl SheathDocument {
    fn of(sheath: Colour) -> Self {
        let meanings = colour::meanings(sheath);
        let may_be = meanings.iter().map(|(code, standard)| MeaningDocument {
            code: code.as_str(),
            r#type: standard.as_str(),
        });
        Self { sheath: sheath.as_str(), may_be: may_be.collect() }
    }
}

impl TypeDocument {
    fn of(standard: Standard) -> Self {
        let cables = Code::ALL.iter().map(|&code| CodeDocument::of(standard, code));
        Self {
            r#type: standard.as_str(),
            magnetic_leg: magnetic_leg(standard).map(Leg::as_str),
            cables: cables.collect(),
        }
    }
}

impl CodeDocument {
    fn of(standard: Standard, code: Code) -> Self {
        let cable = colour::cable(standard, code);
        let traps = colour::traps(standard, code);
        let traps = traps.iter().map(|&t| TrapDocument { id: t.as_str(), text: trap_words(t) });
        Self {
            code: code.as_str(),
            sheath: cable.sheath.as_str(),
            positive: cable.positive.as_str(),
            negative: cable.negative.as_str(),
            seen_in_a_chart: cable.seen,
            traps: traps.collect(),
        }
    }
}
