//! Every page as it is printed, whole. A change of wording shows here as a difference.

mod card;
mod card_markdown;
mod layout;
mod lists;
mod next;
mod suspects;

use crate::report::sample::{self, FIT_DEEP};
use crate::report::{CardInput, Doc, Letterhead, LocalTime, Style, text};
use facts::job::entry::{Entry, Journal, What};
use facts::job::timeline::{Closing, Disturbance, Standing, Timeline};
use facts::knowledge::{Item, Thermal};
use judge::diagnosis::Assessment;
use judge::plan::{Advice, Step};
use measure::engine::{Place, ProbeSite, Regime};
use measure::units::Scale;

fn plain(doc: &Doc) -> String {
    text::render(doc, 80, Style::Plain)
}

fn narrow(doc: &Doc) -> String {
    text::render(doc, 40, Style::Plain)
}

fn suspects() -> Doc {
    crate::report::suspects(
        &sample::knowledge(),
        &sample::timeline(),
        &sample::assessment(),
        (Scale::Celsius, &LocalTime::default()),
    )
}

fn next_of(advice: &Advice, timeline: &Timeline) -> Doc {
    crate::report::next(
        &sample::knowledge(),
        timeline,
        &sample::assessment(),
        advice,
        "demo",
        Scale::Celsius,
    )
}

fn next_step(step: Step, timeline: &Timeline) -> String {
    let advice = Advice {
        standing: judge::plan::Standing::of(step),
        sound: 0.05,
        best: sample::choice(step, sample::cost(5.0, 0.0, 0.0), 40.0),
        alternatives: Vec::new(),
        guards: Vec::new(),
        lower_bound: 40.0,
        holds: false,
        leans: Vec::new(),
        in_time: None,
    };
    plain(&next_of(&advice, timeline))
}

/// The sample job after its remedy, closed.
fn closed() -> (Journal, Timeline, Assessment) {
    let (mut journal, mut timeline, mut assessment) =
        (sample::journal(), sample::timeline(), sample::assessment());
    let place = Place::Cylinder(3);
    let readings = sample::degrees(&[640.0, 636.0, 641.0, 640.0]);
    for what in [
        What::Exchange { item: Item::Probe, a: 2, b: 3 },
        What::Remedy { cause: "fit-deep".to_owned(), place },
        What::Temps {
            at: Regime::Cruise.into(),
            site: ProbeSite::Exhaust,
            readings: readings.clone(),
            from: None,
        },
        What::Close { proven: true, reason: None },
    ] {
        let time = journal.entries[0].time;
        journal.entries.push(Entry::new(time, String::new(), what));
    }
    timeline.arrangement.exchange(&timeline.engine.clone(), Item::Probe, 2, 3);
    let remedied = Some((FIT_DEEP, place));
    timeline.disturbances.push(Disturbance { remedied, ..Disturbance::new(8, Vec::new()) });
    let mut after = timeline.sets[0].clone();
    after.entry = 9;
    after.at = fixture::at(Regime::Cruise);
    after.readings = readings;
    timeline.sets.push(after);
    timeline.standing = Standing::Closed(Closing::Proven);
    timeline.thermal = Thermal::Cruise;
    assessment.suspects[0].probability = 0.97;
    assessment.suspects.truncate(2);
    assessment.present = 0.02;
    (journal, timeline, assessment)
}

fn closed_card() -> Doc {
    let (journal, timeline, assessment) = closed();
    let input = CardInput {
        knowledge: &sample::knowledge(),
        journal: &journal,
        timeline: &timeline,
        assessment: &assessment,
        advice: None,
        verification: &sample::verified(),
        limits: None,
        spent: sample::cost(72.0, 45.0, 4.0),
        letterhead: &Letterhead::default(),
        local: &LocalTime::default(),
    };
    crate::report::card(&input, Scale::Celsius)
}

fn open_card(scale: Scale) -> Doc {
    let input = CardInput {
        knowledge: &sample::knowledge(),
        journal: &sample::journal(),
        timeline: &sample::timeline(),
        assessment: &sample::assessment(),
        advice: Some(&sample::advice()),
        verification: &sample::unverified(),
        limits: None,
        spent: sample::cost(31.0, 45.0, 4.0),
        letterhead: &Letterhead::default(),
        local: &LocalTime::default(),
    };
    crate::report::card(&input, scale)
}
