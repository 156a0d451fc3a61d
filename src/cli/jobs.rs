//! `oddpot jobs`: what is in the store.

use serde_json::{Value, json};

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
    let document = json!({"jobs": lines.iter().map(line).collect::<Vec<Value>>()});
    Ok(Answer::new(context.page(&report::jobs(&lines, &context.local)), document))
}

fn line(line: &JobLine) -> Value {
    match &line.about {
        Ok(about) => json!({
            "name": line.name,
            "opened": about.opened.to_string(),
            "vehicle": about.vehicle,
            "complaint": about.complaint,
            "entries": about.entries,
            "closed": matches!(about.standing, Standing::Closed(_)),
            "proven": about.standing == Standing::Closed(Closing::Proven),
        }),
        Err(problem) => json!({"name": line.name, "problem": problem}),
    }
}
