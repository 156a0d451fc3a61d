//! `oddpot next`: the recommendation.

use super::ahead::ahead;
use super::answer::Answer;
use super::card::{Form, Format, put};
use super::context::{Context, quote};
use super::failure::Failure;
use super::json;
use crate::{diagnosis, plan, report};

/// Show what to do next and what each outcome would mean
///
/// With --sheet the next three steps are put on a sheet to print and take to the car: what to
/// do, what it takes, and room for what it shows. The first is the recommendation; each further
/// one is what most probably follows.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot next van
  oddpot next van --sheet --format pdf -o bench.pdf")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// The next three steps as a sheet for the bench
    #[arg(long)]
    sheet: bool,
    #[command(flatten)]
    form: Form,
}

/// Steps on the bench sheet.
const STEPS: usize = 3;

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let view = context.view(&args.job)?;
    let (knowledge, timeline) = (&view.knowledge, &view.timeline);
    if args.sheet {
        let ahead = ahead(&view, context.now, STEPS);
        return put(context, &report::bench(knowledge, &view.journal, &ahead), &args.form);
    }
    let diagnosis = diagnosis::diagnose(knowledge, timeline);
    let assessment = &diagnosis.assessment;
    let advice = plan::advise(&diagnosis);
    let job = quote(&args.job);
    let doc = report::next(knowledge, timeline, assessment, &advice, &job, context.scale);
    if args.form.format != Format::Text || args.form.output.is_some() {
        return put(context, &doc, &args.form);
    }
    Ok(Answer::new(context.page(&doc), json::advice(knowledge, &timeline.engine, &advice)))
}
