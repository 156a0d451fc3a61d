//! Reading sets as rows of numbers.
//!
//! Only what was read and where it stands; what it should have been is the other files' matter.

use facts::job::entry::Reading;
use facts::job::timeline::Timeline;
use facts::knowledge::{Constants, Knowledge, RunningPoint};
use measure::engine::{Cylinder, ProbeSite};
use measure::readings::outlier::median;

use super::path::MOST;

/// A kind of reading: probes and running point. Effects have one size per kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kind {
    /// Which probes.
    pub site: ProbeSite,
    /// Running point.
    pub at: RunningPoint,
}

/// One number that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Index into [`Data::sets`].
    pub set: usize,
    /// Display.
    pub display: Cylinder,
    /// Index into [`Data::kinds`].
    pub kind: usize,
    /// °C.
    pub value: f64,
    /// Variance beyond the usual, from a number that jumps, °C².
    pub extra: f64,
}

/// A reading set as far as the likelihood needs it.
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// Index into the timeline's sets.
    pub index: usize,
    /// Stretch between disturbances in which it was taken.
    pub slot: usize,
    /// Index into [`Data::kinds`].
    pub kind: usize,
    /// The same kind was read before: what was not steady then is now.
    pub again: bool,
    /// Row of each display that showed a number which may be that of the gas.
    pub row_of: Vec<Option<usize>>,
    /// Displays that show the box's own temperature while their mates are hot.
    pub floating: Vec<bool>,
}

/// What an input shows whose loop is broken, where the box drives no current through it: its own
/// temperature, °C (ambient of 10 to 45 and ten more for the place; common practice).
pub const OWN_TEMPERATURE: std::ops::RangeInclusive<f64> = 0.0..=55.0;

/// How much hotter the mates must be, °C.
const MUCH_HOTTER: f64 = 60.0;

/// Whether each display shows the box's own temperature while half of the displays are much hotter.
fn floating(at: RunningPoint, readings: &[Reading]) -> Vec<bool> {
    let numbers: Vec<f64> = readings.iter().filter_map(|reading| reading.middle()).collect();
    let hot = at.settled
        && median(&numbers).is_some_and(|level| level > OWN_TEMPERATURE.end() + MUCH_HOTTER);
    let floats = |reading: &Reading| match reading {
        Reading::Degrees(value) => OWN_TEMPERATURE.contains(&value.value()),
        _ => false,
    };
    readings.iter().map(|reading| hot && floats(reading)).collect()
}

/// All readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Data {
    /// Kinds in order of first appearance.
    pub kinds: Vec<Kind>,
    /// Sets in order.
    pub sets: Vec<Set>,
    /// Numbers, set by set.
    pub rows: Vec<Row>,
    /// Typical level of each kind, °C.
    pub levels: Vec<f64>,
}

impl Data {
    /// Gathers the numbers of a job.
    #[must_use]
    pub fn gather(timeline: &Timeline) -> Self {
        let mut data =
            Self { kinds: Vec::new(), sets: Vec::new(), rows: Vec::new(), levels: Vec::new() };
        for (index, set) in timeline.sets.iter().enumerate() {
            let kind = Kind { site: set.site, at: set.at };
            let kind = data.kinds.iter().position(|k| *k == kind).unwrap_or_else(|| {
                data.kinds.push(kind);
                data.kinds.len() - 1
            });
            let mut row_of = Vec::with_capacity(set.readings.len());
            let floating = floating(set.at, &set.readings);
            for ((display, reading), floats) in (1..).zip(&set.readings).zip(&floating) {
                let number = reading.middle().filter(|_| !floats);
                row_of.push(number.map(|value| {
                    let extra = match reading {
                        // Half the range is taken as one standard deviation.
                        Reading::Erratic { lo, hi } => ((*hi - *lo).0 / 2.0).powi(2),
                        _ => 0.0,
                    };
                    data.rows.push(Row { set: data.sets.len(), display, kind, value, extra });
                    data.rows.len() - 1
                }));
            }
            let again = data.sets.iter().any(|s| s.kind == kind);
            data.sets.push(Set { index, slot: set.after.min(MOST), kind, again, row_of, floating });
        }
        data.levels = (0..data.kinds.len())
            .map(|kind| {
                let read = data.rows.iter().filter(|row| row.kind == kind);
                median(&read.map(|row| row.value).collect::<Vec<_>>())
                    .unwrap_or(facts::knowledge::AMBIENT)
            })
            .collect();
        data
    }
}

/// Sd between two sets at one point, °C.
#[must_use]
pub fn repeatability(knowledge: &Knowledge, kind: Kind) -> f64 {
    let constants = &knowledge.constants;
    match kind.site {
        ProbeSite::Exhaust => constants.repeatability.at(kind.at),
        ProbeSite::Head => constants.repeatability_head.at(kind.at),
    }
}

/// Correlation of a cylinder's natural offset between two kinds of reading.
///
/// What makes cylinders differ when hot is absent cold, and head and exhaust differ for reasons
/// of their own.
#[must_use]
pub fn correlation(constants: &Constants, a: Kind, b: Kind) -> f64 {
    let cold = |kind: Kind| kind.at.is_cold();
    if a == b {
        1.0
    } else if a.site != b.site || cold(a) || cold(b) {
        0.0
    } else {
        constants.offset_correlation
    }
}
