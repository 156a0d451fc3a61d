//! Tests that cannot be done in this workshop: a short list in the folder of jobs, for people to read.

use std::path::PathBuf;

use super::context::Context;
use super::failure::Failure;
use super::folder::hold;
use super::texts;
use facts::job::store::write_whole;
use facts::knowledge::Knowledge;

/// Name of the list in the folder of jobs.
const NAME: &str = "workshop.cannot";
/// No such list is longer.
const LARGEST: u64 = 64 * 1024;
const HEADER: &str = "\
# Tests that cannot be done in this workshop, one id a line: oddpot does not advise them in any job.
# Take a line out to have its test advised again.
";

/// Where the list is or would be.
pub(super) fn place(context: &Context) -> Result<PathBuf, Failure> {
    Ok(context.store()?.join(NAME))
}

/// The ids on the list; none where there is no list that can be read.
fn ids(context: &Context) -> Vec<String> {
    let Ok(path) = place(context) else { return Vec::new() };
    let text = texts::kept(&path, LARGEST);
    let lines = text.lines().map(str::trim);
    lines.filter(|line| !line.is_empty() && !line.starts_with('#')).map(str::to_owned).collect()
}

/// The knowledge base of jobs, with what cannot be done here.
pub(super) fn mark(context: &Context, mut knowledge: Knowledge) -> Knowledge {
    // What the knowledge base no longer has is advised by nobody.
    knowledge.lacking = ids(context).iter().filter_map(|id| knowledge.test(id)).collect();
    knowledge.lacking.sort_unstable();
    knowledge.lacking.dedup();
    knowledge
}

/// Puts a test on the list.
///
/// # Errors
/// When it cannot be written.
pub(super) fn add(context: &Context, test: &str) -> Result<PathBuf, Failure> {
    let path = place(context)?;
    let _hold = hold(&path)?;
    let mut all = ids(context);
    if !all.iter().any(|id| id == test) {
        all.push(test.to_owned());
        all.sort();
        write_whole(&path, format!("{HEADER}{}\n", all.join("\n")).as_bytes())?;
    }
    Ok(path)
}
