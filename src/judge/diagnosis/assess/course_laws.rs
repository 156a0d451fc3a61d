//! What no course of readings, and no state of a display, may be explained away as.

use super::assess;
use crate::diagnosis::CauseRef;
use facts::job::complaint::Does;
use facts::job::entry::{Reading, What};
use facts::job::read::read;
use facts::knowledge::embedded::embedded;
use facts::knowledge::{Item, Lasting, Seat, load};
use fixture::{degrees, engine, entry, journal, temps};
use measure::engine::{Engine, Ignition, Place, Regime};
use measure::units::Celsius;

/// Share of nothing wrong, and of that or not yet steady.
fn nothing(cylinders: Option<Engine>, sets: &[(&str, Vec<Reading>)]) -> (f64, f64) {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let mut journal = journal();
    journal.head.recent.clear();
    journal.head.engine = cylinders.unwrap_or_else(engine);
    journal.entries =
        sets.iter().map(|(at, readings)| entry(temps(at, readings.clone()))).collect();
    let answer = assess(&knowledge, &read(&knowledge, &journal));
    let unsettled: f64 = answer
        .suspects
        .iter()
        .filter(|s| s.fault.cause.id(&knowledge) == "not-settled")
        .map(|s| s.probability)
        .sum();
    (answer.healthy, answer.healthy + unsettled)
}

fn third(at: &'static str, level: f64, value: f64) -> (&'static str, Vec<Reading>) {
    (at, degrees(&[level, level + 5.0, value, level + 7.0]))
}

#[test]
fn what_began_or_comes_and_goes_is_neither_sound_nor_unsettled() {
    let idle = |values: &[f64]| -> Vec<_> {
        values.iter().map(|value| third("idle", 500.0, *value)).collect()
    };
    let cases = [
        (idle(&[500.0, 500.0, 430.0, 430.0, 430.0, 430.0]), 0.05),
        (idle(&[430.0, 500.0, 430.0, 500.0]), 0.05),
        // Seen once, it may be a number that was misread: one in 250 is, where one fault in twelve begins
        // during a job, and on one display of four.
        (idle(&[500.0, 430.0]), 0.15),
        (idle(&[500.0, 200.0]), 0.05),
        (
            vec![
                third("idle", 500.0, 500.0),
                third("cruise", 650.0, 650.0),
                third("idle", 500.0, 430.0),
                third("cruise", 650.0, 580.0),
            ],
            0.05,
        ),
    ];
    for (sets, most) in cases {
        let (_, passes) = nothing(None, &sets);
        assert!(passes < most, "{sets:?}: {passes}");
    }
}

/// A seventh set that repeats the one before says nothing new of what comes and goes, though from there on not
/// every pattern is followed: low at idle once of three, at full load both times it was read, never at cruise.
#[test]
fn what_comes_and_goes_at_some_points_is_followed_beyond_six_sets() {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let coming = |sets: &[(&str, Vec<Reading>)]| {
        let mut journal = journal();
        journal.head.recent.clear();
        journal.entries =
            sets.iter().map(|(at, readings)| entry(temps(at, readings.clone()))).collect();
        let answer = assess(&knowledge, &read(&knowledge, &journal));
        let loose = |cause: CauseRef| match cause {
            CauseRef::Listed(index) => knowledge.causes[index].is_intermittent(),
            CauseRef::Unlisted => false,
        };
        answer.suspects.iter().filter(|s| loose(s.fault.cause)).map(|s| s.probability).sum::<f64>()
    };
    let sets = [
        third("idle", 400.0, 400.0),
        third("idle", 400.0, 212.0),
        third("cruise", 590.0, 590.0),
        third("full", 840.0, 465.0),
        third("full", 840.0, 468.0),
        third("idle", 400.0, 401.0),
        third("idle", 400.0, 402.0),
    ];
    let (six, seven) = (coming(&sets[..6]), coming(&sets));
    assert!(seven > 0.5 * six, "{six} after six sets, {seven} after seven");
}

/// A display that goes dead during the job, after an exchange with work on either side of which nothing was read: one
/// more look, at which nothing changes, has not cured it.
#[test]
fn what_began_during_the_job_is_not_cured_by_a_look() {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let found = |id: &str, outcome: &str| {
        entry(What::Found {
            test: id.to_owned(),
            outcome: outcome.to_owned(),
            cylinder: Some(4),
            partner: None,
        })
    };
    let mut journal = journal();
    journal.head.recent.clear();
    journal.entries = vec![
        entry(temps("idle", degrees(&[409.0, 402.0, 400.0, 400.0]))),
        found("wiggle", "no-change"),
        entry(What::Exchange { item: Item::LeadAtProbe, a: 4, b: 2 }),
        entry(temps("cruise", degrees(&[620.0, 612.0, 615.0, 623.0]))),
        entry(temps("idle", degrees(&[408.0, 404.0, 400.0, 409.0]))),
    ];
    let mut dead = degrees(&[412.0, 404.0, 401.0, 407.0]);
    dead[1] = Reading::Open;
    journal.entries.push(entry(temps("idle", dead)));
    journal.entries.push(found("wiggle", "no-change"));
    let answer = assess(&knowledge, &read(&knowledge, &journal));
    assert!(
        answer.present > 0.9 * (1.0 - answer.healthy),
        "{} of {}",
        answer.present,
        1.0 - answer.healthy
    );
}

#[test]
fn sets_that_agree_do_not_make_an_engine_ill() {
    let set = || third("idle", 500.0, 477.0);
    let (once, _) = nothing(None, &[set()]);
    let (often, _) = nothing(None, &[set(), set(), set(), set()]);
    assert!(often > once - 0.05, "{once} once, {often} after four");
}

#[test]
fn a_dead_display_is_not_sound_and_a_jump_is_the_less_so_the_farther() {
    let with = |reading: Reading| {
        let mut readings = degrees(&[505.0, 498.0, 500.0, 507.0]);
        readings[2] = reading;
        nothing(None, &[("idle", readings)]).0
    };
    let celsius = |value: f64| Celsius::new(value).expect("heat");
    let jump =
        |half: f64| with(Reading::Erratic { lo: celsius(500.0 - half), hi: celsius(500.0 + half) });
    assert!(with(Reading::Open) <= 0.02);
    let far = [jump(5.0), jump(10.0), jump(20.0)];
    assert!(far[0] > far[1] && far[1] > far[2], "{far:?}");
    assert!(jump(240.0) <= 0.02);
    let floats = nothing(None, &[("idle", degrees(&[427.0, 447.0, 39.0, 455.0]))]).0;
    assert!(floats <= 0.02, "{floats}");
}

/// What jumped at every look at a point, and is steady there once its contact was made good, is gone; and what jumps
/// at a second look is no engine that was not yet steady.
#[test]
fn what_jumped_at_a_point_jumps_there_again_while_it_is_there() {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let celsius = |value: f64| Celsius::new(value).expect("heat");
    let jumping = |lo: f64, hi: f64| {
        let mut readings = degrees(&[500.0, 505.0, 500.0, 507.0]);
        readings[2] = Reading::Erratic { lo: celsius(lo), hi: celsius(hi) };
        temps("idle", readings)
    };
    let wiggled = What::Found {
        test: "wiggle".to_owned(),
        outcome: "jumps".to_owned(),
        cylinder: Some(3),
        partner: None,
    };
    let cure = What::Remedy { cause: "conn-poor".to_owned(), place: Place::Cylinder(3) };
    let whats = [
        temps("cruise", degrees(&[650.0, 655.0, 652.0, 657.0])),
        jumping(470.0, 505.0),
        jumping(472.0, 506.0),
        wiggled,
        cure,
        temps("idle", degrees(&[500.0, 505.0, 497.0, 507.0])),
    ];
    let after = |count: usize| {
        let mut journal = journal();
        journal.head.recent.clear();
        journal.entries = whats[..count].iter().cloned().map(entry).collect();
        assess(&knowledge, &read(&knowledge, &journal))
    };
    let answer = after(3);
    let unsettled = answer.suspects.iter().find(|s| s.fault.cause.id(&knowledge) == "not-settled");
    assert!(unsettled.is_none_or(|s| s.probability < 0.05), "{unsettled:?}");
    let present = after(whats.len()).present;
    assert!(present < 0.1, "{present}");
}

/// A wrong part, a bent rod, a blocked runner: none of them goes away while something else is put right.
#[test]
fn what_is_a_shape_or_a_setting_did_not_go_away_by_itself() {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let mut journal = journal();
    journal.head.recent.clear();
    let cure = What::Remedy { cause: "fit-shallow".to_owned(), place: Place::Cylinder(3) };
    journal.entries = [
        temps("cruise", degrees(&[650.0, 655.0, 700.0, 648.0])),
        temps("idle", degrees(&[440.0, 438.0, 462.0, 436.0])),
        temps("cruise", degrees(&[651.0, 654.0, 699.0, 649.0])),
        cure,
        temps("cruise", degrees(&[650.0, 656.0, 652.0, 648.0])),
        temps("idle", degrees(&[440.0, 438.0, 442.0, 437.0])),
    ]
    .map(entry)
    .to_vec();
    let answer = assess(&knowledge, &read(&knowledge, &journal));
    let fixed: Vec<(&str, f64)> = answer
        .suspects
        .iter()
        .filter(|s| match s.fault.cause {
            CauseRef::Listed(index) => {
                let cause = &knowledge.causes[index];
                let cured = cause.seat == Seat::Fit;
                cause.lasting == Lasting::Fixed && !cured && s.fault.place == Place::Cylinder(3)
            }
            CauseRef::Unlisted => false,
        })
        .map(|s| (s.fault.cause.id(&knowledge), s.probability - s.present))
        .collect();
    let gone: f64 = fixed.iter().map(|(_, share)| share).sum();
    assert!(fixed.len() > 5 && gone < 0.01, "{gone} {fixed:?}");
}

/// Of a cylinder that does not fire at all a trim shows nothing, whatever keeps it from firing: it tells no loose
/// contact that is open from a dead injector.
#[test]
fn what_does_not_fire_shows_the_same_to_tests_of_its_burning() {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let dead = |found: &[(&str, &str)]| {
        let mut journal = journal();
        journal.head.recent.clear();
        let mut sets = vec![entry(temps("idle", degrees(&[400.0, 405.0, 190.0, 407.0])))];
        sets.push(entry(temps("cruise", degrees(&[640.0, 645.0, 295.0, 647.0]))));
        sets.extend(found.iter().map(|(test, outcome)| {
            entry(What::Found {
                test: (*test).to_owned(),
                outcome: (*outcome).to_owned(),
                cylinder: Some(3),
                partner: None,
            })
        }));
        journal.entries = sets;
        let answer = assess(&knowledge, &read(&knowledge, &journal));
        let share = |id: &str| {
            let own = answer.suspects.iter().filter(|s| s.fault.cause.id(&knowledge) == id);
            own.map(|s| s.probability).sum::<f64>()
        };
        share("inj-wiring") / share("inj-dead")
    };
    let before = dead(&[]);
    for (test, outcome) in
        [("trim-retard", "still"), ("trim-rich", "still"), ("cut-out", "no-drop")]
    {
        let after = dead(&[(test, outcome)]);
        assert!(after > 0.8 * before, "{test}: {before} before, {after} after");
    }
}

/// A shape or a setting that was seen directly is believed, also where readings were level first: somebody may have
/// worked on it and not said so, and a lifter collapses while the engine runs.
#[test]
fn what_is_seen_directly_is_believed_whenever_it_began() {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    // Cause, what display 3 shows at idle and cruise once it is there, the look and what it shows.
    let cases = [
        ("valve-wide", [0.0, -45.0], ("clearance", "wide")),
        ("fit-shallow", [-55.0, -75.0], ("look-fit", "shallower")),
        ("fit-deep", [45.0, 60.0], ("look-fit", "deeper")),
    ];
    let mut seen = Vec::new();
    for (cause, [idle, cruise], (test, outcome)) in cases {
        let mut journal = journal();
        journal.head.recent.clear();
        let set = |at: &str, level: f64, by: f64| {
            let values = [level, level + 4.0, level + 2.0 + by, level + 5.0];
            entry(temps(at, degrees(&values)))
        };
        journal.entries = vec![
            set("idle", 440.0, 0.0),
            set("cruise", 640.0, 0.0),
            set("idle", 441.0, idle),
            set("cruise", 641.0, cruise),
            entry(What::Found {
                test: test.to_owned(),
                outcome: outcome.to_owned(),
                cylinder: Some(3),
                partner: None,
            }),
        ];
        let answer = assess(&knowledge, &read(&knowledge, &journal));
        let own = answer.suspects.iter().filter(|s| {
            s.fault.cause.id(&knowledge) == cause && s.fault.place == Place::Cylinder(3)
        });
        let share: f64 = own.map(|s| s.probability).sum();
        seen.push((cause, share));
    }
    assert!(seen.iter().all(|(_, share)| *share > 0.1), "{seen:?}");
}

/// Less air for the same fuel leaves a cylinder rich whatever keeps the air out, and tests of the mixture show it: a
/// valve that does not open is hardly rarer beside a blocked runner once they have.
#[test]
fn what_leaves_a_cylinder_rich_shows_the_same_to_tests_of_its_mixture() {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let ratio = |found: Option<(&str, &str)>| {
        let mut journal = journal();
        journal.head.recent.clear();
        journal.entries = vec![
            entry(temps("idle", degrees(&[440.0, 444.0, 428.0, 445.0]))),
            entry(temps("cruise", degrees(&[640.0, 645.0, 605.0, 647.0]))),
        ];
        journal.entries.extend(found.map(|(test, outcome)| {
            entry(What::Found {
                test: test.to_owned(),
                outcome: outcome.to_owned(),
                cylinder: Some(3),
                partner: None,
            })
        }));
        let answer = assess(&knowledge, &read(&knowledge, &journal));
        let share = |id: &str| {
            let own = answer.suspects.iter().filter(|s| s.fault.cause.id(&knowledge) == id);
            own.map(|s| s.probability).sum::<f64>()
        };
        share("valve-wide") / share("air-blocked")
    };
    let before = ratio(None);
    for found in [("mixture-sweep", "late"), ("plug-read", "black-dry"), ("runner-lambda", "rich")]
    {
        let after = ratio(Some(found));
        assert!(after > 0.4 * before, "{found:?}: {before} before, {after} after");
    }
}

/// What came and went by spells is gone once its cure was followed by level readings, and with each the more so: the
/// pattern in which it showed over nine sets is rare beforehand, and was left out for that.
#[test]
fn a_level_set_more_after_a_cure_takes_nothing_from_it() {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let set = |at: &str, level: f64, by: f64| {
        let values = [level + by, level + 6.0, level - 4.0, level + 4.0, level];
        entry(temps(at, degrees(&values)))
    };
    let (idle, cruise) = (|by: f64| set("idle", 413.0, by), |by: f64| set("cruise", 640.0, by));
    let swap = || entry(What::Exchange { item: Item::LeadAtProbe, a: 1, b: 2 });
    let remedy =
        |cause: &str| entry(What::Remedy { cause: cause.to_owned(), place: Place::Cylinder(1) });
    let found = |test: &str, outcome: &str| {
        entry(What::Found {
            test: test.to_owned(),
            outcome: outcome.to_owned(),
            cylinder: Some(1),
            partner: None,
        })
    };
    let before = vec![
        cruise(-42.0),
        idle(-40.0),
        swap(),
        idle(6.0),
        cruise(-29.0),
        swap(),
        idle(-40.0),
        remedy("conn-poor"),
        idle(-4.0),
        cruise(-45.0),
        found("warm-joint", "steady"),
        found("plug-read", "alike"),
        found("input-link", "off"),
        remedy("chan-cold-junction"),
    ];
    let after = [idle(-4.0), cruise(-3.0), idle(-3.0), cruise(-4.0)];
    let mut last = 1.0;
    for sets in 1..=after.len() {
        let mut journal = journal();
        journal.head.engine = Engine { ignition: Ignition::CoilPerPlug, ..Engine::plain(5) };
        journal.head.recent = vec!["box-changed".to_owned()];
        journal.head.details.cylinder = Some(1);
        journal.head.details.at = Some(Regime::Cruise.into());
        journal.head.details.does = Some(Does::Low);
        journal.entries = [&before[..], &after[..sets]].concat();
        let answer = assess(&knowledge, &read(&knowledge, &journal));
        assert!(answer.present < last + 0.02, "{sets}: {} after {last}", answer.present);
        last = answer.present;
    }
    assert!(last < 0.4, "{last}");
}
