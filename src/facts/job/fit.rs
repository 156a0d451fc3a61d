//! The probe-fit sheet: how each probe was put in, and how far their depths differ.
//!
//! Facts as measured, kept with the time they were measured at. What a difference is worth in
//! degrees, or says about a cause, is for others.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use measure::engine::{Cylinder, Fitting};
use measure::readings::outlier::median;

/// What a sheet says of one probe. Lengths in mm; what is not known is left out.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct FitLine {
    /// How far the tip stands past the inner wall.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub depth: Option<f64>,
    /// How much of the stem shows outside the fitting.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stem: Option<f64>,
    /// From the face of the port to the boss.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from_port: Option<f64>,
    /// Where around the runner, as on a clock face seen along the flow, 1 to 12.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clock: Option<u8>,
    /// Part number or description of the probe.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub probe: Option<String>,
    /// Serial number of the probe.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// What its lead is marked with.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lead: Option<String>,
    /// The channel it goes to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub channel: Option<String>,
}

impl FitLine {
    /// Whether nothing was said.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Takes over what another line says.
    pub fn merge(&mut self, later: &Self) {
        fn over<T: Clone>(mine: &mut Option<T>, theirs: Option<&T>) {
            if let Some(theirs) = theirs {
                *mine = Some(theirs.clone());
            }
        }
        over(&mut self.depth, later.depth.as_ref());
        over(&mut self.stem, later.stem.as_ref());
        over(&mut self.from_port, later.from_port.as_ref());
        over(&mut self.clock, later.clock.as_ref());
        over(&mut self.probe, later.probe.as_ref());
        over(&mut self.serial, later.serial.as_ref());
        over(&mut self.lead, later.lead.as_ref());
        over(&mut self.channel, later.channel.as_ref());
    }
}

/// What a depth was measured by. Only like with like can be compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ruler {
    /// Past the inner wall.
    Depth,
    /// By the stem that shows.
    Stem,
}

/// A depth that was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// Number of the seat it was measured on.
    pub number: Cylinder,
    /// How many disturbances had happened before.
    pub after: usize,
    /// By what.
    pub ruler: Ruler,
    /// Further in is more, mm: a depth, or a stem turned round.
    pub mm: f64,
}

/// How much deeper one probe sits than its mates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// Number of the seat.
    pub number: Cylinder,
    /// How many disturbances had happened before it was measured.
    pub after: usize,
    /// mm; below zero is less deep.
    pub mm: f64,
}

/// Difference of depth that a rule can tell, mm: less is as good as equal (common practice).
pub const EQUAL_DEPTH: f64 = 1.5;

/// Fewest others that a depth can be compared with.
const MATES: usize = 2;

/// Sheath and bore where none were measured, mm: the commonest of the tables (assumed, practice).
const USUAL: Fitting = Fitting { diameter: 3.0, bore: 42.0, depth: 15.0 };

/// A line as it was entered.
#[derive(Debug, Clone, PartialEq)]
pub struct Noted {
    /// Number of the journal entry.
    pub entry: usize,
    /// The cylinder at which the probe sat.
    pub cylinder: Cylinder,
    /// Number of the seat there.
    pub number: Cylinder,
    /// How many disturbances had happened before.
    pub after: usize,
    /// What was said.
    pub line: FitLine,
}

/// Everything the sheet says so far.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sheet {
    /// Lines in the order in which they were entered.
    pub noted: Vec<Noted>,
}

impl Sheet {
    /// A sheet that says this of probes that nothing was done to since.
    #[must_use]
    pub fn of(lines: &[(Cylinder, FitLine)]) -> Self {
        let noted = lines.iter().map(|(cylinder, line)| Noted {
            entry: 0,
            cylinder: *cylinder,
            number: *cylinder,
            after: 0,
            line: line.clone(),
        });
        Self { noted: noted.collect() }
    }

    /// What is known of each probe, the latest word first.
    #[must_use]
    pub fn lines(&self) -> BTreeMap<Cylinder, FitLine> {
        let mut lines: BTreeMap<Cylinder, FitLine> = BTreeMap::new();
        for noted in &self.noted {
            lines.entry(noted.cylinder).or_default().merge(&noted.line);
        }
        lines
    }

    /// Depths in the order in which they were measured.
    #[must_use]
    pub fn measured(&self) -> Vec<Measured> {
        self.noted
            .iter()
            .flat_map(|noted| {
                let line = &noted.line;
                let both = [(Ruler::Depth, line.depth), (Ruler::Stem, line.stem.map(|mm| -mm))];
                both.into_iter().filter_map(|(ruler, mm)| {
                    Some(Measured { number: noted.number, after: noted.after, ruler, mm: mm? })
                })
            })
            .collect()
    }

    /// The latest measure of each seat by one ruler.
    fn latest(&self, ruler: Ruler) -> BTreeMap<Cylinder, f64> {
        let list = self.measured().into_iter().filter(|m| m.ruler == ruler);
        list.map(|m| (m.number, m.mm)).collect()
    }

    /// The last measure of each seat between two disturbances, against the latest of its mates.
    ///
    /// A depth past the wall is preferred to a stem; two mates at least are needed.
    #[must_use]
    pub fn differences(&self) -> Vec<Difference> {
        let mut last: BTreeMap<(Cylinder, usize), Measured> = BTreeMap::new();
        for measured in self.measured() {
            let kept = last.entry((measured.number, measured.after)).or_insert(measured);
            if measured.ruler <= kept.ruler {
                *kept = measured;
            }
        }
        last.into_values()
            .filter_map(|m| {
                let latest = self.latest(m.ruler);
                let others: Vec<f64> =
                    latest.iter().filter(|(n, _)| **n != m.number).map(|(_, mm)| *mm).collect();
                if others.len() < MATES {
                    return None;
                }
                let mm = m.mm - median(&others)?;
                Some(Difference { number: m.number, after: m.after, mm })
            })
            .collect()
    }

    /// The latest difference of a seat.
    #[must_use]
    pub fn difference(&self, number: Cylinder) -> Option<Difference> {
        self.differences().into_iter().rfind(|d| d.number == number)
    }

    /// How the probes sit, from what was said of all of them and what was measured; the flag says
    /// that sheath and bore are assumed.
    #[must_use]
    pub fn fitting(&self, said: Option<Fitting>) -> Option<(Fitting, bool)> {
        let depths: Vec<f64> = self.latest(Ruler::Depth).into_values().collect();
        let measured = median(&depths);
        let (fitting, assumed) = match said {
            Some(fitting) => (fitting, false),
            None if self.measured().is_empty() => return None,
            None => (USUAL, true),
        };
        let fitting = fitting.at_depth(measured.unwrap_or(fitting.depth));
        fitting.check().ok().map(|fitting| (fitting, assumed))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(sheet: &mut Sheet, cylinder: Cylinder, after: usize, line: FitLine) {
        sheet.noted.push(Noted { entry: 1, cylinder, number: cylinder, after, line });
    }

    fn sheet(depths: &[f64]) -> Sheet {
        let mut sheet = Sheet::default();
        for (cylinder, &mm) in (1..).zip(depths) {
            note(&mut sheet, cylinder, 0, FitLine { depth: Some(mm), ..FitLine::default() });
        }
        sheet
    }

    #[test]
    fn a_difference_is_from_the_median_of_the_others() {
        let cases: [(&[f64], &[f64]); 4] = [
            (&[20.0, 20.0, 26.0, 19.0], &[0.0, 0.0, 6.0, -1.0]),
            (&[20.0, 14.0, 20.0], &[3.0, -6.0, 3.0]),
            (&[20.0, 26.0], &[]),
            (&[], &[]),
        ];
        for (depths, expected) in cases {
            let found: Vec<f64> = sheet(depths).differences().iter().map(|d| d.mm).collect();
            assert_eq!(found, expected, "{depths:?}");
        }
    }

    #[test]
    fn a_longer_stem_is_a_smaller_depth_and_never_mixed_with_one() {
        let mut sheet = Sheet::default();
        for (cylinder, mm) in (1..).zip([40.0, 40.0, 34.0]) {
            note(&mut sheet, cylinder, 0, FitLine { stem: Some(mm), ..FitLine::default() });
        }
        assert_eq!(sheet.difference(3).map(|d| d.mm), Some(6.0));
        note(&mut sheet, 3, 0, FitLine { depth: Some(20.0), ..FitLine::default() });
        assert_eq!(sheet.difference(3), None, "one depth past the wall has no mates");
    }

    #[test]
    fn a_depth_measured_again_after_work_leaves_the_earlier_one_standing() {
        let mut sheet = sheet(&[20.0, 20.0, 26.0, 20.0]);
        note(&mut sheet, 3, 1, FitLine { depth: Some(20.5), ..FitLine::default() });
        let of_three: Vec<(usize, f64)> =
            sheet.differences().iter().filter(|d| d.number == 3).map(|d| (d.after, d.mm)).collect();
        assert_eq!(of_three, [(0, 6.0), (1, 0.5)]);
        assert_eq!(sheet.lines()[&3].depth, Some(20.5));
    }

    #[test]
    fn how_they_sit_comes_from_what_was_said_and_measured() {
        let said = Fitting { diameter: 4.5, bore: 50.0, depth: 18.0 };
        assert_eq!(Sheet::default().fitting(None), None);
        assert_eq!(Sheet::default().fitting(Some(said)), Some((said, false)));
        let measured = sheet(&[20.0, 20.0, 26.0]);
        assert_eq!(measured.fitting(Some(said)), Some((Fitting { depth: 20.0, ..said }, false)));
        assert_eq!(measured.fitting(None), Some((Fitting { depth: 20.0, ..USUAL }, true)));
    }
}
