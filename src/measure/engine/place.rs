//! Where on an engine a cause sits.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::{Cylinder, Engine};

/// A place a cause can be at, named by the positions the engine had when the job was opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Place {
    /// Nothing is wrong anywhere.
    Nowhere,
    /// A cylinder, or the chain of its display.
    Cylinder(Cylinder),
    /// Two cylinders that stand for each other, the lower first.
    Pair(Cylinder, Cylinder),
    /// A bank, numbered from 1.
    Bank(u8),
}

impl Place {
    /// The single cylinder, if it is one.
    #[must_use]
    pub fn cylinder(self) -> Option<Cylinder> {
        match self {
            Self::Cylinder(cylinder) => Some(cylinder),
            _ => None,
        }
    }

    /// Every cylinder the place covers.
    #[must_use]
    pub fn cylinders(self, engine: &Engine) -> Vec<Cylinder> {
        match self {
            Self::Nowhere => Vec::new(),
            Self::Cylinder(c) => vec![c],
            Self::Pair(a, b) => vec![a, b],
            Self::Bank(b) => engine.banks[usize::from(b) - 1].clone(),
        }
    }

    /// The form used after `@` on the command line and in files: `3`, `1-4`, `bank-2`, `none`.
    #[must_use]
    pub fn code(self) -> String {
        match self {
            Self::Nowhere => "none".to_owned(),
            Self::Cylinder(c) => c.to_string(),
            Self::Pair(a, b) => format!("{a}-{b}"),
            Self::Bank(b) => format!("bank-{b}"),
        }
    }

    /// Reads the form of [`Place::code`] for an engine.
    ///
    /// # Errors
    /// When it is no place, or not one of this engine.
    pub fn read(code: &str, engine: &Engine) -> Result<Self, PlaceError> {
        let wrong = || PlaceError { given: code.to_owned(), cylinders: engine.cylinders };
        let number = |text: &str| {
            text.parse::<u8>().ok().filter(|c| (1..=engine.cylinders).contains(c)).ok_or_else(wrong)
        };
        if code == "none" {
            return Ok(Self::Nowhere);
        }
        if let Some(bank) = code.strip_prefix("bank-") {
            let bank: u8 = bank.parse().map_err(|_| wrong())?;
            return if (1..=engine.banks.len()).contains(&usize::from(bank)) {
                Ok(Self::Bank(bank))
            } else {
                Err(wrong())
            };
        }
        match code.split_once('-') {
            None => Ok(Self::Cylinder(number(code)?)),
            Some((a, b)) => {
                let (a, b) = (number(a)?, number(b)?);
                if a == b { Err(wrong()) } else { Ok(Self::Pair(a.min(b), a.max(b))) }
            }
        }
    }
}

impl std::fmt::Display for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Nowhere => f.write_str("nowhere"),
            Self::Cylinder(c) => write!(f, "cylinder {c}"),
            Self::Pair(a, b) => write!(f, "cylinders {a} and {b}"),
            Self::Bank(b) => write!(f, "bank {b}"),
        }
    }
}

/// A place that the engine does not have.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "`{given}` is not a place on this engine: expected a cylinder from 1 to {cylinders}, two as \
         `1-2`, or `bank-1`"
)]
pub struct PlaceError {
    /// What was given.
    pub given: String,
    /// How many cylinders there are.
    pub cylinders: u8,
}
