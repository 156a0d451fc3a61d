//! Wiring faults in the words of a workshop: name, what gives it away, what proves it.
//!
//! Common practice where it is not plain from the circuit.

use measure::thermocouple::Standard;
use measure::thermocouple::wiring::Wiring;

/// A fault by name, with the other type where it is a matter of types.
#[must_use]
pub fn fault_name(fault: Wiring, other: Option<Standard>) -> String {
    let of = |words: &str| match other {
        Some(other) => format!("{words} type {other}"),
        None => format!("{words} another type"),
    };
    match fault {
        Wiring::Sound => "nothing wrong".to_owned(),
        Wiring::ReversedAtBox => "legs swapped at the box".to_owned(),
        Wiring::ReversedAtJoint => "legs swapped at the joint".to_owned(),
        Wiring::ReversedBothEnds => "legs swapped at both ends of the lead".to_owned(),
        Wiring::CopperLead => "plain copper in the lead".to_owned(),
        Wiring::WrongLead => of("lead of"),
        Wiring::WrongSetting => of("box set to"),
        Wiring::WrongProbe => of("probe of"),
        Wiring::ColdJunction => "box misjudges its own heat".to_owned(),
        Wiring::Leak => "insulation leaks".to_owned(),
        Wiring::Bias => "bad joint under test current".to_owned(),
        Wiring::ShortInProbe => "legs touch in the probe".to_owned(),
        Wiring::ShortInLead => "legs touch in the lead".to_owned(),
        Wiring::Open => "a leg is broken".to_owned(),
    }
}

/// How the fault gives itself away.
pub(super) fn tells(fault: Wiring) -> &'static str {
    match fault {
        Wiring::Sound => "It shows the heat of its tip, within its class.",
        Wiring::ReversedAtBox | Wiring::ReversedAtJoint => {
            "Perfect while everything is at one temperature; falls as the tip warms, and is out of \
             range long before idle."
        }
        Wiring::ReversedBothEnds => {
            "Perfect at cold soak; then low by twice what the joint is hotter than the box (high if \
             the box is the hotter), at idle as at full load. It follows heat under the bonnet, not \
             in the exhaust."
        }
        Wiring::CopperLead => {
            "Perfect at cold soak; then low by what the joint is hotter than the box (high if the box \
             is the hotter), at idle as at full load."
        }
        Wiring::WrongLead => {
            "Perfect at cold soak; then a few degrees off, more with a hotter joint."
        }
        Wiring::WrongSetting | Wiring::WrongProbe => {
            "Right at the temperature of the box, so cold soak cannot show it; further off the hotter \
             the tip."
        }
        Wiring::ColdJunction => {
            "Much the same error cold and hot, and alike on all channels of that terminal block."
        }
        Wiring::Leak => {
            "Right at the temperature of the box; low by a share of whatever the tip is hotter."
        }
        Wiring::Bias => "Much the same error cold and hot, on one channel only.",
        Wiring::ShortInProbe => "Shows the stem instead of the tip: low, and slow to follow load.",
        Wiring::ShortInLead => "Shows the heat beside the lead; hardly follows the throttle.",
        Wiring::Open => {
            "Full scale or a flag if the box sends a test current; else it floats and may show \
             anything."
        }
    }
}

/// What proves it, cheapest first.
pub(super) fn proof(fault: Wiring) -> &'static str {
    match fault {
        Wiring::Sound => "Boiling water and ice at the tip, or a second probe beside it.",
        Wiring::ReversedAtBox => {
            "Warm the tip in the hand: the number must rise. If it falls, swap the two legs at the \
             box and try again."
        }
        Wiring::ReversedAtJoint => {
            "Warm the tip in the hand: the number must rise. If it falls, compare the colours on \
             both sides of the joint."
        }
        Wiring::ReversedBothEnds => {
            "Warm the joint alone: the number falls. Then compare colours and legs at both ends of \
             the lead."
        }
        Wiring::CopperLead => {
            "Warm the joint alone: the number falls by as much. Follow the lead for a splice in \
             ordinary wire."
        }
        Wiring::WrongLead => {
            "Warm the joint alone: a right lead does not care. Read the sheath's colour, try a \
             magnet on the bare legs."
        }
        Wiring::WrongSetting => {
            "Put the tip in boiling water, then read the type the channel is set to."
        }
        Wiring::WrongProbe => {
            "Put the tip in boiling water, then read the probe's own marking; a magnet tells types \
             K and J apart."
        }
        Wiring::ColdJunction => {
            "Link the two terminals with a bit of wire: it must show the heat of the terminals. \
             Hold a thermometer there."
        }
        Wiring::Leak => "Unplug at the box, measure each leg to the sheath, then dry it and again.",
        Wiring::Bias => {
            "Unplug at the box, measure the loop: a good one has a few to some tens of ohms, like \
             its mates."
        }
        Wiring::ShortInProbe => "Put a known good probe on this lead.",
        Wiring::ShortInLead => {
            "Unplug at the probe: a sound lead goes open, a shorted one goes on showing."
        }
        Wiring::Open => "Unplug at the box, measure the loop; bend lead and connector meanwhile.",
    }
}
