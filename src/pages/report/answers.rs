//! Pages of answers that the engine gave, where a sample made by hand would show what never happens.

use ::workshop::{Plan, Policy, Wrong, run, summary};
use facts::job::complaint::Details;
use facts::job::entry::{EngineState, Entry, Head, Journal, Reading, What};
use facts::job::history::Usual;
use facts::job::read::read;
use facts::knowledge::{Knowledge, embedded::embedded, load};
use fixture::{degrees, temps};
use jiff::Timestamp;
use judge::limits::{Asked, limits};
use judge::testability::testability;
use measure::engine::Regime;
use measure::units::{Celsius, Scale};
use proptest::prelude::*;
use std::sync::OnceLock;

use super::{Style, heat_line, limits as page, limits_csv, text};

fn knowledge() -> &'static Knowledge {
    static LOADED: OnceLock<Knowledge> = OnceLock::new();
    LOADED.get_or_init(|| load(embedded(), &[]).0.expect("the built-in knowledge base is whole"))
}

fn job(preset: usize, details: Details, entries: Vec<What>) -> Journal {
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
        details,
    });
    for what in entries {
        journal.push(Entry::new(Timestamp::UNIX_EPOCH, String::new(), what));
    }
    journal
}

fn preset(id: &str) -> usize {
    knowledge().presets.iter().position(|p| p.id == id).expect("it is there")
}

#[test]
fn the_builders_limit_is_named_in_one_line() {
    let details = Details { builder_limit: Celsius::new(870.0).ok(), ..Details::default() };
    let hot = temps("full", degrees(&[862.0, 885.0, 860.0, 858.0]));
    let timeline = read(knowledge(), &job(preset("inline-four-port"), details, vec![hot]));
    let line = heat_line(knowledge(), &timeline, Scale::Celsius).expect("a line");
    assert!(
        line.starts_with(
            "STOP: Display 2 reads 885 °C at full load, the builder's limit is 870 °C"
        ),
        "{line}"
    );
    assert!(line.contains("lower load first"), "{line}");
    assert!(!line.contains('\n'));
}

#[test]
fn what_cannot_be_told_apart_on_a_four() {
    let four = &knowledge().presets[preset("inline-four-port")];
    let doc = super::testability(knowledge(), &four.name, &testability(knowledge(), &four.engine));
    insta::assert_snapshot!(text::render(&doc, 80, Style::Plain));
}

#[test]
fn a_small_run_as_a_table() {
    let plan = Plan {
        known: knowledge(),
        wrong: Wrong::Twice,
        preset: Some("inline-four-port"),
        from: 1,
        jobs: 60,
        seeds: &[1],
        policies: &[Policy::PartsFirst, Policy::Human, Policy::Cheapest, Policy::Oracle],
        threads: 2,
    };
    let played = run(plan, &|_| {});
    let doc = super::workshop(knowledge(), &[(summary(plan, &played), played)], 1);
    insta::assert_snapshot!(text::render(&doc, 80, Style::Plain));
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
        let cylinders = usize::from(job(preset, Details::default(), Vec::new()).head.engine.cylinders);
        let readings = vec![Reading::Degrees(Celsius::new(level).expect("it can be")); cylinders];
        let timeline = read(knowledge(), &job(preset, Details::default(), vec![temps("cruise", readings)]));
        let usual: Vec<Usual> = Regime::STEADY
            .into_iter()
            .map(|at| Usual {
                at: at.into(),
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
