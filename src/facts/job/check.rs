//! What an entry must satisfy on its engine before anything is made of it.
//!
//! Only ranges and counts: whether a test or a cause exists is a question for the knowledge
//! base, which may change under a job.

use thiserror::Error;

use super::entry::{Entry, Journal, What};
use super::fit::FitLine;
use super::trim::{Foreseen, Lever};
use measure::engine::{Cylinder, Engine, EngineError, Place};

/// Why an entry cannot be one of this engine's.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EntryError {
    /// Not one reading per display.
    #[error(
        "{} given, this engine has {cylinders} cylinders: one per display, in order",
        readings(*.given)
    )]
    Count {
        /// How many readings there are.
        given: usize,
        /// How many there should be.
        cylinders: u8,
    },
    /// A cylinder that the engine does not have.
    #[error("cylinder {given} does not exist: this engine has 1 to {cylinders}")]
    NoCylinder {
        /// What was given.
        given: Cylinder,
        /// How many there are.
        cylinders: u8,
    },
    /// Both sides of an exchange are the same.
    #[error("an exchange needs two different places, {0} was given twice")]
    Same(Cylinder),
    /// A finding that points from a cylinder to itself.
    #[error(
        "a partner is another cylinder than {0} itself: name the one that the display which moved belongs to by now, \
         as parts are exchanged, or choose the outcome that is about this cylinder's own display"
    )]
    OwnPartner(Cylinder),
    /// A place that the engine does not have.
    #[error("`{0}` is not a place on this engine")]
    NoPlace(String),
    /// A measure that no probe can have.
    #[error("{0}")]
    Measure(String),
    /// A history that is not of this engine.
    #[error("{0}")]
    History(String),
    /// Minutes that no piece of work takes.
    #[error("{0}")]
    Minutes(String),
    /// A correction of itself, a later entry or nothing.
    #[error("entry {given} cannot be corrected here")]
    Instead {
        /// The number given.
        given: usize,
    },
    /// An undo that takes back itself, a later entry or nothing.
    #[error("entry {given} cannot be taken back here")]
    Undo {
        /// The number given.
        given: usize,
    },
}

/// Most minutes that one piece of work can be said to have taken: a working day.
pub const LONGEST: f64 = 600.0;

/// Longest text on a line of the sheet, in characters.
const TEXT: usize = 60;

/// Whether a line of the probe-fit sheet can be.
fn fit_line(line: &FitLine) -> Result<(), EntryError> {
    let within = |what: &str, mm: Option<f64>, most: f64| match mm {
        Some(mm) if !(0.0..=most).contains(&mm) => {
            Err(EntryError::Measure(format!("{what} of {mm} mm: expected 0 to {most} mm")))
        }
        _ => Ok(()),
    };
    within("a depth past the inner wall", line.depth, 300.0)?;
    within("a stem outside", line.stem, 500.0)?;
    within("a distance from the port", line.from_port, 3000.0)?;
    if let Some(clock) = line.clock.filter(|clock| !(1..=12).contains(clock)) {
        return Err(EntryError::Measure(format!("{clock} o'clock: expected 1 to 12")));
    }
    let texts = [&line.probe, &line.serial, &line.lead, &line.channel];
    match texts.into_iter().flatten().find(|text| text.chars().count() > TEXT) {
        Some(text) => Err(EntryError::Measure(format!(
            "`{}…` is too long for the sheet: at most {TEXT} characters",
            text.chars().take(20).collect::<String>()
        ))),
        None => Ok(()),
    }
}

/// Farthest that any trim can be from where it stood, per cent or degrees: a slip of the hand beyond.
const FAR: f64 = 30.0;

/// Whether a trim can be meant.
fn trim(lever: Lever, to: f64, foreseen: Option<Foreseen>) -> Result<(), EntryError> {
    if !(-FAR..=FAR).contains(&to) {
        return Err(EntryError::Measure(format!(
            "a {lever} trim of {to}: expected {} to {FAR}",
            -FAR
        )));
    }
    match foreseen {
        Some(seen) if !(seen.change.is_finite() && seen.sd.is_finite() && seen.sd > 0.0) => {
            Err(EntryError::Measure("what was foreseen is no number".to_owned()))
        }
        _ => Ok(()),
    }
}

/// Whether a text is short enough to be shown in a line.
fn short(what: &str, text: &str) -> Result<(), EntryError> {
    if text.chars().count() > TEXT {
        return Err(EntryError::Measure(format!("{what} is at most {TEXT} characters")));
    }
    Ok(())
}

fn readings(count: usize) -> String {
    if count == 1 { "1 reading".to_owned() } else { format!("{count} readings") }
}

/// Why a journal makes no sense.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum JournalError {
    /// The engine does not fit together.
    #[error("the engine: {0}")]
    Engine(#[from] EngineError),
    /// What the complaint is about is not on the engine.
    #[error("the complaint: {0}")]
    Complaint(EntryError),
    /// An entry does not go with the engine.
    #[error("entry {number}: {source}")]
    Entry {
        /// Its number, from 1.
        number: usize,
        /// What is wrong.
        source: EntryError,
    },
}

/// Checks an entry with the number it has or would have.
///
/// # Errors
/// The first thing that does not go with the engine.
pub fn entry(engine: &Engine, number: usize, what: &What) -> Result<(), EntryError> {
    let cylinders = engine.cylinders;
    let cylinder = |given: Cylinder| {
        if (1..=cylinders).contains(&given) {
            Ok(())
        } else {
            Err(EntryError::NoCylinder { given, cylinders })
        }
    };
    let two = |a: Cylinder, b: Cylinder| {
        cylinder(a)?;
        cylinder(b)?;
        if a == b { Err(EntryError::Same(a)) } else { Ok(()) }
    };
    match what {
        What::Temps { readings, .. } => {
            if readings.len() == usize::from(cylinders) {
                Ok(())
            } else {
                let given = readings.len();
                Err(EntryError::Count { given, cylinders })
            }
        }
        What::Found { cylinder: a, partner: b, .. } => match (*a, *b) {
            (Some(a), Some(b)) if a == b => Err(EntryError::OwnPartner(a)),
            (Some(a), Some(b)) => two(a, b),
            (Some(c), None) | (None, Some(c)) => cylinder(c),
            (None, None) => Ok(()),
        },
        What::Exchange { a, b, .. } => two(*a, *b),
        What::Remake { cylinder: c, .. } | What::Logged { cylinder: c, .. } => cylinder(*c),
        What::Remedy { place, .. } => {
            let fits = match *place {
                Place::Nowhere => true,
                Place::Cylinder(c) => cylinder(c).is_ok(),
                Place::Pair(a, b) => a < b && two(a, b).is_ok(),
                Place::Bank(b) => (1..=engine.banks.len()).contains(&usize::from(b)),
            };
            if fits { Ok(()) } else { Err(EntryError::NoPlace(place.code())) }
        }
        What::Undo { entry } => {
            if (1..number).contains(entry) {
                Ok(())
            } else {
                Err(EntryError::Undo { given: *entry })
            }
        }
        What::Fitted { lines } => lines.iter().try_for_each(|(c, line)| {
            cylinder(*c)?;
            fit_line(line)
        }),
        What::Fitting(fitting) => {
            fitting.check().map(|_| ()).map_err(|error| EntryError::Measure(error.to_string()))
        }
        What::History(history) => {
            history.wrong(engine).map_or(Ok(()), |what| Err(EntryError::History(what)))?;
            history.fit.iter().try_for_each(|(_, line)| fit_line(line))
        }
        What::Trim { lever, cylinder: c, to, foreseen } => {
            cylinder(*c)?;
            trim(*lever, *to, *foreseen)
        }
        What::Sign { cylinder: c, by, .. } => {
            cylinder(*c)?;
            short("the sign", by)
        }
        What::LimitsSet { once_in, delay } => {
            let fine = (1.0..=1e6).contains(once_in)
                && delay.is_none_or(|delay| (1.0..=3600.0).contains(&delay));
            let what = "limits: expected 1 to 1000000 hours and a delay of 1 to 3600 s";
            if fine { Ok(()) } else { Err(EntryError::Measure(what.to_owned())) }
        }
        What::BuilderLimit(_)
        | What::State(_)
        | What::LoadConfirmed
        | What::Recorded
        | What::Close { .. }
        | What::Reopen => Ok(()),
    }
}

/// Checks the minutes that work is said to have taken.
///
/// # Errors
/// When no work takes so long, or none at all.
pub fn minutes(told: Option<f64>) -> Result<(), EntryError> {
    match told {
        Some(minutes) if !(minutes > 0.0 && minutes <= LONGEST) => Err(EntryError::Minutes(
            format!("{minutes} minutes for one piece of work: expected above 0, up to {LONGEST}"),
        )),
        _ => Ok(()),
    }
}

/// Checks an entry with the time it took.
///
/// # Errors
/// The first thing that does not go with the engine.
pub fn whole(engine: &Engine, number: usize, line: &Entry) -> Result<(), EntryError> {
    entry(engine, number, &line.what)?;
    if let Some(given) = line.instead
        && (!(1..number).contains(&given) || matches!(line.what, What::Undo { .. }))
    {
        return Err(EntryError::Instead { given });
    }
    minutes(line.minutes)
}

/// Checks a whole journal.
///
/// # Errors
/// The first thing that does not fit.
pub fn journal(journal: &Journal) -> Result<(), JournalError> {
    let engine = journal.head.engine.clone().check()?;
    if let Some(given) = journal.head.details.cylinder
        && !engine.all().any(|c| c == given)
    {
        let source = EntryError::NoCylinder { given, cylinders: engine.cylinders };
        return Err(JournalError::Complaint(source));
    }
    for (number, line) in (1..).zip(&journal.entries) {
        whole(&engine, number, line).map_err(|source| JournalError::Entry { number, source })?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;
    use crate::job::entry::Reading;
    use crate::knowledge::Item;
    use measure::engine::{ProbeSite, Regime};

    fn refused(what: &What) -> String {
        let error = entry(&fixture::engine(), 3, what);
        error.expect_err("refused").to_string()
    }

    #[test]
    fn what_the_engine_does_not_have_is_refused() {
        let cases = [
            (
                What::Temps {
                    at: Regime::Idle.into(),
                    site: ProbeSite::Exhaust,
                    readings: vec![Reading::Open; 3],
                    from: None,
                },
                "3 readings given, this engine has 4 cylinders: one per display, in order",
            ),
            (
                What::Exchange { item: Item::Probe, a: 2, b: 2 },
                "an exchange needs two different places, 2 was given twice",
            ),
            (
                What::Found {
                    test: "cut-out".to_owned(),
                    outcome: "other-falls".to_owned(),
                    cylinder: Some(3),
                    partner: Some(3),
                },
                "a partner is another cylinder than 3 itself: name the one that the display which moved belongs to by \
                 now, as parts are exchanged, or choose the outcome that is about this cylinder's own display",
            ),
            (
                What::Remake { item: Item::Probe, cylinder: 5, new: false },
                "cylinder 5 does not exist: this engine has 1 to 4",
            ),
            (
                What::Remedy { cause: "x".to_owned(), place: Place::Bank(2) },
                "`bank-2` is not a place on this engine",
            ),
            (What::Undo { entry: 3 }, "entry 3 cannot be taken back here"),
            (What::Undo { entry: 0 }, "entry 0 cannot be taken back here"),
        ];
        for (what, message) in cases {
            assert_eq!(refused(&what), message);
        }
        assert_eq!(entry(&fixture::engine(), 3, &What::Undo { entry: 2 }), Ok(()));
    }
}
