//! `oddpot next`: the recommendation.

use super::answer::Answer;
use super::context::{Context, quote};
use super::failure::Failure;
use super::json;
use crate::{diagnosis, plan, report};

/// Show what to do next and what each outcome would mean
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let view = context.view(&args.job)?;
    let (knowledge, timeline) = (&view.knowledge, &view.timeline);
    let diagnosis = diagnosis::diagnose(knowledge, timeline);
    let assessment = &diagnosis.assessment;
    let advice = plan::advise(&diagnosis);
    let job = quote(&args.job);
    let doc = report::next(knowledge, timeline, assessment, &advice, &job, context.scale);
    Ok(Answer::new(context.page(&doc), json::advice(knowledge, &timeline.engine, &advice)))
}
