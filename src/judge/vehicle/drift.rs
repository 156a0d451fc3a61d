//! Which display drifts from visit to visit, and when it will leave its band.
//!
//! Its distance from the median of the others against time, a straight line, the scatter taken from
//! all displays together and from what visits usually differ by. It must not say why.

use jiff::{SignedDuration, Timestamp};

use super::past::{HealthySet, Seen};
use super::visit_spread;
use crate::diagnosis::data::{Kind, repeatability};
use facts::knowledge::Knowledge;
use measure::engine::{Cylinder, Engine, ProbeSite};
use measure::readings::outlier::median;
use measure::readings::trend::{Line, MannKendall, Scatter, holm, line, mann_kendall};

/// Fewest visits between which a drift can be told from a step.
const FEWEST: usize = 3;
/// Chance, corrected for all displays that were looked at, below which it drifts.
const DRIFTS: f64 = 0.05;
/// Half a band, in standard deviations from visit to visit: the three of the trade's rule for a
/// deviation limit.
const BAND: f64 = 3.0;
/// Days ahead that are looked at; a date farther off would be no date.
pub const HORIZON: f64 = 5.0 * 365.25;

/// How one display moved at one kind of reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// Which probes and where.
    pub kind: Kind,
    /// Which display.
    pub display: Cylinder,
    /// Time and distance from the others, °C, a visit each.
    pub points: Vec<(Timestamp, f64)>,
    /// The line, days since the first visit against °C.
    pub line: Line,
    /// The chance of such a slope by accident, corrected for all that were looked at.
    pub chance: f64,
    /// The same asked without a line.
    pub order: Option<MannKendall>,
    /// Half its band, °C, about where the line began.
    pub band: f64,
    /// When it will leave the band: expected, and at the earliest.
    pub leaves: Option<(Timestamp, Timestamp)>,
}

impl Drift {
    /// Whether it is more than accident.
    #[must_use]
    pub fn drifts(&self) -> bool {
        self.chance < DRIFTS
    }

    /// °C a year.
    #[must_use]
    pub fn a_year(&self) -> (f64, f64) {
        (self.line.slope * 365.25, self.line.slope_se * 365.25)
    }
}

/// All displays with visits enough, kind by kind.
pub(super) fn drifts(
    knowledge: &Knowledge,
    engine: &Engine,
    seen: &Seen,
    now: Timestamp,
) -> Vec<Drift> {
    let Some(start) = seen.sets.iter().map(|set| set.time).min() else { return Vec::new() };
    let days = |time: Timestamp| time.duration_since(start).as_secs_f64() / 86_400.0;
    let mut list = Vec::new();
    for site in [ProbeSite::Exhaust, ProbeSite::Head] {
        for at in knowledge.points.kept() {
            list.extend(of_kind(knowledge, engine, seen, Kind { site, at }, &days));
        }
    }
    let chances: Vec<f64> = list.iter().map(|drift: &Drift| drift.line.p_value).collect();
    for (drift, chance) in list.iter_mut().zip(holm(&chances)) {
        drift.chance = chance;
        if drift.drifts() {
            let first = drift.points.first().map_or(0.0, |(time, _)| days(*time));
            let from = drift.line.at(first).0;
            let band = (from - drift.band, from + drift.band);
            let today = days(now);
            let moment = |x: f64| start + SignedDuration::from_secs_f64(x * 86_400.0);
            drift.leaves = drift
                .line
                .leaves(band, today, today + HORIZON)
                .map(|leaves| (moment(leaves.expected), moment(leaves.earliest)));
        }
    }
    list
}

fn of_kind(
    knowledge: &Knowledge,
    engine: &Engine,
    seen: &Seen,
    kind: Kind,
    days: &impl Fn(Timestamp) -> f64,
) -> Vec<Drift> {
    let courses: Vec<(Cylinder, Vec<(Timestamp, f64)>)> = engine
        .all()
        .map(|display| (display, course(seen, kind, display)))
        .filter(|(_, points)| points.len() >= FEWEST)
        .collect();
    let xy = |points: &[(Timestamp, f64)]| -> Vec<(f64, f64)> {
        points.iter().map(|(time, value)| (days(*time), *value)).collect()
    };
    // One display's distance takes in the scatter of the others' median.
    let mates = f64::from(engine.cylinders.saturating_sub(1).max(1));
    let single = visit_spread(knowledge, kind).hypot(repeatability(knowledge, kind));
    let before = single * (1.0 + 1.0 / mates).sqrt();
    let known = knowledge.constants.visit_freedom;
    let (mut squares, mut freedom) = (known * before * before, known);
    for (_, points) in &courses {
        if let Some(own) = line(&xy(points), Scatter::Own) {
            // Distances from one another's middle are not all free.
            squares += own.squares * mates / (mates + 1.0);
            freedom += own.freedom * mates / (mates + 1.0);
        }
    }
    let scatter = Scatter::Known { sd: (squares / freedom).sqrt(), freedom };
    courses
        .into_iter()
        .filter_map(|(display, points)| {
            let line = line(&xy(&points), scatter)?;
            let values: Vec<f64> = points.iter().map(|p| p.1).collect();
            let order = mann_kendall(&values);
            Some(Drift {
                kind,
                display,
                points,
                line,
                chance: line.p_value,
                order,
                band: BAND * single,
                leaves: None,
            })
        })
        .collect()
}

/// Distance of a display from the median of the others, the mean of each visit.
fn course(seen: &Seen, kind: Kind, display: Cylinder) -> Vec<(Timestamp, f64)> {
    let mut points: Vec<(usize, Timestamp, f64, f64)> = Vec::new();
    for set in seen.sets.iter().filter(|set| set.kind == kind) {
        let Some(off) = off(set, display) else { continue };
        match points.last_mut() {
            Some((visit, _, sum, count)) if *visit == set.visit => {
                *sum += off;
                *count += 1.0;
            }
            _ => points.push((set.visit, set.time, off, 1.0)),
        }
    }
    points.into_iter().map(|(_, time, sum, count)| (time, sum / count)).collect()
}

fn off(set: &HealthySet, display: Cylinder) -> Option<f64> {
    let index = usize::from(display) - 1;
    let own = set.values[index]?;
    let others = set.values.iter().enumerate().filter(|(i, _)| *i != index);
    let others: Vec<f64> = others.filter_map(|(_, value)| *value).collect();
    Some(own - median(&others)?)
}
