//! `oddpot cannot`: a test that cannot be done here, in this job or in any.

use serde_json::json;

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::{lacking, subject};
use facts::job::entry::What;
use facts::knowledge::CANNOT;

/// Say that a test cannot be done here: it is not advised again
///
/// For this job, or with --always for every job of this workshop. Without a test it lists what was said
/// before. The list of the workshop is a file beside the jobs: a line taken out of it is advised again.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot cannot van look-fit
  oddpot cannot van swap-injector --always
  oddpot cannot van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Test id; all that were said before if left out
    test: Option<String>,
    /// In no job of this workshop
    #[arg(long, requires = "test")]
    always: bool,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let Some(id) = &args.test else { return list(context, &args.job) };
    let mut work = context.work(&args.job)?;
    let test = subject::test(&work.knowledge, &work.timeline.engine, id)?;
    let test = work.knowledge.tests[test].clone();
    let name = test.name.trim_end_matches('.');
    if args.always {
        let path = lacking::add(context, &test.id)?;
        let said =
            format!("{name}: cannot be done in this workshop, and is not advised in any job");
        let document = json!({"ok": true, "said": said, "file": path.display().to_string()});
        return Ok(Answer::new(format!("{said}\nkept in {}\n", path.display()), document));
    }
    let typed = format!("found {} {CANNOT}", test.id);
    let said = format!("{name}: cannot be done here, and is not asked for again in this job");
    let outcome = CANNOT.to_owned();
    let what = What::Found { test: test.id, outcome, cylinder: None, partner: None };
    work.enter(typed, what, &said)
}

/// What was said before.
fn list(context: &Context, job: &str) -> Result<Answer, Failure> {
    let view = context.view(job)?;
    let tests = &view.knowledge.tests;
    let lines = view.timeline.barred.iter().map(|&index| {
        let always = view.knowledge.lacking.contains(&index);
        let for_what = if always { "in this workshop" } else { "in this job" };
        format!("{}: {}, {for_what}\n", tests[index].id, tests[index].name.trim_end_matches('.'))
    });
    let mut text: String = lines.collect();
    if text.is_empty() {
        "Every test can be done here, as far as was said.\n".clone_into(&mut text);
    }
    let all = view.timeline.barred.iter().map(
        |&index| json!({"id": tests[index].id, "always": view.knowledge.lacking.contains(&index)}),
    );
    let all: Vec<_> = all.collect();
    Ok(Answer::new(text, json!({"ok": true, "cannot": all})))
}
