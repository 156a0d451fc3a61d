//! The journal of a job, as it is written to the file.
//!
//! Entries are facts in the order they were typed. They are never changed: an undo is
//! an entry too. Nothing here interprets them.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::complaint::Details;
use super::fit::FitLine;
use super::history::History;
use super::trim::{Foreseen, Lever, MixtureSign};
use crate::knowledge::Item;
use measure::engine::{Cylinder, Engine, Fitting, Place, PointId, ProbeSite};
use measure::named_enum;
use measure::units::{Celsius, Scale};

/// The version of a job file when it is opened.
pub const FORMAT: u32 = 1;

/// The version from the first entry on that programs of the first cannot read: out of a log, or of
/// how the probes sit.
pub const SECOND_FORMAT: u32 = 2;

/// The version from the first entry on that programs of the second cannot read: a vehicle's history,
/// trims, or how long its work took.
pub const THIRD_FORMAT: u32 = 3;

/// The version of a job whose head says more of the complaint than its words, which programs of the
/// third cannot read.
pub const FOURTH_FORMAT: u32 = 4;

/// The version from the first entry on that corrects an earlier one or says the scale it was typed
/// in, which programs of the fourth cannot read.
pub const FIFTH_FORMAT: u32 = 5;

/// The version of a job whose head says plate or mileage, which programs of the fifth cannot read.
pub const SIXTH_FORMAT: u32 = 6;

/// The version of a job whose complaint is of all displays together, which programs of the sixth cannot
/// read.
pub const SEVENTH_FORMAT: u32 = 7;

/// The version from the first entry on that says how warm the air was, or whose history says how probes
/// and leads were when they were fitted, which programs of the seventh cannot read.
pub const EIGHTH_FORMAT: u32 = 8;

/// The version of a job that names a running point which is not one of the first five, which programs of the
/// eighth cannot read.
pub const NINTH_FORMAT: u32 = 9;

named_enum! {
    /// How warm the engine is while it stands.
    EngineState, "engine state" {
        /// Untouched for eight hours or more.
        ColdSoaked = "cold-soaked",
        /// Cold, for less than that.
        Cold = "cold",
        /// Warm.
        Warm = "warm",
    }
}

/// What one display showed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Reading {
    /// A steady number.
    Degrees(Celsius),
    /// Jumps between two numbers.
    Erratic {
        /// The lower.
        lo: Celsius,
        /// The higher.
        hi: Celsius,
    },
    /// Open circuit, flag or end of scale.
    Open,
    /// Does not move.
    Stuck,
    /// Goes down while the others go up.
    Falling,
}

impl Reading {
    /// The number to reckon with: the steady one or the middle of a jumping one.
    #[must_use]
    pub fn middle(self) -> Option<f64> {
        match self {
            Self::Degrees(t) => Some(t.value()),
            Self::Erratic { lo, hi } => Some(f64::midpoint(lo.value(), hi.value())),
            Self::Open | Self::Stuck | Self::Falling => None,
        }
    }
}

/// Where in which data log readings were taken, so that it can be done again.
///
/// The job is whole without the log: its readings are in the entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FromLog {
    /// Name of the file, without its folder.
    pub file: String,
    /// SHA-256 of the file, in hexadecimal.
    pub sha256: String,
    /// Beginning of the window, seconds since the log's first row.
    pub from: f64,
    /// Its end.
    pub to: f64,
    /// Standard error of each number, °C; nothing for a display that showed none.
    pub errors: Vec<Option<f64>>,
}

/// One thing that was entered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum What {
    /// Readings of all displays at one running point.
    Temps {
        /// The running point.
        at: PointId,
        /// Which probes.
        site: ProbeSite,
        /// One per display.
        readings: Vec<Reading>,
        /// The data log they were taken from; nothing for readings that were typed.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        from: Option<FromLog>,
    },
    /// The outcome of a test, in words.
    Found {
        /// Test id.
        test: String,
        /// Outcome id.
        outcome: String,
        /// The cylinder it was done on, for tests of one cylinder.
        cylinder: Option<Cylinder>,
        /// The other cylinder of an exchange.
        partner: Option<Cylinder>,
    },
    /// The outcome of a test that a log has shown beside its readings, at no work of its own.
    Logged {
        /// Test id.
        test: String,
        /// Outcome id.
        outcome: String,
        /// The cylinder it speaks about.
        cylinder: Cylinder,
    },
    /// Two like items changed places.
    Exchange {
        /// Which items.
        item: Item,
        /// Cylinder (for the box end of a lead: display) of the one.
        a: Cylinder,
        /// Of the other.
        b: Cylinder,
    },
    /// A joint was undone and remade, or the item replaced by a known good one.
    Remake {
        /// Which item.
        item: Item,
        /// Where.
        cylinder: Cylinder,
        /// Replaced by a known good one.
        new: bool,
    },
    /// The engine's state was told.
    State(EngineState),
    /// The mechanic confirmed that running at load is safe here.
    LoadConfirmed,
    /// A cause was remedied.
    Remedy {
        /// Cause id.
        cause: String,
        /// Where.
        place: Place,
    },
    /// The oddness was written down as this engine's normal, nothing is done.
    Recorded,
    /// The job was closed; the flag says whether it was verified and proven.
    Close {
        /// Verified and proven when closed.
        proven: bool,
        /// Why it was closed without being so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason: Option<String>,
    },
    /// The job was opened again.
    Reopen,
    /// How some probes sit, as measured.
    Fitted {
        /// Cylinders with what the sheet says of their probes.
        lines: Vec<(Cylinder, FitLine)>,
    },
    /// Sheath, bore and depth of all probes.
    Fitting(Fitting),
    /// What earlier jobs of the vehicle left, as it stood when this one was opened.
    History(History),
    /// A trim of one cylinder was set.
    Trim {
        /// Fuel or spark.
        lever: Lever,
        /// Whose.
        cylinder: Cylinder,
        /// To where, against how it stood when the job was opened.
        to: f64,
        /// What was foreseen.
        foreseen: Option<Foreseen>,
    },
    /// A sign of one cylinder's mixture that does not hang on its display.
    Sign {
        /// Whose.
        cylinder: Cylinder,
        /// What it says.
        sign: MixtureSign,
        /// By what it was seen.
        by: String,
    },
    /// The engine builder's limit for a single display.
    BuilderLimit(Celsius),
    /// Warning limits were set in the controller, as reckoned then.
    LimitsSet {
        /// Hours of running between two false alarms of one display.
        once_in: f64,
        /// The delay, s; nothing where it was taken from the probes.
        delay: Option<f64>,
    },
    /// Takes back the entry with this number.
    Undo {
        /// Number of the entry taken back.
        entry: usize,
    },
}

/// A line of the journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// When it was entered.
    pub time: Timestamp,
    /// What was typed, as a command line or an answer.
    pub typed: String,
    /// What it says.
    pub what: What,
    /// Hands-on minutes its work took, as told; without opening anything and without waiting.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
    /// The running point at which a test was done, where what it shows belongs to one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<PointId>,
    /// The entry in whose place this one stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instead: Option<usize>,
    /// The scale of plain numbers from here on, where it was said and is another than before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<Scale>,
    /// The air beside the cold engine, by a thermometer of its own, when the displays were read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air: Option<Celsius>,
}

/// What became of an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// It stands.
    Stands,
    /// It was taken back.
    TakenBack,
    /// Another stands in its place.
    Corrected {
        /// The number of that one.
        by: usize,
    },
}

impl Entry {
    /// An entry whose work nobody timed.
    #[must_use]
    pub fn new(time: Timestamp, typed: String, what: What) -> Self {
        Self { time, typed, what, minutes: None, at: None, instead: None, scale: None, air: None }
    }

    /// The version of the file form that this needs.
    #[must_use]
    pub fn format(&self) -> u32 {
        let least = match (self.at, self.minutes) {
            (Some(at), _) if at.regime().is_none() => NINTH_FORMAT,
            _ if self.air.is_some() => EIGHTH_FORMAT,
            _ if self.instead.is_some() || self.scale.is_some() => FIFTH_FORMAT,
            (Some(_), _) => FOURTH_FORMAT,
            (None, Some(_)) => THIRD_FORMAT,
            (None, None) => FORMAT,
        };
        least.max(self.what.format())
    }
}

/// The head of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Head {
    /// When the job was opened.
    pub opened: Timestamp,
    /// What was typed to open it.
    pub typed: String,
    /// The vehicle, in the customer's words.
    pub vehicle: String,
    /// The complaint, in the customer's words.
    pub complaint: String,
    /// Name of the engine, as of a preset; empty if it was described.
    pub engine_name: String,
    /// The engine.
    pub engine: Engine,
    /// Flags of recent work.
    pub recent: Vec<String>,
    /// The engine's state when the job was opened.
    pub state: EngineState,
    /// What the complaint is about, the builder's limit, the scale: whatever of it was said.
    #[serde(default, skip_serializing_if = "Details::is_empty")]
    pub details: Details,
}

/// A job file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Journal {
    /// Version of the form.
    pub format: u32,
    /// Head.
    pub head: Head,
    /// Entries in order; number 1 is the first.
    pub entries: Vec<Entry>,
}

impl What {
    /// Whether another entry may stand in its place: readings and work, not what opens or closes.
    #[must_use]
    pub fn may_be_corrected(&self) -> bool {
        !matches!(
            self,
            Self::Undo { .. }
                | Self::Close { .. }
                | Self::Reopen
                | Self::Recorded
                | Self::History(_)
                | Self::LimitsSet { .. }
        )
    }

    /// The version of the file form that this needs.
    #[must_use]
    pub fn format(&self) -> u32 {
        match self {
            Self::Temps { at, .. } if at.regime().is_none() => NINTH_FORMAT,
            Self::Trim { foreseen: Some(foreseen), .. } if foreseen.at.regime().is_none() => {
                NINTH_FORMAT
            }
            Self::History(history) if history.usual.iter().any(|u| u.at.regime().is_none()) => {
                NINTH_FORMAT
            }
            Self::Temps { from: Some(_), .. }
            | Self::Logged { .. }
            | Self::Fitted { .. }
            | Self::Fitting(_) => SECOND_FORMAT,
            Self::History(history) if history.is_of_fitting() => EIGHTH_FORMAT,
            Self::History(_)
            | Self::Trim { .. }
            | Self::Sign { .. }
            | Self::BuilderLimit(_)
            | Self::LimitsSet { .. } => THIRD_FORMAT,
            Self::Close { reason: Some(_), .. } => FOURTH_FORMAT,
            _ => FORMAT,
        }
    }
}

impl Journal {
    /// A job without entries yet, in the oldest form that can hold its engine.
    #[must_use]
    pub fn new(head: Head) -> Self {
        let format = if head.details.at.is_some_and(|at| at.regime().is_none()) {
            NINTH_FORMAT
        } else if head.details.all {
            SEVENTH_FORMAT
        } else if head.details.plate.is_some() || head.details.mileage.is_some() {
            SIXTH_FORMAT
        } else if !head.details.is_empty() {
            FOURTH_FORMAT
        } else if head.engine.fitting.is_some() {
            SECOND_FORMAT
        } else {
            FORMAT
        };
        Self { format, head, entries: Vec::new() }
    }

    /// Adds an entry, in the form that it needs.
    pub fn push(&mut self, entry: Entry) {
        self.format = self.format.max(entry.format());
        self.entries.push(entry);
    }

    /// What became of each entry, in order. An undo stands until it is undone itself.
    #[must_use]
    pub fn fates(&self) -> Vec<Fate> {
        let mut fates = vec![Fate::Stands; self.entries.len()];
        // An undo that was itself undone must not count, so the last word comes first.
        for (index, entry) in self.entries.iter().enumerate().rev() {
            if fates[index] == Fate::TakenBack {
                continue;
            }
            let (number, undo) = match (&entry.what, entry.instead) {
                (What::Undo { entry: number }, _) => (*number, true),
                (_, Some(number)) => (number, false),
                (_, None) => continue,
            };
            let Some(known) = number.checked_sub(1).filter(|at| *at < index) else { continue };
            match fates[known] {
                _ if undo => fates[known] = Fate::TakenBack,
                Fate::Stands => fates[known] = Fate::Corrected { by: index + 1 },
                // What was corrected twice: the last word stands in both places.
                corrected @ Fate::Corrected { .. } if fates[index] == Fate::Stands => {
                    fates[index] = corrected;
                }
                Fate::Corrected { .. } | Fate::TakenBack => {}
            }
        }
        fates
    }

    /// The entry in whose place one stands, through corrections of corrections: itself, if in none.
    #[must_use]
    pub fn place_of(&self, number: usize) -> usize {
        let mut number = number;
        // Each step leads to an earlier entry, so this ends.
        while let Some(entry) = number.checked_sub(1).and_then(|at| self.entries.get(at))
            && let Some(earlier) = entry.instead.filter(|earlier| *earlier < number)
        {
            number = earlier;
        }
        number
    }

    /// Entries that stand, neither undone nor an undo, with their number from 1. A correction stands in
    /// the place, and under the number, of what it corrects.
    #[must_use]
    pub fn standing(&self) -> Vec<(usize, &Entry)> {
        let fates = self.fates();
        let in_place = |index: usize| -> Option<&Entry> {
            let mut index = index;
            loop {
                match fates.get(index)? {
                    Fate::Stands => return self.entries.get(index),
                    Fate::TakenBack => return None,
                    // Always a later one, so this ends.
                    Fate::Corrected { by } => index = by - 1,
                }
            }
        };
        (0..self.entries.len())
            .filter(|&index| self.entries[index].instead.is_none())
            .filter_map(|index| Some((index + 1, in_place(index)?)))
            .filter(|(_, entry)| !matches!(entry.what, What::Undo { .. }))
            .collect()
    }

    /// Number of the entry that an undo would take back: the last that was entered and stands, a
    /// correction too.
    #[must_use]
    pub fn last_standing(&self) -> Option<usize> {
        let fates = self.fates();
        (0..self.entries.len())
            .rev()
            .find(|&at| {
                fates[at] == Fate::Stands && !matches!(self.entries[at].what, What::Undo { .. })
            })
            .map(|at| at + 1)
    }

    /// The number of the last set at the same point that has exactly these readings, if the last one has.
    #[must_use]
    pub fn same_as(&self, what: &What) -> Option<usize> {
        let What::Temps { at, site, readings, .. } = what else { return None };
        let kind = |known: &What| matches!(known, What::Temps { at: a, site: s, .. } if (a, s) == (at, site));
        let (number, last) =
            self.standing().into_iter().rev().find(|(_, entry)| kind(&entry.what))?;
        matches!(&last.what, What::Temps { readings: same, .. } if same == readings)
            .then_some(number)
    }

    /// The scale of plain numbers: the one said last, else that of the head.
    #[must_use]
    pub fn scale(&self) -> Option<Scale> {
        let said = self.standing().into_iter().rev().find_map(|(_, entry)| entry.scale);
        said.or(self.head.details.scale)
    }
}
