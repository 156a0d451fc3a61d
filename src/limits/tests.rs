use std::sync::OnceLock;

use jiff::Timestamp;
use proptest::prelude::*;

use super::*;
use crate::job::entry::{EngineState, Entry, Head};
use crate::job::fixture::{degrees, temps};
use crate::knowledge::embedded::embedded;
use crate::knowledge::load;
use crate::report::{Style, limits as page, limits_csv, text};
use crate::units::{Celsius, Scale};

fn knowledge() -> &'static Knowledge {
    static LOADED: OnceLock<Knowledge> = OnceLock::new();
    LOADED.get_or_init(|| load(embedded(), &[]).0.expect("the built-in knowledge base is whole"))
}

fn job(preset: usize, entries: Vec<What>) -> Journal {
    let presets = &knowledge().presets;
    let preset = &presets[preset % presets.len()];
    let mut journal = Journal::new(Head {
        opened: Timestamp::UNIX_EPOCH,
        typed: String::new(),
        vehicle: "an invented van".to_owned(),
        complaint: String::new(),
        engine_name: preset.id.clone(),
        engine: preset.engine.clone(),
        recent: Vec::new(),
        state: EngineState::Warm,
        details: crate::job::complaint::Details::default(),
    });
    for what in entries {
        journal.push(Entry::new(Timestamp::UNIX_EPOCH, String::new(), what));
    }
    journal
}

#[test]
fn limits_stand_as_they_were_set() {
    let first = temps("idle", degrees(&[416.0, 400.0, 396.0, 388.0]));
    let set = What::LimitsSet { once_in: 500.0, delay: None };
    let four = knowledge().presets.iter().position(|p| p.engine.cylinders == 4).expect("a four");
    let mut journal = job(four, vec![first, What::Recorded]);
    assert_eq!(as_set(knowledge(), &journal), None);
    journal.push(Entry::new(Timestamp::UNIX_EPOCH, String::new(), set));
    let then = as_set(knowledge(), &journal).expect("they were set");
    let later = temps("idle", degrees(&[380.0, 400.0, 396.0, 428.0]));
    journal.push(Entry::new(Timestamp::UNIX_EPOCH, String::new(), later));
    assert_eq!(as_set(knowledge(), &journal), Some(then.clone()));
    // The whole page has the same limits, and what they see beside them.
    let timeline = read(knowledge(), &journal);
    let asked = Asked { once_in: 500.0, delay: None };
    let now = limits(knowledge(), &timeline, &vehicle::after(knowledge(), &timeline), asked);
    assert!(!now.faults.is_empty() && then.faults.is_empty());
    assert_eq!((now.rows.len(), then.rows.len()), (4, 4));
    assert_ne!(now.rows, then.rows);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(if cfg!(debug_assertions) { 6 } else { 64 }))]

    /// Whatever a history has, within what one may have: every figure is a number, on the page too.
    #[test]
    fn every_figure_is_a_number(
        preset in 0..40_usize,
        level in prop_oneof![Just(-60.0), 20.0..900.0_f64, Just(1300.0)],
        sd in prop_oneof![Just(0.1), 1.0..30.0_f64, Just(500.0)],
        mean in prop_oneof![Just(0.0), -1499.0..1499.0_f64],
        once_in in prop_oneof![Just(1.0), Just(1000.0), Just(1e6)],
        delay in proptest::option::of(prop_oneof![Just(1.0), 1.0..3600.0_f64, Just(3600.0)]),
    ) {
        let cylinders = usize::from(job(preset, Vec::new()).head.engine.cylinders);
        let readings = vec![Reading::Degrees(Celsius::new(level).expect("it can be")); cylinders];
        let timeline = read(knowledge(), &job(preset, vec![temps("cruise", readings)]));
        let usual: Vec<Usual> = [RunningPoint::Idle, RunningPoint::Cruise, RunningPoint::Full]
            .into_iter()
            .map(|at| Usual {
                at,
                site: timeline.engine.probes,
                visits: vec![1; cylinders],
                mean: vec![mean; cylinders],
                sd: vec![sd; cylinders],
            })
            .collect();
        let found = limits(knowledge(), &timeline, &usual, Asked { once_in, delay });
        for row in &found.rows {
            prop_assert!(row.rule.limit.is_finite() && row.rule.limit > 0.0);
            prop_assert!(row.per_hour >= 0.0 && row.per_hour <= 1.0 / once_in, "{:?}", row);
        }
        for seen in found.faults.iter().flat_map(|fault| &fault.seen) {
            prop_assert!((0.0..=1.0).contains(&seen.chance), "{:?}", seen);
            prop_assert!(seen.shift.is_finite(), "{:?}", seen);
            prop_assert!(seen.seconds.is_none_or(|s| s.is_finite() && s > 0.0), "{:?}", seen);
        }
        for scale in [Scale::Celsius, Scale::Fahrenheit] {
            let shown = text::render(&page(knowledge(), &timeline, &found, scale), 80, Style::Plain);
            let table = limits_csv("job", "van", &timeline, &found, scale);
            for word in shown.split_whitespace().chain(table.split(',')) {
                let word = word.trim_matches(|c: char| !c.is_alphanumeric());
                prop_assert!(!["NaN", "inf"].contains(&word), "{}", shown);
            }
        }
    }
}
