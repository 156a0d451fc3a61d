//! A log that a page sends: read as `oddpot log` reads a file, and entered as `oddpot temps --from` enters it.
//!
//! It is read where it lies in memory and kept nowhere. The name that it had is a word in the journal.

use facts::knowledge::Points;
use std::path::PathBuf;

use super::app::{App, no_job};
use super::shelf::named;
use crate::cli::answer::Answer;
use crate::cli::context::Context;
use crate::cli::failure::Failure;
use crate::cli::from_log::{self, Asked};
use crate::cli::log_args::{self, LogArgs};
use crate::serve::keys::Device;
use crate::serve::page::log::{Found, page};
use crate::serve::{Reply, upload};
use measure::engine::{PointId, ProbeSite};
use measure::readings::log::{self, Log, Options};
use pages::report;

/// Characters of a line of what is shown.
const WIDTH: usize = 80;

impl App {
    /// Running points that there are.
    fn points(&self) -> Points {
        let knowledge = self.basis.context().knowledge();
        knowledge.map_or_else(|_| Points::built_in().clone(), |knowledge| knowledge.points)
    }

    /// The page to take in a log for the job on the bench.
    pub(super) fn log_page(&self, device: &Device) -> Reply {
        match self.table(device).and_then(|table| table.bench()) {
            Some(_) => Reply::page(200, page(&Found::default(), &self.points())),
            None => no_job(),
        }
    }

    /// Reads a log; enters what has settled in it, or shows what it holds.
    pub(super) fn take_log(&self, device: &Device, kind: &str, body: &[u8]) -> Reply {
        let Some(bench) = self.table(device).and_then(|table| table.bench()) else {
            return no_job();
        };
        let found = named(&bench.name, &self.basis.store())
            .map_err(Failure::usage)
            .and_then(|_| taken(&self.basis.context(), &bench.name, kind, body));
        match found {
            Ok(found) => Reply::page(200, page(&found, &self.points())),
            Err(failure) => {
                let wrong = failure.lines();
                Reply::page(400, page(&Found { wrong, ..Found::default() }, &self.points()))
            }
        }
    }
}

fn taken(context: &Context, job: &str, kind: &str, body: &[u8]) -> Result<Found, Failure> {
    let text =
        |name| upload::part(kind, body, name).and_then(|text| std::str::from_utf8(text).ok());
    let bytes = upload::part(kind, body, "log").filter(|bytes| !bytes.is_empty());
    let bytes = bytes.ok_or_else(|| Failure::usage("no log came: choose one first"))?;
    let name = upload::file_name(kind, body, "log").unwrap_or_else(|| "log.csv".to_owned());
    let file = PathBuf::from(&name);
    let read = |options: &Options| -> Result<Log, Failure> {
        log::read(bytes, options, &mut |_| {}).map_err(|error| log_args::failure(&file, &error))
    };
    let args = LogArgs::default();
    if text("do") == Some("show") {
        let view = context.view(job)?;
        let options = args.options(view.timeline.engine.probes == ProbeSite::Head)?;
        let log = read(&options)?;
        let page = report::LogPage {
            file: &name,
            path: &name,
            log: &log,
            rule: &options.rule,
            chosen: &[],
            scale: context.scale(),
            width: WIDTH,
            picture: true,
        };
        return Ok(Found { shown: report::log(&page).blocks, ..Found::default() });
    }
    let at = text("at").filter(|at| !at.is_empty());
    let at = at.map(str::parse::<PointId>).transpose();
    let at = at.map_err(|error| Failure::usage(error.to_string()))?;
    let asked = Asked { job, file: &file, log: &args, windows: &[], at, head: false };
    let Answer { text, notes, .. } = from_log::run_of(context, &asked, &read)?;
    let entered = text.lines().map(str::to_owned).collect();
    Ok(Found { entered, notes, ..Found::default() })
}
