//! What of an engine decides which causes it can have: its kind, on one line.
//!
//! So that jobs on like engines can be counted together. It must not hold what tells one engine
//! from another of its kind, nor anything of a customer.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::{
    BaseMixture, Cooling, DepthHold, Engine, Fuel, Ignition, Induction, Intake, Layout, ProbeSite,
    ProbeType,
};

/// A kind of engine, written as
/// `4 inline port coil-per-plug plenum natural liquid exhaust`, with `trims` behind it if it has any.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
#[expect(missing_docs, reason = "fields as in `Engine`")]
pub struct Kind {
    pub cylinders: u8,
    pub layout: Layout,
    pub fuel: Fuel,
    pub ignition: Ignition,
    pub intake: Intake,
    pub induction: Induction,
    pub cooling: Cooling,
    pub probes: ProbeSite,
    pub trims: bool,
}

/// Why a text is no kind of engine.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "`{given}` is no kind of engine: {why}; expected as \
     `4 inline port coil-per-plug plenum natural liquid exhaust`"
)]
pub struct KindError {
    given: String,
    why: String,
}

/// What stands at the end of an engine whose fuel and spark can be trimmed for each cylinder.
const TRIMS: &str = "trims";

impl Kind {
    /// The kind of an engine.
    #[must_use]
    pub fn of(engine: &Engine) -> Self {
        Self {
            cylinders: engine.cylinders,
            layout: engine.layout,
            fuel: engine.fuel,
            ignition: engine.ignition,
            intake: engine.intake,
            induction: engine.induction,
            cooling: engine.cooling,
            probes: engine.probes,
            trims: engine.trims,
        }
    }

    /// A plain engine of this kind, its banks and firing order the usual ones.
    #[must_use]
    pub fn engine(self) -> Engine {
        let n = self.cylinders;
        let banks = match self.layout {
            Layout::Inline => vec![(1..=n).collect()],
            // An odd cylinder more stands on the first bank.
            Layout::V | Layout::Flat => {
                vec![(1..=n).step_by(2).collect(), (2..=n).step_by(2).collect()]
            }
        };
        Engine {
            cylinders: n,
            layout: self.layout,
            banks,
            firing_order: Engine::usual_firing_order(n),
            fuel: self.fuel,
            ignition: self.ignition,
            intake: self.intake,
            induction: self.induction,
            cooling: self.cooling,
            probes: self.probes,
            probe_type: ProbeType::K,
            depth: DepthHold::Stays,
            trims: self.trims,
            mixture: BaseMixture::usual(self.fuel),
            fitting: None,
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { cylinders, layout, fuel, ignition, intake, induction, cooling, probes, trims } =
            self;
        write!(
            f,
            "{cylinders} {layout} {fuel} {ignition} {intake} {induction} {cooling} {probes}"
        )?;
        if *trims {
            write!(f, " {TRIMS}")?;
        }
        Ok(())
    }
}

impl FromStr for Kind {
    type Err = KindError;

    fn from_str(given: &str) -> Result<Self, KindError> {
        fn word<'a, T: FromStr>(
            words: &mut impl Iterator<Item = &'a str>,
            given: &str,
        ) -> Result<T, KindError>
        where
            T::Err: fmt::Display,
        {
            let wrong = |why: String| KindError { given: given.to_owned(), why };
            let next = words.next().ok_or_else(|| wrong("it ends too early".to_owned()))?;
            next.parse().map_err(|error: T::Err| wrong(error.to_string()))
        }
        let words = &mut given.split_whitespace();
        let kind = Self {
            cylinders: word(words, given)?,
            layout: word(words, given)?,
            fuel: word(words, given)?,
            ignition: word(words, given)?,
            intake: word(words, given)?,
            induction: word(words, given)?,
            cooling: word(words, given)?,
            probes: word(words, given)?,
            trims: false,
        };
        let rest: Vec<&str> = words.collect();
        let trims = match rest.as_slice() {
            [] => false,
            [TRIMS] => true,
            [word, ..] => {
                let why = format!("`{word}` is one word too many");
                return Err(KindError { given: given.to_owned(), why });
            }
        };
        match (Self { trims, ..kind }).engine().check() {
            Ok(engine) => Ok(Self::of(&engine)),
            Err(error) => Err(KindError { given: given.to_owned(), why: error.to_string() }),
        }
    }
}

impl From<Kind> for String {
    fn from(kind: Kind) -> Self {
        kind.to_string()
    }
}

impl TryFrom<String> for Kind {
    type Error = KindError;

    fn try_from(given: String) -> Result<Self, KindError> {
        given.parse()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_kind_says_why() {
        for (given, why) in [
            ("", "it ends too early"),
            ("4 inline", "it ends too early"),
            ("5 inline port wasted-spark plenum natural liquid exhaust", "even number"),
            ("4 round port none plenum natural liquid exhaust", "unknown layout `round`"),
            ("4 inline port none plenum natural liquid exhaust", "does not exist"),
            ("4 inline diesel none plenum natural liquid head trims x", "`trims` is one word"),
        ] {
            let error = given.parse::<Kind>().expect_err("refused").to_string();
            assert!(error.contains(why), "{error}");
        }
    }
}
