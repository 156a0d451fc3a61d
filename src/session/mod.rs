//! The guided session: asks its way from a complaint to a closed job.
//!
//! A loop of showing, asking and recording over an [`Asker`] and a [`Shelf`]. What is shown
//! comes from `diagnosis`, `plan` and `report`; what is recorded are plain journal entries, the
//! same as those of the commands, each kept at once. It must not judge, keep state that the
//! journal does not have, look at a clock, or print.

pub mod asker;
pub mod author;
mod balancing;
mod commissioning;
mod correcting;
mod describe;
mod desk;
mod drill;
mod entering;
mod filing;
mod finish;
mod fitting;
mod limiting;
mod menu;
mod opening;
mod overview;
mod parts;
mod readings;
pub mod script;
mod sheet;
pub mod shelf;
#[cfg(test)]
mod tests;
mod trial;
mod why;
mod work;

pub use asker::{Asked, Asker, Bench, Line, Seats, Stop};
pub use desk::{Medium, Purpose, Settings};
pub use drill::{DrillSettings, Drilled, drill};
pub use opening::name_for;
pub use script::Script;
pub use sheet::{marked, short};
pub use shelf::{FromFile, Logged, NotWritten, Notebook, Shelf, Spine};

use std::path::Path;

use self::desk::Desk;
use self::work::Work;
use facts::job::entry::Journal;
use facts::knowledge::Knowledge;

/// How a session ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ended {
    /// One or two sentences: what is kept, and how to go on.
    pub said: String,
    /// A script's answer did not fit.
    pub wrong: Option<String>,
}

/// Runs a session to its end.
///
/// It ends when the job is put away, when the mechanic leaves, or when there is nobody left to
/// ask; what has been entered is kept in every case.
pub fn run(
    knowledge: &Knowledge,
    shelf: &mut dyn Shelf,
    asker: &mut dyn Asker,
    settings: Settings<'_>,
) -> Ended {
    let again = settings.again;
    let mut desk = Desk { asker, knowledge, settings };
    loop {
        desk.asker.bench(None);
        let (name, fresh) = match opening::job(&mut desk, shelf) {
            Ok(found) => found,
            Err(Stop::Anew) => continue,
            Err(stop) => return ended(&stop, "no job was opened, nothing is kept"),
        };
        let job = match shelf.take(&name) {
            Ok(job) => job,
            Err(problem) => match without_holding(&mut desk, shelf, &name, &problem) {
                Ok(Some(job)) => job,
                Ok(None) | Err(Stop::Anew) => continue,
                Err(stop) => return ended(&stop, "no job was opened, nothing is kept"),
            },
        };
        // What the workshop remembers moves the figures of this job only, and so does its engine.
        let recalled = shelf.recall(knowledge, job.journal());
        let own = recalled.unwrap_or_else(|| knowledge.clone());
        let own = own.fitted_to(&job.journal().head.engine);
        let mut desk = Desk {
            asker: &mut *desk.asker,
            knowledge: &own,
            settings: of_the_job(settings, job.journal()),
        };
        let mut work = Work::new(&mut desk, shelf, job, name);
        let stop = match work.run(fresh) {
            Ok(()) => continue,
            Err(stop) => stop,
        };
        let kept = format!("the job `{}` is kept with {}", work.name, work.count());
        // What is kept in a file elsewhere is not among the jobs that the session offers.
        let go_on = if Path::new(&work.name).extension().is_some_and(|e| e == "ron") {
            "to go on give this path as the job of any command, or copy the file to the other jobs"
                .to_owned()
        } else if settings.medium == Medium::Page {
            "to go on choose it again".to_owned()
        } else {
            format!("to go on type `{again}`")
        };
        return ended(&stop, &format!("{kept}; {go_on}"));
    }
}

/// A job that cannot be taken, to look at if that is wanted and can be.
fn without_holding(
    desk: &mut Desk<'_>,
    shelf: &dyn Shelf,
    name: &str,
    problem: &str,
) -> Asked<Option<Box<dyn Notebook>>> {
    desk.refuse(&format!("the job `{name}` cannot be had: {problem}"))?;
    let Ok(job) = shelf.look(name) else { return Ok(None) };
    let look = [
        ("choose another job".to_owned(), false),
        ("look at this one; what is entered cannot be kept in it for now".to_owned(), true),
    ];
    Ok(asker::or_back(desk.pick("What now?", &look, 0))?.unwrap_or(false).then_some(job))
}

/// The scale of a job goes on with it, unless another was said.
fn of_the_job<'a>(settings: Settings<'a>, journal: &Journal) -> Settings<'a> {
    let own = journal.scale().filter(|_| !settings.scale_said);
    Settings { scale: own.unwrap_or(settings.scale), ..settings }
}

fn ended(stop: &Stop, kept: &str) -> Ended {
    let kept = pages::report::words::sentence(kept);
    match stop {
        Stop::Back | Stop::Leave | Stop::Anew => Ended { said: kept, wrong: None },
        Stop::Lost(why) => Ended { said: format!("Stopped: {why}. {kept}"), wrong: None },
        Stop::Wrong(why) => Ended { said: kept, wrong: Some(why.clone()) },
    }
}
