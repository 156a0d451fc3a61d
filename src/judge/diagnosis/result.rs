//! What a diagnosis says, as data. Renderers and the planner read it, nobody else makes it.

use facts::knowledge::RunningPoint;
use facts::knowledge::{Knowledge, Seat};
use measure::engine::{Cylinder, Place, ProbeSite};

/// A cause of the knowledge base, or one that is in no list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CauseRef {
    /// By index into [`Knowledge::causes`].
    Listed(usize),
    /// A cause that the knowledge base does not have.
    Unlisted,
}

impl CauseRef {
    /// The id, `unlisted` for the cause in no list.
    #[must_use]
    pub fn id(self, knowledge: &Knowledge) -> &str {
        match self {
            Self::Listed(index) => &knowledge.causes[index].id,
            Self::Unlisted => "unlisted",
        }
    }

    /// The name a mechanic would use.
    #[must_use]
    pub fn name(self, knowledge: &Knowledge) -> &str {
        match self {
            Self::Listed(index) => &knowledge.causes[index].name,
            Self::Unlisted => "something not in the list",
        }
    }

    /// Whether it belongs to the measuring chain.
    #[must_use]
    pub fn is_measuring(self, knowledge: &Knowledge) -> bool {
        match self {
            Self::Listed(index) => knowledge.is_measuring(index),
            Self::Unlisted => false,
        }
    }

    /// Whether displays show another cylinder than the one they are named for.
    #[must_use]
    pub fn misnames(self, knowledge: &Knowledge) -> bool {
        match self {
            Self::Listed(index) => knowledge.causes[index].misnames(),
            Self::Unlisted => false,
        }
    }

    /// Whether it passes by waiting, and is no fault.
    #[must_use]
    pub fn passes(self, knowledge: &Knowledge) -> bool {
        match self {
            Self::Listed(index) => knowledge.causes[index].passes(),
            Self::Unlisted => false,
        }
    }

    /// Whether it may be written down as this engine's normal, as long as nothing is far off: it passes by
    /// itself, or the engine was made so.
    #[must_use]
    pub fn is_normal(self, knowledge: &Knowledge) -> bool {
        self.passes(knowledge)
            || matches!(self, Self::Listed(index) if knowledge.causes[index].by_build)
    }

    /// The seat; a cause in no list has none.
    #[must_use]
    pub fn seat(self, knowledge: &Knowledge) -> Seat {
        match self {
            Self::Listed(index) => knowledge.causes[index].seat,
            Self::Unlisted => Seat::Nothing,
        }
    }
}

/// A cause at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Fault {
    /// The cause.
    pub cause: CauseRef,
    /// Where.
    pub place: Place,
}

/// One explanation of everything entered, with its probability.
#[derive(Debug, Clone, PartialEq)]
pub struct Hypothesis {
    /// No fault, one, or two.
    pub faults: Vec<Fault>,
    /// Probability given all entries.
    pub probability: f64,
    /// Probability, given this hypothesis, that each of its faults is still there now.
    pub present: Vec<f64>,
    /// Probability, given this hypothesis, that each of its faults is still there now but did not show
    /// in the last readings: it comes and goes, and rests.
    pub resting: Vec<f64>,
}

/// A cause at a place with its marginal probability over all hypotheses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Suspect {
    /// Which.
    pub fault: Fault,
    /// Probability that it is, or was, a cause of the complaint.
    pub probability: f64,
    /// Probability that it is there and has not gone away.
    pub present: f64,
}

/// How odd one display is in one reading set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Oddness {
    /// Index into the timeline's reading sets.
    pub set: usize,
    /// Display.
    pub display: Cylinder,
    /// Difference from the median of the others in °C, `None` for a display that shows no number.
    pub difference: Option<f64>,
    /// The difference in natural standard deviations of this layout at this point.
    pub sigmas: Option<f64>,
}

/// How well the best explanation explains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surprise {
    /// Chance that readings and findings fit the best hypothesis no better than they do.
    pub p_value: f64,
    /// True when none of the known causes explains what was entered.
    pub unexplained: bool,
}

/// Something the reader should be told about how the entries were used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// Journal entry it is about.
    pub entry: usize,
    /// One sentence.
    pub text: String,
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessment {
    /// Probability that nothing is wrong.
    pub healthy: f64,
    /// Marginals, most probable first; causes that are no fault but not `healthy` included.
    pub suspects: Vec<Suspect>,
    /// Probability that a cause of the group is involved, by top and sub group, most probable
    /// first; index into [`Knowledge::groups`].
    pub groups: Vec<(usize, f64)>,
    /// Probability that a seat is involved, most probable first.
    pub seats: Vec<(Seat, f64)>,
    /// The kept hypotheses, most probable first; their probabilities sum to one.
    pub hypotheses: Vec<Hypothesis>,
    /// Estimate, meant to be on the high side, of the posterior mass of the pairs of causes that were
    /// left out; not a proven bound.
    pub pairs_dropped_mass: f64,
    /// Probability that a fault is there now (not cured).
    pub present: f64,
    /// Probability that no fault is there now that shows at any point: nothing is wrong, or what was
    /// is cured.
    pub sound: f64,
    /// How odd each display is, set by set.
    pub oddness: Vec<Oddness>,
    /// The display that is oddest over all running sets, if any stands out.
    pub odd_display: Option<Cylinder>,
    /// Whether the model fits.
    pub surprise: Surprise,
    /// How entries were used.
    pub notes: Vec<Note>,
}

impl Assessment {
    /// Probability that a cause, by its index, is involved at one place or another.
    ///
    /// The cause that stands for the ordinary spread has the probability that nothing is wrong, as
    /// its group has.
    #[must_use]
    pub fn cause_share(&self, knowledge: &Knowledge, cause: usize) -> f64 {
        let has = |h: &&Hypothesis| h.faults.iter().any(|f| f.cause == CauseRef::Listed(cause));
        let found: f64 = self.hypotheses.iter().filter(has).map(|h| h.probability).sum();
        let spread = knowledge.causes[cause].is_ordinary();
        (found + if spread { self.healthy } else { 0.0 }).min(1.0)
    }
}

/// What one entry added to, or took from, a suspect.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// Journal entry; 0 stands for the prior.
    pub entry: usize,
    /// What it was, one line.
    pub text: String,
    /// Probability before the entry.
    pub before: f64,
    /// Probability after it.
    pub after: f64,
    /// Factor on the odds, natural logarithm.
    pub log_odds: f64,
}

/// Why a suspect is where it is.
#[derive(Debug, Clone, PartialEq)]
pub struct CauseExplanation {
    /// The suspect.
    pub fault: Fault,
    /// Its probability now.
    pub probability: f64,
    /// Prior factors in words: weight, recent work, kind of engine.
    pub prior: Vec<String>,
    /// Entry by entry.
    pub contributions: Vec<Contribution>,
    /// Expected against shown, a line a reading set: what this cause would do there.
    pub expected: Vec<ExpectedShift>,
}

/// What a cause would do to the display in a set.
#[derive(Debug, Clone, PartialEq)]
pub struct ExpectedShift {
    /// Journal entry of the set.
    pub entry: usize,
    /// Running point.
    pub at: RunningPoint,
    /// Probes.
    pub site: ProbeSite,
    /// Display on which it would show.
    pub display: Cylinder,
    /// Expected shift and sd, °C; `None` where no number is expected.
    pub expected: Option<(f64, f64)>,
    /// Shown shift against the median of the others, °C.
    pub shown: Option<f64>,
}

/// What the readings after a remedy say.
#[derive(Debug, Clone, PartialEq)]
pub struct Verification {
    /// The remedied fault, if any remedy was entered.
    pub remedied: Option<Fault>,
    /// There are running readings after the last disturbance.
    pub readings_after: bool,
    /// Probability that no fault is present now.
    pub gone: f64,
    /// Largest remaining difference, in natural standard deviations.
    pub left_over: Option<f64>,
    /// Probability that the remedied cause was the cause.
    pub probability: f64,
    /// How it was proven, `None` if it was not.
    pub proof: Option<Proof>,
    /// What is missing, one sentence each; empty when verified and proven.
    pub missing: Vec<String>,
}

impl Verification {
    /// Whether the oddness is gone and the cause proven.
    #[must_use]
    pub fn verified(&self) -> bool {
        self.missing.is_empty()
    }
}

/// Ways to prove a cause.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proof {
    /// Seen directly by a test that is as good as never wrong about it.
    Seen,
    /// Gone after the remedy and back when it was reversed.
    Reversed,
    /// Probable enough, and still gone at the verification run.
    Verified,
}
