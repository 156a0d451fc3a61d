//! The journal read in order: reading sets, disturbances, findings, the engine's state.
//!
//! A pure function of journal and knowledge. It turns "what was typed" into "what was
//! done to which seat", and stops there.

use std::collections::BTreeSet;

use crate::knowledge::{CANNOT, Item, Knowledge, Points, RunningPoint, Seat, Test, Thermal};
use measure::engine::{Cylinder, Engine, Place, PointId, ProbeSite};
use measure::units::{Celsius, Cost, Scale};

use super::arrangement::{Arrangement, PutBack};
use super::complaint::Complaint;
use super::entry::{Reading, What};
use super::fit::Sheet;
use super::history::History;
use super::trim::Trimming;

/// Readings of all displays at one running point, with parts in one arrangement.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingSet {
    /// Number of the journal entry.
    pub entry: usize,
    /// Running point.
    pub at: RunningPoint,
    /// Which probes.
    pub site: ProbeSite,
    /// One per display.
    pub readings: Vec<Reading>,
    /// Who was where.
    pub arrangement: Arrangement,
    /// How many disturbances had happened before.
    pub after: usize,
    /// The air beside the engine, by a thermometer of its own.
    pub air: Option<Celsius>,
}

/// What was done to a seat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Touch {
    /// Undone and remade; the share of the re-seat chance that this kind of work has.
    Reseated(f64),
    /// Replaced by a known good one.
    Replaced,
}

/// A moment at which seats were disturbed, so that symptoms may have changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Disturbance {
    /// Number of the journal entry.
    pub entry: usize,
    /// What was done to which seat, by the number the seat had at first.
    pub touched: Vec<(Seat, Cylinder, Touch)>,
    /// The cause that was remedied, by index, and where.
    pub remedied: Option<(usize, Place)>,
    /// Verdict in words, `moved`, `stays`, `gone` or `other`, given for this exchange.
    pub verdict: Option<Verdict>,
    /// The exchange, re-seat or substitution it was, if it was one.
    pub work: Option<Work>,
}

impl Disturbance {
    /// Seats that were touched, by what is neither work that a verdict speaks of nor a remedy.
    #[must_use]
    pub fn new(entry: usize, touched: Vec<(Seat, Cylinder, Touch)>) -> Self {
        Self { entry, touched, remedied: None, verdict: None, work: None }
    }
}

/// An exchange, a re-seat or a substitution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Work {
    /// Index of the test that stands for it.
    pub test: usize,
    /// Where.
    pub a: Cylinder,
    /// The other place of an exchange.
    pub b: Option<Cylinder>,
}

/// A verdict in words on an exchange, re-seat or substitution.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// Number of the journal entry.
    pub entry: usize,
    /// Index of the test.
    pub test: usize,
    /// Index of the outcome.
    pub outcome: usize,
    /// The cylinder that was odd.
    pub cylinder: Cylinder,
    /// The other one of an exchange.
    pub partner: Option<Cylinder>,
    /// Who was where before.
    pub before: Arrangement,
    /// Numbers were taken on both sides, so the words are not used.
    pub superseded: bool,
}

/// The outcome of a test that is judged by its table.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Number of the journal entry.
    pub entry: usize,
    /// Index of the test.
    pub test: usize,
    /// Index of the outcome.
    pub outcome: usize,
    /// The cylinder it was done on.
    pub cylinder: Option<Cylinder>,
    /// The cylinder that the outcome points at, where it was named.
    pub partner: Option<Cylinder>,
    /// The running point at which it was done, where it was done running.
    pub at: Option<RunningPoint>,
    /// Who was where.
    pub arrangement: Arrangement,
    /// How many disturbances had happened before.
    pub after: usize,
}

/// How far a job has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Being worked on.
    Open,
    /// Closed.
    Closed(Closing),
}

/// How a job came to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Closing {
    /// Verified, the cause proven.
    Proven,
    /// The difference is this engine's normal: nothing was wrong.
    Normal,
    /// Without either.
    Unproven,
}

impl Closing {
    /// From what the last entry says and whether the difference stood recorded then.
    #[must_use]
    pub fn of(proven: bool, recorded: bool) -> Self {
        match (proven, recorded) {
            (true, _) => Self::Proven,
            (false, true) => Self::Normal,
            (false, false) => Self::Unproven,
        }
    }
}

/// Everything that follows from the journal without judging.
#[derive(Debug, Clone, PartialEq)]
pub struct Timeline {
    /// Running points that there are.
    pub points: Points,
    /// The engine.
    pub engine: Engine,
    /// What is complained of.
    pub complaint: Complaint,
    /// The scale of plain numbers, where the job says one.
    pub scale: Option<Scale>,
    /// Flags of recent work.
    pub recent: Vec<String>,
    /// Reading sets in order.
    pub sets: Vec<ReadingSet>,
    /// Disturbances in order.
    pub disturbances: Vec<Disturbance>,
    /// Findings in order.
    pub findings: Vec<Finding>,
    /// What looking cost, entry by entry, set-ups included: readings, tests and exchanges, but no remedies.
    pub looked: Vec<(usize, Cost)>,
    /// Who is where now.
    pub arrangement: Arrangement,
    /// State of the engine now.
    pub thermal: Thermal,
    /// What is open now, as indices into [`Knowledge::access`](crate::knowledge::Knowledge::access).
    pub open_access: Vec<usize>,
    /// The mechanic confirmed running at load.
    pub load_confirmed: bool,
    /// The oddness was recorded as normal, after this many disturbances.
    pub recorded: Option<usize>,
    /// Open or closed.
    pub standing: Standing,
    /// Tests that cannot be done here, by index.
    pub barred: Vec<usize>,
    /// Entries whose test, cause or running point the knowledge base has not, by number and id; the head is 0.
    pub unknown: Vec<(usize, String)>,
    /// The probe-fit sheet.
    pub sheet: Sheet,
    /// Whether sheath and bore in [`Engine::fitting`] are assumed.
    pub fitting_assumed: bool,
    /// What earlier jobs of the vehicle left.
    pub history: Option<History>,
    /// Trims of single cylinders, and what was read under them.
    pub trimming: Trimming,
    /// The engine builder's limit for a single display, if it was said.
    pub builder_limit: Option<Celsius>,
    /// Warning limits were set: hours between false alarms, and the delay if one was chosen.
    pub limits_set: Option<(f64, Option<f64>)>,
}

impl Timeline {
    /// The fewest exchanges that put everything back, each by the cylinders by which it was exchanged where
    /// that comes to the same: who changed the coils of 1 and 4 looks there for them.
    #[must_use]
    pub fn put_back(&self, knowledge: &Knowledge) -> Vec<PutBack> {
        let mut now = self.arrangement.clone();
        let mut steps = self.arrangement.put_back(&self.engine);
        for step in &mut steps {
            let after = |(a, b): (Cylinder, Cylinder)| {
                let mut then = now.clone();
                then.exchange(&self.engine, step.item, a, b);
                then
            };
            let home = after(step.positions);
            let works = self.disturbances.iter().rev().filter_map(|d| d.work);
            let mut known = works
                .filter(|work| knowledge.tests[work.test].item == Some(step.item))
                .filter_map(|work| Some((work.a, work.b?)));
            let positions = known.find(|&(a, b)| after((a, b)) == home);
            step.positions = positions.unwrap_or(step.positions);
            now = home;
        }
        steps
    }

    /// Disturbances up to the last remedy, that included; 0 where nothing was remedied.
    #[must_use]
    pub fn remedied_by(&self) -> usize {
        self.disturbances.iter().rposition(|d| d.remedied.is_some()).map_or(0, |last| last + 1)
    }

    /// Cylinders that the job is about: complained of, named in the customer's words, or where something was put
    /// right.
    #[must_use]
    pub fn concerned(&self) -> BTreeSet<Cylinder> {
        let said = self.complaint.display.iter().chain(&self.complaint.heard.numbers).copied();
        self.put_right().into_iter().chain(said).collect()
    }

    /// Cylinders at which something was put right.
    #[must_use]
    pub fn put_right(&self) -> BTreeSet<Cylinder> {
        let remedied = self.disturbances.iter().filter_map(|d| d.remedied);
        remedied.flat_map(|(_, place)| place.cylinders(&self.engine)).collect()
    }

    /// Whether the difference was recorded as normal and nothing touched since.
    #[must_use]
    pub fn is_recorded(&self) -> bool {
        self.recorded == Some(self.disturbances.len())
    }

    /// How much deeper the probe that now sits at a cylinder was found than its mates, in mm, if
    /// that was measured since anything was last touched.
    #[must_use]
    pub fn depth_known(&self, cylinder: Cylinder) -> Option<f64> {
        let travels = self.engine.depth_travels();
        let number = self.arrangement.number_at(Seat::Fit, cylinder, travels);
        let latest = self.sheet.difference(number)?;
        (latest.after == self.disturbances.len()).then_some(latest.mm)
    }

    /// The running points that a test can be done at, the gentlest first.
    #[must_use]
    pub fn points_of(&self, test: &Test) -> Vec<RunningPoint> {
        self.points.settled().filter(|at| test.states.contains(&at.thermal)).collect()
    }

    /// The running point at which a test is done where nothing else is said: that of the last
    /// readings if the test can be done there, else idle or the first it can; nothing for tests that
    /// show the same at every point.
    #[must_use]
    pub fn point_for(&self, test: &Test) -> Option<RunningPoint> {
        let can = self.points_of(test);
        let last = self.sets.iter().rev().find(|set| set.is_settled()).map(|set| set.at);
        let usual = last.filter(|at| can.contains(at)).or_else(|| can.first().copied());
        usual.filter(|_| test.at_point)
    }

    /// The same for what is entered.
    #[must_use]
    pub fn point_of(&self, knowledge: &Knowledge, what: &What) -> Option<PointId> {
        match what {
            What::Found { test, outcome, .. } if outcome != CANNOT => {
                self.point_for(&knowledge.tests[knowledge.test(test)?]).map(|at| at.id)
            }
            _ => None,
        }
    }

    /// Whether some steady point was read a second time, by when everything had settled.
    #[must_use]
    pub fn read_again(&self) -> bool {
        let kind = |set: &ReadingSet| (set.site, set.at);
        self.sets.iter().enumerate().any(|(index, set)| {
            set.is_settled() && self.sets[..index].iter().any(|before| kind(before) == kind(set))
        })
    }

    /// Whether every display of every set showed a steady number.
    #[must_use]
    pub fn numbers_only(&self) -> bool {
        let steady = |r: &Reading| matches!(r, Reading::Degrees(_));
        self.sets.iter().all(|set| set.readings.iter().all(steady))
    }
}

impl ReadingSet {
    /// Whether it was taken with the engine warm and held at a point, so that it can be judged.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        self.at.settled
    }
}

/// The test that stands for an exchange, a re-seat or a substitution of an item.
#[must_use]
pub fn test_for(item: Item, exchange: bool, new: bool) -> &'static str {
    match (item, exchange, new) {
        (Item::Probe, true, _) => "swap-probe",
        (Item::Probe, false, true) => "new-probe",
        (Item::Probe, false, false) => "reseat-probe",
        (Item::LeadAtBox, false, true) => "spare-channel",
        (Item::LeadAtBox, _, _) => "swap-at-box",
        (Item::LeadAtProbe, false, true) => "jumper-lead",
        (Item::LeadAtProbe, _, _) => "swap-at-probe",
        (Item::Injector, _, _) => "swap-injector",
        (Item::Plug, _, _) => "swap-plug",
        (Item::Coil, _, _) => "swap-coil",
        (Item::HtLead, _, _) => "swap-lead-ht",
    }
}
