//! Which wiring fault explains what a display showed at known temperatures.
//!
//! Each fault predicts the displays, with at most one thing free (as the temperature of a joint),
//! which least squares finds. It must not weigh how common a fault is: that is the knowledge
//! base's business.

use super::circuit::{Circuit, Display, Lead, Reversal, Short, Temperatures};
use super::{RangeError, Standard};

/// A display at a known true temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    /// True temperature of the tip, °C: from a second probe, ice, boiling water, ambient.
    pub tip: f64,
    /// What the display showed.
    pub display: Display,
    /// Temperature of the channel's terminals, °C.
    pub terminals: f64,
    /// Temperature of the joint between probe and lead, °C, where it is known; else it is taken to
    /// be warmer than the terminals by the same unknown amount each time.
    pub joint: Option<f64>,
}

impl Observation {
    /// A cold-soak observation: everything at one temperature.
    #[must_use]
    pub fn cold_soak(ambient: f64, display: Display) -> Self {
        Self { tip: ambient, display, terminals: ambient, joint: Some(ambient) }
    }
}

/// A way the chain may be wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fault {
    /// Nothing wrong.
    Sound,
    /// Legs changed over once, at the terminals.
    ReversedOnce,
    /// Lead changed over at both ends.
    ReversedTwice,
    /// Copper between joint and terminals.
    CopperLead,
    /// Extension pair of another type.
    WrongLead(Standard),
    /// Channel set to another type.
    WrongSetting(Standard),
    /// Probe of another type, on the lead meant for the right one.
    WrongProbe(Standard),
    /// The channel is wrong about the temperature of its terminals.
    ColdJunction,
    /// Insulation leaks.
    Leak,
    /// A steady stray emf: bias current on a resistive loop.
    Bias,
    /// Conductors touch in the lead.
    ShortInLead,
    /// Conductors touch in the probe.
    ShortInProbe,
    /// A conductor is broken.
    Open,
}

/// What a fault leaves free, and within which bounds it is looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Free {
    /// What it is.
    pub what: Quantity,
    /// Lower bound.
    pub from: f64,
    /// Upper bound.
    pub to: f64,
}

/// What a free number stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// How much warmer the joint is than the terminals, °C.
    JointAboveTerminals,
    /// How much hotter the channel believes its terminals than they are, °C.
    ColdJunctionError,
    /// Share of the emf lost through the leak.
    ShareLost,
    /// Stray emf, mV.
    StrayMillivolts,
    /// How much warmer the short is than the terminals, °C.
    ShortAboveTerminals,
    /// How far up from terminals to tip the short's temperature lies, 0 to 1.
    ShareOfTip,
}

impl Fault {
    /// Every fault that a probe and setting of these types can have, [`Fault::Sound`] first.
    #[must_use]
    pub fn all(probe: Standard, channel: Standard) -> Vec<Self> {
        let others = |not: Standard| Standard::ALL.iter().copied().filter(move |&s| s != not);
        let mut all = vec![Self::Sound, Self::ReversedOnce, Self::ReversedTwice, Self::CopperLead];
        all.extend(others(probe).map(Self::WrongLead));
        all.extend(others(channel).map(Self::WrongSetting));
        all.extend(others(probe).map(Self::WrongProbe));
        all.extend([Self::ColdJunction, Self::Leak, Self::Bias]);
        all.extend([Self::ShortInLead, Self::ShortInProbe, Self::Open]);
        all
    }

    /// Whether a platinum type is what is wrong. Nobody finds one on an engine by mistake, and with
    /// its few microvolts it would only stand for copper.
    #[must_use]
    pub fn is_of_platinum(self) -> bool {
        match self {
            Self::WrongLead(other) | Self::WrongSetting(other) | Self::WrongProbe(other) => {
                other.is_platinum()
            }
            _ => false,
        }
    }

    /// What the fault leaves free. The bounds are what an engine bay can do (common practice).
    #[must_use]
    pub fn free(self) -> Option<Free> {
        let free = |what, from, to| Some(Free { what, from, to });
        match self {
            Self::Sound
            | Self::ReversedOnce
            | Self::WrongSetting(_)
            | Self::WrongProbe(_)
            | Self::Open => None,
            Self::ReversedTwice | Self::CopperLead | Self::WrongLead(_) => {
                free(Quantity::JointAboveTerminals, -40.0, 150.0)
            }
            Self::ColdJunction => free(Quantity::ColdJunctionError, -60.0, 60.0),
            Self::Leak => free(Quantity::ShareLost, 0.0, 0.9),
            Self::Bias => free(Quantity::StrayMillivolts, -3.0, 3.0),
            Self::ShortInLead => free(Quantity::ShortAboveTerminals, -40.0, 150.0),
            Self::ShortInProbe => free(Quantity::ShareOfTip, 0.05, 0.95),
        }
    }

    /// What the fault would display, with its free number at `value`.
    ///
    /// # Errors
    /// As [`Circuit::display`].
    pub fn display(
        self,
        probe: Standard,
        channel: Standard,
        seen: &Observation,
        value: f64,
    ) -> Result<Display, RangeError> {
        let sound = Circuit { channel, lead: Lead::Extension(probe), ..Circuit::sound(probe) };
        let rise = match self.free().map(|free| free.what) {
            Some(Quantity::JointAboveTerminals) => value,
            _ => 0.0,
        };
        let at = Temperatures {
            tip: seen.tip,
            joint: seen.joint.unwrap_or(seen.terminals + rise),
            terminals: seen.terminals,
        };
        let up_to_tip = seen.terminals + value * (seen.tip - seen.terminals);
        let circuit = match self {
            Self::Sound => sound,
            Self::ReversedOnce => Circuit { reversal: Reversal::AtTerminals, ..sound },
            Self::ReversedTwice => Circuit { reversal: Reversal::AtBothEnds, ..sound },
            Self::CopperLead => Circuit { lead: Lead::Copper, ..sound },
            Self::WrongLead(pair) => Circuit { lead: Lead::Extension(pair), ..sound },
            Self::WrongSetting(other) => Circuit { channel: other, ..sound },
            Self::WrongProbe(other) => Circuit { probe: other, ..sound },
            Self::ColdJunction => Circuit { cold_junction_error: value, ..sound },
            Self::Leak => Circuit {
                leak_ohms: (value > 0.0).then(|| sound.loop_ohms * (1.0 - value) / value),
                ..sound
            },
            Self::Bias => Circuit { bias_microamps: value * 1e3 / sound.loop_ohms, ..sound },
            Self::ShortInLead => {
                Circuit { short: Some(Short::InLead(seen.terminals + value)), ..sound }
            }
            Self::ShortInProbe => Circuit { short: Some(Short::InProbe(up_to_tip)), ..sound },
            Self::Open => Circuit { open: true, ..sound },
        };
        circuit.display(at)
    }
}

/// How well a fault explains what was seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// The fault.
    pub fault: Fault,
    /// Its free number at the best fit, if it has one and no observation settles it.
    pub value: Option<f64>,
    /// What it would display for each observation.
    pub displays: Vec<Display>,
    /// Seen less predicted for each observation, °C; nothing where one is a number and the other
    /// a flag.
    pub residuals: Vec<Option<f64>>,
    /// Root mean square of the residuals, °C, a mismatch of kind counted as 1000.
    pub rms: f64,
    /// Sum of squares in units of the reading's sd, plus 2 if a number was fitted (Akaike's
    /// criterion): the rank.
    pub score: f64,
    /// Every residual is within three sd of a reading.
    pub fits: bool,
    /// There are more observations than free numbers, so that the fit could have failed.
    pub tested: bool,
}

/// A flag where a number was expected, or the other way, as a residual in °C.
const MISMATCH: f64 = 1000.0;

/// Faults ranked by how well they explain the observations, best first.
///
/// `probe` and `channel` are the types the mechanic believes are fitted and set; `sd` is how far a
/// sound reading may be off, °C (one standard deviation). A fault whose wire cannot be at these
/// temperatures at all is left out. Equal ranks keep the order of [`Fault::all`]. They are common,
/// since some faults are alike by nature: with steady terminals, and a joint of unknown but steady
/// temperature, a lead reversed at both ends, a copper lead, a cold-junction error and a stray emf
/// all add one constant. Measuring the joint tells them apart, and so does a warmer terminal block.
///
/// # Errors
/// When a true temperature is outside the function of the probe, or a terminal's outside that of
/// the channel.
pub fn explain(
    probe: Standard,
    channel: Standard,
    seen: &[Observation],
    sd: f64,
) -> Result<Vec<Explanation>, RangeError> {
    for one in seen {
        Fault::Sound.display(probe, channel, one, 0.0)?;
    }
    let mut ranked: Vec<Explanation> = Fault::all(probe, channel)
        .into_iter()
        .filter_map(|fault| fit(fault, probe, channel, seen, sd).ok())
        .collect();
    // Faults that no such observation can separate differ by rounding only: a tie, not a rank.
    ranked.sort_by(|a, b| (a.score * 1e4).round().total_cmp(&(b.score * 1e4).round()));
    Ok(ranked)
}

fn fit(
    fault: Fault,
    probe: Standard,
    channel: Standard,
    seen: &[Observation],
    sd: f64,
) -> Result<Explanation, RangeError> {
    let squares = |value: f64| -> f64 {
        seen.iter()
            .map(|one| {
                fault
                    .display(probe, channel, one, value)
                    .map_or(f64::INFINITY, |shown| miss(one.display, shown).unwrap_or(MISMATCH))
            })
            .map(|miss| miss * miss)
            .sum()
    };
    let known = seen.iter().all(|one| one.joint.is_some());
    let value = fault
        .free()
        .filter(|free| !(known && free.what == Quantity::JointAboveTerminals))
        .map(|free| least(squares, free.from, free.to));
    let displays = seen
        .iter()
        .map(|one| fault.display(probe, channel, one, value.unwrap_or(0.0)))
        .collect::<Result<Vec<_>, _>>()?;
    let residuals: Vec<Option<f64>> =
        seen.iter().zip(&displays).map(|(one, &shown)| miss(one.display, shown)).collect();
    let sum: f64 = residuals.iter().map(|r| r.unwrap_or(MISMATCH).powi(2)).sum();
    #[expect(clippy::cast_precision_loss, reason = "a handful of observations")]
    let count = seen.len().max(1) as f64;
    let fitted = if value.is_some() { 2.0 } else { 0.0 };
    Ok(Explanation {
        fault,
        value,
        displays,
        rms: (sum / count).sqrt(),
        score: sum / (sd * sd) + fitted,
        fits: residuals.iter().all(|r| r.is_some_and(|r| r.abs() <= 3.0 * sd)),
        tested: seen.len() > usize::from(value.is_some()),
        residuals,
    })
}

/// Seen less predicted, °C; nothing when they are not of one kind.
fn miss(seen: Display, predicted: Display) -> Option<f64> {
    match (seen, predicted) {
        (Display::Shows(seen), Display::Shows(predicted)) => Some(seen - predicted),
        _ if seen == predicted => Some(0.0),
        _ => None,
    }
}

/// Where a function of one number is least: the best of an even grid, then golden section around
/// it.
fn least(function: impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    const STEPS: u16 = 190;
    let step = (to - from) / f64::from(STEPS);
    let best = (0..=STEPS)
        .map(|i| from + step * f64::from(i))
        .map(|x| (function(x), x))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(from, |(_, x)| x);
    let ratio = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut low, mut high) = ((best - step).max(from), (best + step).min(to));
    for _ in 0..40 {
        let (left, right) = (high - ratio * (high - low), low + ratio * (high - low));
        if function(left) <= function(right) {
            high = right;
        } else {
            low = left;
        }
    }
    f64::midpoint(low, high)
}
