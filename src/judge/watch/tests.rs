use super::*;
use crate::diagnosis::data::Kind;
use crate::limits::alarm::Rule;
use facts::job::entry::What;
use facts::job::read::read;
use facts::knowledge::embedded::embedded;
use facts::knowledge::load;
use measure::readings::log::Range;

fn moment(time: f64, displays: &[f64]) -> Moment<'_> {
    Moment { time, displays, speed: None, load: None, range: Range::default() }
}

/// The events of rows a second apart on an inline four held at full load with a limit of 900 °C.
fn events(rows: &[[f64; 4]], limits: &[Limit]) -> Vec<(f64, Event)> {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let mut journal = fixture::journal();
    let limit = Celsius::new(900.0).expect("a temperature");
    journal.entries = vec![fixture::entry(What::BuilderLimit(limit))];
    let timeline = read(&knowledge, &journal);
    let bounds =
        Bounds { knowledge: &knowledge, timeline: &timeline, limits, site: ProbeSite::Exhaust };
    let mut watch = Watch::new(Some(fixture::at(Regime::Full)));
    let mut all = Vec::new();
    for (second, row) in (0_u32..).zip(rows) {
        let time = 1000.0 + f64::from(second);
        let told = watch.row(Some(bounds), &moment(time, row));
        all.extend(told.into_iter().map(|event| (f64::from(second), event)));
    }
    all.extend(watch.end().map(|rows| (f64::INFINITY, Event::Recorded(rows))));
    all
}

#[test]
fn a_stop_is_said_at_its_first_row_and_once_and_ends_when_it_has_been_cool() {
    let mut rows = vec![[850.0, 860.0, 855.0, 858.0]; 20];
    rows[5][1] = 905.0;
    rows[8][1] = 901.0;
    let events = events(&rows, &[]);
    let words: Vec<(f64, &str)> = events
        .iter()
        .map(|(second, event)| {
            let word = match event {
                Event::Stop(_) => "stop",
                Event::Watch(_) => "watch",
                Event::Cool => "cool",
                Event::Recorded(_) => "recorded",
                Event::Strayed { .. } | Event::Back(_) => "limit",
            };
            (*second, word)
        })
        .collect();
    assert_eq!(words, [(5.0, "stop"), (18.0, "cool"), (f64::INFINITY, "recorded")]);
    let Some((_, Event::Recorded(kept))) = events.last() else { panic!("no record") };
    assert_eq!(kept.len(), 20);
    assert_eq!((kept[5].seconds, kept[5].displays[1]), (5.0, Some(905.0)));
}

#[test]
fn a_display_strays_when_it_has_been_beyond_its_limit_for_the_delay() {
    let limit = Limit {
        display: 3,
        kind: Kind { site: ProbeSite::Exhaust, at: fixture::at(Regime::Full) },
        usual: 0.0,
        rule: Rule { limit: 20.0, delay: 4.0 },
        per_hour: 0.0,
    };
    let level = [850.0, 850.0, 850.0, 850.0];
    let far = [850.0, 850.0, 890.0, 850.0];
    let rows = [level, far, far, level, far, far, far, far, far, far, level];
    let said: Vec<(f64, bool)> = events(&rows, &[limit])
        .into_iter()
        .filter_map(|(second, event)| match event {
            Event::Strayed { display: 3, .. } => Some((second, true)),
            Event::Back(3) => Some((second, false)),
            _ => None,
        })
        .collect();
    assert_eq!(said, [(8.0, true), (10.0, false)]);
}

/// Days of rows about one limit: what is kept is a ring, and a record is no longer than its minutes.
#[test]
fn memory_is_a_ring() {
    let mut rows = vec![[850.0, 860.0, 855.0, 858.0]; 5000];
    rows[4000][0] = 950.0;
    let records: Vec<usize> = events(&rows, &[])
        .into_iter()
        .filter_map(|(_, event)| match event {
            Event::Recorded(kept) => Some(kept.len()),
            _ => None,
        })
        .collect();
    assert_eq!(records, [1200 + 31]);
}

#[test]
fn without_a_job_the_displays_are_shown_and_nothing_is_judged() {
    let mut watch = Watch::new(None);
    assert!(watch.row(None, &moment(0.0, &[500.0, f64::NAN, 1790.0])).is_empty());
    let levels = watch.levels(None).expect("levels");
    assert_eq!(levels.displays[1], Level { value: None, off: None, band: None });
    assert_eq!(levels.displays[2].off, Some(1290.0));
}

/// An engine that has just started reads nothing that a running one does; one whose displays are all open may be watched.
#[test]
fn a_cold_start_is_no_alarm() {
    assert!(events(&[[25.0, 26.0, 24.0, 25.0]; 3], &[]).is_empty());
    let open = [f64::NAN; 4];
    assert!(matches!(events(&[open; 3], &[]).as_slice(), [(0.0, Event::Watch(_))]));
}

/// Who comes down from full load is hot for idle, and no alarm: an idle that stays so hot is one.
#[test]
fn heat_of_load_is_no_heat_of_the_idle_after_it() {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let timeline = read(&knowledge, &fixture::journal());
    let bounds = Bounds {
        knowledge: &knowledge,
        timeline: &timeline,
        limits: &[],
        site: ProbeSite::Exhaust,
    };
    let range = Range { slowest: 800.0, fastest: 4000.0, heaviest: 100.0, percent: true };
    let mut watch = Watch::new(None);
    let mut said = Vec::new();
    for second in 0..200_u32 {
        let (speed, load) = if second < 50 { (4000.0, 100.0) } else { (800.0, 5.0) };
        let displays = [790.0; 4];
        let moment = Moment {
            time: f64::from(second),
            displays: &displays,
            speed: Some(speed),
            load: Some(load),
            range,
        };
        let events = watch.row(Some(bounds), &moment);
        said.extend(events.into_iter().map(|event| (second, event)));
    }
    assert!(matches!(said.as_slice(), [(110, Event::Watch(_) | Event::Stop(_)), ..]), "{said:?}");
}
