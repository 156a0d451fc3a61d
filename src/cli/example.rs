//! `oddpot example`: a shipped job, from complaint to job card.

use super::answer::Answer;
use super::card::{self, Format};
use super::context::{Context, View};
use super::failure::Failure;
use super::named;
use crate::diagnosis::assess;
use crate::job::entry::Journal;
use crate::job::file;
use crate::job::read::read;
use crate::knowledge::Knowledge;

/// An invented job.
const JOB: &str = include_str!("example.ron");

/// Replay a finished job from complaint to job card
///
/// The job and all its figures are invented. As text, each entry is shown with what it did to
/// the suspects; the other forms give the card alone.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Form
    #[arg(long, default_value = "text", value_parser = named::<Format>(Format::NAMES))]
    format: Format,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let journal =
        file::read(JOB).map_err(|e| Failure::file(format!("the example is broken: {e}")))?;
    let knowledge = context.knowledge()?;
    let timeline = read(&knowledge, &journal);
    let story = story(&knowledge, &journal);
    let view = View { knowledge, journal, timeline };
    let mut answer = card::shown(context, &card::page(context, &view), args.format)?;
    if args.format == Format::Text {
        answer.text = format!("{}\n{}", story.join("\n"), answer.text);
    }
    if let Some(document) = answer.json.as_object_mut() {
        document.insert("story".to_owned(), serde_json::json!(story));
    }
    Ok(answer)
}

/// The job a line at a time: what was typed, and who led the suspects then.
fn story(knowledge: &Knowledge, journal: &Journal) -> Vec<String> {
    let head = &journal.head;
    let mut lines = vec![
        "An invented job, entry by entry.".to_owned(),
        format!("Vehicle:   {}", head.vehicle),
        format!("Complaint: {}", head.complaint),
        String::new(),
        format!("$ oddpot {}", head.typed),
    ];
    for count in 1..=journal.entries.len() {
        let mut so_far = journal.clone();
        so_far.entries.truncate(count);
        let assessment = assess(knowledge, &read(knowledge, &so_far));
        lines.push(format!("$ oddpot {}", journal.entries[count - 1].typed));
        if let Some(first) = assessment.suspects.first() {
            lines.push(format!(
                "    leads: {} at {}, {:.0} %",
                first.fault.cause.name(knowledge),
                first.fault.place,
                first.probability * 100.0
            ));
        }
    }
    lines.push(String::new());
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::verify;
    use crate::job::entry::What;
    use crate::knowledge::embedded::embedded;
    use crate::knowledge::load;

    #[test]
    fn the_shipped_job_is_sound_and_finished() {
        let journal = file::read(JOB).expect("sound");
        let last = journal.entries.last().expect("entries");
        assert_eq!(last.what, What::Close { proven: true });
        assert_eq!(journal.head.vehicle, "an invented van");
    }

    #[test]
    fn the_shipped_job_earns_its_proof() {
        let (knowledge, _) = load(embedded(), &[]);
        let knowledge = knowledge.expect("sound");
        let timeline = read(&knowledge, &file::read(JOB).expect("sound"));
        assert_eq!(timeline.unknown, []);
        let verification = verify(&knowledge, &timeline, &assess(&knowledge, &timeline));
        assert_eq!(verification.missing, [""; 0]);
    }
}
