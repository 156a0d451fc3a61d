//! Every single cause at every place of an engine, with its prior probability.
//!
//! Weights of the knowledge base × factors for the kind of engine × factors for recent work,
//! shared out over the places. No evidence enters here.

use facts::job::complaint::Complaint;
use facts::job::fit::Sheet;
use facts::job::history::History;
use facts::knowledge::{Cause, Knowledge, PlaceKind, Seat};
use measure::engine::{Cylinder, Engine, Place};
use measure::number::real;

use super::complained;
use super::recorded::Recorded;
use super::result::{CauseRef, Fault};

/// One cause at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Single {
    /// Which.
    pub fault: Fault,
    /// Prior probability of this and nothing else.
    pub prior: f64,
    /// The factor in it that stands for what is complained of.
    pub said: f64,
}

/// Prior of all hypotheses with at most one cause.
#[derive(Debug, Clone, PartialEq)]
pub struct Prior {
    /// Probability that nothing is wrong.
    pub healthy: f64,
    /// Single causes; their priors and `healthy`, `pairs` and `misnamed` sum to one.
    pub singles: Vec<Single>,
    /// Probability of two causes at once.
    pub pairs: f64,
    /// Probability that displays bear each other's names and something is wrong besides.
    pub misnamed: f64,
    /// The display that is complained of, once readings show that it stands off, and the factor on explanations by
    /// faults that are all elsewhere: there what is complained of is natural, and the faults are there by chance.
    pub besides: Option<(Cylinder, f64)>,
}

/// The weight of a cause on this engine after this recent work.
#[must_use]
pub fn weight(cause: &Cause, engine: &Engine, recent: &[String]) -> f64 {
    if !cause.applies.holds(engine) {
        return 0.0;
    }
    let build: f64 =
        cause.weight_if.iter().filter(|(when, _)| when.holds(engine)).map(|(_, f)| f).product();
    let work: f64 = recent.iter().filter_map(|flag| cause.recent.get(flag)).product();
    cause.weight * build * work
}

/// Places a cause can be at.
#[must_use]
pub fn places(cause: &Cause, engine: &Engine) -> Vec<Place> {
    match cause.place {
        PlaceKind::Nowhere => vec![Place::Nowhere],
        PlaceKind::Cylinder => engine.all().map(Place::Cylinder).collect(),
        PlaceKind::Pair => engine
            .all()
            .flat_map(|a| (a + 1..=engine.cylinders).map(move |b| Place::Pair(a, b)))
            .collect(),
        PlaceKind::CoilPair => {
            engine.coil_pairs().into_iter().map(|(a, b)| Place::Pair(a, b)).collect()
        }
        PlaceKind::Neighbours => {
            engine.neighbours().into_iter().map(|(a, b)| Place::Pair(a, b)).collect()
        }
        PlaceKind::Bank => (1..).zip(&engine.banks).map(|(bank, _)| Place::Bank(bank)).collect(),
    }
}

/// Weight of two faults together, beside that of other two: each as common as it is, and one of them what is
/// complained of, either as likely.
#[must_use]
pub fn together(a: (f64, f64), b: (f64, f64)) -> f64 {
    let [(prior, said), (other, of_it)] = [a, b];
    prior / said * other / of_it * said.midpoint(of_it)
}

/// Whether a cause may be one of two. Being healthy or merely not settled is none.
#[must_use]
pub fn pairs_up(knowledge: &Knowledge, fault: Fault) -> bool {
    match fault.cause {
        CauseRef::Listed(index) => knowledge.causes[index].seat != Seat::Nothing,
        CauseRef::Unlisted => true,
    }
}

/// The prior of an engine; sheet and history have what was recorded of its probes, `complaint` what the
/// customer says.
#[must_use]
pub fn prior(
    knowledge: &Knowledge,
    engine: &Engine,
    recent: &[String],
    (sheet, history): (&Sheet, Option<&History>),
    complaint: &Complaint,
) -> Prior {
    let recorded = Recorded::new(knowledge, (engine, recent), sheet, history);
    let mut healthy = 0.0;
    let mut singles = Vec::new();
    for (index, cause) in knowledge.causes.iter().enumerate() {
        let weight = weight(cause, engine, recent);
        let places = places(cause, engine);
        if weight <= 0.0 || places.is_empty() {
            continue;
        }
        // What is nowhere and has no seat is no fault; what has one is wrong with the whole box.
        if cause.place == PlaceKind::Nowhere && cause.seat == Seat::Nothing {
            healthy += weight;
            continue;
        }
        let share = weight / real(places.len());
        singles.extend(places.into_iter().map(|place| {
            let said = complained::factor(knowledge, engine, complaint, (index, place));
            let prior = share * recorded.factor(cause, place) * said;
            Single { fault: Fault { cause: CauseRef::Listed(index), place }, prior, said }
        }));
    }
    // A healthy engine is among the weights only where chance made it look odd, and the readings
    // are about to say how odd: without this, being odd would count against it twice.
    healthy *= complained::healthy(complaint);
    healthy *= knowledge.constants.noticed_fault / knowledge.constants.noticed_healthy;
    let share = knowledge.constants.unlisted_weight / f64::from(engine.cylinders);
    let said = complained::unlisted(engine, complaint);
    singles.extend(engine.all().map(|c| Single {
        fault: Fault { cause: CauseRef::Unlisted, place: Place::Cylinder(c) },
        prior: share * said,
        said,
    }));
    let total: f64 = healthy + singles.iter().map(|s| s.prior).sum::<f64>();
    let two = knowledge.constants.two_faults;
    let healthy = healthy / total;
    let (mut pairs, mut misnamed) = (0.0, 0.0);
    for single in &mut singles {
        single.prior /= total;
        if single.fault.cause.misnames(knowledge) {
            // It moves no display off: what is complained of is there as often without it, and nothing is as
            // often wrong besides.
            misnamed += single.prior * (1.0 - healthy);
            single.prior *= healthy;
        } else if pairs_up(knowledge, single.fault) {
            pairs += single.prior * two;
            single.prior *= 1.0 - two;
        }
    }
    Prior { healthy, singles, pairs, misnamed, besides: None }
}
