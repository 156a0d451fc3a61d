//! Jobs of an invented four, step by step.

use jiff::Timestamp;

use super::*;
use crate::diagnosis::diagnose;
use crate::plan;
use facts::job::entry::{EngineState, Entry, Journal, Reading, What};
use facts::job::fit::FitLine;
use facts::job::read::read;
use facts::knowledge::embedded::embedded;
use facts::knowledge::{Item, load};
use fixture::{degrees, journal, temps};
use measure::engine::Place;
use measure::units::Celsius;

fn base() -> Knowledge {
    load(embedded(), &[]).0.expect("the built-in knowledge base")
}

/// A job on an engine that nobody complains of.
fn job(entries: impl IntoIterator<Item = Entry>) -> Journal {
    let mut journal = journal();
    journal.head.complaint.clear();
    journal.head.state = EngineState::ColdSoaked;
    for entry in entries {
        journal.push(entry);
    }
    journal
}

fn entry(what: What) -> Entry {
    Entry::new(Timestamp::UNIX_EPOCH, "typed".to_owned(), what)
}

fn found(test: &str, outcome: &str, cylinder: u8, partner: Option<u8>) -> Entry {
    let (test, outcome) = (test.to_owned(), outcome.to_owned());
    entry(What::Found { test, outcome, cylinder: Some(cylinder), partner })
}

fn warmed() -> Vec<Entry> {
    (1..=4).map(|cylinder| found("polarity", "rises", cylinder, None)).collect()
}

fn cold_read(values: &[f64], air: Option<f64>) -> Entry {
    let air = air.map(|air| Celsius::new(air).expect("lawful"));
    Entry { air, ..entry(temps("cold", degrees(values))) }
}

fn set(at: &str, values: &[f64]) -> Entry {
    entry(temps(at, degrees(values)))
}

const COLD: [f64; 4] = [18.0, 18.4, 17.9, 18.3];
const IDLE: [f64; 4] = [402.0, 398.0, 405.0, 400.0];
const CRUISE: [f64; 4] = [622.0, 616.0, 627.0, 620.0];

/// Everything that a record asks for but for the end.
fn whole() -> Vec<Entry> {
    let mut entries = warmed();
    entries.extend([
        cold_read(&COLD, Some(18.5)),
        set("idle", &IDLE),
        set("cruise", &CRUISE),
        entry(What::Recorded),
    ]);
    entries
}

fn of(knowledge: &Knowledge, journal: &Journal) -> Commission {
    let timeline = read(knowledge, journal);
    let diagnosis = diagnose(knowledge, &timeline);
    commission(&diagnosis, &plan::ends(&diagnosis), &plan::advise(&diagnosis).guards)
}

#[test]
fn the_tests_named_here_are_in_the_knowledge_base() {
    let knowledge = base();
    for (test, outcome) in identity::SHOWN_BY {
        let test = &knowledge.tests[knowledge.test(test).expect("a test")];
        assert!(test.outcomes.iter().any(|known| known.id == outcome), "{outcome}");
    }
}

#[test]
fn one_step_follows_the_other_until_the_job_is_closed() {
    let knowledge = base();
    let mut entries = Vec::new();
    let mut expect = |more: Vec<Entry>, next: Option<Step>| {
        entries.extend(more);
        let found = of(&knowledge, &job(entries.iter().cloned()));
        assert_eq!((found.next(), found.troubles.as_slice()), (next, &[][..]), "{entries:?}");
        found
    };
    expect(vec![], Some(Step::Identity));
    expect(vec![found("map-check", "all-right", 1, None)], Some(Step::Identity));
    expect(warmed(), Some(Step::ColdSoak));
    let cold = expect(vec![cold_read(&COLD, None)], Some(Step::Fit));
    assert_eq!(cold.or_else(), Some(Step::Idle), "depths may be left out");
    let idle = expect(vec![set("idle", &IDLE)], Some(Step::Cruise));
    assert_eq!(idle.state(Step::Fit), State::LeftOut(LeftOut::PassedOver));
    assert_eq!(idle.or_else(), None, "cruise may not be left out");
    let cruise = expect(vec![set("cruise", &CRUISE)], Some(Step::Record));
    assert_eq!(cruise.state(Step::Full), State::LeftOut(LeftOut::NoBuilderLimit));
    expect(vec![entry(What::Recorded)], Some(Step::Limits));
    let close = || vec![entry(What::Close { proven: false, reason: None })];
    let done = expect(close(), None);
    assert!(done.is_done(), "{done:?}");
    assert_eq!(done.state(Step::Limits), State::LeftOut(LeftOut::PassedOver));
}

#[test]
fn full_load_is_run_only_where_the_builders_limit_is_known_and_nothing_is_near_it() {
    let knowledge = base();
    let limit = |t| entry(What::BuilderLimit(Celsius::new(t).expect("lawful")));
    let full = |more: Vec<Entry>| {
        let found = of(&knowledge, &job(whole().into_iter().take(7).chain(more)));
        (found.next(), found.state(Step::Full))
    };
    assert_eq!(full(vec![]).1, State::LeftOut(LeftOut::NoBuilderLimit));
    assert_eq!(full(vec![limit(900.0)]), (Some(Step::Full), State::ToDo));
    let passed = full(vec![limit(900.0), entry(What::Recorded)]);
    assert_eq!(passed.1, State::LeftOut(LeftOut::PassedOver));
    let read = vec![limit(900.0), set("full", &[850.0, 846.0, 856.0, 851.0])];
    assert_eq!(full(read), (Some(Step::Record), State::Done));
    // A rule that holds load before the engine was read at cruise is not the last word.
    let early = of(&knowledge, &job(warmed().into_iter().chain([limit(900.0)])));
    assert_eq!((early.next(), early.state(Step::Full)), (Some(Step::ColdSoak), State::ToDo));
    // Cruise is beyond what the builder allows: that stops the engine, and load is held.
    assert_eq!(full(vec![limit(600.0)]), (None, State::LeftOut(LeftOut::Held)));
}

#[test]
fn a_display_that_does_not_answer_stops_it_until_it_is_put_right_and_asked_again() {
    let knowledge = base();
    let crossed = vec![
        found("polarity", "another-rises", 1, Some(2)),
        found("polarity", "rises", 3, None),
        found("polarity", "rises", 4, None),
    ];
    let now = of(&knowledge, &job(crossed.clone()));
    assert_eq!(now.next(), None);
    let whose = |trouble: &Trouble| match trouble {
        Trouble::NotItsOwn(display, _) => Some(*display),
        _ => None,
    };
    assert_eq!(now.troubles.iter().filter_map(whose).collect::<Vec<_>>(), [1, 2]);
    let cured =
        vec![entry(What::Remedy { cause: "lead-crossed".to_owned(), place: Place::Pair(1, 2) })];
    let put_right = [crossed, cured].concat();
    let after = of(&knowledge, &job(put_right.clone()));
    assert_eq!(after.next(), Some(Step::Identity), "{:?}", after.troubles);
    assert_eq!(after.identified.keys().copied().collect::<Vec<_>>(), [3, 4]);
    let again = (1..=2).map(|c| found("polarity", "rises", c, None));
    let after = of(&knowledge, &job(put_right.into_iter().chain(again)));
    assert_eq!(after.next(), Some(Step::ColdSoak), "{:?}", after.troubles);
}

#[test]
fn work_on_the_wiring_takes_an_identity_away_and_work_elsewhere_does_not() {
    let knowledge = base();
    let left = |work: What| {
        let timeline = read(&knowledge, &job(warmed().into_iter().chain([entry(work)])));
        identified(&knowledge, &timeline).into_keys().collect::<Vec<u8>>()
    };
    let remake = |item| What::Remake { item, cylinder: 2, new: false };
    assert_eq!(left(remake(Item::LeadAtBox)), [1, 3, 4]);
    assert_eq!(left(remake(Item::Plug)), [1, 2, 3, 4]);
    // With parts in other places no number says where it is from.
    assert_eq!(left(What::Exchange { item: Item::LeadAtBox, a: 1, b: 2 }), [0_u8; 0]);
}

#[test]
fn cold_displays_agree_within_class_and_box_and_with_a_thermometer() {
    let cold = |values: &[f64], air| {
        let knowledge = base();
        cold(&read(&knowledge, &job([cold_read(values, air)]))).expect("read")
    };
    // IEC 60584-1, type K, class 2: 2.5 °C up to 333 °C.
    let well = cold(&COLD, Some(18.5));
    assert!((well.each - 2.5).abs() < 1e-12 && (well.apart() - 6.0).abs() < 1e-12, "{well:?}");
    assert!((well.spread - 0.5).abs() < 1e-9 && well.agrees(), "{well:?}");
    assert!((well.above_air.expect("read") + 0.35).abs() < 1e-9, "{well:?}");
    assert!(!cold(&[18.0, 24.5, 18.0, 18.0], None).agrees());
    // All alike, and all wrong: only a thermometer shows it.
    let offset = [25.0, 25.2, 24.9, 25.1];
    assert!(cold(&offset, None).agrees());
    assert_eq!(cold(&offset, Some(18.0)).beyond, [1, 2, 3, 4]);
}

#[test]
fn a_thermometer_that_all_displays_disagree_with_stops_it_until_it_is_read_again() {
    let knowledge = base();
    let off = warmed().into_iter().chain([cold_read(&[26.0; 4], Some(18.0))]);
    let entries: Vec<Entry> = off.collect();
    let stopped = of(&knowledge, &job(entries.clone()));
    assert!(matches!(stopped.troubles.as_slice(), [Trouble::Cold(_)]), "{:?}", stopped.troubles);
    let again =
        of(&knowledge, &job(entries.into_iter().chain([cold_read(&[18.2; 4], Some(18.0))])));
    assert_eq!(again.next(), Some(Step::Fit));
}

#[test]
fn an_odd_display_stops_it_where_it_shows() {
    let knowledge = base();
    let mut entries = warmed();
    entries.push(cold_read(&COLD, Some(18.0)));
    entries.push(set("idle", &[402.0, 290.0, 405.0, 400.0]));
    let found = of(&knowledge, &job(entries));
    assert!(matches!(found.troubles.as_slice(), [Trouble::Missing(_)]), "{:?}", found.troubles);
    let open = entry(temps("cold", [degrees(&[18.0; 3]), vec![Reading::Open]].concat()));
    let found = of(&knowledge, &job(warmed().into_iter().chain([open])));
    assert_eq!(found.next(), None, "a display that shows no number is found cold");
}

#[test]
fn a_record_wants_every_display_asked_after_cold_idle_cruise_and_a_good_end() {
    let knowledge = base();
    let was = |entries: Vec<Entry>| was_commissioned(&knowledge, &read(&knowledge, &job(entries)));
    let close = || entry(What::Close { proven: false, reason: None });
    assert!(was([whole(), vec![close()]].concat()));
    assert!(!was(whole()), "still open");
    for missing in [0, 4, 5, 6, 7] {
        let mut entries = whole();
        entries.remove(missing);
        entries.push(close());
        assert!(!was(entries), "without entry {}", missing + 1);
    }
    // Closed, it asks for nothing more, and says that it is no record.
    let closed = job(whole().into_iter().skip(1).chain([close()]));
    let closed = of(&knowledge, &closed);
    assert_eq!((closed.next(), closed.is_done()), (None, false), "{:?}", closed.troubles);
    let depth = FitLine { depth: Some(20.0), ..FitLine::default() };
    let lines = (1..=4).map(|c| (c, depth.clone())).collect();
    let found = of(&knowledge, &job([entry(What::Fitted { lines })]));
    assert_eq!(found.state(Step::Fit), State::Done);
}
