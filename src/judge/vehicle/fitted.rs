//! What earlier visits left of how probes were fitted and wired, as far as it still holds.
//!
//! Which displays were shown to be their cylinders', and how the probes sat: from jobs that count as
//! healthy, until a later visit touches it or tells of work that changes it. It must not weigh
//! what that is worth.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use crate::commission::identity::CHAIN;
use crate::commission::{identified, identity, was_commissioned};
use crate::diagnosis::brought_about;
use facts::job::entry::Journal;
use facts::job::fit::FitLine;
use facts::job::history::History;
use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, Seat};
use measure::engine::Cylinder;

/// What one visit says of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fitted {
    /// Work told of when the visit began may have changed names, or depths.
    worked: (bool, bool),
    /// Cylinders whose wiring was touched, and those whose probe was taken out.
    wiring: BTreeSet<Cylinder>,
    probes: BTreeSet<Cylinder>,
    /// Displays shown to be their cylinders' by its end, and when.
    identified: Vec<(Cylinder, Timestamp)>,
    /// How probes sat at its end, as far as it was said.
    fit: Vec<(Cylinder, FitLine)>,
    /// When it was opened, if it did all that commissioning asks for.
    commissioned: Option<Timestamp>,
}

/// Seats that carry a depth.
const SITS: [Seat; 2] = [Seat::Probe, Seat::Fit];

/// What an earlier job says; of one that does not count as healthy only what was touched.
pub(super) fn fitted(
    knowledge: &Knowledge,
    journal: &Journal,
    timeline: &Timeline,
    healthy: bool,
) -> Fitted {
    let mut fitted = Fitted {
        worked: brought_about(knowledge, &timeline.recent),
        wiring: identity::touched(timeline, 0, &CHAIN),
        probes: identity::touched(timeline, 0, &SITS),
        ..Fitted::default()
    };
    if !healthy {
        return fitted;
    }
    let time = |entry: usize| {
        journal.entries.get(entry.wrapping_sub(1)).map_or(journal.head.opened, |e| e.time)
    };
    let shown = identified(knowledge, timeline).into_iter();
    fitted.identified = shown.map(|(cylinder, entry)| (cylinder, time(entry))).collect();
    let mut lines: BTreeMap<Cylinder, FitLine> = BTreeMap::new();
    for noted in &timeline.sheet.noted {
        if !identity::touched(timeline, noted.after, &SITS).contains(&noted.number) {
            lines.entry(noted.cylinder).or_default().merge(&noted.line);
        }
    }
    fitted.fit = lines.into_iter().collect();
    fitted.commissioned = was_commissioned(knowledge, timeline).then_some(journal.head.opened);
    fitted
}

/// What all visits leave together, in order of time.
pub(super) fn left<'a>(visits: impl Iterator<Item = &'a Fitted>, history: &mut History) {
    let mut identified: BTreeMap<Cylinder, Timestamp> = BTreeMap::new();
    let mut fit: BTreeMap<Cylinder, FitLine> = BTreeMap::new();
    for visit in visits {
        let (names, depths) = visit.worked;
        identified.retain(|cylinder, _| !names && !visit.wiring.contains(cylinder));
        fit.retain(|cylinder, _| !depths && !visit.probes.contains(cylinder));
        identified.extend(visit.identified.iter().copied());
        for (cylinder, line) in &visit.fit {
            fit.entry(*cylinder).or_default().merge(line);
        }
        history.commissioned = visit.commissioned.or(history.commissioned);
    }
    history.identified = identified.into_iter().collect();
    history.fit = fit.into_iter().collect();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vehicle::record;
    use facts::job::entry::{Entry, What};
    use facts::knowledge::embedded::embedded;
    use facts::knowledge::{Item, load};
    use fixture::{degrees, engine, journal, temps};
    use measure::engine::Place;

    fn day(n: i64) -> Timestamp {
        Timestamp::UNIX_EPOCH + jiff::SignedDuration::from_hours(24 * n)
    }

    fn found(test: &str, outcome: &str, cylinder: u8) -> What {
        let (test, outcome) = (test.to_owned(), outcome.to_owned());
        What::Found { test, outcome, cylinder: Some(cylinder), partner: None }
    }

    fn depths(mm: [f64; 4]) -> What {
        let line = |mm| FitLine { depth: Some(mm), ..FitLine::default() };
        What::Fitted { lines: (1..).zip(mm.map(line)).collect() }
    }

    /// A visit that ends as normal, after what was done at it.
    fn visit(at: i64, recent: &[&str], whats: Vec<What>) -> Journal {
        let mut journal = journal();
        journal.head.opened = day(at);
        journal.head.vehicle = "barge".to_owned();
        journal.head.complaint.clear();
        journal.head.recent = recent.iter().map(|&flag| flag.to_owned()).collect();
        let end = [
            temps("cold", degrees(&[18.0, 18.2, 17.9, 18.1])),
            temps("idle", degrees(&[402.0, 398.0, 401.0, 400.0])),
            temps("cruise", degrees(&[622.0, 616.0, 620.0, 618.0])),
            What::Recorded,
            What::Close { proven: false, reason: None },
        ];
        for what in whats.into_iter().chain(end) {
            journal.push(Entry::new(day(at), "typed".to_owned(), what));
        }
        journal
    }

    /// The first visit: all displays asked after, all depths measured.
    fn commissioned() -> Journal {
        let mut whats: Vec<What> = (1..=4).map(|c| found("polarity", "rises", c)).collect();
        whats.push(depths([20.0, 20.5, 19.5, 20.0]));
        visit(1, &["probes-new"], whats)
    }

    fn left(jobs: &[Journal]) -> (Vec<u8>, Vec<u8>, Option<Timestamp>) {
        let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base");
        let named: Vec<(String, &Journal)> =
            (0..).zip(jobs).map(|(n, journal): (u8, _)| (format!("job-{n}"), journal)).collect();
        let history = record(&knowledge, "Barge", &engine(), &named, day(1000)).history;
        assert_eq!(history.wrong(&engine()), None);
        (
            history.identified.iter().map(|(c, _)| *c).collect(),
            history.fit.iter().map(|(c, _)| *c).collect(),
            history.commissioned,
        )
    }

    #[test]
    fn what_was_shown_at_the_fitting_holds_until_it_is_touched() {
        let all = || vec![1, 2, 3, 4];
        let first = Some(day(1));
        assert_eq!(left(&[commissioned()]), (all(), all(), first));
        // A service on the engine leaves it alone.
        let plug = What::Remake { item: Item::Plug, cylinder: 2, new: true };
        assert_eq!(left(&[commissioned(), visit(90, &[], vec![plug])]), (all(), all(), first));
        // A lead that was off, a probe that was out, work that is told of.
        let lead = What::Remake { item: Item::LeadAtBox, cylinder: 2, new: false };
        let after = left(&[commissioned(), visit(90, &[], vec![lead])]);
        assert_eq!(after, (vec![1, 3, 4], all(), first));
        let probe = What::Remake { item: Item::Probe, cylinder: 3, new: false };
        let after = left(&[commissioned(), visit(90, &[], vec![probe])]);
        assert!(!after.1.contains(&3) && after.1.len() == 3, "{after:?}");
        let after = left(&[commissioned(), visit(90, &["wiring-worked"], vec![])]);
        assert_eq!(after, (vec![], all(), first));
        let after = left(&[commissioned(), visit(90, &["manifold-off"], vec![])]);
        assert_eq!((after.0, after.1), (vec![], vec![]));
    }

    #[test]
    fn what_a_later_visit_shows_anew_holds_again() {
        let lead = What::Remake { item: Item::LeadAtBox, cylinder: 2, new: false };
        let again = visit(90, &[], vec![lead, found("map-check", "all-right", 2)]);
        assert_eq!(left(&[commissioned(), again]).0, [1, 2, 3, 4]);
    }

    #[test]
    fn a_job_without_a_good_end_gives_nothing_but_takes_away() {
        let mut open = commissioned();
        open.entries.pop();
        assert_eq!(left(std::slice::from_ref(&open)), (vec![], vec![], None));
        let mut work = visit(90, &[], vec![]);
        let place = Place::Pair(1, 2);
        work.entries.clear();
        let cause = "lead-crossed".to_owned();
        work.push(Entry::new(day(90), "typed".to_owned(), What::Remedy { cause, place }));
        assert_eq!(left(&[commissioned(), work]).0, [3, 4]);
    }
}
