//! Further readings as things that can be done next.
//!
//! Which points are still to be read, what that costs and what it may show. The forecast itself
//! is made elsewhere, with the likelihood of the diagnosis; it must not be made again here.

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::data::Kind;
use crate::diagnosis::unseen;
use crate::plan::advice::Step;
use crate::plan::cases::Case;
use crate::plan::ends::{ODD, Points};
use crate::plan::forecast::{self, Forecaster, shows_no_number};
use crate::plan::problem::{Needs, Probe};
use facts::job::complaint::Does;
use facts::knowledge::{Knowledge, RunningPoint};
use measure::engine::{Cylinder, ProbeSite};
use measure::units::Cost;

use super::Choosable;
use super::rows::transpose;
use super::setups::price;

/// Readings of one point while nothing stands out of what is said to come and go, until it counts as not
/// coming (common practice, no source).
const PROVOKED: usize = 3;

/// Further readings at points not yet read since the last remedy; of what is said to come and go a few
/// more of each, since it may come. What an exchange showed is asked for as such.
pub(super) fn readings(
    diagnosis: &Diagnosis<'_>,
    cases: &[Case],
    focus: Cylinder,
    options: &mut Vec<Choosable>,
    probes: &mut Vec<Probe>,
) {
    let model = &diagnosis.model;
    let (knowledge, timeline) = (model.knowledge, model.timeline);
    let display = timeline.arrangement.display_of(focus);
    let cured = timeline.remedied_by();
    let comes_and_goes =
        matches!(timeline.complaint.does, Some(Does::Jumps | Does::Dead | Does::Misses))
            || unseen(knowledge, timeline);
    let clean = comes_and_goes
        && Points::new(timeline, &diagnosis.assessment.oddness)
            .worst_newest()
            .is_none_or(|(size, _)| size < ODD);
    let mut sites = vec![timeline.engine.probes];
    if timeline.sets.iter().any(|set| set.site != timeline.engine.probes) {
        sites.push(match timeline.engine.probes {
            ProbeSite::Exhaust => ProbeSite::Head,
            ProbeSite::Head => ProbeSite::Exhaust,
        });
    }
    for site in sites {
        for at in timeline.points.kept() {
            let times = timeline.sets.iter().filter(|s| (s.site, s.at) == (site, at));
            let times = times.filter(|s| s.after >= cured).count();
            if times >= if clean { PROVOKED } else { 1 } {
                continue;
            }
            // A display that shows no number will show none elsewhere.
            if shows_no_number(diagnosis, display) && !at.is_cold() {
                continue;
            }
            let forecaster = Forecaster::new(diagnosis, Kind { site, at }, display);
            let rows: Vec<Vec<f64>> = cases.iter().map(|case| forecaster.row(case)).collect();
            let own = settled(knowledge, site);
            options.push(Choosable {
                step: Step::Readings { at, site },
                outcomes: forecast::OUTCOMES
                    .iter()
                    .map(|(id, text)| ((*id).to_owned(), (*text).to_owned()))
                    .collect(),
                own,
                cautions: cautions_at(knowledge, at),
                again: false,
            });
            probes.push(Probe {
                price: price(knowledge, own),
                needs: Needs { states: vec![at.thermal as usize], access: 0, openings: 1.0 },
                leaves: None,
                opens: 0,
                rows: transpose(&rows, forecast::OUTCOMES.len()),
                held_back: None,
            });
        }
    }
}

/// Taking readings that have settled: a head needs five minutes more than an exhaust (common
/// practice: three against eight).
fn settled(knowledge: &Knowledge, site: ProbeSite) -> Cost {
    let mut cost = knowledge.constants.readings;
    if site == ProbeSite::Head {
        cost.wait += 5.0;
    }
    cost
}

/// Cautions that go with running the engine at a point.
#[must_use]
pub fn cautions_at(knowledge: &Knowledge, at: RunningPoint) -> Vec<usize> {
    let ids: &[&str] = if at.is_cold() {
        &[]
    } else if at.is_full_load() {
        &["builder-limit", "loaded-running", "carbon-monoxide"]
    } else {
        &["carbon-monoxide", "hot-exhaust"]
    };
    ids.iter().filter_map(|id| knowledge.cautions.iter().position(|c| c.id == *id)).collect()
}
