//! `oddpot exchange`: two like items changed places.

use super::answer::Answer;
use super::context::{Context, Work};
use super::failure::Failure;
use super::took::Took;
use super::{items, named};
use facts::job::check;
use facts::job::entry::What;
use facts::knowledge::Item;
use measure::engine::Cylinder;

/// Enter that two like items changed places
///
/// For `lead-at-box` the places are displays, else cylinders. To put back, enter the same
/// exchange again.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot exchange van probe 2 3")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// What changed places
    #[arg(value_parser = named::<Item>(Item::NAMES))]
    item: Item,
    /// The one place
    a: Cylinder,
    /// The other
    b: Cylinder,
    #[command(flatten)]
    took: Took,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut work = context.work(&args.job)?;
    let &Args { item, a, b, .. } = args;
    let what = What::Exchange { item, a, b };
    check::entry(&work.timeline.engine, usize::MAX, &what)?;
    items::check_pair(&work.timeline.engine, item, a, b)?;
    let mut notes = Vec::new();
    if work.timeline.sets.is_empty() {
        notes.push(
            "no readings were entered before this exchange, so numbers after it tell less"
                .to_owned(),
        );
    }
    let said = format!("{} {a} and {b} exchanged", items::plural(item));
    let typed = format!("exchange {item} {a} {b}{}", args.took.typed());
    let answer = work.enter_timed(typed, what, &said, args.took.minutes)?;
    notes.push(whereabouts(&work));
    Ok(answer.notes(notes))
}

/// Where things are now, in a line.
pub(super) fn whereabouts(work: &Work) -> String {
    let displaced = work.timeline.arrangement.displaced();
    if displaced.is_empty() {
        return "everything is where it was when the job was opened".to_owned();
    }
    let list: Vec<String> = displaced
        .iter()
        .map(|(item, number, position)| format!("{item} {number} is at {position}"))
        .collect();
    format!("now {}", list.join(", "))
}
