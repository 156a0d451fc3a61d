//! A recommendation, as data.

use crate::diagnosis::{CauseRef, Fault};
use facts::knowledge::Item;
use facts::knowledge::RunningPoint;
use measure::engine::{Cylinder, ProbeSite};
use measure::named_enum;
use measure::units::Cost;

/// One thing that can be done next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// A test, by index into the knowledge base.
    Test {
        /// Which.
        test: usize,
        /// The cylinder it is done on.
        cylinder: Option<Cylinder>,
        /// The other cylinder of an exchange.
        partner: Option<Cylinder>,
        /// The running point it is done at; `None` where the engine need not run, or the point makes no difference.
        at: Option<RunningPoint>,
    },
    /// Cure a cause.
    Remedy(Fault),
    /// Take readings.
    Readings {
        /// At this point.
        at: RunningPoint,
        /// With these probes.
        site: ProbeSite,
    },
    /// Take the readings that verify the last remedy, then `verify`.
    Verify {
        /// At this point.
        at: RunningPoint,
    },
    /// Bring parts that were exchanged home.
    PutBack {
        /// Which kind.
        item: Item,
        /// Between this position
        a: Cylinder,
        /// and this one.
        b: Cylinder,
    },
    /// The job is at an end.
    End(JobEnd),
}

named_enum! {
    /// How a job ends, or has ended.
    JobEnd, "end" {
        /// The cure is proven: close.
        Proven = "proven",
        /// Nothing is wrong: write it down and close.
        Normal = "normal",
        /// It is gone, and what it was cannot be shown: close without proof.
        Unproven = "unproven",
        /// Nothing that is worth its time would find it: leave it, watch it, say so.
        NotFound = "not-found",
        /// The job is closed already.
        Closed = "closed",
    }
}

named_enum! {
    /// Where a job stands. One function says so; everything that shows it asks there.
    Standing, "standing" {
        /// A display is over a limit: the engine is stopped before anything else.
        StopTheEngine = "stop-the-engine",
        /// What was read is so far off that it is read once more before it is believed.
        ReadAgain = "read-again",
        /// A point is to be read.
        Read = "read",
        /// A look or a test comes next.
        Test = "test",
        /// A cause is to be put right.
        Remedy = "remedy",
        /// Parts are to be brought home.
        PutBack = "put-back",
        /// What was put right is to be verified.
        Verify = "verify",
        /// Nothing is wrong.
        Normal = "normal",
        /// The cure is proven.
        Proven = "proven",
        /// It is gone and unproven.
        Unproven = "unproven",
        /// It was not found.
        NotFound = "not-found",
        /// Closed already.
        Closed = "closed",
    }
}

impl Standing {
    /// The standing of a job whose next step is this one.
    #[must_use]
    pub fn of(step: Step) -> Self {
        match step {
            Step::Test { .. } => Self::Test,
            Step::Remedy(_) => Self::Remedy,
            Step::Readings { .. } => Self::Read,
            Step::Verify { .. } => Self::Verify,
            Step::PutBack { .. } => Self::PutBack,
            Step::End(JobEnd::Proven) => Self::Proven,
            Step::End(JobEnd::Normal) => Self::Normal,
            Step::End(JobEnd::Unproven) => Self::Unproven,
            Step::End(JobEnd::NotFound) => Self::NotFound,
            Step::End(JobEnd::Closed) => Self::Closed,
        }
    }
}

/// What an outcome of a step would lead to.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// Outcome id.
    pub id: String,
    /// What would be seen.
    pub text: String,
    /// Whether it points at another cylinder, which is then named.
    pub partner: bool,
    /// How probable it is.
    pub probability: f64,
    /// The suspect that would then lead, and its probability.
    pub leads: Option<(Fault, f64)>,
    /// What would be done then.
    pub then: Option<Step>,
}

/// One choice with what it costs and leads to.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// What to do.
    pub step: Step,
    /// Its own cost, set-ups from the engine's present state included.
    pub cost: Cost,
    /// The same in minutes of labour.
    pub total: f64,
    /// Expected minutes of labour to the proven, cured fault when starting with this step.
    pub expected_total: f64,
    /// The hands-on part of it, the last remedy's own labour left out.
    pub expected_hands_on: f64,
    /// No plan that starts with this step can be expected to cost less.
    pub lower_bound: f64,
    /// What it can show.
    pub branches: Vec<Branch>,
    /// Warnings that concern this engine, as indices into the knowledge base.
    pub cautions: Vec<usize>,
    /// Of a remedy, the test that it would make impossible and that must still be had.
    pub before: Option<usize>,
    /// Reasons, a sentence each.
    pub why: Vec<String>,
}

impl Choice {
    /// How far the expected cost may be above the best possible, as a share of the bound.
    #[must_use]
    pub fn gap(&self) -> f64 {
        if self.lower_bound > 0.0 {
            (self.expected_total - self.lower_bound).max(0.0) / self.lower_bound
        } else {
            0.0
        }
    }
}

/// A rule of the trade that holds something back, and what.
#[derive(Debug, Clone, PartialEq)]
pub struct Guard {
    /// Stable code, as `chain-first`.
    pub code: &'static str,
    /// The rule and why it bites here, one or two sentences.
    pub text: String,
    /// What is held back.
    pub held_back: Vec<Step>,
}

/// A recommendation with its alternatives.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// Where the job stands.
    pub standing: Standing,
    /// Probability that no fault shows.
    pub sound: f64,
    /// What to do.
    pub best: Choice,
    /// What else, cheapest plan first.
    pub alternatives: Vec<Choice>,
    /// Rules that bite.
    pub guards: Vec<Guard>,
    /// No permitted plan at all can be expected to cost less.
    pub lower_bound: f64,
    /// Whether the recommendation stays whichever figure is off by two.
    pub holds: bool,
    /// What each figure, off by two, would do to it; empty where the trade leaves no choice.
    pub leans: Vec<Lean>,
    /// The chance of a cure within the time that was given.
    pub in_time: Option<InTime>,
}

/// A figure that may be off.
#[derive(Debug, Clone, PartialEq)]
pub enum Assumption {
    /// How common a cause is.
    Prior(CauseRef),
    /// The odds of an outcome of the recommended test where a cause is at work.
    Row {
        /// The cause.
        cause: CauseRef,
        /// Outcome id.
        id: String,
        /// What is seen.
        text: String,
    },
}

/// What a figure, if off, would do to the recommendation.
#[derive(Debug, Clone, PartialEq)]
pub struct Lean {
    /// The figure.
    pub assumption: Assumption,
    /// What it is taken times.
    pub factor: f64,
    /// What would then be recommended, if something else.
    pub instead: Option<Step>,
    /// Minutes of labour by which the recommendation would be dearer than the best other step, by
    /// one step of look-ahead.
    pub minutes: f64,
}

/// What can be reached before a time is up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InTime {
    /// What to begin with.
    pub step: Step,
    /// Chance that the fault is cured and verified in time.
    pub chance: f64,
    /// Minutes on the clock that the step takes.
    pub takes: f64,
    /// Minutes there are.
    pub minutes: f64,
}

impl Advice {
    /// How far the expected cost may be above the best possible, as a share of the bound.
    #[must_use]
    pub fn gap(&self) -> f64 {
        if self.lower_bound > 0.0 {
            (self.best.expected_total - self.lower_bound).max(0.0) / self.lower_bound
        } else {
            0.0
        }
    }
}

/// A fault with its probability before and after an outcome.
pub type Moved = (Fault, f64, f64);

/// What a test separates and what it is worth.
#[derive(Debug, Clone, PartialEq)]
pub struct TestExplanation {
    /// The step.
    pub step: Step,
    /// Expected cost when starting with it.
    pub choice: Choice,
    /// Expected cost of the best plan without it.
    pub without: f64,
    /// For each outcome, the suspects that gain and lose most: (fault, before, after).
    pub moves: Vec<(String, Vec<Moved>)>,
    /// Expected bits about the cause.
    pub information: f64,
}
