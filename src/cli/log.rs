//! `oddpot log`: what a data log shows.

mod document;

use std::path::PathBuf;

use super::answer::Answer;
use super::card::{Form, Format, put};
use super::context::Context;
use super::failure::Failure;
use super::log_args::{self, LogArgs};
use document::LogDocument;
use pages::report;

/// Show what a data log of the displays holds
///
/// FILE is a CSV file of any logger; how it is written is detected and shown with the option that
/// says otherwise. Where nothing has settled it says how long to wait, and why. Nothing is
/// entered: `oddpot temps JOB --from FILE` does that.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot log run.csv
  oddpot log run.csv --window 2
  oddpot log run.csv --format html -o run.html")]
pub(super) struct Args {
    /// The log; `-` for standard input
    file: PathBuf,
    /// Windows whose displays are listed, up to three
    #[arg(long, value_name = "N", value_delimiter = ',')]
    window: Vec<usize>,
    /// Of head and exhaust probes take the former
    #[arg(long)]
    head: bool,
    #[command(flatten)]
    log: LogArgs,
    #[command(flatten)]
    form: Form,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    if let Some(output) = args.form.output() {
        super::output::not_itself(&args.file, output)?;
    }
    let options = args.log.options(args.head)?;
    let log = log_args::read(&args.file, &options)?;
    let file = log_args::name(&args.file);
    let page = report::LogPage {
        file: &file,
        path: &args.file.display().to_string(),
        log: &log,
        rule: &options.rule,
        chosen: &args.window,
        scale: context.scale(),
        width: context.width,
        picture: matches!(args.form.format()?, Format::Html | Format::Pdf),
    };
    let doc = report::log(&page);
    if !args.form.is_plain() {
        return put(context, &doc, &args.form);
    }
    Ok(Answer::new(context.page(&doc), LogDocument::of(&file, &log, &options)))
}
