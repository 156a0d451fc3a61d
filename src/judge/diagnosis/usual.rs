//! How a cylinder naturally stands to its mates: by the layout, or by this engine's own history.
//!
//! One place for both, so that likelihood, forecasts and spreads a mechanic can check by hand speak
//! of the same figures. It must not look at a reading.

use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, Seat};
use measure::engine::Cylinder;

use super::data::{Kind, repeatability};

/// Mean and standard deviation of a cylinder's natural offset, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Natural {
    /// Expected offset.
    pub mean: f64,
    /// Its standard deviation between engines, or from visit to visit where the engine has a
    /// history of its own.
    pub sd: f64,
    /// It is the engine's own.
    pub own: bool,
}

/// The natural offset of a cylinder at a kind of reading, by the engine's own history where that
/// speaks of it, by the layout where not.
#[must_use]
pub fn natural(
    knowledge: &Knowledge,
    timeline: &Timeline,
    kind: Kind,
    cylinder: Cylinder,
) -> Natural {
    let usual = timeline.history.as_ref().and_then(|history| history.at(kind.site, kind.at));
    if let Some((mean, sd)) = usual.and_then(|usual| usual.of(cylinder)) {
        Natural { mean, sd, own: true }
    } else {
        let sd = knowledge.natural_sd(&timeline.engine, kind.site, kind.at);
        Natural { mean: 0.0, sd, own: false }
    }
}

/// Standard deviation by which a display may stand off its usual place and still be healthy, °C.
///
/// The layout's figure is that of single readings; the own history's leaves their repeatability
/// out, so that it is added.
#[must_use]
pub fn reach(knowledge: &Knowledge, kind: Kind, natural: Natural) -> f64 {
    if natural.own { natural.sd.hypot(repeatability(knowledge, kind)) } else { natural.sd }
}

/// How often a cylinder's probe was fitted anew in this job before a number of disturbances had
/// passed: then its history speaks of another fit.
#[must_use]
pub fn refitted(timeline: &Timeline, cylinder: Cylinder, after: usize) -> usize {
    let hit = |d: &&facts::job::timeline::Disturbance| {
        d.touched
            .iter()
            .any(|&(seat, number, _)| matches!(seat, Seat::Probe | Seat::Fit) && number == cylinder)
    };
    timeline.disturbances.iter().take(after).filter(hit).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::assess;
    use facts::job::entry::{Entry, Journal, What};
    use facts::job::history::{History, Usual};
    use facts::job::read::read;
    use facts::knowledge::Item;
    use fixture::{degrees, engine, journal, knowledge, temps};
    use measure::engine::{ProbeSite, Regime};

    const OWN: [f64; 4] = [16.0, 0.0, -4.0, -12.0];

    fn history(mean: [f64; 4], sd: impl Fn(Regime) -> f64) -> What {
        let usual = |at: Regime| Usual {
            at: at.into(),
            site: ProbeSite::Exhaust,
            visits: vec![3; 4],
            mean: mean.to_vec(),
            sd: vec![sd(at); 4],
        };
        let usual = [Regime::Idle, Regime::Cruise].map(usual).to_vec();
        What::History(History { usual, ..History::default() })
    }

    fn job(whats: Vec<What>) -> Journal {
        let mut journal = journal();
        journal.head.recent.clear();
        for what in whats {
            journal.push(Entry::new(jiff::Timestamp::UNIX_EPOCH, "typed".to_owned(), what));
        }
        journal
    }

    fn healthy(whats: Vec<What>) -> f64 {
        let knowledge = knowledge();
        assess(&knowledge, &read(&knowledge, &job(whats))).healthy
    }

    #[test]
    fn a_history_that_says_what_the_layout_says_changes_nothing() {
        let knowledge = knowledge();
        let layout = |at| knowledge.natural_sd(&engine(), ProbeSite::Exhaust, fixture::at(at));
        let sets = || {
            vec![
                temps("idle", degrees(&[410.0, 350.0, 405.0, 401.0])),
                What::Exchange { item: Item::Probe, a: 2, b: 3 },
                temps("idle", degrees(&[409.0, 400.0, 352.0, 402.0])),
                temps("cruise", degrees(&[610.0, 602.0, 555.0, 604.0])),
            ]
        };
        let with = [vec![history([0.0; 4], layout)], sets()].concat();
        let (with, without) = (
            assess(&knowledge, &read(&knowledge, &job(with))),
            assess(&knowledge, &read(&knowledge, &job(sets()))),
        );
        assert!((with.healthy - without.healthy).abs() < 1e-9);
        for (a, b) in with.suspects.iter().zip(&without.suspects) {
            assert!((a.probability - b.probability).abs() < 1e-9, "{a:?} {b:?}");
        }
    }

    #[test]
    fn what_is_usual_for_this_engine_is_not_odd_and_what_is_not_is() {
        let own = |_| 5.0;
        let read = |row: [f64; 4]| temps("idle", degrees(&row.map(|v| 400.0 + v)));
        let usual = healthy(vec![history(OWN, own), read(OWN)]);
        let layout = healthy(vec![read(OWN)]);
        assert!(usual > layout, "{usual} with its own history, {layout} by the layout");
        // As others of its kind would be, but not as it was.
        let level = healthy(vec![history(OWN, own), read([-24.0, 0.0, -4.0, -12.0])]);
        let strange = healthy(vec![read([-24.0, 0.0, -4.0, -12.0])]);
        assert!(level < 0.5 * strange, "{level} with its own history, {strange} by the layout");
    }

    #[test]
    fn a_probe_fitted_anew_is_judged_by_the_layout_again() {
        let own = |_| 4.0;
        let row = |row: [f64; 4]| temps("idle", degrees(&row.map(|v| 400.0 + v)));
        let moved = [-4.0, 0.0, -4.0, -12.0];
        let refit = || What::Remake { item: Item::Probe, cylinder: 1, new: false };
        let touched = healthy(vec![history(OWN, own), refit(), row(moved)]);
        let untouched = healthy(vec![history(OWN, own), row(moved)]);
        assert!(touched > untouched, "{touched} fitted anew, {untouched} not");
        let knowledge = knowledge();
        let timeline = read(&knowledge, &job(vec![history(OWN, own), refit(), row(moved)]));
        assert_eq!((refitted(&timeline, 1, 0), refitted(&timeline, 1, 1)), (0, 1));
        assert_eq!(refitted(&timeline, 2, 1), 0);
    }
}
