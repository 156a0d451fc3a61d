//! `oddpot mend`: what can be saved of a damaged job file.

use std::path::{Path, PathBuf};

use serde_json::json;

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::output;
use facts::job::mend::{MendError, mend};
use facts::job::store;
use pages::report::words;

/// Save every entry that is whole in a damaged job file
///
/// Writes a new job beside it, `van-mended` for `van`, and says what is lost; the damaged file is kept as
/// it is.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot mend van")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Where to write, instead of beside it
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let path = context.path(&args.job)?;
    let bytes = store::raw(&path)?;
    let mended = mend(&bytes).map_err(|error| match error {
        MendError::Whole => Failure::usage(error.to_string()),
        MendError::Newer(_) => Failure::file(format!("{}: {error}", path.display())),
        MendError::Head(_) => Failure::file(format!("{}: {error}", path.display()))
            .hint("nothing can be saved by itself: look at the file, or take it from a backup"),
    })?;
    let to = args.output.clone().unwrap_or_else(|| beside(&path));
    output::folder(&to)?;
    store::create(&to, &mended.journal)?;
    let entries = mended.journal.entries.len();
    let count = words::count(entries, "entry", "entries");
    let mut text = format!(
        "saved {count} to {}\nthe damage begins in line {}: {}\n",
        to.display(),
        mended.line,
        mended.what
    );
    for lost in &mended.lost {
        text.push_str(lost);
        text.push('\n');
    }
    let document = json!({
        "ok": true,
        "file": to.display().to_string(),
        "entries": entries,
        "line": mended.line,
        "what": mended.what,
        "lost": mended.lost,
    });
    let kept = format!("{} was left as it is", path.display());
    Ok(Answer::new(text, document).notes([kept]))
}

fn beside(path: &Path) -> PathBuf {
    let stem = path.file_stem().map(|stem| stem.to_string_lossy()).unwrap_or_default();
    path.with_file_name(format!("{stem}-mended.ron"))
}
