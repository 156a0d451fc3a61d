//! What a channel displays, from the circuit between the hot tip and the terminals.
//!
//! One circuit describes a sound chain and every wiring fault: emf adds up along it, the channel
//! adds the emf of its own terminals and inverts for the type it is set to. It must not guess which
//! fault is there; that is [`super::explain`].

use crate::named_enum;

use super::{RangeError, Standard};

/// What a display shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Display {
    /// A temperature, °C.
    Shows(f64),
    /// Below the bottom of the channel's table: a flag, a floor value or nonsense.
    UnderRange,
    /// Above the top of the channel's table.
    OverRange,
    /// No circuit: full scale or a flag where the channel sends a burn-out current; without one the
    /// input floats and may show anything.
    Open,
}

/// The wire between the joint at the probe and the terminals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lead {
    /// Extension pair of a type, or the probe's own wire.
    Extension(Standard),
    /// Copper, or any pair of like wires: no emf.
    Copper,
}

named_enum! {
    /// Where the two legs are changed over.
    Reversal, "reversal" {
        /// Nowhere.
        None = "none",
        /// At the terminals: probe and lead both oppose the channel.
        AtTerminals = "at-terminals",
        /// At the joint only: the probe opposes, the lead does not.
        AtJoint = "at-joint",
        /// At both ends of the lead: the lead alone opposes.
        AtBothEnds = "at-both-ends",
    }
}

impl Reversal {
    /// Signs with which the emf of probe and lead reach the channel.
    fn signs(self) -> (f64, f64) {
        match self {
            Self::None => (1.0, 1.0),
            Self::AtTerminals => (-1.0, -1.0),
            Self::AtJoint => (-1.0, 1.0),
            Self::AtBothEnds => (1.0, -1.0),
        }
    }
}

/// A place where the two conductors touch. The touch is a new junction; all beyond it is cut off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Short {
    /// Within the probe, where it is at this temperature, °C.
    InProbe(f64),
    /// Within the lead, where it is at this temperature, °C.
    InLead(f64),
}

/// Temperatures along the chain, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Temperatures {
    /// The hot tip.
    pub tip: f64,
    /// The joint of probe and lead.
    pub joint: f64,
    /// The channel's terminals.
    pub terminals: f64,
}

/// What rounding may add to a sum of emfs, mV.
const ROUNDING: f64 = 1e-9;

/// A chain from probe to channel, sound or not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Circuit {
    /// Type of the probe.
    pub probe: Standard,
    /// Type the channel is set to.
    pub channel: Standard,
    /// Wire between them.
    pub lead: Lead,
    /// Legs changed over.
    pub reversal: Reversal,
    /// By how much the channel believes its terminals hotter than they are, °C.
    pub cold_junction_error: f64,
    /// Resistance of the whole loop, Ω. A sound one has a few to some tens (common practice).
    pub loop_ohms: f64,
    /// Resistance between the two conductors, Ω, if the insulation leaks.
    pub leak_ohms: Option<f64>,
    /// Current that the channel sends through the loop, µA.
    pub bias_microamps: f64,
    /// The conductors touch.
    pub short: Option<Short>,
    /// A conductor is broken.
    pub open: bool,
}

impl Circuit {
    /// A sound chain: one type throughout, a 10 Ω loop.
    #[must_use]
    pub fn sound(standard: Standard) -> Self {
        Self {
            probe: standard,
            channel: standard,
            lead: Lead::Extension(standard),
            reversal: Reversal::None,
            cold_junction_error: 0.0,
            loop_ohms: 10.0,
            leak_ohms: None,
            bias_microamps: 0.0,
            short: None,
            open: false,
        }
    }

    /// Emf in mV at the channel's terminals.
    ///
    /// `±[E_probe(tip) − E_probe(joint)] ± [E_lead(joint) − E_lead(terminals)]`, the first with the
    /// short's temperature for the tip's when it is in the probe; a short in the lead leaves only
    /// the lead's part from there. A leak divides the whole by `R_leak/(R_leak + R_loop)`, a bias
    /// current adds `I·R_loop`.
    ///
    /// # Errors
    /// When a temperature is outside the reference function of a wire that is there.
    pub fn emf(&self, at: Temperatures) -> Result<f64, RangeError> {
        let (probe_sign, lead_sign) = self.reversal.signs();
        let lead = |hot: f64| match self.lead {
            Lead::Copper => Ok(0.0),
            Lead::Extension(pair) => Ok(lead_sign * (pair.emf(hot)? - pair.emf(at.terminals)?)),
        };
        let probe = |hot: f64| -> Result<f64, RangeError> {
            Ok(probe_sign * (self.probe.emf(hot)? - self.probe.emf(at.joint)?))
        };
        let sum = match self.short {
            None => probe(at.tip)? + lead(at.joint)?,
            Some(Short::InProbe(place)) => probe(place)? + lead(at.joint)?,
            Some(Short::InLead(place)) => lead(place)?,
        };
        let kept = self.leak_ohms.map_or(1.0, |leak| leak / (leak + self.loop_ohms));
        Ok(sum * kept + self.bias_microamps * self.loop_ohms * 1e-3)
    }

    /// What the channel displays.
    ///
    /// # Errors
    /// When a temperature is outside the reference function of a wire that is there, or the
    /// terminals (as the channel believes them) outside that of the type it is set to. An emf off
    /// the channel's table is no error but an [`Display::UnderRange`] or [`Display::OverRange`].
    pub fn display(&self, at: Temperatures) -> Result<Display, RangeError> {
        if self.open {
            return Ok(Display::Open);
        }
        let own = self.channel.emf(at.terminals + self.cold_junction_error)?;
        let emf = self.emf(at)? + own;
        Ok(match self.channel.temperature(emf) {
            Ok(shown) => Display::Shows(shown),
            // Adding and taking away the terminals' emf may leave the very end of the table by the
            // last digit of a float.
            Err(RangeError::Emf { lowest, highest, .. }) => {
                match self.channel.temperature(emf.clamp(lowest, highest)) {
                    Ok(end) if lowest - ROUNDING <= emf && emf <= highest + ROUNDING => {
                        Display::Shows(end)
                    }
                    _ if emf > highest => Display::OverRange,
                    _ => Display::UnderRange,
                }
            }
            Err(RangeError::Temperature { .. }) => Display::UnderRange,
        })
    }
}
