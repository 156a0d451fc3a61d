//! Naming the fault from displays that the circuit model or the domain facts give for it.

use measure::thermocouple::Standard;
use measure::thermocouple::circuit::Display;
use measure::thermocouple::explain::{Explanation, Fault, Observation, explain};

use crate::support::near;

fn at(tip: f64, display: f64) -> Observation {
    Observation { tip, display: Display::Shows(display), terminals: 25.0, joint: None }
}

#[track_caller]
fn best(seen: &[Observation]) -> Explanation {
    let ranked = explain(Standard::K, Standard::K, seen, 3.0).expect("in range");
    ranked.into_iter().next().expect("never empty")
}

#[test]
fn right_displays_need_no_fault() {
    let best = best(&[at(25.0, 25.0), at(100.0, 99.0), at(400.0, 402.0)]);
    assert_eq!((best.fault, best.fits, best.tested), (Fault::Sound, true, true));
}

#[test]
fn a_reversed_probe_is_seen_in_boiling_water() {
    let best = best(&[at(25.0, 25.0), at(60.0, -11.0), at(100.0, -56.0)]);
    assert_eq!(best.fault, Fault::ReversedOnce);
    assert!(best.fits);
}

#[test]
fn under_range_counts_as_what_a_reversed_probe_shows_when_hot() {
    let hot = Observation { display: Display::UnderRange, ..at(400.0, 0.0) };
    let best = best(&[Observation::cold_soak(20.0, Display::Shows(20.0)), hot]);
    assert_eq!(best.fault, Fault::ReversedOnce);
}

#[test]
fn a_lead_reversed_at_both_ends_tells_the_temperature_of_its_joint() {
    let seen = [
        Observation::cold_soak(20.0, Display::Shows(20.0)),
        at(400.0, 331.6),
        at(700.0, 631.8),
        at(850.0, 779.7),
    ];
    let ranked = explain(Standard::K, Standard::K, &seen, 3.0).expect("in range");
    let twice = ranked.iter().find(|e| e.fault == Fault::ReversedTwice).expect("always there");
    near(twice.value.expect("one free"), 35.0, 0.1, "joint above terminals");
    assert!(twice.fits && twice.tested && twice.rms < 0.1);
    // Copper with twice the rise fits as well: these displays cannot tell the two apart.
    let copper = ranked.iter().find(|e| e.fault == Fault::CopperLead).expect("always there");
    near(copper.value.expect("one free"), 70.0, 2.0, "joint above terminals");
    assert!(copper.fits);
    assert!(!ranked.iter().any(|e| e.fault == Fault::Sound && e.fits));
}

#[test]
fn a_joint_whose_temperature_is_known_tells_copper_from_a_double_reversal() {
    let known = |tip, display| Observation { joint: Some(60.0), ..at(tip, display) };
    let best = best(&[known(400.0, 331.6), known(700.0, 631.8), known(850.0, 779.7)]);
    assert_eq!(best.fault, Fault::ReversedTwice);
}

#[test]
fn a_channel_set_to_type_j_is_named() {
    let best = best(&[at(60.0, 52.4), at(100.0, 83.5), at(500.0, 383.2), at(700.0, 535.8)]);
    assert_eq!(best.fault, Fault::WrongSetting(Standard::J));
    assert!(best.rms < 0.1);
}

#[test]
fn a_type_n_probe_on_a_type_k_channel_is_named() {
    let best = best(&[at(60.0, 48.5), at(100.0, 76.4), at(300.0, 238.4), at(700.0, 599.1)]);
    assert_eq!(best.fault, Fault::WrongProbe(Standard::N));
}

#[test]
fn a_steady_emf_is_the_cold_junction_or_a_stray_current() {
    let known = |tip, display| Observation { joint: Some(40.0), ..at(tip, display) };
    let seen = [known(25.0, 35.0), known(200.0, 210.2), known(400.0, 409.6), known(800.0, 809.9)];
    let ranked = explain(Standard::K, Standard::K, &seen, 3.0).expect("in range");
    assert_eq!([ranked[0].fault, ranked[1].fault], [Fault::ColdJunction, Fault::Bias]);
    near(ranked[0].value.expect("one free"), 10.0, 0.1, "cold-junction error");
    near(ranked[1].value.expect("one free"), 0.406, 0.004, "stray emf");
}

#[test]
fn one_observation_never_tests_a_fault_with_something_free() {
    let ranked = explain(Standard::K, Standard::K, &[at(400.0, 360.0)], 3.0).expect("in range");
    let bias = ranked.iter().find(|e| e.fault == Fault::Bias).expect("always there");
    assert!(bias.fits && !bias.tested);
}

#[test]
fn a_temperature_no_probe_can_have_is_an_error() {
    assert!(explain(Standard::K, Standard::K, &[at(1500.0, 400.0)], 3.0).is_err());
}
