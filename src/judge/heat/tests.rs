use std::sync::OnceLock;

use jiff::Timestamp;

use super::*;
use facts::job::complaint::Details;
use facts::job::entry::{EngineState, Entry, Head, Journal, What};
use facts::job::history::{History, Usual};
use facts::job::read::read;
use facts::knowledge::embedded::embedded;
use facts::knowledge::{Item, RunningPoint, load};
use fixture::degrees;
use measure::engine::{Engine, Fuel, Regime};
use measure::units::Celsius;

fn knowledge() -> &'static Knowledge {
    static LOADED: OnceLock<Knowledge> = OnceLock::new();
    LOADED.get_or_init(|| load(embedded(), &[]).0.expect("the built-in knowledge base is whole"))
}

fn temps(at: RunningPoint, values: &[f64]) -> What {
    let site = ProbeSite::Exhaust;
    What::Temps { at: at.id, site, readings: degrees(values), from: None }
}

fn full(values: &[f64]) -> What {
    temps(fixture::at(Regime::Full), values)
}

fn cruise(values: &[f64]) -> What {
    temps(fixture::at(Regime::Cruise), values)
}

fn heads(at: RunningPoint, values: &[f64]) -> What {
    What::Temps { at: at.id, site: ProbeSite::Head, readings: degrees(values), from: None }
}

/// A job on the first preset of so many cylinders and this fuel.
fn job(cylinders: u8, fuel: Fuel, details: Details, list: Vec<What>) -> Timeline {
    let fits = |p: &&facts::knowledge::Preset| {
        p.engine.cylinders == cylinders
            && p.engine.fuel == fuel
            && p.engine.probes == ProbeSite::Exhaust
    };
    let preset = knowledge().presets.iter().find(fits).expect("a preset");
    on(preset.engine.clone(), details, list)
}

fn on(engine: Engine, details: Details, list: Vec<What>) -> Timeline {
    let mut journal = Journal::new(Head {
        opened: Timestamp::UNIX_EPOCH,
        typed: String::new(),
        vehicle: String::new(),
        complaint: String::new(),
        engine_name: String::new(),
        engine,
        recent: Vec::new(),
        state: EngineState::Warm,
        details,
    });
    for what in list {
        journal.push(Entry::new(Timestamp::UNIX_EPOCH, String::new(), what));
    }
    read(knowledge(), &journal)
}

fn four(list: Vec<What>) -> Timeline {
    job(4, Fuel::Port, Details::default(), list)
}

fn verdict(timeline: &Timeline) -> Option<Verdict> {
    judge(knowledge(), timeline).map(|heat| heat.verdict)
}

#[test]
fn a_display_far_above_the_others_at_load_stops_the_engine() {
    let eight = [863.0, 1016.0, 862.0, 859.0, 864.0, 857.0, 861.0, 860.0];
    let timeline = job(8, Fuel::Port, Details::default(), vec![full(&eight)]);
    let heat = judge(knowledge(), &timeline).expect("hot");
    assert_eq!(heat.verdict, Verdict::Stop);
    assert_eq!(heat.readings.len(), 1);
    assert_eq!((heat.readings[0].display, heat.readings[0].entry), (2, 1));
    let diesel = [550.0, 706.0, 548.0, 553.0];
    assert_eq!(
        verdict(&job(4, Fuel::Diesel, Details::default(), vec![full(&diesel)])),
        Some(Verdict::Stop)
    );
    assert_eq!(verdict(&four(vec![full(&[850.0, 985.0, 848.0, 852.0])])), Some(Verdict::Stop));
    assert_eq!(verdict(&four(vec![cruise(&[650.0, 720.0, 648.0, 652.0])])), Some(Verdict::Watch));
    assert_eq!(
        verdict(&four(vec![heads(fixture::at(Regime::Full), &[180.0, 250.0, 181.0, 179.0])])),
        Some(Verdict::Stop)
    );
}

/// Of two displays nobody can tell which is off: one that reads what such an engine's do is not hot because its mate
/// misses.
#[test]
fn a_mate_that_misses_makes_no_display_hot() {
    let two = |list| {
        let twin = knowledge().presets.iter().find(|p| p.engine.cylinders == 2).expect("a twin");
        let engine = Engine { probes: ProbeSite::Exhaust, ..twin.engine.clone() };
        on(engine, Details::default(), list)
    };
    assert_eq!(verdict(&two(vec![cruise(&[650.0, 507.0])])), None);
    assert_eq!(verdict(&two(vec![cruise(&[760.0, 507.0])])), Some(Verdict::Stop));
    assert_eq!(verdict(&two(vec![full(&[945.0, 830.0])])), Some(Verdict::Watch));
    assert_eq!(verdict(&two(vec![full(&[975.0, 830.0])])), Some(Verdict::Stop));
}

#[test]
fn hotter_is_never_taken_for_less_grave() {
    let mut last = None;
    for by in 0..40_u32 {
        let diesel = [300.0, 305.0, 300.0 + 20.0 * f64::from(by), 298.0];
        let now = verdict(&job(4, Fuel::Diesel, Details::default(), vec![cruise(&diesel)]));
        if now == Some(Verdict::CannotBe) {
            break;
        }
        assert!(now >= last, "{diesel:?}: {now:?} after {last:?}");
        last = now;
    }
    assert_eq!(last, Some(Verdict::Stop));
}

#[test]
fn healthy_readings_ask_for_nothing() {
    let sets = vec![
        temps(fixture::at(Regime::ColdSoak), &[18.0, 19.0, 18.0, 18.0]),
        temps(fixture::at(Regime::Warming), &[90.0, 60.0, 120.0, 100.0]),
        temps(fixture::at(Regime::Idle), &[500.0, 611.0, 503.0, 500.0]),
        cruise(&[650.0, 668.0, 640.0, 655.0]),
        full(&[860.0, 880.0, 840.0, 870.0]),
    ];
    let timeline = four(sets);
    assert_eq!(judge(knowledge(), &timeline), None);
    assert!(allows(knowledge(), &timeline, fixture::at(Regime::Full)));
}

#[test]
fn levels_that_cannot_be_are_no_temperatures() {
    for value in [1300.0, 1.2, -60.0] {
        let timeline = four(vec![full(&[value; 4])]);
        assert_eq!(verdict(&timeline), Some(Verdict::CannotBe), "{value}");
        assert!(!allows(knowledge(), &timeline, fixture::at(Regime::Full)));
    }
    let open = What::Temps {
        at: Regime::Idle.into(),
        site: ProbeSite::Exhaust,
        readings: vec![Reading::Open; 4],
        from: None,
    };
    let heat = judge(knowledge(), &four(vec![open])).expect("open");
    assert_eq!((heat.verdict, heat.why), (Verdict::CannotBe, vec![Reason::AllOpen]));
    // One dead display among others is another question.
    assert_eq!(verdict(&four(vec![full(&[860.0, 20.0, 858.0, 861.0])])), None);
}

#[test]
fn the_builders_limit_stands_above_all() {
    let limit = Celsius::new(870.0).ok();
    let details = Details { builder_limit: limit, ..Details::default() };
    let hot = vec![full(&[862.0, 885.0, 860.0, 858.0])];
    let timeline = job(4, Fuel::Port, details.clone(), hot.clone());
    let heat = judge(knowledge(), &timeline).expect("hot");
    assert_eq!((heat.verdict, heat.why), (Verdict::Stop, vec![Reason::Builder(870.0)]));
    assert_eq!(verdict(&four(hot)), None);
}

#[test]
fn the_newest_set_of_a_point_counts() {
    let (hot, fine) = ([850.0, 985.0, 848.0, 852.0], [850.0, 862.0, 848.0, 852.0]);
    assert_eq!(verdict(&four(vec![full(&hot), full(&fine)])), None);
    assert_eq!(verdict(&four(vec![full(&fine), full(&hot)])), Some(Verdict::Stop));
    // Another point says nothing of it.
    let cruising = cruise(&[650.0, 655.0, 640.0, 655.0]);
    assert_eq!(verdict(&four(vec![full(&hot), cruising])), Some(Verdict::Stop));
}

#[test]
fn no_load_while_a_stop_stands_and_in_steps_after_something_was_touched() {
    let hot = full(&[850.0, 985.0, 848.0, 852.0]);
    let cool = cruise(&[650.0, 655.0, 640.0, 655.0]);
    let may = |list: Vec<What>, at| allows(knowledge(), &four(list), at);
    let (at_cruise, at_full) = (fixture::at(Regime::Cruise), fixture::at(Regime::Full));
    assert!(!may(vec![hot.clone()], at_full));
    assert!(!may(vec![hot.clone(), What::LoadConfirmed], at_full), "a stop is not talked away");
    assert!(may(vec![hot.clone()], at_cruise), "cruise itself is not hot");
    let touched = What::Remake { item: Item::Plug, cylinder: 2, new: true };
    assert!(!may(vec![hot.clone(), touched.clone(), What::LoadConfirmed], at_full));
    let steps = vec![hot.clone(), touched.clone(), cool.clone()];
    assert_eq!(verdict(&four(steps.clone())), Some(Verdict::Watch));
    assert!(!may(steps.clone(), at_full));
    assert!(may([steps, vec![What::LoadConfirmed]].concat(), at_full));
    let hot_cruise = cruise(&[650.0, 800.0, 648.0, 652.0]);
    assert!(!may(vec![hot_cruise.clone()], at_cruise) && !may(vec![hot_cruise.clone()], at_full));
    assert!(may(vec![hot_cruise], fixture::at(Regime::Idle)));
}

/// What was put right and left the cylinder as warm as it was where it may be read cured nothing: the point where it
/// is hot is not run again on the strength of that. Where it came down there, in steps.
#[test]
fn a_remedy_that_changed_nothing_below_does_not_open_full_load() {
    let at_full = fixture::at(Regime::Full);
    let may = |after: f64| {
        let list = vec![
            cruise(&[650.0, 682.0, 648.0, 652.0]),
            full(&[850.0, 985.0, 848.0, 852.0]),
            What::Remedy {
                cause: "inj-lean".to_owned(),
                place: measure::engine::Place::Cylinder(2),
            },
            cruise(&[650.0, after, 648.0, 652.0]),
        ];
        allows(knowledge(), &four(list), at_full)
    };
    assert!(!may(681.0) && !may(674.0));
    assert!(may(655.0));
}

#[test]
fn what_the_customer_hears_is_watched_until_a_remedy() {
    let details = Details { does: Some(Does::Pings), ..Details::default() };
    let idle = temps(fixture::at(Regime::Idle), &[500.0, 505.0, 503.0, 500.0]);
    let timeline = job(4, Fuel::Port, details, vec![idle]);
    assert_eq!(verdict(&timeline), Some(Verdict::Watch));
    assert!(!allows(knowledge(), &timeline, fixture::at(Regime::Full)));
    assert!(allows(knowledge(), &timeline, fixture::at(Regime::Cruise)));
}

#[test]
fn a_hot_head_over_a_cold_exhaust_is_watched() {
    let sets = vec![
        cruise(&[650.0, 560.0, 648.0, 652.0]),
        heads(fixture::at(Regime::Cruise), &[150.0, 172.0, 151.0, 149.0]),
    ];
    let heat = judge(knowledge(), &four(sets)).expect("hot inside");
    assert_eq!(heat.why, [Reason::ColdExhaustHotHead]);
}

#[test]
fn the_engines_own_record_counts() {
    let usual = Usual {
        at: Regime::Full.into(),
        site: ProbeSite::Exhaust,
        visits: vec![2; 4],
        mean: vec![30.0, -40.0, 5.0, 5.0],
        sd: vec![8.0; 4],
    };
    let history = What::History(History { usual: vec![usual], ..History::default() });
    // Level with the others, which this display never was.
    let now = full(&[880.0, 900.0, 850.0, 852.0]);
    let heat = judge(knowledge(), &four(vec![history, now.clone()])).expect("off its record");
    assert_eq!(heat.verdict, Verdict::Watch);
    assert!(matches!(heat.why[..], [Reason::Record(_)]), "{:?}", heat.why);
    assert_eq!(verdict(&four(vec![now])), None);
}
