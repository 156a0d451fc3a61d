//! Displays under wiring faults: every number of the domain facts, section 1.4.

use measure::thermocouple::Standard;
use measure::thermocouple::circuit::{Circuit, Display, Lead, Reversal, Short, Temperatures};

use crate::support::near;

const SOUND: fn() -> Circuit = || Circuit::sound(Standard::K);

#[track_caller]
fn shown(circuit: Circuit, tip: f64, joint: f64, terminals: f64) -> f64 {
    match circuit.display(Temperatures { tip, joint, terminals }).expect("in range") {
        Display::Shows(t) => t,
        flag => panic!("expected a number, shows {flag:?}"),
    }
}

#[test]
fn a_sound_chain_shows_the_tip_whatever_the_joint() {
    for joint in [-20.0, 25.0, 140.0] {
        near(shown(SOUND(), 700.0, joint, 25.0), 700.0, 1e-6, "tip");
    }
}

#[test]
fn reversed_once_falls_as_the_engine_warms() {
    let reversed = Circuit { reversal: Reversal::AtTerminals, ..SOUND() };
    for (tip, expected) in [(15.0, 34.9), (25.0, 25.0), (60.0, -11.1), (100.0, -55.8)] {
        near(shown(reversed, tip, 25.0, 25.0), expected, 0.051, &format!("true {tip}"));
    }
    near(shown(reversed, 200.0, 25.0, 25.0), -218.0, 0.51, "true 200");
    for tip in [300.0, 600.0, 900.0] {
        let at = Temperatures { tip, joint: 25.0, terminals: 25.0 };
        assert_eq!(reversed.display(at), Ok(Display::UnderRange));
    }
    let at_joint = Circuit { reversal: Reversal::AtJoint, ..SOUND() };
    let same = shown(at_joint, 60.0, 25.0, 25.0) - shown(reversed, 60.0, 25.0, 25.0);
    near(same, 0.0, 1e-9, "with the joint at the terminals' temperature the place does not matter");
}

const JOINTS: [(f64, f64); 6] =
    [(20.0, 20.0), (40.0, 25.0), (60.0, 25.0), (80.0, 30.0), (100.0, 35.0), (25.0, 40.0)];

#[test]
fn reversed_at_both_ends_shows_the_tip_less_twice_the_rise_of_the_joint() {
    let twice = Circuit { reversal: Reversal::AtBothEnds, ..SOUND() };
    for (tip, row) in [
        (20.0, [20.0, -10.9, -55.2, -92.7, -136.5, 50.0]),
        (400.0, [400.0, 371.0, 331.6, 301.5, 271.2, 428.9]),
        (700.0, [700.0, 670.9, 631.8, 602.3, 572.9, 729.3]),
        (850.0, [850.0, 819.9, 779.7, 749.3, 719.3, 880.3]),
    ] {
        for ((joint, terminals), expected) in JOINTS.into_iter().zip(row) {
            let what = format!("tip {tip}, joint {joint}, terminals {terminals}");
            near(shown(twice, tip, joint, terminals), expected, 0.051, &what);
        }
    }
}

#[test]
fn copper_from_the_joint_loses_half_as_much() {
    let copper = Circuit { lead: Lead::Copper, ..SOUND() };
    for ((joint, terminals), expected) in
        JOINTS[1..5].iter().copied().zip([685.4, 665.8, 651.0, 636.2])
    {
        near(shown(copper, 700.0, joint, terminals), expected, 0.051, &format!("joint {joint}"));
    }
}

#[test]
fn a_wrong_extension_pair_adds_a_little() {
    let joints = [(40.0, 25.0, 400.0), (55.0, 27.0, 620.0), (70.0, 30.0, 860.0)];
    for (pair, row, within) in [
        (Standard::J, [4.0, 8.0, 12.0], 0.51),
        (Standard::N, [-5.0, -9.0, -13.0], 0.51),
        (Standard::E, [7.0, 14.0, 22.0], 0.51),
        (Standard::T, [0.2, 0.7, 1.6], 0.051),
    ] {
        let circuit = Circuit { lead: Lead::Extension(pair), ..SOUND() };
        for ((joint, terminals, tip), expected) in joints.into_iter().zip(row) {
            let error = shown(circuit, tip, joint, terminals) - tip;
            near(error, expected, within, &format!("type {pair} pair at {tip}"));
        }
    }
}

/// A probe of one type on a channel set to another, lead of the probe's type.
fn mixed(probe: Standard, channel: Standard) -> Circuit {
    Circuit { channel, ..Circuit::sound(probe) }
}

#[test]
fn a_wrong_type_is_right_at_the_terminals_and_wrong_elsewhere() {
    use Standard::{E, J, K, N};
    for (probe, channel, row) in [
        (K, J, [1.0, -17.0, -43.0, -94.0, -144.0, -211.0]),
        (K, N, [-3.0, 32.0, 56.0, 82.0, 103.0, 117.0]),
        (K, E, [2.0, -26.0, -66.0, -154.0, -254.0, -370.0]),
        (N, K, [2.0, -24.0, -47.0, -73.0, -94.0, -112.0]),
        (J, K, [-1.0, 22.0, 59.0, 122.0, 198.0, 347.0]),
    ] {
        for (tip, expected) in [20.0, 100.0, 200.0, 400.0, 620.0, 860.0].into_iter().zip(row) {
            let error = shown(mixed(probe, channel), tip, 25.0, 25.0) - tip;
            near(error, expected, 0.51, &format!("{probe} on {channel} at {tip}"));
        }
        near(shown(mixed(probe, channel), 25.0, 25.0, 25.0), 25.0, 1e-6, "at the terminals");
    }
    for (tip, error) in
        [(20.0, -3.0), (100.0, 42.0), (200.0, 117.0), (400.0, 284.0), (620.0, 509.0)]
    {
        let found = shown(mixed(E, K), tip, 25.0, 25.0) - tip;
        near(found, error, 0.51, &format!("E on K at {tip}"));
    }
    let hot = Temperatures { tip: 860.0, joint: 25.0, terminals: 25.0 };
    assert_eq!(mixed(E, K).display(hot), Ok(Display::OverRange));
}

#[test]
fn wrong_type_displays_are_those_computed_elsewhere() {
    use Standard::{J, K, N};
    for (probe, channel, row) in [
        (K, J, [52.4, 83.5, 230.7, 383.2, 535.8, 675.2]),
        (K, N, [76.7, 132.4, 370.0, 592.0, 808.5, 1018.9]),
        (N, K, [48.5, 76.4, 238.4, 416.4, 599.1, 786.3]),
    ] {
        for (tip, expected) in [60.0, 100.0, 300.0, 500.0, 700.0, 900.0].into_iter().zip(row) {
            let found = shown(mixed(probe, channel), tip, 25.0, 25.0);
            near(found, expected, 0.051, &format!("{probe} on {channel} at {tip}"));
        }
    }
}

#[test]
fn a_cold_junction_error_is_an_offset_for_type_k_and_shrinks_for_type_n() {
    for (standard, row) in [
        (Standard::K, [10.0, 10.2, 9.6, 9.6, 9.9]),
        (Standard::N, [10.0, 8.1, 7.3, 6.9, 6.9]),
        (Standard::J, [10.0, 9.4, 9.4, 8.9, 8.0]),
    ] {
        let circuit = Circuit { cold_junction_error: 10.0, ..Circuit::sound(standard) };
        for (tip, expected) in [25.0, 200.0, 400.0, 600.0, 800.0].into_iter().zip(row) {
            let error = shown(circuit, tip, 25.0, 25.0) - tip;
            near(error, expected, 0.051, &format!("type {standard} at {tip}"));
        }
    }
}

#[test]
fn a_bias_current_shows_only_on_a_resistive_loop() {
    for (bias_microamps, loop_ohms, expected, within) in
        [(0.1, 1000.0, 2.4, 0.051), (1.0, 1000.0, 24.0, 0.51), (1.0, 100.0, 2.4, 0.051)]
    {
        let circuit = Circuit { bias_microamps, loop_ohms, ..SOUND() };
        near(shown(circuit, 700.0, 25.0, 25.0) - 700.0, expected, within, "bias");
    }
}

#[test]
fn a_short_shows_the_temperature_where_it_is() {
    let boss = Circuit { short: Some(Short::InProbe(180.0)), ..SOUND() };
    near(shown(boss, 700.0, 60.0, 25.0), 180.0, 1e-6, "in the probe");
    let lead = Circuit { short: Some(Short::InLead(48.0)), ..SOUND() };
    near(shown(lead, 700.0, 60.0, 25.0), 48.0, 1e-6, "in the lead");
    let link = Circuit { short: Some(Short::InLead(25.0)), ..SOUND() };
    near(shown(link, 700.0, 60.0, 25.0), 25.0, 1e-6, "a link across the terminals");
}

#[test]
fn only_a_gross_leak_costs_anything() {
    for (leak, share) in [(1_000.0, 0.0099), (10_000.0, 0.000_999)] {
        let at = Temperatures { tip: 700.0, joint: 25.0, terminals: 25.0 };
        let leaky = Circuit { leak_ohms: Some(leak), loop_ohms: 10.0, ..SOUND() };
        let kept = leaky.emf(at).expect("in range") / SOUND().emf(at).expect("in range");
        near(1.0 - kept, share, 1e-5, &format!("{leak} Ω"));
    }
}

#[test]
fn a_broken_wire_has_no_reading() {
    let at = Temperatures { tip: 700.0, joint: 25.0, terminals: 25.0 };
    assert_eq!(Circuit { open: true, ..SOUND() }.display(at), Ok(Display::Open));
    let melted = Temperatures { tip: 1500.0, ..at };
    assert!(SOUND().display(melted).is_err());
}
