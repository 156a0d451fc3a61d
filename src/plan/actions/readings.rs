//! Further readings as things that can be done next.
//!
//! Which points are still to be read, what that costs and what it may show. The forecast itself
//! is made elsewhere, with the likelihood of the diagnosis; it must not be made again here.

use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::data::Kind;
use crate::engine::{Cylinder, ProbeSite, RunningPoint};
use crate::job::read::thermal_at;
use crate::knowledge::Knowledge;
use crate::plan::advice::Step;
use crate::plan::cases::Case;
use crate::plan::forecast::{self, Forecaster, shows_no_number};
use crate::plan::problem::{Needs, Probe};
use crate::units::Cost;

use super::Choosable;
use super::rows::transpose;
use super::setups::price;

/// Further readings at points not yet read since the last disturbance.
pub(super) fn readings(
    diagnosis: &Diagnosis<'_>,
    cases: &[Case],
    focus: Cylinder,
    options: &mut Vec<Choosable>,
    probes: &mut Vec<Probe>,
) {
    let model = &diagnosis.model;
    let (knowledge, timeline) = (model.knowledge, model.timeline);
    let slot = timeline.disturbances.len();
    let display = timeline.arrangement.display_of(focus);
    let mut sites = vec![timeline.engine.probes];
    if timeline.sets.iter().any(|set| set.site != timeline.engine.probes) {
        sites.push(match timeline.engine.probes {
            ProbeSite::Exhaust => ProbeSite::Head,
            ProbeSite::Head => ProbeSite::Exhaust,
        });
    }
    for site in sites {
        for &at in RunningPoint::ALL {
            let read =
                timeline.sets.iter().any(|s| s.site == site && s.at == at && s.after == slot);
            if at == RunningPoint::Warming || read {
                continue;
            }
            // A display that shows no number will show none elsewhere.
            if shows_no_number(diagnosis, display) && at != RunningPoint::ColdSoak {
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
                cautions: load_cautions(knowledge, at),
            });
            probes.push(Probe {
                price: price(knowledge, own),
                needs: Needs { states: vec![thermal_at(at) as usize], access: 0, openings: 1.0 },
                leaves: None,
                opens: 0,
                rows: transpose(&rows, forecast::OUTCOMES.len()),
                held_back: false,
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
fn load_cautions(knowledge: &Knowledge, at: RunningPoint) -> Vec<usize> {
    let ids: &[&str] = match at {
        RunningPoint::ColdSoak => &[],
        RunningPoint::Full => &["builder-limit", "loaded-running", "carbon-monoxide"],
        _ => &["carbon-monoxide", "hot-exhaust"],
    };
    ids.iter().filter_map(|id| knowledge.cautions.iter().position(|c| c.id == *id)).collect()
}
