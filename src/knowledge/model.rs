//! The checked form of the knowledge base.
//!
//! Every id is resolved to an index, every row sums to one, every number is finite. Values
//! are made by the loader only; whoever holds a [`Knowledge`] may rely on all of that.

use std::collections::BTreeMap;

use crate::engine::{
    Cooling, Engine, Fuel, Ignition, Induction, Intake, Layout, ProbeSite, RunningPoint,
};
use crate::named_enum;
use crate::units::{Cost, Rates};

named_enum! {
    /// What a fault is attached to.
    Seat, "seat" {
        /// The sensor body.
        Probe = "probe",
        /// The installation of a probe in its boss: depth, contact, tightness.
        Fit = "fit",
        /// Wire and connectors between probe and box.
        Lead = "lead",
        /// The input of the box.
        Channel = "channel",
        /// Settings in software, tied to a channel or a cylinder number.
        Settings = "settings",
        /// Injector body.
        Injector = "injector",
        /// Injector wiring and driver.
        InjectorWiring = "injector-wiring",
        /// Spark plug.
        Plug = "plug",
        /// High-tension lead or boot.
        HtLead = "ht-lead",
        /// Ignition coil.
        Coil = "coil",
        /// Intake runner.
        Runner = "runner",
        /// Exhaust runner.
        ExhaustRunner = "exhaust-runner",
        /// The cylinder itself: valves, rings, head.
        Cylinder = "cylinder",
        /// A whole bank.
        Bank = "bank",
        /// The whole engine.
        Engine = "engine",
        /// Nothing.
        Nothing = "none",
    }
}

named_enum! {
    /// What kind of place a cause can be at.
    PlaceKind, "kind of place" {
        /// One cylinder (or the chain of one display).
        Cylinder = "cylinder",
        /// Two cylinders that stand for each other.
        Pair = "pair",
        /// Two cylinders on one wasted-spark coil.
        CoilPair = "coil-pair",
        /// One bank.
        Bank = "bank",
        /// Nowhere: nothing is wrong.
        Nowhere = "nowhere",
    }
}

named_enum! {
    /// How an effect follows temperature and load; says how sizes at two points go together.
    Law, "law" {
        /// The same number of degrees at every point, cold included.
        Offset = "offset",
        /// In proportion to the reading above ambient.
        Proportional = "proportional",
        /// Pulled to the wall: nil cold, like degrees at all running points.
        Wall = "wall",
        /// Follows under-bonnet or box heat.
        Bay = "bay",
        /// Follows the mixture curve.
        Mixture = "mixture",
        /// Missed firing.
        Misfire = "misfire",
        /// Any other effect of the engine.
        EngineEffect = "engine",
        /// The number belongs to another cylinder.
        Misnamed = "misnamed",
        /// Scatter only.
        Noise = "noise",
        /// Passes with time.
        Time = "time",
        /// The reading is invalid or unrelated to the gas.
        Invalid = "invalid",
    }
}

named_enum! {
    /// The engine's state that a piece of work needs or leaves.
    Thermal, "engine state" {
        /// Untouched for eight hours or more.
        ColdSoaked = "cold-soaked",
        /// Cold, but not known to be at one temperature throughout.
        Cold = "cold",
        /// Stopped and cool enough to handle.
        Cool = "cool",
        /// Stopped, hot.
        Hot = "hot",
        /// Warm and idling.
        Idle = "idle",
        /// Running steadily at part load.
        Cruise = "cruise",
        /// Running at full load.
        Full = "full",
    }
}

named_enum! {
    /// What is done in a test.
    TestKind, "kind of test" {
        /// Look, listen, read.
        Observe = "observe",
        /// Measure with an instrument.
        Measure = "measure",
        /// Change something for a moment and watch.
        Disturb = "disturb",
        /// Two like items change places.
        Exchange = "exchange",
        /// A joint is undone and remade.
        Reseat = "reseat",
        /// An item is replaced by a known good one.
        Substitute = "substitute",
    }
}

named_enum! {
    /// What a test is done on.
    Scope, "scope" {
        /// One cylinder or the chain of one display.
        Cylinder = "cylinder",
        /// The engine as a whole.
        Engine = "engine",
    }
}

named_enum! {
    /// A thing that can change places with its like, or be remade.
    Item, "item" {
        /// The probe, taken from its boss.
        Probe = "probe",
        /// The lead's end at the box.
        LeadAtBox = "lead-at-box",
        /// The lead's end at the probe.
        LeadAtProbe = "lead-at-probe",
        /// Injector.
        Injector = "injector",
        /// Spark plug.
        Plug = "plug",
        /// Coil.
        Coil = "coil",
        /// High-tension lead.
        HtLead = "ht-lead",
    }
}

/// Where a number comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Basis {
    /// A published source, by id in `sources.ron`.
    Source(String),
    /// Computed, and how.
    Computed(String),
    /// Common practice, no source.
    Practice,
    /// From memory, unverified.
    Memory,
}

/// A mean and a standard deviation between engines, in °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Mean.
    pub mean: f64,
    /// Standard deviation, not negative.
    pub sd: f64,
}

/// Conditions on an engine; an empty list asks for nothing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Condition {
    /// Layouts.
    pub layout: Vec<Layout>,
    /// Fuel systems.
    pub fuel: Vec<Fuel>,
    /// Ignitions.
    pub ignition: Vec<Ignition>,
    /// Intakes.
    pub intake: Vec<Intake>,
    /// Inductions.
    pub induction: Vec<Induction>,
    /// Cooling.
    pub cooling: Vec<Cooling>,
    /// Probe sites.
    pub probes: Vec<ProbeSite>,
    /// Trims wanted (`Some(true)`), or their absence.
    pub trims: Option<bool>,
}

impl Condition {
    /// Whether an engine meets every condition.
    #[must_use]
    pub fn holds(&self, engine: &Engine) -> bool {
        fn any<T: PartialEq>(list: &[T], value: &T) -> bool {
            list.is_empty() || list.contains(value)
        }
        any(&self.layout, &engine.layout)
            && any(&self.fuel, &engine.fuel)
            && any(&self.ignition, &engine.ignition)
            && any(&self.intake, &engine.intake)
            && any(&self.induction, &engine.induction)
            && any(&self.cooling, &engine.cooling)
            && any(&self.probes, &engine.probes)
            && self.trims.is_none_or(|wanted| wanted == engine.trims)
    }
}

/// Shifts of a reading by running point, °C. `None` stands for "the number means nothing".
#[derive(Debug, Clone, PartialEq)]
pub struct Shifts {
    /// At cold soak.
    pub cold: Option<Spread>,
    /// At warm idle.
    pub idle: Option<Spread>,
    /// At steady cruise.
    pub cruise: Option<Spread>,
    /// At full load.
    pub full: Option<Spread>,
}

impl Shifts {
    /// The shift at a point that has one of its own (warming has none).
    #[must_use]
    pub fn at(&self, point: RunningPoint) -> Option<Spread> {
        match point {
            RunningPoint::ColdSoak => self.cold,
            RunningPoint::Warming | RunningPoint::Idle => self.idle,
            RunningPoint::Cruise => self.cruise,
            RunningPoint::Full => self.full,
        }
    }
}

/// One signed way in which a cause shows itself; a two-sided cause has two or more.
#[derive(Debug, Clone, PartialEq)]
pub struct Effect {
    /// Share of the engines with this cause that show this side; the shares sum to one.
    pub share: f64,
    /// How sizes at two points go together.
    pub law: Law,
    /// Shift of an exhaust probe; `None` where the cause does not exist for exhaust probes.
    pub exhaust: Option<Shifts>,
    /// Shift of a head probe at cruise.
    pub head: Option<Spread>,
    /// Relative change of fuel over air in this cylinder (0.05 is 5 % richer) at idle, cruise
    /// and full load: used with the mixture curve instead of `exhaust` when present.
    pub mixture: Option<[Spread; 3]>,
    /// Where the numbers come from.
    pub basis: Basis,
}

/// Chances that a display shows something other than a steady number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StateChances {
    /// Open circuit flag or full scale.
    pub open: f64,
    /// Does not move.
    pub stuck: f64,
    /// Falls while the others rise.
    pub falling: f64,
    /// Jumps about.
    pub erratic: f64,
}

/// Work that cures a cause.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// Id; causes cured by the same work share it.
    pub id: String,
    /// What to do, one imperative sentence.
    pub what: String,
    /// Time and parts, set-ups left out.
    pub cost: Cost,
    /// States of the engine in which it can be done.
    pub states: Vec<Thermal>,
    /// What must be open or out, as indices into [`Knowledge::access`].
    pub access: Vec<usize>,
    /// Tests of which one should be done before, as indices into [`Knowledge::tests`], lest
    /// the remedy destroy the evidence.
    pub first: Vec<usize>,
    /// Seats that the work undoes and remakes, with the share of the re-seat chance it has.
    pub reseats: Vec<(Seat, f64)>,
    /// Warnings, as indices into [`Knowledge::cautions`].
    pub cautions: Vec<usize>,
    /// Where the numbers come from.
    pub basis: Basis,
}

/// One way for a cylinder to read oddly.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// Stable id.
    pub id: String,
    /// Short name, as a mechanic would say it.
    pub name: String,
    /// What it is, one sentence.
    pub what: String,
    /// Group in the fault tree, as index into [`Knowledge::groups`].
    pub group: usize,
    /// What it is attached to.
    pub seat: Seat,
    /// What kind of place it is at.
    pub place: PlaceKind,
    /// Engines it can occur on.
    pub applies: Condition,
    /// Relative frequency before any evidence, over all places of the engine together.
    pub weight: f64,
    /// Factors on the weight for kinds of engine.
    pub weight_if: Vec<(Condition, f64)>,
    /// Factors on the weight for recent work, flag id to factor.
    pub recent: BTreeMap<String, f64>,
    /// What it does to readings; empty when nothing.
    pub effects: Vec<Effect>,
    /// Chances of a display state at cold soak, where they differ from the usual ones.
    pub states_cold: Option<StateChances>,
    /// The same with the engine running.
    pub states_running: Option<StateChances>,
    /// Chance that undoing and remaking its seat removes the symptom.
    pub reseat: f64,
    /// Comes and goes by itself.
    pub intermittent: bool,
    /// Means that the cylinder really runs hot, so that load may harm it.
    pub heat: bool,
    /// Other signs.
    pub clues: Vec<String>,
    /// What cures it; `None` for the causes that are no fault.
    pub remedy: Option<Remedy>,
    /// Where weight, factors and re-seat chance come from.
    pub basis: Basis,
}

/// What a test can show.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// Stable id, unique within the test.
    pub id: String,
    /// What the mechanic sees.
    pub text: String,
}

/// A piece of work that tells causes apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// Stable id.
    pub id: String,
    /// Short name.
    pub name: String,
    /// What is done.
    pub kind: TestKind,
    /// What it is done on.
    pub scope: Scope,
    /// Engines it can be done on.
    pub applies: Condition,
    /// States of the engine in which it can be done.
    pub states: Vec<Thermal>,
    /// State it leaves the engine in, where that differs from the one it was done in.
    pub leaves: Option<Thermal>,
    /// What must be open or out, as indices into [`Knowledge::access`].
    pub access: Vec<usize>,
    /// Tools.
    pub tools: String,
    /// Time and parts, set-ups left out.
    pub cost: Cost,
    /// Seats that go along to the other cylinder in an exchange.
    pub moves: Vec<Seat>,
    /// Seats that are replaced by known good ones.
    pub replaces: Vec<Seat>,
    /// Seats undone and remade, with the share of the re-seat chance the work has.
    pub reseats: Vec<(Seat, f64)>,
    /// The item it exchanges, re-seats or replaces, if any.
    pub item: Option<Item>,
    /// How it is done, a sentence a step.
    pub steps: Vec<String>,
    /// Warnings, as indices into [`Knowledge::cautions`].
    pub cautions: Vec<usize>,
    /// What it can show. Outcomes of an exchange are `moved`, `stays`, `gone`, `other`; of a
    /// re-seat or substitution `gone`, `stays`, `other`.
    pub outcomes: Vec<Outcome>,
    /// Chance of each outcome where the cause has no row of its own or is elsewhere.
    pub default: Vec<f64>,
    /// Chance of each outcome by cause index. Floored and summing to one. Empty for
    /// exchanges, re-seats and substitutions, whose chances follow from the seats.
    pub given: BTreeMap<usize, Vec<f64>>,
    /// Where the numbers come from.
    pub basis: Basis,
}

/// A knot of the fault tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// Stable id.
    pub id: String,
    /// Name.
    pub name: String,
    /// The group above, as index into [`Knowledge::groups`].
    pub parent: Option<usize>,
}

/// Something that must be open or out before work, and is paid for once.
#[derive(Debug, Clone, PartialEq)]
pub struct Access {
    /// Stable id.
    pub id: String,
    /// Name.
    pub name: String,
    /// Time to open and to close again.
    pub cost: Cost,
    /// Must be closed before the engine runs.
    pub blocks_running: bool,
    /// Opened for one cylinder only (else for all).
    pub per_cylinder: bool,
    /// Where the numbers come from.
    pub basis: Basis,
}

/// A warning shown with every piece of work that deserves it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Stable id.
    pub id: String,
    /// The sentence.
    pub text: String,
    /// Where it comes from.
    pub basis: Basis,
}

/// Standard deviation between healthy cylinders, °C, by running point.
#[derive(Debug, Clone, PartialEq)]
pub struct NaturalSpread {
    /// Engines it is for.
    pub applies: Condition,
    /// Probes it is for.
    pub site: ProbeSite,
    /// At cold soak, warming, idle, cruise, full load.
    pub sd: [f64; 5],
    /// Where the numbers come from.
    pub basis: Basis,
}

impl NaturalSpread {
    /// The figure at a running point.
    #[must_use]
    pub fn at(&self, point: RunningPoint) -> f64 {
        self.sd[point as usize]
    }
}

/// A kind of work done lately that makes some causes likelier.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecentWork {
    /// Stable id.
    pub id: String,
    /// The question, as "Were probes or bosses just fitted?".
    pub question: String,
}

/// A ready description of a common engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Preset {
    /// Stable id.
    pub id: String,
    /// Name.
    pub name: String,
    /// The engine.
    pub engine: Engine,
}

/// Exhaust temperature against mixture: reading at the probe, °C, by equivalence ratio, at
/// idle, cruise and full load. Only differences are used.
#[derive(Debug, Clone, PartialEq)]
pub struct MixtureCurve {
    /// Equivalence ratios, rising.
    pub phi: Vec<f64>,
    /// A reading per ratio for idle, cruise and full load.
    pub reading: [Vec<f64>; 3],
    /// Where the numbers come from.
    pub basis: Basis,
}

impl MixtureCurve {
    /// Reading at a ratio by straight lines between the points, held flat outside.
    #[must_use]
    pub fn at(&self, point: usize, phi: f64) -> f64 {
        let (x, y) = (&self.phi, &self.reading[point]);
        let above = x.partition_point(|&v| v <= phi);
        if above == 0 {
            return y[0];
        }
        if above == x.len() {
            return y[y.len() - 1];
        }
        let part = (phi - x[above - 1]) / (x[above] - x[above - 1]);
        y[above - 1] + part * (y[above] - y[above - 1])
    }
}

/// Constants of the reading model and the costs, each named and with a basis in
/// `knowledge/model.ron`.
#[derive(Debug, Clone, PartialEq)]
pub struct Constants {
    /// Repeatability between two sets at one point, sd in °C: cold, warming, idle, cruise, full.
    pub repeatability: [f64; 5],
    /// The same for a head probe.
    pub repeatability_head: [f64; 5],
    /// Correlation of a cylinder's natural offset between two running points.
    pub offset_correlation: f64,
    /// Natural sd between banks, as a share of that between cylinders.
    pub bank_share: f64,
    /// Degrees of freedom of the t likelihood that guards against over-confidence.
    pub t_freedom: f64,
    /// Chance that one number was misread.
    pub misread_chance: f64,
    /// Variance factor of a misread number.
    pub misread_factor: f64,
    /// Chance that two faults are present, given that one is.
    pub two_faults: f64,
    /// Chance that a healthy engine shows a display so odd that someone notices.
    pub noticed_healthy: f64,
    /// The same for an engine with a fault.
    pub noticed_fault: f64,
    /// Chance that a symptom goes away at an entry that did not touch it.
    pub self_cure: f64,
    /// The same for an intermittent cause.
    pub self_cure_intermittent: f64,
    /// Chance that a symptom that went away is back at a later entry.
    pub back_again: f64,
    /// The same for an intermittent cause.
    pub back_again_intermittent: f64,
    /// Chance that a remedy cures what it is meant for.
    pub remedy_works: f64,
    /// Smallest chance of any outcome.
    pub floor: f64,
    /// Head shift at cold, warming, idle, cruise, full load as a share of that at cruise.
    pub head_share: [f64; 5],
    /// Reading above ambient at idle, cruise, full load for which proportional shifts are given.
    pub reference_rise: [f64; 3],
    /// Weight of a cause that is in no list, over all places.
    pub unlisted_weight: f64,
    /// Its sd at a running point, °C.
    pub unlisted_sd: f64,
    /// Usual chances of a display state when nothing about the display is wrong.
    pub usual_states: StateChances,
    /// Labour and waiting.
    pub rates: Rates,
    /// Cost of the readings that verify a remedy.
    pub verify: Cost,
    /// Cost of taking a reading set at a point that has been reached.
    pub readings: Cost,
    /// Cost of writing an oddness down as natural and looking again at the next run.
    pub record: Cost,
    /// Cost of finding and curing a cause that is in no list.
    pub unlisted_cure: Cost,
    /// Share that the measuring chain must fall below before engine parts are touched.
    pub chain_share: f64,
    /// Share of really hot causes above which nothing is run at load unconfirmed.
    pub heat_share: f64,
    /// Posterior at which a cause counts as proven once its remedy is verified.
    pub proof: f64,
}

/// Minutes from one state of the engine to another; shortest ways over what the files give.
#[derive(Debug, Clone, PartialEq)]
pub struct StateChanges {
    /// `cost[from][to]`, indexed by [`Thermal`] as integers.
    pub cost: Vec<Vec<Cost>>,
}

impl StateChanges {
    /// What it takes from one state to another.
    #[must_use]
    pub fn between(&self, from: Thermal, to: Thermal) -> Cost {
        self.cost[from as usize][to as usize]
    }
}

/// Everything, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Knowledge {
    /// Causes in order of id.
    pub causes: Vec<Cause>,
    /// Tests in order of id.
    pub tests: Vec<Test>,
    /// Groups, parents before children.
    pub groups: Vec<Group>,
    /// What can be opened.
    pub access: Vec<Access>,
    /// Warnings.
    pub cautions: Vec<Caution>,
    /// Natural spreads; the first that applies is used.
    pub spreads: Vec<NaturalSpread>,
    /// Kinds of recent work.
    pub recent: Vec<RecentWork>,
    /// Engines.
    pub presets: Vec<Preset>,
    /// Mixture curve.
    pub mixture: MixtureCurve,
    /// Constants.
    pub constants: Constants,
    /// Changes of state.
    pub changes: StateChanges,
    /// Named sources, id to text.
    pub sources: BTreeMap<String, String>,
}

impl Knowledge {
    /// Index of a cause.
    #[must_use]
    pub fn cause(&self, id: &str) -> Option<usize> {
        self.causes.binary_search_by(|cause| cause.id.as_str().cmp(id)).ok()
    }

    /// Index of a test.
    #[must_use]
    pub fn test(&self, id: &str) -> Option<usize> {
        self.tests.binary_search_by(|test| test.id.as_str().cmp(id)).ok()
    }

    /// Whether a cause belongs to the measuring chain rather than to the engine: it hangs under
    /// the top group `measuring`. (A fuel trim is a setting too, but of the engine.)
    #[must_use]
    pub fn is_measuring(&self, cause: usize) -> bool {
        self.groups[self.top_group(self.causes[cause].group)].id == "measuring"
    }

    /// The top group that a group hangs under, itself if it has no parent.
    #[must_use]
    pub fn top_group(&self, mut group: usize) -> usize {
        while let Some(parent) = self.groups[group].parent {
            group = parent;
        }
        group
    }

    /// Standard deviation between healthy cylinders of an engine at a point, °C.
    #[must_use]
    pub fn natural_sd(&self, engine: &Engine, site: ProbeSite, point: RunningPoint) -> f64 {
        self.spreads
            .iter()
            .find(|spread| spread.site == site && spread.applies.holds(engine))
            .map_or(25.0, |spread| spread.at(point))
    }
}
