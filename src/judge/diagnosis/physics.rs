//! What a fault of the measuring chain does to this job's own readings, from physics.
//!
//! Wiring by the circuit of [`measure::thermocouple`], fitting by the stem of [`measure::probe`],
//! at the job's type, diameter, bore and temperatures, with what is not known (terminals,
//! gas, wall) carried along as a standard deviation. It must not know where a fault is, nor
//! how likely.

use facts::knowledge::{Physics, Spread};
use measure::engine::{Engine, Fitting, ProbeType, Regime};
use measure::probe::shift::{Doubt, for_depth};
use measure::probe::{Build, Case, Contact, display_with};
use measure::thermocouple::circuit::{Circuit, Display, Lead, Reversal, Short, Temperatures};
use measure::thermocouple::{Standard, tolerance};

/// Temperature of the box's terminals with the engine running: mean and sd, °C (common practice,
/// no source).
const TERMINALS: (f64, f64) = (30.0, 10.0);
/// How much warmer the joint of probe and lead is than the terminals at idle, cruise and full load:
/// mean and sd, °C (common practice, no source).
const JOINT: [(f64, f64); 3] = [(15.0, 9.0), (27.0, 14.0), (40.0, 20.0)];
/// Share of an effect that shows while the engine warms up, and what that guess is worth, °C: the
/// same as for tabulated effects.
const WARMING: (f64, f64) = (0.6, 5.0);
/// Steps of depth at which displays are worked out, mm.
const STEP: f64 = 3.0;
/// Doubt of a shift, as a share of it, where sheath and bore are assumed: sheaths from 1.5 to 6 mm
/// and bores from 36 to 50 mm move it by up to 30 % (computed with the stem).
pub(super) const ASSUMED: f64 = 0.3;
/// Depth at which the doubt of a shift is worked out, mm from the mates'.
const DOUBT_AT: f64 = 5.0;

/// Probes as they sit at one running point.
#[derive(Debug, Clone)]
pub(crate) struct Installed {
    fitting: Fitting,
    case: Case,
    /// Depth past the inner wall, mm, and what a probe there shows, °C.
    displays: Vec<(f64, f64)>,
    /// What the mates show, °C.
    mates: f64,
    /// Sd of a shift as a share of it, from gas, wall, flow and build.
    doubt: f64,
}

impl Installed {
    /// Probes of an engine at a point where the healthy ones show `level` °C; `None` where it is
    /// not known how they sit, or where no gas flows. Sheath and bore may be `assumed`.
    pub(crate) fn at(engine: &Engine, assumed: bool, at: Regime, level: f64) -> Option<Self> {
        let fitting = engine.fitting?;
        let running = if at == Regime::Warming { Regime::Idle } else { at };
        let typical = Case::typical(running)?;
        let build = Build::default();
        // A level that no scaling reaches leaves the typical case: signs and sizes are still right.
        let case = typical.matched(fitting, &build, level).unwrap_or(typical);
        let shows = |depth: f64| {
            (depth, display_with(fitting.at_depth(depth), &case, &build, Contact::Free))
        };
        let mut displays = Vec::new();
        let mut depth = 1.0;
        while depth < fitting.deepest() {
            displays.push(shows(depth));
            depth += STEP;
        }
        displays.push(shows(fitting.deepest()));
        let mates = shows(fitting.depth).1;
        let doubt = Doubt { difference: 0.0, ..Doubt::default() };
        let deeper = DOUBT_AT.min(fitting.deepest() - fitting.depth).max(1.0);
        let shift = for_depth(fitting, deeper, &case, &build, &doubt);
        let own = if assumed { ASSUMED } else { 0.0 };
        let doubt = (shift.sd / shift.mean.abs().max(1.0)).min(1.0).hypot(own);
        Some(Self { fitting, case, displays, mates, doubt })
    }

    /// What a probe shows that is so many mm deeper than its mates, less what they show, °C.
    pub(crate) fn shift(&self, deeper: f64) -> f64 {
        let last = self.displays.len() - 1;
        let depth = (self.fitting.depth + deeper).clamp(self.displays[0].0, self.displays[last].0);
        let next = self.displays.partition_point(|(d, _)| *d < depth).clamp(1, last);
        let ((a, low), (b, high)) = (self.displays[next - 1], self.displays[next]);
        let share = if b > a { (depth - a) / (b - a) } else { 0.0 };
        low + share * (high - low) - self.mates
    }

    /// Sd of a shift from what is not known of gas and wall.
    pub(crate) fn doubt(&self, shift: f64) -> f64 {
        self.doubt * shift.abs()
    }

    fn of(&self, odd: Fitting, contact: Contact) -> f64 {
        display_with(odd, &self.case, &Build::default(), contact) - self.mates
    }
}

/// Ruler and eye: sd of a measured difference of depth, mm (common practice, no source).
const RULER: f64 = 1.0;
/// Share of measures that are wrong altogether (misread, or another probe), and the range in which
/// such a one may lie, mm (judgement, no source).
const MISMEASURED: (f64, f64) = (0.03, 40.0);

/// Density per mm of a measured difference that is so far from the true one, where the true one
/// scatters with `sd` itself.
pub(crate) fn depth_density(off: f64, sd: f64) -> f64 {
    let sd = RULER.hypot(sd);
    let z = off / sd;
    let (wrong, range) = MISMEASURED;
    let normal = (-0.5 * z * z).exp() / (sd * (2.0 * std::f64::consts::PI).sqrt());
    (1.0 - wrong) * normal + wrong / range
}

/// Errors of depth, in mm from the mates', with weights that sum to one.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Depths(pub(crate) Vec<(f64, f64)>);

impl Depths {
    /// Of a side of the knowledge base, as far as the bore lets it be.
    pub(crate) fn of(physics: Physics, fitting: Fitting) -> Option<Self> {
        let Physics::Depth { mean, sd, from, to } = physics else { return None };
        let (least, most) = (1.0 - fitting.depth, fitting.deepest() - fitting.depth);
        let steps = 12;
        let nodes = (0..=steps).map(|i| from + (to - from) * f64::from(i) / f64::from(steps));
        let weighed: Vec<(f64, f64)> = nodes
            .map(|error| (error.clamp(least, most), (-0.5 * ((error - mean) / sd).powi(2)).exp()))
            .collect();
        Some(Self(weighed).scaled())
    }

    /// After a difference was measured, and how likely that measure was, per mm.
    pub(crate) fn measured(&self, difference: f64) -> (Self, f64) {
        let density = |error: f64| depth_density(difference - error, 0.0);
        let joint: Vec<(f64, f64)> = self.0.iter().map(|(e, w)| (*e, w * density(*e))).collect();
        let likely = joint.iter().map(|(_, w)| w).sum();
        (Self(joint).scaled(), likely)
    }

    fn scaled(mut self) -> Self {
        let sum: f64 = self.0.iter().map(|(_, w)| w).sum();
        for (_, weight) in &mut self.0 {
            *weight /= sum;
        }
        self
    }

    /// The shift of a reading.
    pub(crate) fn spread(&self, installed: &Installed) -> Spread {
        let shifts: Vec<(f64, f64)> =
            self.0.iter().map(|&(error, weight)| (installed.shift(error), weight)).collect();
        let mean: f64 = shifts.iter().map(|(s, w)| s * w).sum();
        let between: f64 = shifts.iter().map(|(s, w)| w * (s - mean).powi(2)).sum();
        Spread { mean, sd: between.sqrt().hypot(installed.doubt(mean)).max(1.0) }
    }
}

/// What a law makes of a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Computed {
    /// It is moved by so much.
    Shift(Spread),
    /// The number means nothing, as off the end of the channel's range.
    Meaningless,
}

impl Computed {
    /// The shift, if the number means something.
    pub(crate) fn number(self) -> Option<Spread> {
        match self {
            Self::Shift(spread) => Some(spread),
            Self::Meaningless => None,
        }
    }
}

/// What a law gives at a running point where the healthy show `level` °C; `None` where it cannot
/// be computed and the table must do. `measured` is how much deeper the probe was found, mm.
pub(crate) fn shift(
    physics: Physics,
    engine: &Engine,
    at: Regime,
    level: f64,
    installed: Option<&Installed>,
    measured: Option<f64>,
) -> Option<Computed> {
    // Cold, everything is at one temperature: what the table says of a cold engine is right.
    let joint = at.of_three(JOINT)?;
    let warming = at == Regime::Warming;
    let spread = if physics.needs_fitting() {
        Some(fitted(physics, installed?, measured))
    } else {
        wired(physics, engine.probe_type, (at, joint), level)
    };
    let Some(s) = spread else { return Some(Computed::Meaningless) };
    let (share, doubt) = WARMING;
    Some(Computed::Shift(if warming {
        Spread { mean: share * s.mean, sd: (share * s.sd).hypot(doubt) }
    } else {
        s
    }))
}

fn fitted(physics: Physics, installed: &Installed, measured: Option<f64>) -> Spread {
    let mates = installed.fitting;
    match physics {
        Physics::Depth { .. } => match Depths::of(physics, mates) {
            Some(depths) => match measured {
                Some(mm) => depths.measured(mm).0.spread(installed),
                None => depths.spread(installed),
            },
            None => Spread { mean: 0.0, sd: 0.0 },
        },
        Physics::Diameter(factor) => {
            let thick = |share: f64| {
                let diameter = mates.diameter * (1.0 + share * (factor - 1.0));
                installed.of(Fitting { diameter, ..mates }, Contact::Free)
            };
            let (half, whole) = (thick(0.5), thick(1.0));
            // How much thicker is not known: anything from half that to half as much again.
            let sd = (whole - half).abs().hypot(installed.doubt(whole));
            Spread { mean: whole, sd: sd.max(1.0) }
        }
        Physics::WallTouch(from, to) => {
            // A bend or a weld bead may be anywhere from the mates' depth to the far wall.
            let near = mates.depth.min(mates.deepest());
            let depths = [near, f64::midpoint(near, mates.deepest()), mates.deepest()];
            let shifts: Vec<f64> = depths
                .iter()
                .flat_map(|&depth| [(depth, from), (depth, to)])
                .map(|(depth, wk)| installed.of(mates.at_depth(depth), Contact::Wall(wk)))
                .collect();
            let mean = shifts.iter().sum::<f64>() / 6.0;
            let between = shifts.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / 6.0;
            Spread { mean, sd: between.sqrt().hypot(installed.doubt(mean)).max(1.0) }
        }
        _ => Spread { mean: 0.0, sd: 0.0 },
    }
}

/// What is not known of a wiring fault, at its usual value.
#[derive(Debug, Clone, Copy)]
struct Unknowns {
    tip: f64,
    terminals: f64,
    /// The fault's own: excess of the joint, temperature of a pinch, mV.
    own: f64,
}

fn wired(
    physics: Physics,
    own_type: ProbeType,
    (at, joint): (Regime, (f64, f64)),
    level: f64,
) -> Option<Spread> {
    let own = Standard::from(own_type);
    let other = |given: ProbeType| {
        if given != own_type {
            Standard::from(given)
        } else if own_type == ProbeType::K {
            Standard::N
        } else {
            Standard::K
        }
    };
    let (mean, sd): (f64, f64) = match physics {
        Physics::Copper | Physics::ReversedTwice | Physics::WrongProbe(_) => joint,
        Physics::ShortInLead(mean, sd) => (mean, sd),
        Physics::ColdJunction(a, b, c) => (0.0, at.of_three([a, b, c])?),
        Physics::Stray(sd) => (0.0, sd),
        _ => (0.0, 0.0),
    };
    let sound = Circuit::sound(own);
    let shown = |u: Unknowns| -> Option<f64> {
        let circuit = match physics {
            Physics::WrongProbe(given) => Circuit { probe: other(given), ..sound },
            Physics::WrongSetting(given) => Circuit { channel: other(given), ..sound },
            Physics::Copper => Circuit { lead: Lead::Copper, ..sound },
            Physics::ReversedTwice => Circuit { reversal: Reversal::AtBothEnds, ..sound },
            Physics::ShortInLead(..) => Circuit { short: Some(Short::InLead(u.own)), ..sound },
            Physics::ColdJunction(..) => Circuit { cold_junction_error: u.own, ..sound },
            Physics::Stray(_) => Circuit { bias_microamps: u.own * 1e3 / sound.loop_ohms, ..sound },
            Physics::Depth { .. } | Physics::Diameter(_) | Physics::WallTouch(..) => sound,
        };
        let joint = match physics {
            // A probe of another type ends at the joint; the lead is the channel's own.
            Physics::Copper | Physics::ReversedTwice | Physics::WrongProbe(_) => {
                u.terminals + u.own
            }
            _ => u.terminals,
        };
        let temperatures = Temperatures { tip: u.tip, joint, terminals: u.terminals };
        match circuit.display(temperatures) {
            Ok(Display::Shows(t)) => Some(t - u.tip),
            Ok(Display::UnderRange | Display::OverRange | Display::Open) | Err(_) => None,
        }
    };
    let usual = Unknowns { tip: level, terminals: TERMINALS.0, own: mean };
    let centre = shown(usual)?;
    // Central differences over one sd each way of whatever is not known.
    let half = |up: Unknowns, down: Unknowns| match (shown(up), shown(down)) {
        (Some(a), Some(b)) => (a - b) / 2.0,
        (Some(a), None) | (None, Some(a)) => a - centre,
        (None, None) => 0.0,
    };
    let by_terminals = half(
        Unknowns { terminals: usual.terminals + TERMINALS.1, ..usual },
        Unknowns { terminals: usual.terminals - TERMINALS.1, ..usual },
    );
    let by_own = half(Unknowns { own: mean + sd, ..usual }, Unknowns { own: mean - sd, ..usual });
    // A wire within its class is off by half the limit, as one sd (an assumption of `tolerance`).
    let wire = |standard| {
        let limit = tolerance::limit(standard, tolerance::Class::Two);
        limit.and_then(|limit| limit.at(level)).unwrap_or(0.01 * level) / 2.0
    };
    let tolerance = match physics {
        Physics::WrongProbe(given) | Physics::WrongSetting(given) => {
            wire(own).hypot(wire(other(given)))
        }
        _ => wire(own),
    };
    Some(Spread { mean: centre, sd: by_terminals.hypot(by_own).hypot(tolerance) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use facts::knowledge::{Points, Shifts, embedded::embedded, load};
    use measure::engine::{Fitting, ProbeSite};

    /// Readings at which the tables of the knowledge base were computed, °C.
    const POINTS: [(Regime, f64); 3] =
        [(Regime::Idle, 400.0), (Regime::Cruise, 620.0), (Regime::Full, 860.0)];

    /// Sides that say what the trade says, not what the stem model gives.
    const BY_WRITERS: [(&str, usize); 2] = [("fit-shallow", 1), ("fit-deep", 2)];

    fn sides() -> Vec<(String, Physics, Shifts)> {
        let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        let causes = knowledge.causes.iter();
        causes
            .flat_map(|c| c.effects.iter().enumerate().map(move |(n, e)| (c, n, e)))
            .filter(|(c, side, _)| !BY_WRITERS.contains(&(c.id.as_str(), *side)))
            .filter_map(|(c, _, e)| Some((c.id.clone(), e.physics?, e.exhaust.clone()?)))
            .collect()
    }

    fn engine() -> Engine {
        Engine {
            fitting: Some(Fitting { diameter: 3.0, bore: 41.0, depth: 13.0 }),
            probes: ProbeSite::Exhaust,
            ..fixture::engine()
        }
    }

    #[test]
    fn wiring_computed_is_what_the_table_says_where_the_table_was_made() {
        let engine = engine();
        let wired: Vec<_> = sides().into_iter().filter(|(_, p, _)| !p.needs_fitting()).collect();
        assert!(wired.len() >= 10, "the wiring causes are computed");
        for (id, physics, table) in wired {
            for (at, level) in POINTS {
                let computed =
                    shift(physics, &engine, at, level, None, None).expect("can be computed");
                let (Some(computed), Some(table)) =
                    (computed.number(), table.at(Points::built_in().of(at)))
                else {
                    // An E probe drives a K channel off its range; the table has a guess.
                    assert_eq!((id.as_str(), at), ("probe-wrong-type", Regime::Full));
                    continue;
                };
                // A pinch is taken at 60 °C here and at 50 there. The table of a wrong probe leaves out
                // that its joint is warmer than the box, 4 to 15 °C.
                let joint = if id == "probe-wrong-type" { 10.0 } else { 0.0 };
                let apart = (computed.mean - table.mean).abs();
                assert!(
                    apart <= joint + 5.0 + 0.03 * table.mean.abs(),
                    "{id} {at} {computed:?} {table:?}"
                );
            }
        }
    }

    #[test]
    fn fitting_computed_has_the_sign_and_size_of_the_table() {
        let engine = engine();
        let fitting = engine.fitting.expect("given");
        for (id, physics, table) in sides().into_iter().filter(|(_, p, _)| p.needs_fitting()) {
            for (at, _) in POINTS {
                let case = Case::typical(at).expect("gas flows");
                let level = display_with(fitting, &case, &Build::default(), Contact::Free);
                let installed = Installed::at(&engine, false, at, level);
                let computed = shift(physics, &engine, at, level, installed.as_ref(), None);
                let computed = computed.and_then(Computed::number).expect("can be computed");
                let table = table.at(Points::built_in().of(at)).expect("tabulated");
                let apart = (computed.mean - table.mean).abs();
                assert!(apart <= table.sd.hypot(computed.sd), "{id} {at} {computed:?} {table:?}");
                assert!(computed.mean * table.mean > 0.0, "{id} {at} {computed:?} {table:?}");
            }
        }
    }

    #[test]
    fn without_measures_the_table_must_do() {
        let engine = Engine { fitting: None, ..engine() };
        let depth = Physics::Depth { mean: 6.5, sd: 3.0, from: 2.0, to: 11.0 };
        assert_eq!(shift(depth, &engine, Regime::Idle, 400.0, None, None), None);
        let cold = shift(Physics::Copper, &engine, Regime::ColdSoak, 20.0, None, None);
        assert_eq!(cold, None);
    }

    #[test]
    fn interpolated_shifts_are_those_of_the_stem() {
        let engine = engine();
        let fitting = engine.fitting.expect("given");
        let installed = Installed::at(&engine, false, Regime::Idle, 300.0).expect("fitted");
        for deeper in [-8.0, -3.0, 0.0, 2.0, 5.0, 11.0, 20.0] {
            let odd = installed.of(fitting.at_depth(fitting.depth + deeper), Contact::Free);
            let found = installed.shift(deeper);
            assert!((found - odd).abs() < 2.5, "{deeper} mm: {found:.1}, solved {odd:.1}");
        }
    }

    #[test]
    fn a_measured_error_leaves_only_what_goes_with_it() {
        let fitting = engine().fitting.expect("given");
        let side = Physics::Depth { mean: 6.5, sd: 3.0, from: 2.0, to: 11.0 };
        let before = Depths::of(side, fitting).expect("depths");
        let mean = |d: &Depths| d.0.iter().map(|(e, w)| e * w).sum::<f64>();
        let (after, likely) = before.measured(5.0);
        assert!((mean(&after) - 5.0).abs() < 0.5, "{}", mean(&after));
        assert!(likely > before.measured(15.0).1);
        assert!((after.0.iter().map(|(_, w)| w).sum::<f64>() - 1.0).abs() < 1e-12);
    }
}
