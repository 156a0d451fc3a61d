//! What a measured difference between two probes is worth in degrees, and how sure that is.
//!
//! The display of the odd probe less that of a mate in the same gas, averaged over what is not
//! known: the mates' true depth, the ruler, and the conditions in the runner. It must not turn a
//! shift into a verdict.

use super::fin::display_with;
use super::{Build, Case, Contact, Fitting};

/// How far the inputs of a shift may be off: one standard deviation each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Depth common to both probes, mm: how well the mates' depth past the inner wall is known.
    pub base_depth: f64,
    /// Measured difference of depth, mm: ruler and eye.
    pub difference: f64,
    /// Flow, as a share.
    pub flow: f64,
    /// Gas, wall and boss temperature together, as a share of their rise over the boss.
    pub gas: f64,
    /// Temperature of wall and boss, °C, with the gas kept.
    pub wall: f64,
    /// Conductance of the stem, as a share.
    pub conductance: f64,
    /// Emissivity of the sheath.
    pub emissivity: f64,
}

impl Default for Doubt {
    /// Judgement, no source: base depth 2 mm, ruler 0.5 mm, flow 30 %, gas 10 %, wall 40 °C,
    /// conductance 20 %, emissivity 0.1.
    fn default() -> Self {
        Self {
            base_depth: 2.0,
            difference: 0.5,
            flow: 0.3,
            gas: 0.1,
            wall: 40.0,
            conductance: 0.2,
            emissivity: 0.1,
        }
    }
}

/// What is not known of a runner and a probe, beside depths: flow, gas, wall, conductance, emissivity.
pub(super) const UNKNOWN: usize = 5;

impl Doubt {
    /// A case and a build that are off by so many standard deviations in each of the unknowns.
    pub(super) fn off(&self, case: &Case, build: &Build, by: [f64; UNKNOWN]) -> (Case, Build) {
        let [flow, gas, wall, conductance, emissivity] = by;
        let mut case = *case;
        // A flow is off by a factor, as likely double as half.
        case.flow *= (flow * (1.0 + self.flow).ln()).exp();
        if gas.abs() > 0.0 {
            let rise = |t: f64| case.boss + (t - case.boss) * (1.0 + gas * self.gas);
            (case.gas, case.wall) = (rise(case.gas), rise(case.wall));
        }
        // Walls are never hotter than the gas in this model, nor colder than a workshop.
        let moved = |t: f64| (t + wall * self.wall).min(case.gas.max(t)).max(20.0_f64.min(t));
        (case.wall, case.boss) = (moved(case.wall), moved(case.boss));
        let factor = build.conductance_factor * (conductance * (1.0 + self.conductance).ln()).exp();
        let emissivity = (build.emissivity + emissivity * self.emissivity).clamp(0.0, 1.0);
        (case, Build { conductance_factor: factor, emissivity, ..*build })
    }
}

/// A shift of a display with its uncertainty, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// Expected shift: odd probe less mate.
    pub mean: f64,
    /// Standard deviation over what is not known.
    pub sd: f64,
}

/// Shift of a probe that stands `deeper` mm deeper (negative: shallower) than its mates.
///
/// Depths that would leave the bore are held at its ends.
#[must_use]
pub fn for_depth(mates: Fitting, deeper: f64, case: &Case, build: &Build, doubt: &Doubt) -> Shift {
    spread(doubt, case, build, |base, difference, case, build| {
        let mate = mates.at_depth(mates.depth + base);
        let odd = mates.at_depth(mate.depth + deeper + difference);
        difference_of(odd, mate, case, build)
    })
}

/// Shift of a probe of another diameter (mm) at the same depth as its mates.
#[must_use]
pub fn for_diameter(
    mates: Fitting,
    diameter: f64,
    case: &Case,
    build: &Build,
    doubt: &Doubt,
) -> Shift {
    spread(doubt, case, build, |base, difference, case, build| {
        let mate = mates.at_depth(mates.depth + base);
        let odd = Fitting { diameter, ..mate.at_depth(mate.depth + difference) };
        difference_of(odd, mate, case, build)
    })
}

/// Shift of a probe whose tip touches the far wall with a conductance in W/K, against mates where
/// they are.
#[must_use]
pub fn for_wall_touch(
    mates: Fitting,
    conductance: f64,
    case: &Case,
    build: &Build,
    doubt: &Doubt,
) -> Shift {
    spread(doubt, case, build, |base, _, case, build| {
        let mate = mates.at_depth(mates.depth + base);
        let odd = mates.at_depth(mates.deepest());
        display_with(odd, case, build, Contact::Wall(conductance))
            - display_with(mate, case, build, Contact::Free)
    })
}

/// Spread between healthy probes, °C (one sd), that a scatter of their depths makes by itself.
#[must_use]
pub fn scatter_from_depth(fitting: Fitting, case: &Case, depth_sd: f64) -> f64 {
    super::slope(fitting, case).abs() * depth_sd
}

fn difference_of(odd: Fitting, mate: Fitting, case: &Case, build: &Build) -> f64 {
    display_with(odd, case, build, Contact::Free) - display_with(mate, case, build, Contact::Free)
}

/// Mean and sd of a shift over independent normal doubts.
///
/// Three-point Gauss–Hermite along each doubt in turn (nodes at 0 and ±√3 sd, weights ⅔ and ⅙),
/// which is exact for a shift that is a sum of cubics of single doubts; what two doubts do together
/// is left out.
pub(super) fn spread(
    doubt: &Doubt,
    case: &Case,
    build: &Build,
    shift: impl Fn(f64, f64, &Case, &Build) -> f64,
) -> Shift {
    let centre = shift(0.0, 0.0, case, build);
    let (mut mean, mut variance) = (centre, 0.0);
    let mut along = |at: &dyn Fn(f64) -> f64| {
        let node = 3.0_f64.sqrt();
        let (up, down) = (at(node), at(-node));
        let own = (up + down) / 6.0 + centre * 2.0 / 3.0;
        mean += own - centre;
        variance +=
            ((up - own).powi(2) + (down - own).powi(2)) / 6.0 + (centre - own).powi(2) * 2.0 / 3.0;
    };
    along(&|z| shift(z * doubt.base_depth, 0.0, case, build));
    along(&|z| shift(0.0, z * doubt.difference, case, build));
    for doubted in 0..UNKNOWN {
        along(&|z| {
            let mut off = [0.0; UNKNOWN];
            off[doubted] = z;
            let (case, build) = doubt.off(case, build, off);
            shift(0.0, 0.0, &case, &build)
        });
    }
    Shift { mean, sd: variance.sqrt() }
}
