//! `oddpot jobs`: what is in the store.

use serde::Serialize;

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use facts::job::store;
use facts::job::timeline::{Closing, Standing};
use pages::report::{self, JobAbout, JobLine};

pub(super) fn run(context: &Context) -> Result<Answer, Failure> {
    let listed = store::scan(&context.store()?)?;
    let lines: Vec<JobLine> = listed
        .into_iter()
        .map(|item| JobLine {
            name: item.name,
            about: item
                .job
                .map(|brief| JobAbout {
                    opened: brief.opened,
                    vehicle: brief.vehicle,
                    complaint: brief.complaint,
                    entries: brief.entries,
                    standing: brief.standing,
                })
                .map_err(|error| error.to_string()),
        })
        .collect();
    let document = JobsDocument { jobs: lines.iter().map(JobDocument::of).collect() };
    Ok(Answer::new(context.page(&report::jobs(&lines, &context.local)), document))
}

/// `jobs`.
#[derive(Debug, Serialize)]
struct JobsDocument<'a> {
    jobs: Vec<JobDocument<'a>>,
}

/// A job of the store, or why it could not be read.
#[derive(Debug, Serialize)]
#[serde(untagged)]
enum JobDocument<'a> {
    Read {
        name: &'a str,
        opened: String,
        vehicle: &'a str,
        complaint: &'a str,
        entries: usize,
        closed: bool,
        proven: bool,
    },
    Unreadable {
        name: &'a str,
        problem: &'a str,
    },
}

impl<'a> JobDocument<'a> {
    fn of(line: &'a JobLine) -> Self {
        let name = &line.name;
        match &line.about {
            Ok(about) => Self::Read {
                name,
                opened: about.opened.to_string(),
                vehicle: &about.vehicle,
                complaint: &about.complaint,
                entries: about.entries,
                closed: matches!(about.standing, Standing::Closed(_)),
                proven: about.standing == Standing::Closed(Closing::Proven),
            },
            Err(problem) => Self::Unreadable { name, problem },
        }
    }
}
