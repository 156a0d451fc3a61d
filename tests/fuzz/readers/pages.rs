//! Whole jobs from strangers on the way to a reader: judged, advised on, and written in every form,
//! with nothing in them taken for a command of a terminal or of a browser.

use super::base;
use facts::job::entry::{Journal, What};
use facts::job::read::{minutes_spent, read};
use facts::job::timeline::{Standing, Timeline};
use facts::job::trim::Lever;
use facts::job::{file, mend};
use judge::balance;
use judge::diagnosis;
use judge::limits;
use judge::plan;
use measure::units::Scale;
use pages::report::{self, CardInput, Doc, Letterhead, LocalTime, Style};

/// Every form of a page.
fn write(doc: &Doc) {
    let text = report::text::render(doc, 80, Style::Plain);
    assert!(!text.chars().any(|c| c.is_control() && c != '\n'), "{text:?}");
    let page = report::html::render(doc);
    assert!(!page.contains("<script"), "{page}");
    let page = report::markdown::render(doc);
    assert!(!page.chars().any(|c| c.is_control() && c != '\n'), "{page:?}");
}

/// Whether it is small enough to be judged a hundred times a second.
fn is_small(journal: &Journal, timeline: &Timeline) -> bool {
    timeline.engine.cylinders <= 4 && journal.entries.len() <= 4
}

fn card(journal: &Journal, timeline: &Timeline) -> Doc {
    let knowledge = base();
    let diagnosed = diagnosis::diagnose(knowledge, timeline);
    let assessment = &diagnosed.assessment;
    let sum: f64 = assessment.hypotheses.iter().map(|h| h.probability).sum();
    assert!((sum - 1.0).abs() < 1e-6, "{sum}");
    let advice = (timeline.standing == Standing::Open && journal.entries.len() <= 1)
        .then(|| plan::advise(&diagnosed));
    let set = limits::as_set(knowledge, journal);
    let input = CardInput {
        knowledge,
        journal,
        timeline,
        assessment,
        advice: advice.as_ref(),
        verification: &plan::verify(&diagnosed),
        spent: minutes_spent(knowledge, journal),
        letterhead: &Letterhead::default(),
        local: &LocalTime::default(),
        limits: set.as_ref(),
    };
    report::card(&input, Scale::Celsius)
}

/// How the trims stand.
fn trims(timeline: &Timeline) -> Doc {
    let knowledge = base();
    let diagnosed = diagnosis::diagnose(knowledge, timeline);
    let verification = plan::verify(&diagnosed);
    let asked = balance::Asked { lever: Lever::Fuel, at: None, by_load: false };
    let found =
        balance::balance(knowledge, timeline, (&diagnosed.assessment, &verification), asked);
    let about = report::BalancePage { foreseen: None, job: Some("job"), again: false };
    report::balance(knowledge, timeline, &found, about, Scale::Celsius)
}

/// Puts the bytes to it.
///
/// # Panics
/// When what must hold does not.
pub fn put(bytes: &[u8]) {
    let journal = match std::str::from_utf8(bytes).map(file::read) {
        Ok(Ok(journal)) => journal,
        // What is not whole may be mended.
        _ => match mend::mend(bytes) {
            Ok(mended) => mended.journal,
            Err(_) => return,
        },
    };
    let timeline = read(base(), &journal);
    write(&report::journal(base(), &journal, Scale::Celsius, &LocalTime::default()));
    for entry in &journal.entries {
        let _ = report::entry_text(base(), &entry.what, Scale::Fahrenheit);
        if let What::Undo { entry: number } = entry.what {
            assert!(number <= journal.entries.len());
        }
    }
    if is_small(&journal, &timeline) {
        write(&card(&journal, &timeline));
        write(&trims(&timeline));
    }
}
