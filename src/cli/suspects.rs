//! `oddpot suspects`: the causes, ranked.

use super::answer::Answer;
use super::context::{Context, quote};
use super::failure::Failure;
use super::json;
use judge::diagnosis;
use pages::report;

/// Show the causes, most probable first
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot suspects van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let view = context.view(&args.job)?;
    let (knowledge, timeline) = (&view.knowledge, &view.timeline);
    let assessment = diagnosis::assess(knowledge, timeline);
    let scale = context.scale();
    let doc = if context.detail {
        let mut doc = report::suspects(knowledge, timeline, &assessment, (scale, &context.local));
        let moments = diagnosis::course(knowledge, timeline, &assessment);
        if let Some(course) = report::course(knowledge, timeline, &moments) {
            doc.blocks.push(report::Block::Figures(vec![course]));
        }
        doc
    } else {
        let local = &context.local;
        let known = report::Known { knowledge, timeline, assessment: &assessment, scale, local };
        let next = format!("What to do: `oddpot next {}`. {}", quote(&args.job), context.foot());
        report::suspects_at_a_glance(&known, report::LINES, &next)
    };
    let document = json::suspects(knowledge, timeline, &assessment);
    let document = json::with_stop(document, knowledge, timeline);
    Ok(Answer::new(context.page(&doc), document))
}
