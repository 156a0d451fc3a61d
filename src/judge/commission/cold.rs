//! Whether cold-soaked displays agree with each other and with a thermometer.
//!
//! By the limits of new thermocouples and what a box adds. It must not say what is wrong where they do
//! not: that is the diagnosis.

use facts::job::entry::Reading;
use facts::job::timeline::{ReadingSet, Timeline};
use measure::engine::Cylinder;
use measure::readings::outlier::median;
use measure::thermocouple::Standard;
use measure::thermocouple::tolerance::{Class, limit};

/// The class probes are taken to be of: the usual one.
pub const CLASS: Class = Class::Two;
/// What the box may add to one display against another, °C (common practice, no source).
pub const BOX: f64 = 1.0;
/// How far a workshop thermometer may be off, °C (common practice, no source).
pub const THERMOMETER: f64 = 1.0;

/// Displays of a cold-soaked engine against what they may differ by, °C.
#[derive(Debug, Clone, PartialEq)]
pub struct Cold {
    /// Number of the journal entry.
    pub entry: usize,
    /// Largest error that the class allows one new probe, either way.
    pub each: f64,
    /// How far the highest display stands above the lowest.
    pub spread: f64,
    /// How far the middle of all stands above the thermometer, if one was read.
    pub above_air: Option<f64>,
    /// Displays that are farther from the thermometer than class, box and thermometer allow, or, where none
    /// was read, from the middle of the others than two probes and the box allow.
    pub beyond: Vec<Cylinder>,
}

impl Cold {
    /// How far apart two displays may be: two probes, each at its limit, and the box.
    #[must_use]
    pub fn apart(&self) -> f64 {
        2.0 * self.each + BOX
    }

    /// How far a display may be from the thermometer.
    #[must_use]
    pub fn from_air(&self) -> f64 {
        self.each + BOX + THERMOMETER
    }

    /// Whether all agree within that, as far as was read.
    #[must_use]
    pub fn agrees(&self) -> bool {
        self.beyond.is_empty() && self.spread <= self.apart()
    }
}

/// The newest cold-soaked set of the engine's own probes; nothing where there is none with two numbers.
#[must_use]
pub fn cold(timeline: &Timeline) -> Option<Cold> {
    let set = newest(timeline)?;
    let numbers: Vec<(Cylinder, f64)> = (1..)
        .zip(&set.readings)
        .filter_map(|(display, reading)| match reading {
            Reading::Degrees(t) => Some((display, t.value())),
            _ => None,
        })
        .collect();
    let values: Vec<f64> = numbers.iter().map(|(_, value)| *value).collect();
    let middle = median(&values).filter(|_| values.len() > 1)?;
    let highest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let lowest = values.iter().copied().fold(f64::INFINITY, f64::min);
    let air = set.air.map(measure::units::Celsius::value);
    let each = limit(Standard::from(timeline.engine.probe_type), CLASS)
        .and_then(|limit| limit.at(air.unwrap_or(middle)))
        .unwrap_or(0.0);
    let mut cold = Cold {
        entry: set.entry,
        each,
        spread: highest - lowest,
        above_air: air.map(|air| middle - air),
        beyond: Vec::new(),
    };
    let (from, most) = match air {
        Some(air) => (air, cold.from_air()),
        None => (middle, cold.apart()),
    };
    let far = numbers.iter().filter(|(_, value)| (value - from).abs() > most);
    cold.beyond = far.map(|(display, _)| *display).collect();
    Some(cold)
}

/// What cold displays of an engine may differ by, before any was read.
#[must_use]
pub fn allowed(timeline: &Timeline) -> Cold {
    let limit = limit(Standard::from(timeline.engine.probe_type), CLASS);
    let each = limit.map_or(0.0, |limit| limit.fixed);
    Cold { entry: 0, each, spread: 0.0, above_air: None, beyond: Vec::new() }
}

/// The newest cold-soaked set of the engine's own probes.
pub(super) fn newest(timeline: &Timeline) -> Option<&ReadingSet> {
    let own = |set: &&ReadingSet| set.at.is_cold() && set.site == timeline.engine.probes;
    timeline.sets.iter().rfind(own)
}
