//! `oddpot example`: a shipped job, from complaint to job card.

use serde_json::{Value, json};

use super::answer::Answer;
use super::card::{self, Format};
use super::context::{Context, View};
use super::failure::Failure;
use facts::job::entry::{Journal, What};
use facts::job::file;
use facts::job::read::read;
use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use judge::diagnosis::diagnose;
use judge::plan::{Advice, advise};
use measure::units::Scale;
use pages::report::{self, Block, Doc, Letterhead, terms, words};

/// An invented job.
const JOB: &str = include_str!("example.ron");

/// What its mechanic would have called it.
const NAME: &str = "kit";

/// Replay a finished job from complaint to job card
///
/// The job and all its figures are invented. As text, each entry is shown with what it did to
/// the suspects and what was advised then; the other forms give the card alone.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot example
  oddpot example --format html -o card.html")]
pub(super) struct Args {
    #[command(flatten)]
    form: card::Form,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let journal =
        file::read(JOB).map_err(|e| Failure::file(format!("the example is broken: {e}")))?;
    let knowledge = context.knowledge()?;
    let timeline = read(&knowledge, &journal);
    // The way there is only told where somebody reads it.
    let told = args.form.format()? == Format::Text || context.json;
    let moments = if told { moments(&knowledge, &journal) } else { Vec::new() };
    let view = View { knowledge, journal, timeline };
    let mut answer =
        card::put(context, &card::page(context, &view, &Letterhead::default()).0, &args.form)?;
    if args.form.is_plain() {
        let story = story(&view.journal, &moments);
        answer.text = format!("{}\n{}", context.whole(&story), answer.text);
    }
    if let Some(document) = answer.json.as_object_mut() {
        let story: Vec<Value> = moments.iter().map(Moment::document).collect();
        document.insert("story".to_owned(), json!(story));
    }
    Ok(answer)
}

/// An entry of the job, and how things stood after it.
struct Moment {
    /// The line that enters it.
    typed: String,
    /// What is worth showing: name and text; empty for an entry that tells nothing by itself.
    fields: Vec<(&'static str, String)>,
}

impl Moment {
    fn document(&self) -> Value {
        let mut document = json!({"typed": self.typed});
        for (name, text) in &self.fields {
            document[name.to_lowercase()] = json!(text);
        }
        document
    }
}

/// The job entry by entry.
fn moments(knowledge: &Knowledge, journal: &Journal) -> Vec<Moment> {
    let opened = Journal { entries: Vec::new(), ..journal.clone() };
    let mut so_far = opened.clone();
    let opening = Moment {
        typed: typed(&journal.head.typed),
        fields: standing(knowledge, &read(knowledge, &opened), false),
    };
    let mut list = vec![opening];
    for entry in &journal.entries {
        so_far.entries.push(entry.clone());
        let fields = match entry.what {
            // Nothing has been read yet, or there is nothing more to do.
            What::Exchange { .. } | What::Close { .. } => Vec::new(),
            _ => standing(knowledge, &read(knowledge, &so_far), true),
        };
        list.push(Moment { typed: typed(&entry.typed), fields });
    }
    list
}

/// An entry as it is typed; the journal leaves the job's name out.
fn typed(line: &str) -> String {
    match line.split_once(' ') {
        Some((command, rest)) => format!("{command} {NAME} {rest}"),
        None => format!("{line} {NAME}"),
    }
}

/// Who leads the suspects and what is advised, and why.
fn standing(
    knowledge: &Knowledge,
    timeline: &Timeline,
    judged: bool,
) -> Vec<(&'static str, String)> {
    let diagnosis = diagnose(knowledge, timeline);
    let advice = advise(&diagnosis);
    let assessment = &diagnosis.assessment;
    let mut fields = Vec::new();
    if let (true, Some(first)) = (judged, assessment.suspects.first()) {
        let name = terms::fault_now(knowledge, timeline, first.fault);
        fields.push(("Leads", format!("{name}: {}", words::chance(first.probability))));
    }
    fields.push(("Next", next(knowledge, timeline, assessment, &advice)));
    fields.push(("Why", advice.best.why.join(" ")));
    fields
}

/// The recommendation in a line: the title of its page.
fn next(
    knowledge: &Knowledge,
    timeline: &Timeline,
    assessment: &judge::diagnosis::Assessment,
    advice: &Advice,
) -> String {
    let page = report::next(knowledge, timeline, assessment, advice, NAME, Scale::Celsius);
    page.title.trim_start_matches("Next: ").to_owned()
}

/// The replay as a page.
fn story(journal: &Journal, moments: &[Moment]) -> Doc {
    let head = &journal.head;
    let mut doc = Doc::new("An invented job, entry by entry");
    doc.blocks.push(Block::Fields(vec![
        ("Vehicle".to_owned(), head.vehicle.clone()),
        ("Complaint".to_owned(), head.complaint.clone()),
    ]));
    for moment in moments {
        doc.blocks.push(Block::Command(format!("oddpot {}", moment.typed)));
        if !moment.fields.is_empty() {
            let fields = moment.fields.iter();
            doc.blocks.push(Block::Fields(
                fields.map(|(name, text)| ((*name).to_owned(), text.clone())).collect(),
            ));
        }
    }
    doc
}

#[cfg(test)]
mod tests {
    use super::*;
    use facts::job::entry::Entry;
    use facts::knowledge::embedded::embedded;
    use facts::knowledge::{Item, Seat, load};
    use judge::diagnosis::CauseRef;
    use judge::plan::Step;
    use judge::plan::verify;

    fn shipped() -> (Knowledge, Journal) {
        let (knowledge, _) = load(embedded(), &[]);
        (knowledge.expect("sound"), file::read(JOB).expect("sound"))
    }

    #[test]
    fn the_shipped_job_earns_its_proof() {
        let (knowledge, journal) = shipped();
        assert_eq!(
            journal.entries.last().expect("entries").what,
            What::Close { proven: true, reason: None }
        );
        let timeline = read(&knowledge, &journal);
        assert_eq!(timeline.unknown, []);
        assert!(timeline.arrangement.is_original());
        let verification = verify(&diagnose(&knowledge, &timeline));
        assert_eq!(verification.missing, [""; 0]);
    }

    /// What the example is there to show: gone after an exchange that also set the depth anew, the
    /// program does not convict the probe that was moved: it takes the depth for what was set right, or
    /// has the probes put back.
    #[test]
    fn the_exchange_that_cured_convicts_no_probe() {
        let (knowledge, mut journal) = shipped();
        let exchanged = |e: &Entry| e.typed == "exchange probe 3 1";
        let at = journal.entries.iter().position(exchanged).expect("exchanged");
        journal.entries.truncate(at + 2);
        let timeline = read(&knowledge, &journal);
        let diagnosis = diagnose(&knowledge, &timeline);
        match advise(&diagnosis).best.step {
            Step::PutBack { item, a, b } => assert_eq!((item, a, b), (Item::Probe, 3, 1)),
            Step::Remedy(fault) => assert_eq!(fault.cause.seat(&knowledge), Seat::Fit),
            other => panic!("{other:?}"),
        }
        for suspect in &diagnosis.assessment.suspects {
            if let CauseRef::Listed(index) = suspect.fault.cause
                && knowledge.causes[index].seat == Seat::Probe
            {
                assert!(suspect.probability < 0.1, "{}", knowledge.causes[index].id);
            }
        }
    }
}
