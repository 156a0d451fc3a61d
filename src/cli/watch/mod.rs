//! `oddpot watch`: a log that is being written, followed while the engine runs.
//!
//! Here is the command; `follow` has what comes of each row, for this command and for the page in the hand,
//! `screen` how it looks on a terminal, `source` where rows come from.

mod follow;
mod screen;
mod source;

use std::path::Path;

use serde_json::json;

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use pages::report;

pub(super) use self::follow::{Follow, Followed, Outlet, Settled, Stands, Taken, enter};
pub(super) use self::screen::Printer;
pub(super) use self::source::{Manner, Opened, open, table};

/// Follow a log that is being written, and say STOP at once
///
/// SOURCE is the file that the logger writes, `-` for standard input, or `tcp:HOST:PORT`. Each row is held
/// against the builder's limit, the heat rules and the warning limits of the job; where a point was held and
/// the displays came to rest the reading set is shown with the line that enters it, or entered with `--take`.
/// Without a job only the set is shown. It goes on until Ctrl-C.
/// `oddpot serve --watch SOURCE --job JOB` shows the same on a page.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot watch run.csv --job van
  oddpot watch run.csv --job van --take --record stop.csv
  oddpot watch tcp:127.0.0.1:5000 --job van --at idle")]
pub(super) struct Args {
    /// The log; `-` for standard input, `tcp:HOST:PORT` for a connection
    source: String,
    /// Job whose engine runs: a name in the store or a path
    #[arg(long, value_name = "JOB")]
    job: Option<String>,
    /// Stop at the end of the file instead of waiting for more
    #[arg(long)]
    until_end: bool,
    #[command(flatten)]
    manner: Manner,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let followed =
        Followed { source: &args.source, job: args.job.as_deref(), manner: &args.manner };
    followed.check()?;
    let follow = Follow::new(context, followed, Printer::new(context, true))?;
    let Opened { rows, waits } = open(&args.source, args.until_end)?;
    if waits {
        let shown = Path::new(&args.source).display();
        let note = format!("note: {shown} is not there yet: it is waited for, Ctrl-C ends that\n");
        super::complain(&super::harmless::plain(&note));
    }
    let seen = follow.until_over(rows)?;
    let said = format!("{}\n", seen.said());
    let document =
        json!({"event": "end", "rows": seen.rows, "settled": seen.settled, "stops": seen.stops});
    Ok(Answer::new(said, document))
}

impl follow::Seen {
    /// What came of it, in a line.
    pub(super) fn said(&self) -> String {
        format!(
            "{}, {} settled, {}",
            report::words::count(self.rows, "row", "rows"),
            report::words::count(self.settled, "point", "points"),
            report::words::count(self.stops, "STOP", "times STOP"),
        )
    }
}
