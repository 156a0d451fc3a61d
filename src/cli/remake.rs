//! `oddpot remake`: an item was re-seated, or replaced by a known good one.

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::took::Took;
use super::{items, named};
use facts::job::check;
use facts::job::entry::What;
use facts::knowledge::Item;
use measure::engine::Cylinder;

/// Enter that an item was re-seated, or replaced by a good one
///
/// `lead-at-box N --new` is a spare channel for display N, `lead-at-probe N --new` a jumper
/// lead in place of the lead at cylinder N.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot remake van probe 2
  oddpot remake van plug 3 --new")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// What was remade
    #[arg(value_parser = named::<Item>(Item::NAMES))]
    item: Item,
    /// Where: a cylinder, for `lead-at-box` a display
    #[arg(value_name = "N")]
    cylinder: Cylinder,
    /// Replaced by a known good one
    #[arg(long)]
    new: bool,
    #[command(flatten)]
    took: Took,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut work = context.work(&args.job)?;
    let &Args { item, cylinder, new, .. } = args;
    let what = What::Remake { item, cylinder, new };
    check::entry(&work.timeline.engine, usize::MAX, &what)?;
    items::check(&work.timeline.engine, item)?;
    let flag = if new { " --new" } else { "" };
    let done = match (item, new) {
        (Item::LeadAtBox, true) => format!("display {cylinder} given a spare channel"),
        (Item::LeadAtProbe, true) => {
            format!("jumper lead run from the probe of cylinder {cylinder}")
        }
        (_, true) => format!("{} {cylinder} replaced by a known good one", items::singular(item)),
        (_, false) => format!("{} {cylinder} re-seated", items::singular(item)),
    };
    let typed = format!("remake {item} {cylinder}{flag}{}", args.took.typed());
    work.enter_timed(typed, what, &done, args.took.minutes)
}
