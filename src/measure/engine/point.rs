//! Where the engine is held while readings are taken, as far as numbers need to know it.
//!
//! Which running points there are is knowledge; here are only the id by which a file names one, and the five
//! ways an engine runs of which the program's own physics knows something. It must not say what a point is
//! called.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::named_enum;

named_enum! {
    /// The ways an engine runs of which gas, walls, wiring, mixture and the workshop of the program's own know
    /// something: each a running point of the knowledge base of the same id, and every other point is like one of
    /// them.
    Regime, "running point" {
        /// Engine untouched for eight hours or more, key on.
        ColdSoak = "cold",
        /// Warming up: nothing is steady yet.
        Warming = "warming",
        /// Warm idle.
        Idle = "idle",
        /// Steady cruise.
        Cruise = "cruise",
        /// Full load.
        Full = "full",
    }
}

impl Regime {
    /// The steady ones, by load: those of which physics has figures.
    pub const STEADY: [Self; 3] = [Self::Idle, Self::Cruise, Self::Full];

    /// Its figure of three that are given for idle, cruise and full load; while it warms up that of idle, and none
    /// where the engine stands.
    #[must_use]
    pub fn of_three<T: Copy>(self, [idle, cruise, full]: [T; 3]) -> Option<T> {
        match self {
            Self::ColdSoak => None,
            Self::Warming | Self::Idle => Some(idle),
            Self::Cruise => Some(cruise),
            Self::Full => Some(full),
        }
    }

    /// Its figure of five that are given for cold soak, warming up, idle, cruise and full load.
    #[must_use]
    pub fn of_five<T: Copy>(self, [cold, warming, idle, cruise, full]: [T; 5]) -> T {
        match self {
            Self::ColdSoak => cold,
            Self::Warming => warming,
            Self::Idle => idle,
            Self::Cruise => cruise,
            Self::Full => full,
        }
    }
}

/// Longest id of a running point, bytes.
const LONGEST: usize = 30;

/// The id of a running point, as files and command lines name it; whether there is such a point is for the
/// knowledge base to say.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct PointId {
    /// Small letters, digits and hyphens, and zeros behind them.
    bytes: [u8; LONGEST],
    length: u8,
}

/// A word that cannot be the id of a running point.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "`{0}` cannot be a running point: small letters, digits and hyphens, a letter first, {LONGEST} at most"
)]
pub struct PointIdError(String);

impl PointId {
    /// The id as text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        std::str::from_utf8(&self.bytes[..usize::from(self.length)]).unwrap_or_default()
    }

    /// The regime of this id, if it is one of those.
    #[must_use]
    pub fn regime(&self) -> Option<Regime> {
        self.as_str().parse().ok()
    }
}

impl FromStr for PointId {
    type Err = PointIdError;
    fn from_str(given: &str) -> Result<Self, Self::Err> {
        let plain = |c: u8| c.is_ascii_lowercase() || c.is_ascii_digit() || c == b'-';
        let word = given.as_bytes();
        let sound =
            word.first().is_some_and(u8::is_ascii_lowercase) && word.iter().all(|c| plain(*c));
        match (u8::try_from(word.len()), sound && word.len() <= LONGEST) {
            (Ok(length), true) => {
                let mut bytes = [0; LONGEST];
                bytes[..word.len()].copy_from_slice(word);
                Ok(Self { bytes, length })
            }
            _ => Err(PointIdError(given.to_owned())),
        }
    }
}

impl From<Regime> for PointId {
    fn from(regime: Regime) -> Self {
        let mut bytes = [0; LONGEST];
        let mut length = 0;
        for (into, from) in bytes.iter_mut().zip(regime.as_str().bytes()) {
            *into = from;
            length += 1;
        }
        Self { bytes, length }
    }
}

impl From<PointId> for String {
    fn from(id: PointId) -> Self {
        id.as_str().to_owned()
    }
}

impl TryFrom<String> for PointId {
    type Error = PointIdError;
    fn try_from(given: String) -> Result<Self, Self::Error> {
        given.parse()
    }
}

impl fmt::Display for PointId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl fmt::Debug for PointId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(self.as_str(), f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_is_read_back_and_what_is_none_is_said() {
        for word in ["towing", "idle-hot", "a", &"x".repeat(LONGEST)] {
            let id: PointId = word.parse().expect("an id");
            assert_eq!((id.as_str(), id.regime()), (word, None));
        }
        for word in ["", "Towing", "4x4", "-a", "a b", "ö", &"x".repeat(LONGEST + 1)] {
            assert!(word.parse::<PointId>().is_err(), "{word}");
        }
        for &regime in Regime::ALL {
            assert_eq!(PointId::from(regime).regime(), Some(regime));
            assert_eq!(Ok(PointId::from(regime)), regime.as_str().parse());
        }
    }
}
