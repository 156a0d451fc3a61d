//! What displays usually do when a job is done: its own healthy readings on top of the history it
//! carries.
//!
//! The job stands alone, so that numbers and not earlier jobs are what it goes on from: the lasting
//! offset of each display is a normal number, and this visit one more look at it. It must not look
//! at other jobs.

use super::past::{anew, last_readings};
use super::{tenths, visit_spread};
use crate::diagnosis::data::{Kind, repeatability};
use facts::job::history::Usual;
use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use measure::engine::{Cylinder, ProbeSite};
use measure::number::real;

/// Least share of the spread from visit to visit by which a lasting offset is unsure, however long
/// the history: what visits had in common may change.
const UNSURE: f64 = 0.3;

/// What is usual after this job, at every kind that was read in it or that the history has.
#[must_use]
pub fn after(knowledge: &Knowledge, timeline: &Timeline) -> Vec<Usual> {
    let sets = last_readings(timeline);
    let anew = anew(timeline);
    let history = timeline.history.as_ref();
    let mut list = Vec::new();
    for site in [ProbeSite::Exhaust, ProbeSite::Head] {
        for at in knowledge.points.kept() {
            let kind = Kind { site, at };
            let before = history.and_then(|history| history.at(site, at));
            let read: Vec<&Vec<Option<f64>>> =
                sets.iter().filter(|(_, k, _)| *k == kind).map(|(_, _, values)| values).collect();
            if before.is_none() && read.is_empty() {
                continue;
            }
            let one = |display: Cylinder| {
                let fresh = anew.contains(&display);
                let earlier = before.filter(|_| !fresh);
                let visit = visit_spread(knowledge, kind);
                let (mut mean, mut lasting) = match earlier.and_then(|usual| usual.of(display)) {
                    Some((mean, sd)) => {
                        let least = (UNSURE * visit).powi(2);
                        (mean, (sd * sd - visit * visit).max(least))
                    }
                    None => (0.0, knowledge.natural_sd(&timeline.engine, site, at).powi(2)),
                };
                let offs: Vec<f64> = read.iter().filter_map(|set| off(set, display)).collect();
                let mut visits = earlier.map_or(0, |usual| usual.visits[usize::from(display) - 1]);
                if !offs.is_empty() {
                    let count = real(offs.len());
                    let seen = offs.iter().sum::<f64>() / count;
                    let noise = visit * visit + repeatability(knowledge, kind).powi(2) / count;
                    let share = lasting / (lasting + noise);
                    mean += share * (seen - mean);
                    lasting *= 1.0 - share;
                    visits += 1;
                }
                (visits, tenths(mean), tenths((lasting + visit * visit).sqrt()).max(0.1))
            };
            let rows: Vec<(usize, f64, f64)> = timeline.engine.all().map(one).collect();
            list.push(Usual {
                at: at.id,
                site,
                visits: rows.iter().map(|row| row.0).collect(),
                mean: rows.iter().map(|row| row.1).collect(),
                sd: rows.iter().map(|row| row.2).collect(),
            });
        }
    }
    list
}

/// Distance of a display from the mean of those that showed a number.
fn off(values: &[Option<f64>], display: Cylinder) -> Option<f64> {
    let own = values[usize::from(display) - 1]?;
    let all: Vec<f64> = values.iter().flatten().copied().collect();
    let count = real(all.len());
    Some(own - all.iter().sum::<f64>() / count)
}
