//! The pictures of the pages are drawn by the program, from the invented job that it ships.

use std::collections::BTreeMap;

use facts::job::entry::Journal;
use facts::job::file;
use facts::job::read::{minutes_spent, read};
use facts::job::timeline::Standing;
use facts::knowledge::embedded::embedded;
use facts::knowledge::{Knowledge, load};
use judge::diagnosis::{self, diagnose};
use judge::plan::advise;
use measure::units::Scale;
use pages::report::figure::{Figure, WIDTH, svg};
use pages::report::{Block, CardInput, Letterhead, LocalTime, card, course, fault_tree};

use crate::{keep, top};

/// The pictures of a job's card, by title.
fn of_card(knowledge: &Knowledge, journal: &Journal) -> BTreeMap<String, Figure> {
    let timeline = read(knowledge, journal);
    let judged = diagnose(knowledge, &timeline);
    let assessment = &judged.assessment;
    let advice = (timeline.standing == Standing::Open).then(|| advise(&judged));
    let verification = judge::plan::verify(&judged);
    let input = CardInput {
        knowledge,
        journal,
        timeline: &timeline,
        assessment,
        advice: advice.as_ref(),
        verification: &verification,
        limits: None,
        spent: minutes_spent(knowledge, journal),
        letterhead: &Letterhead::default(),
        local: &LocalTime::default(),
    };
    let doc = card(&input, Scale::Celsius);
    let moments = diagnosis::course(knowledge, &timeline, assessment);
    let course = course(knowledge, &timeline, &moments);
    let figures = doc.blocks.into_iter().filter_map(|block| match block {
        Block::Figures(figures) => Some(figures),
        _ => None,
    });
    figures.flatten().chain(course).map(|figure| (figure.title.clone(), figure)).collect()
}

#[test]
fn the_pictures_of_the_pages_are_the_programs_own() {
    let knowledge = load(embedded(), &[]).0.expect("sound");
    let text = include_str!("../../src/cli/example.ron");
    let journal = file::read(text).expect("the shipped job");
    let closed = of_card(&knowledge, &journal);
    // Before the leads have been read again exchanged the plan is to read again.
    let begun = Journal { entries: journal.entries[..3].to_vec(), ..journal.clone() };
    let open = of_card(&knowledge, &begun);
    let assessment = diagnose(&knowledge, &read(&knowledge, &begun)).assessment;
    let measuring = knowledge.groups.iter().position(|group| group.id == "measuring");
    let named = |figures: &BTreeMap<String, Figure>, title: &str| {
        svg::file(figures.get(title).unwrap_or_else(|| panic!("{:?}", figures.keys())), WIDTH)
    };
    let folder = top().join("docs").join("pictures");
    std::fs::create_dir_all(&folder).expect("a folder");
    for (name, picture) in [
        ("temperatures", named(&closed, "Temperatures at warm idle")),
        ("exchange", named(&closed, "Entry 6: probes 3 and 1 exchanged")),
        ("suspects", named(&closed, "How the suspects stood after each entry")),
        ("plan", named(&open, "The plan")),
        ("engine", named(&open, "The engine from above")),
        ("fault-tree", svg::file(&fault_tree(&knowledge, measuring, Some(&assessment)), 720.0)),
    ] {
        keep(&folder.join(format!("{name}.svg")), &picture);
    }
}
