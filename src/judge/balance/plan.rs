//! The next small step of a balance, or why there is none.
//!
//! Rules of the trade in order: richer first, on one cylinder at a time; the side of the peak from the
//! sign of the measured response; never leaner at load; bounded steps and totals; an independent sign
//! of the mixture before anything is levelled; stop when a step did not do what was foreseen. Equal
//! displays are not equal mixtures: the plan never goes by displays alone. It knows numbers only.

use facts::job::trim::{Lever, MixtureSign};

use super::response::Estimate;

/// What a lever may do: largest step, and farthest from where it stood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Largest step.
    pub step: f64,
    /// Farthest from where it stood when the job was opened.
    pub total: f64,
}

/// One cylinder as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Pot {
    /// Its number.
    pub cylinder: u8,
    /// Distance of its display from the mean of all under the trims as they are, less what is usual for
    /// it where that is known to be no mixture's, °C.
    pub off: f64,
    /// °C per unit of trim, where it was measured.
    pub slope: Option<Estimate>,
    /// Where its trim stands.
    pub stands: f64,
    /// What an independent sign says of its mixture.
    pub sign: Option<MixtureSign>,
    /// A step on it came out otherwise than was foreseen.
    pub surprised: bool,
    /// Sets read in a row with its trim as it stands.
    pub reads: usize,
    /// Farthest richer, or later, that it was ever set.
    pub farthest: f64,
}

/// What is known beside the cylinders.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scene {
    /// What is trimmed.
    pub lever: Lever,
    /// Its bounds.
    pub bounds: Bounds,
    /// Below this distance a display is level, °C.
    pub level: f64,
    /// The engine stands at full load, or one trim serves all loads, so that a leaner one is leaner at
    /// load.
    pub leaner_barred: bool,
    /// Steps taken so far.
    pub steps: usize,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub enum Next {
    /// Set a cylinder's trim; the step is small and allowed.
    Step {
        /// Whose.
        cylinder: u8,
        /// To where.
        to: f64,
        /// The response is not known yet: this step measures it.
        measures: bool,
    },
    /// Read once more with nothing changed: one set says too little.
    ReadAgain,
    /// Look for an independent sign of a cylinder's mixture.
    AskSign {
        /// Whose.
        cylinder: u8,
    },
    /// Nothing more is to be done.
    Done {
        /// Cylinders that are off and are left so, each with the reason.
        left: Vec<(u8, Left)>,
    },
}

/// Why a cylinder is left as it is though its display is off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Left {
    /// The independent sign says its mixture is like the others': the display is off for another reason.
    SignEven,
    /// Display and sign disagree about the side.
    SignAgainst,
    /// It would have to be made leaner, which is barred.
    Leaner,
    /// Its trim is as far from where it stood as it may go.
    Bound,
    /// Its response is too small to tell from the scatter: it stands at the peak.
    Flat,
    /// A step came out otherwise than was foreseen.
    Otherwise,
    /// So many steps were taken that something else must be wrong.
    Steps,
}

/// Standard errors beyond which a response has a sign.
const SURE: f64 = 2.0;
/// Sets read at each place of a trim that is being measured.
const READS: usize = 2;
/// Share of the way to level that one step goes: slopes are rough and bend.
const SHARE: f64 = 0.7;
/// Grain of a trim: controllers take half units.
const GRAIN: f64 = 0.5;
/// Steps after which a balance is not a balance any more, for each cylinder.
const STEPS: usize = 6;

/// The side of the peak by a measured response: `Some(true)` on the lean side, where richer is hotter.
#[must_use]
pub fn lean_side(slope: Estimate) -> Option<bool> {
    (slope.value.abs() > SURE * slope.se).then_some(slope.value > 0.0)
}

/// Works out the next step.
#[must_use]
pub fn next(pots: &[Pot], scene: Scene) -> Next {
    let mut order: Vec<&Pot> = pots.iter().filter(|pot| pot.off.abs() > scene.level).collect();
    order.sort_by(|a, b| b.off.abs().total_cmp(&a.off.abs()).then(a.cylinder.cmp(&b.cylinder)));
    let mut left = Vec::new();
    let mut ask = None;
    for pot in order {
        match one(pot, scene, pots.len()) {
            Ok(step) => return step,
            Err(None) => ask = ask.or(Some(pot.cylinder)),
            Err(Some(why)) => left.push((pot.cylinder, why)),
        }
    }
    match ask {
        Some(cylinder) => Next::AskSign { cylinder },
        None => Next::Done { left },
    }
}

/// A step for one cylinder; an error without a reason asks for a sign.
fn one(pot: &Pot, scene: Scene, count: usize) -> Result<Next, Option<Left>> {
    let Bounds { step, total } = scene.bounds;
    if scene.steps >= STEPS * count {
        return Err(Some(Left::Steps));
    }
    if pot.surprised {
        return Err(Some(Left::Otherwise));
    }
    // Nothing is levelled, nor even tried, on a display alone: depth moves it as well as mixture.
    let sign = pot.sign.ok_or(None)?;
    if scene.lever == Lever::Fuel && sign == MixtureSign::Even {
        return Err(Some(Left::SignEven));
    }
    // Spark comes after fuel: only where mixtures are known to be alike.
    if scene.lever == Lever::Spark && sign != MixtureSign::Even {
        return Err(Some(Left::SignAgainst));
    }
    let room = |to: f64| to.abs() <= total + 1e-9;
    let Some(slope) = pot.slope.filter(|slope| lean_side(*slope).is_some()) else {
        // Measuring: richer first, or later first, the side on which nothing melts; each place is read
        // twice, and a step is kept in reserve.
        let to = pot.stands + step;
        return if pot.farthest >= total - step - 1e-9 && pot.stands > 1e-9 && pot.reads >= READS {
            Ok(Next::Step { cylinder: pot.cylinder, to: 0.0, measures: false })
        } else if pot.farthest >= total - step - 1e-9 && pot.stands <= 1e-9 {
            Err(Some(Left::Flat))
        } else if pot.reads < READS {
            Ok(Next::ReadAgain)
        } else if room(to) {
            Ok(Next::Step { cylinder: pot.cylinder, to, measures: true })
        } else {
            Err(Some(Left::Bound))
        };
    };
    let wanted = SHARE * -pot.off / slope.value;
    // What the sign says must be what the step does.
    let agrees = scene.lever == Lever::Spark || (sign == MixtureSign::Lean) == (wanted > 0.0);
    if !agrees {
        return Err(Some(Left::SignAgainst));
    }
    let small = (wanted.clamp(-step, step) / GRAIN).round() * GRAIN;
    let small = if small == 0.0 { GRAIN.copysign(wanted) } else { small };
    let to = pot.stands + small;
    // Leaner than it stood at first, or earlier: at load that may melt a piston. Taking back what was
    // added is no such step.
    if scene.leaner_barred && to < -1e-9 {
        return Err(Some(Left::Leaner));
    }
    if !room(to) {
        return Err(Some(Left::Bound));
    }
    Ok(Next::Step { cylinder: pot.cylinder, to, measures: false })
}

/// Why a trim may not be set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Refused {
    /// There is no independent sign yet.
    NoSign,
    /// The plan leaves this cylinder alone.
    Left(Left),
    /// Its display is level.
    Level,
    /// The step is larger than one may be.
    Step(f64),
    /// It would be farther from where it stood than it may be.
    Total(f64),
    /// The first step must be richer, or later.
    RicherFirst,
    /// What stands now was read too seldom.
    ReadAgain,
    /// The plan would go the other way.
    OtherWay,
}

/// Whether a trim may be set by hand: the plan's own step or a smaller one the same way. Going back towards
/// where it stood is always allowed.
///
/// # Errors
/// Why not.
pub fn may(pots: &[Pot], scene: Scene, cylinder: u8, to: f64) -> Result<(), Refused> {
    let Some(pot) = pots.iter().find(|pot| pot.cylinder == cylinder) else {
        return Err(Refused::Level);
    };
    if goes_back(pot.stands, to) {
        return Ok(());
    }
    if (to - pot.stands).abs() > scene.bounds.step + 1e-9 {
        return Err(Refused::Step(scene.bounds.step));
    }
    if to.abs() > scene.bounds.total + 1e-9 {
        return Err(Refused::Total(scene.bounds.total));
    }
    if pot.off.abs() <= scene.level {
        return Err(Refused::Level);
    }
    match one(pot, scene, pots.len()) {
        Ok(Next::Step { to: planned, measures, .. }) => {
            let same_way = (planned - pot.stands) * (to - pot.stands) > 0.0;
            match (same_way, measures) {
                (true, _) => Ok(()),
                (false, true) => Err(Refused::RicherFirst),
                (false, false) => Err(Refused::OtherWay),
            }
        }
        Ok(Next::ReadAgain) => Err(Refused::ReadAgain),
        Ok(_) => Err(Refused::OtherWay),
        Err(None) => Err(Refused::NoSign),
        Err(Some(left)) => Err(Refused::Left(left)),
    }
}

/// Whether a trim goes back towards where it stood when the job was opened, and not past it.
#[must_use]
pub fn goes_back(stands: f64, to: f64) -> bool {
    to.abs() < stands.abs() - 1e-9 && to * stands >= 0.0
}

/// How a step came out against what was foreseen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// As foreseen.
    AsForeseen,
    /// Beyond what readings scatter: the response has changed, or something else moved.
    Otherwise,
}

/// Standard deviations beyond which a step came out otherwise.
const OTHERWISE: f64 = 3.0;

/// Compares a change with what was foreseen.
#[must_use]
pub fn outcome(foreseen: f64, sd: f64, came: f64) -> Outcome {
    if (came - foreseen).abs() > OTHERWISE * sd { Outcome::Otherwise } else { Outcome::AsForeseen }
}
