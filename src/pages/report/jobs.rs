//! The table of jobs.

use jiff::Timestamp;

use facts::job::timeline::Standing;

use super::doc::{Align, Doc, Table};
use super::{LocalTime, terms};

/// One job of a store.
#[derive(Debug, Clone, PartialEq)]
pub struct JobLine {
    /// Name as it is typed.
    pub name: String,
    /// What it is about, or why it could not be read.
    pub about: Result<JobAbout, String>,
}

/// What a job is about.
#[derive(Debug, Clone, PartialEq)]
pub struct JobAbout {
    /// When it was opened.
    pub opened: Timestamp,
    /// Vehicle, in the customer's words.
    pub vehicle: String,
    /// Complaint, in the customer's words.
    pub complaint: String,
    /// Number of entries.
    pub entries: usize,
    /// Open or closed.
    pub standing: Standing,
}

/// All jobs, a row each, in the order given.
#[must_use]
pub fn jobs(lines: &[JobLine], local: &LocalTime) -> Doc {
    let mut doc = Doc::new("Jobs");
    if lines.is_empty() {
        doc.para("There are no jobs yet.");
    }
    let mut table = Table::new([
        ("job", Align::Left),
        ("opened", Align::Left),
        ("status", Align::Left),
        ("entries", Align::Right),
        ("vehicle", Align::Left),
        ("complaint", Align::Left),
    ]);
    for line in lines {
        table.rows.push(match &line.about {
            Ok(about) => vec![
                line.name.clone(),
                local.day(about.opened),
                terms::standing(about.standing).to_owned(),
                about.entries.to_string(),
                about.vehicle.clone(),
                about.complaint.clone(),
            ],
            Err(problem) => vec![
                line.name.clone(),
                String::new(),
                "unreadable".to_owned(),
                String::new(),
                String::new(),
                problem.clone(),
            ],
        });
    }
    doc.table(table);
    doc
}
