//! Numbers of the reading model and the costs: constants, natural spread, mixture curve.
//!
//! It must not hold a value itself: all of them come from the files.

use measure::engine::{ProbeSite, Regime};
use measure::units::{Cost, Rates};

use super::{Basis, Condition, PerPoint, RunningPoint, StateChances};

/// Ambient temperature that rises are reckoned from, °C (standard reference of the trade tables).
pub const AMBIENT: f64 = 25.0;

/// Constants of the reading model and the costs, each named and with a basis in
/// `knowledge/model.ron`.
#[derive(Debug, Clone, PartialEq)]
pub struct Constants {
    /// Repeatability between two sets at one point, sd in °C: cold, warming, idle, cruise, full.
    pub repeatability: PerPoint<f64>,
    /// The same for a head probe.
    pub repeatability_head: PerPoint<f64>,
    /// Correlation of a cylinder's natural offset between two running points.
    pub offset_correlation: f64,
    /// Natural sd between banks, as a share of that between cylinders.
    pub bank_share: f64,
    /// Sd of the log of an engine's own natural spread over the usual one.
    pub spread_scale: f64,
    /// Sd of the log of a job's own repeatability over the usual one.
    pub noise_scale: f64,
    /// Chance that a healthy cylinder differs more than its mates do.
    pub wide_chance: f64,
    /// Its spread over theirs.
    pub wide_factor: f64,
    /// Share of the variance of an offset that sits in the fit of the probe.
    pub fit_share: f64,
    /// Level of healthy exhaust probes of a spark engine, °C: cold, warming, idle, cruise, full load.
    pub level_spark: PerPoint<f64>,
    /// The same of a diesel.
    pub level_diesel: PerPoint<f64>,
    /// The same of head probes.
    pub level_head: PerPoint<f64>,
    /// How far the level of one engine's exhaust probes lies from that, one sd, °C.
    pub level_sd: PerPoint<f64>,
    /// The same of head probes.
    pub level_sd_head: PerPoint<f64>,
    /// Chance that a fault began during the job: of a cause that does not come and go, and of one that
    /// does.
    pub begun: [f64; 2],
    /// Chance that a fault comes and goes, the same.
    pub comes_and_goes: [f64; 2],
    /// Share of the time for which one that comes and goes shows.
    pub on_share: f64,
    /// Chance that the next look finds it as the one before did, beyond what that share says.
    pub look_again: f64,
    /// How many times likelier a customer says that it comes and goes of a fault that does than of one that stays.
    pub said_to_come: f64,
    /// Chance that a display at fault shows the same kind of thing (a number, a jumping one, none) at the next
    /// look at the same running point, beyond what the cause says of any look.
    pub state_again: f64,
    /// Chance that a row of a test's table is wrong: then the test shows of the cause what it shows of faults on
    /// the average.
    pub row_doubt: f64,
    /// Chance that a cause does something else to readings than its rows say: then it is of the sizes of a cause
    /// in no list.
    pub effect_doubt: f64,
    /// Chance that one number was misread.
    pub misread_chance: f64,
    /// Sd of a misread number about what it should be, °C.
    pub misread_sd: f64,
    /// Chance that two faults are present, given that one is.
    pub two_faults: f64,
    /// How grave a fault is, one number for all running points: share of gross ones, how many times as
    /// much they do as is tabulated, and sd of that number, for the usual ones and for the gross.
    pub severity: [f64; 4],
    /// How much more than the curve says a change of mixture does, and sd of that number.
    pub mixture_size: [f64; 2],
    /// Share of the engines that run richer at idle and cruise than is tabulated, and by how much, as a
    /// ratio of fuel to air over the exact one.
    pub mixture_rich: [f64; 2],
    /// Chance that a healthy engine shows a display so odd that someone notices.
    pub noticed_healthy: f64,
    /// The same for an engine with a fault.
    pub noticed_fault: f64,
    /// Chance that a symptom goes away at an entry that did not touch it.
    pub self_cure: f64,
    /// The same for one that stays unless somebody works on it: what was done and not entered.
    pub self_cure_fixed: f64,
    /// Chance that a symptom that went away is back at a later entry.
    pub back_again: f64,
    /// Chance that a remedy cures what it is meant for.
    pub remedy_works: f64,
    /// Smallest chance of any outcome.
    pub floor: f64,
    /// Head shift at cold, warming, idle, cruise, full load as a share of that at cruise.
    pub head_share: PerPoint<f64>,
    /// Reading above ambient at idle, cruise, full load for which proportional shifts are given.
    pub reference_rise: [f64; 3],
    /// Weight of a cause that is in no list, over all places.
    pub unlisted_weight: f64,
    /// Its sd at idle, cruise and full load, °C, and those of its gross share.
    pub unlisted_sizes: [f64; 6],
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
    /// What an engine costs on top that was sent away with its fault and comes back, minutes of labour.
    pub comeback: f64,
    /// What a new engine part is taken to cost on top where nothing was the matter with the old one,
    /// minutes of labour.
    pub part_in_vain: f64,
    /// Cost of finding and curing a cause that is in no list.
    pub unlisted_cure: Cost,
    /// Minutes that each test takes beside its own: to fetch what it wants, to find the place, to write it down.
    pub by_the_way: f64,
    /// Share that the measuring chain must fall below before engine parts are touched.
    pub chain_share: f64,
    /// Share of really hot causes above which nothing is run at load unconfirmed.
    pub heat_share: f64,
    /// Sd of a display against its mates from one visit to the next, °C: cold, warming, idle,
    /// cruise, full.
    pub visit_spread: PerPoint<f64>,
    /// What that is worth, in degrees of freedom.
    pub visit_freedom: f64,
    /// What is left of the prior of what is made at the fitting, or by build, where an earlier visit showed that
    /// it was not there, or was too small to see, and nothing that brings it about was done since.
    pub fitted_kept: f64,
    /// What is left of that of a probe at another depth where the depths were measured and found alike.
    pub depth_kept: f64,
    /// Share that faults other than the mixture's must fall below before a mixture is trimmed.
    pub balance_share: f64,
    /// Largest step of a fuel trim and farthest from where it stood, per cent.
    pub fuel_trim: [f64; 2],
    /// The same for a spark trim, degrees of crank.
    pub spark_trim: [f64; 2],
    /// Posterior at which a cause counts as proven once its remedy is verified.
    pub proof: f64,
}

impl Constants {
    /// Reading above ambient at a running point for which proportional shifts are given; a warming engine counts as
    /// one that idles.
    #[must_use]
    pub fn reference_rise_at(&self, at: RunningPoint) -> f64 {
        at.regime.of_three(self.reference_rise).unwrap_or(0.0)
    }
}

/// Standard deviation between healthy cylinders, °C, by running point.
#[derive(Debug, Clone, PartialEq)]
pub struct NaturalSpread {
    /// Engines it is for.
    pub applies: Condition,
    /// Probes it is for.
    pub site: ProbeSite,
    /// At cold soak, warming, idle, cruise, full load.
    pub sd: PerPoint<f64>,
    /// Where the numbers come from.
    pub basis: Basis,
}

impl NaturalSpread {
    /// The figure at a running point.
    #[must_use]
    pub fn at(&self, point: RunningPoint) -> f64 {
        self.sd.at(point)
    }
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
    /// Reading at a ratio by straight lines between the points, the outer ones going on: an engine that
    /// burns leaner than the table still cools as it gets less fuel.
    #[must_use]
    pub fn at(&self, regime: Regime, phi: f64) -> f64 {
        let [idle, cruise, full] = &self.reading;
        let y = regime.of_three([idle, cruise, full]).unwrap_or(idle);
        let x = &self.phi;
        if x.len() < 2 {
            return y.first().copied().unwrap_or(0.0);
        }
        let above = x.partition_point(|&v| v <= phi).clamp(1, x.len() - 1);
        let part = (phi - x[above - 1]) / (x[above] - x[above - 1]);
        y[above - 1] + part * (y[above] - y[above - 1])
    }
}
