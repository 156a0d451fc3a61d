//! Wiring faults as a workshop names them, each as the circuit that it is.
//!
//! For asking "what would I see if": a fault, how big it is, and where it is how hot, give a display.
//! It must not guess which fault is there; that is [`super::explain`].

use crate::named_enum;

use super::circuit::{Circuit, Display, Lead, Reversal, Short, Temperatures};
use super::explain::Fault;
use super::{RangeError, Standard};

named_enum! {
    /// What may be wrong between tip and box.
    Wiring, "wiring fault" {
        /// Nothing.
        Sound = "sound",
        /// Legs changed over at the box.
        ReversedAtBox = "reversed-at-box",
        /// Legs changed over at the joint of probe and lead.
        ReversedAtJoint = "reversed-at-joint",
        /// Lead changed over at both ends.
        ReversedBothEnds = "reversed-both-ends",
        /// Ordinary wire between joint and box.
        CopperLead = "copper-lead",
        /// Lead of another type.
        WrongLead = "wrong-lead",
        /// Box set to another type.
        WrongSetting = "wrong-setting",
        /// Probe of another type, lead and box as they should be.
        WrongProbe = "wrong-probe",
        /// The box is wrong about the temperature of its terminals.
        ColdJunction = "cold-junction",
        /// Insulation leaks between the legs.
        Leak = "leak",
        /// A test current on a resistive loop.
        Bias = "bias",
        /// The legs touch within the probe.
        ShortInProbe = "short-in-probe",
        /// The legs touch within the lead.
        ShortInLead = "short-in-lead",
        /// A leg is broken.
        Open = "open",
    }
}

/// How big the faults are that have a size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sizes {
    /// By how much the box believes its terminals hotter than they are, °C.
    pub cold_junction: f64,
    /// Resistance of the loop, Ω; nothing for what is usual with the fault.
    pub loop_ohms: Option<f64>,
    /// Resistance of a leak, Ω.
    pub leak_ohms: f64,
    /// Test current, µA.
    pub bias_microamps: f64,
    /// Temperature where the legs touch, °C; nothing for half-way.
    pub short: Option<f64>,
}

impl Default for Sizes {
    /// Sizes that can be seen (assumed): 10 °C, a leak of 100 Ω, 1 µA.
    fn default() -> Self {
        Self {
            cold_junction: 10.0,
            loop_ohms: None,
            leak_ohms: 100.0,
            bias_microamps: 1.0,
            short: None,
        }
    }
}

/// Loop of a sound chain, Ω (common practice: a few to some tens).
const SOUND_LOOP: f64 = 10.0;
/// Loop with a corroded joint, Ω (assumed): what makes a test current matter.
const BAD_LOOP: f64 = 1000.0;

impl Wiring {
    /// The fault of [`super::explain`] in these words, with the other type it may have.
    #[must_use]
    pub fn of(fault: Fault) -> (Self, Option<Standard>) {
        match fault {
            Fault::Sound => (Self::Sound, None),
            Fault::ReversedOnce => (Self::ReversedAtBox, None),
            Fault::ReversedTwice => (Self::ReversedBothEnds, None),
            Fault::CopperLead => (Self::CopperLead, None),
            Fault::WrongLead(other) => (Self::WrongLead, Some(other)),
            Fault::WrongSetting(other) => (Self::WrongSetting, Some(other)),
            Fault::WrongProbe(other) => (Self::WrongProbe, Some(other)),
            Fault::ColdJunction => (Self::ColdJunction, None),
            Fault::Leak => (Self::Leak, None),
            Fault::Bias => (Self::Bias, None),
            Fault::ShortInLead => (Self::ShortInLead, None),
            Fault::ShortInProbe => (Self::ShortInProbe, None),
            Fault::Open => (Self::Open, None),
        }
    }

    /// Whether it is a matter of one type instead of another.
    #[must_use]
    pub fn takes_another(self) -> bool {
        matches!(self, Self::WrongLead | Self::WrongSetting | Self::WrongProbe)
    }

    /// The circuit of a chain meant to be of one type throughout; `other` is the type that is wrong,
    /// without effect on faults that have none.
    #[must_use]
    pub fn circuit(
        self,
        meant: Standard,
        other: Option<Standard>,
        sizes: &Sizes,
        at: Temperatures,
    ) -> Circuit {
        let usual_loop = if self == Self::Bias { BAD_LOOP } else { SOUND_LOOP };
        let loop_ohms = sizes.loop_ohms.unwrap_or(usual_loop);
        let sound = Circuit { loop_ohms, ..Circuit::sound(meant) };
        let other = other.unwrap_or(meant);
        let short = |a: f64, b: f64| sizes.short.unwrap_or_else(|| f64::midpoint(a, b));
        match self {
            Self::Sound => sound,
            Self::ReversedAtBox => Circuit { reversal: Reversal::AtTerminals, ..sound },
            Self::ReversedAtJoint => Circuit { reversal: Reversal::AtJoint, ..sound },
            Self::ReversedBothEnds => Circuit { reversal: Reversal::AtBothEnds, ..sound },
            Self::CopperLead => Circuit { lead: Lead::Copper, ..sound },
            Self::WrongLead => Circuit { lead: Lead::Extension(other), ..sound },
            Self::WrongSetting => Circuit { channel: other, ..sound },
            Self::WrongProbe => Circuit { probe: other, ..sound },
            Self::ColdJunction => Circuit { cold_junction_error: sizes.cold_junction, ..sound },
            Self::Leak => Circuit { leak_ohms: Some(sizes.leak_ohms), ..sound },
            Self::Bias => Circuit { bias_microamps: sizes.bias_microamps, ..sound },
            Self::ShortInProbe => {
                Circuit { short: Some(Short::InProbe(short(at.joint, at.tip))), ..sound }
            }
            Self::ShortInLead => {
                Circuit { short: Some(Short::InLead(short(at.terminals, at.joint))), ..sound }
            }
            Self::Open => Circuit { open: true, ..sound },
        }
    }
}

/// A fault with what it shows at each set of temperatures asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// The fault.
    pub fault: Wiring,
    /// The type that is wrong, if it is a matter of types.
    pub other: Option<Standard>,
    /// A display for each; nothing where a wire of that type cannot be at such a temperature.
    pub displays: Vec<Option<Display>>,
}

/// What faults show. Those that are a matter of types come once for each of `others` that is not the
/// type that was meant.
///
/// # Errors
/// When a temperature is outside the function of the type that was meant.
pub fn shown(
    faults: &[Wiring],
    meant: Standard,
    others: &[Standard],
    sizes: &Sizes,
    temperatures: &[Temperatures],
) -> Result<Vec<Shown>, RangeError> {
    for &at in temperatures {
        Wiring::Sound.circuit(meant, None, sizes, at).display(at)?;
    }
    let mut rows = Vec::new();
    for &fault in faults {
        let types: Vec<Option<Standard>> = if fault.takes_another() {
            others.iter().filter(|&&other| other != meant).map(|&other| Some(other)).collect()
        } else {
            vec![None]
        };
        for other in types {
            let display =
                |&at: &Temperatures| fault.circuit(meant, other, sizes, at).display(at).ok();
            rows.push(Shown { fault, other, displays: temperatures.iter().map(display).collect() });
        }
    }
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOT_BAY: Temperatures = Temperatures { tip: 700.0, joint: 60.0, terminals: 25.0 };

    #[track_caller]
    fn check(fault: Wiring, other: Option<Standard>, at: Temperatures, expected: f64) {
        let rows =
            shown(&[fault], Standard::K, &[other.unwrap_or(Standard::J)], &Sizes::default(), &[at]);
        let rows = rows.expect("in range");
        let Some(Display::Shows(found)) = rows[0].displays[0] else {
            panic!("{fault}: {:?}", rows[0].displays)
        };
        assert!((found - expected).abs() < 0.5, "{fault}: {found}, expected {expected}");
    }

    /// Domain facts 1.4, computed there by other people's reference functions.
    #[test]
    fn faults_show_what_the_table_says() {
        let at = |tip, joint, terminals| Temperatures { tip, joint, terminals };
        check(Wiring::Sound, None, HOT_BAY, 700.0);
        check(Wiring::ReversedAtBox, None, at(100.0, 25.0, 25.0), -55.8);
        check(Wiring::ReversedAtJoint, None, at(100.0, 25.0, 25.0), -55.8);
        check(Wiring::ReversedBothEnds, None, HOT_BAY, 631.8);
        check(Wiring::CopperLead, None, HOT_BAY, 665.8);
        check(Wiring::WrongSetting, Some(Standard::J), at(700.0, 25.0, 25.0), 535.8);
        check(Wiring::WrongSetting, Some(Standard::N), at(700.0, 25.0, 25.0), 808.5);
        check(Wiring::WrongProbe, Some(Standard::N), at(700.0, 25.0, 25.0), 599.1);
        check(Wiring::WrongLead, Some(Standard::J), at(620.0, 55.0, 27.0), 628.0);
        check(Wiring::ColdJunction, None, at(600.0, 25.0, 25.0), 609.6);
        // 1 µA through 1 kΩ is a millivolt.
        check(Wiring::Bias, None, at(500.0, 25.0, 25.0), 500.0 + 23.5);
    }

    /// Found with type T at 400 °C and terminals at 25 °C: the sum of emfs ended a digit too high.
    #[test]
    fn a_sound_chain_shows_the_end_of_its_table() {
        for &standard in Standard::ALL {
            for terminals in [20.0, 25.0, 31.0] {
                let (_, tip) = standard.range();
                let at = Temperatures { tip, joint: 60.0, terminals };
                let rows = shown(&[Wiring::Sound], standard, &[], &Sizes::default(), &[at]);
                let display = rows.expect("in range")[0].displays[0];
                assert!(
                    matches!(display, Some(Display::Shows(t)) if (t - tip).abs() < 1e-6),
                    "{standard}: {display:?}"
                );
            }
        }
    }

    #[test]
    fn a_short_shows_its_own_place() {
        let one = |fault, short| {
            let sizes = Sizes { short, ..Sizes::default() };
            shown(&[fault], Standard::K, &[], &sizes, &[HOT_BAY]).expect("in range")[0].displays[0]
        };
        let near = |found: Option<Display>, expected: f64| matches!(found, Some(Display::Shows(t)) if (t - expected).abs() < 1e-6);
        assert!(near(one(Wiring::ShortInProbe, None), 380.0));
        assert!(near(one(Wiring::ShortInProbe, Some(150.0)), 150.0));
        assert!(near(one(Wiring::ShortInLead, None), 42.5));
        assert_eq!(one(Wiring::Open, None), Some(Display::Open));
    }

    #[test]
    fn a_wire_that_cannot_be_there_has_no_display_and_what_was_meant_must_be() {
        let faults = [Wiring::WrongProbe];
        let types = [Standard::T, Standard::K];
        let rows = shown(&faults, Standard::K, &types, &Sizes::default(), &[HOT_BAY]);
        let rows = rows.expect("type K reaches it");
        assert_eq!(rows.len(), 1);
        assert_eq!((rows[0].other, rows[0].displays[0]), (Some(Standard::T), None));
        assert!(shown(&faults, Standard::T, &types, &Sizes::default(), &[HOT_BAY]).is_err());
    }

    #[test]
    fn every_fault_that_can_be_told_has_a_name_here() {
        let names: std::collections::BTreeSet<Wiring> =
            Fault::all(Standard::K, Standard::K).into_iter().map(|f| Wiring::of(f).0).collect();
        // Reversed at the joint instead of the box shows the same but for a few degrees.
        assert_eq!(names.len(), Wiring::ALL.len() - 1);
    }
}
