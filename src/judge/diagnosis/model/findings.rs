//! Findings: outcomes of tests that have a table.
//!
//! Which of them count, which faults a test on a cylinder looks at, and how likely what was found is
//! under them. What there is to be seen is drawn once from the table and kept until a part that the
//! test speaks to changes; what is reported is that, or by a slip something else. So the same again
//! adds only what a slip leaves open. It must not judge an exchange or a re-seat: those follow from
//! the seats.

use std::borrow::Cow;

use facts::job::arrangement::Arrangement;
use facts::job::timeline::Timeline;
use facts::knowledge::{Charge, Constants, Knowledge, PlaceKind, RunningPoint, Scope, Seat, Test};
use measure::engine::{Cylinder, Place};
use measure::number::real;

use statrs::distribution::{ContinuousCDF, Normal};

use super::{Candidate, Model, Part};
use crate::diagnosis::data::Kind;
use crate::diagnosis::effect::{self, Context};
use crate::diagnosis::path::MOST;
use crate::diagnosis::result::CauseRef;
use crate::diagnosis::tables;
use facts::knowledge::AMBIENT;

/// Looks at one place by one test, in the order in which they were done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Looks {
    /// Index of the test.
    pub(crate) test: usize,
    /// The cylinder they were done on.
    pub(crate) cylinder: Option<Cylinder>,
    /// The running point, where what is seen belongs to it.
    pub(crate) at: Option<RunningPoint>,
    /// Indices into the timeline's findings.
    pub(crate) findings: Vec<usize>,
    /// Before each of them, and before one that is done now: whether what is looked at has changed since
    /// the look before.
    pub(crate) changed: Vec<bool>,
}

impl Looks {
    /// Whether a look now would see what was seen before.
    pub(crate) fn seen_before(&self) -> bool {
        !self.findings.is_empty() && self.changed.last() == Some(&false)
    }
}

/// What one look is expected to show, and how likely what was reported is.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sight {
    /// Index into the timeline's findings.
    pub(crate) finding: usize,
    /// Chance of each outcome being reported, given the looks before.
    pub(crate) row: Vec<f64>,
    /// Log chance of what was reported, the partner that was named included.
    pub(crate) log: f64,
}

/// A fault that is there to be looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct There {
    /// Index into [`Model::candidates`].
    pub(crate) candidate: usize,
    /// What there is to burn in its cylinder.
    pub(crate) charge: Charge,
    /// How it showed when the engine was read, before the look and after it.
    pub(crate) shown: Shown,
}

/// Whether a fault showed in the reading sets beside a look: nobody reads while he looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Shown {
    /// In those there are.
    Beside,
    /// It comes and goes, and rests in one of them: the set before and the one after; `None` where there is
    /// none with it there.
    Rests(Option<bool>, Option<bool>),
}

impl Shown {
    /// Chance that it shows at the look: the state lies between those read, and hangs on each as one set on
    /// the next.
    fn share(self, constants: &Constants) -> f64 {
        let Self::Rests(before, after) = self else { return 1.0 };
        let (on, again) = (constants.on_share, constants.look_again);
        let fresh = |shows: bool| if shows { on } else { 1.0 - on };
        let step =
            |from: bool, to: bool| (1.0 - again) * fresh(to) + if from == to { again } else { 0.0 };
        let weight = |shows: bool| {
            before.map_or_else(|| fresh(shows), |before| step(before, shows))
                * after.map_or(1.0, |after| step(shows, after))
        };
        weight(true) / (weight(true) + weight(false))
    }
}

/// What there is to be seen at a place, as far as it is known: drawn once, and kept until a part that
/// the test speaks to changes.
struct Watch {
    /// Faults there that the test speaks to.
    concerned: Vec<There>,
    /// Chance of each outcome being what is to be seen.
    seen: Vec<f64>,
    /// Chance of each cylinder being the one that an outcome points at, by outcome; empty for
    /// outcomes that point at none.
    partners: Vec<Vec<f64>>,
}

/// Chance that an outcome is reported when another is to be seen.
fn other(test: &Test) -> f64 {
    test.slip / real(test.outcomes.len().saturating_sub(1).max(1))
}

impl Watch {
    /// Chance of each outcome being reported.
    fn row(&self, test: &Test) -> Vec<f64> {
        let other = other(test);
        self.seen.iter().map(|&p| p * (1.0 - test.slip) + (1.0 - p) * other).collect()
    }

    /// Takes in a report and says how likely it was.
    fn report(&mut self, test: &Test, outcome: usize, partner: Option<Cylinder>) -> f64 {
        let other = other(test);
        let mut rightly = 1.0;
        let mut by_chance = 1.0;
        let named = partner.map(usize::from).filter(|m| *m <= self.partners[outcome].len());
        if let Some(named) = named {
            // A number that was misread may be any other's.
            let all = &mut self.partners[outcome];
            let others = all.iter().filter(|p| **p > 0.0).count();
            by_chance = 1.0 / real(others.max(1));
            let slip = if others > 1 { test.slip / real(others - 1) } else { 0.0 };
            for (index, p) in all.iter_mut().enumerate() {
                let right = if others > 1 { 1.0 - test.slip } else { 1.0 };
                *p *= if index + 1 == named { right } else { slip };
            }
            rightly = all.iter().sum();
            for p in all.iter_mut() {
                *p /= rightly.max(f64::MIN_POSITIVE);
            }
        }
        for (index, p) in self.seen.iter_mut().enumerate() {
            *p *= if index == outcome { (1.0 - test.slip) * rightly } else { other * by_chance };
        }
        let chance: f64 = self.seen.iter().sum();
        for p in &mut self.seen {
            *p /= chance.max(f64::MIN_POSITIVE);
        }
        chance
    }
}

impl Model<'_> {
    /// Log chance of all findings that count.
    pub(super) fn log_findings(&self, parts: &[Part]) -> f64 {
        self.looks.iter().map(|looks| self.log_looks(parts, looks)).sum()
    }

    /// Log chance of what was found in looks at one place.
    pub(crate) fn log_looks(&self, parts: &[Part], looks: &Looks) -> f64 {
        let mut watch = None;
        let mut log = 0.0;
        for look in 0..looks.findings.len() {
            log += self.next_look(&mut watch, parts, looks, look).ln();
        }
        log
    }

    /// Looks at one place with what each was expected to show.
    pub(crate) fn sights(&self, parts: &[Part], looks: &Looks) -> Vec<Sight> {
        let test = &self.knowledge.tests[looks.test];
        let mut watch = None;
        let mut list = Vec::with_capacity(looks.findings.len());
        for (look, &finding) in looks.findings.iter().enumerate() {
            self.make_ready(&mut watch, parts, looks, look);
            let row = watch.as_ref().map_or_else(Vec::new, |watch| watch.row(test));
            let log = self.next_look(&mut watch, parts, looks, look).ln();
            list.push(Sight { finding, row, log });
        }
        list
    }

    /// Chance of each outcome being reported if the test were done now: the very rule by which it
    /// will be judged. `concerned` has what each look before found there that the test speaks to, and last
    /// what one done now finds; nothing else of an explanation counts.
    pub(crate) fn outlook(&self, concerned: &[Vec<There>], looks: &Looks) -> Vec<f64> {
        let test = &self.knowledge.tests[looks.test];
        let mut watch = None;
        for (look, there) in concerned.iter().enumerate() {
            self.draw(&mut watch, there.clone(), looks, look);
            if let (Some(&finding), Some(watch)) = (looks.findings.get(look), watch.as_mut()) {
                let found = &self.timeline.findings[finding];
                watch.report(test, found.outcome, found.partner);
            }
        }
        watch.map_or_else(Vec::new, |watch| watch.row(test))
    }

    /// A part as a look that is done now finds it.
    pub(crate) fn to_look_at(&self, part: &Part) -> There {
        self.found_after(part, self.data.sets.len().checked_sub(1))
    }

    /// A part as a look finds it that is done after a reading set.
    fn found_after(&self, part: &Part, set: Option<usize>) -> There {
        let showed = |look: usize| {
            let set = self.data.sets.get(look)?;
            let there = part.there(set.slot, self.timeline.sets[set.index].entry);
            there.then(|| part.shows_in(set.slot, look))
        };
        let before = set.and_then(showed);
        let after = showed(set.map_or(0, |before| before + 1));
        let rests = [before, after].contains(&Some(false));
        let shown = if rests { Shown::Rests(before, after) } else { Shown::Beside };
        There { candidate: part.candidate, charge: self.moments_of(part).charge, shown }
    }

    /// The same where nothing was looked at before: these faults are there, and spoken to.
    pub(crate) fn first_look(&self, concerned: &[There], looks: &Looks) -> Vec<f64> {
        let seen = self.outcome_row(concerned, looks);
        let watch = Watch { concerned: Vec::new(), seen, partners: Vec::new() };
        watch.row(&self.knowledge.tests[looks.test])
    }

    /// The looks that a test done now would be one more of.
    pub(crate) fn looks_of(
        &self,
        test: usize,
        cylinder: Option<Cylinder>,
        at: Option<RunningPoint>,
    ) -> Looks {
        let none = || Looks { test, cylinder, at, findings: Vec::new(), changed: vec![false] };
        let same = |l: &&Looks| l.test == test && l.cylinder == cylinder && l.at == at;
        self.looks.iter().find(same).cloned().unwrap_or_else(none)
    }

    /// One look more: how likely its report is.
    fn next_look(
        &self,
        watch: &mut Option<Watch>,
        parts: &[Part],
        looks: &Looks,
        look: usize,
    ) -> f64 {
        let found = &self.timeline.findings[looks.findings[look]];
        self.make_ready(watch, parts, looks, look);
        let test = &self.knowledge.tests[looks.test];
        watch.as_mut().map_or(1.0, |watch| watch.report(test, found.outcome, found.partner))
    }

    /// Faults that a look finds there and that its test speaks to, in order. The look after the last is one
    /// done now.
    pub(crate) fn concerned(
        &self,
        parts: &[Part],
        looks: &Looks,
        look: usize,
        mut speaks_to: impl FnMut(There, &Arrangement) -> bool,
    ) -> Vec<There> {
        let timeline = self.timeline;
        let test = &self.knowledge.tests[looks.test];
        let finding = looks.findings.get(look);
        let found = finding.map(|&index| &timeline.findings[index]);
        let now = || (&timeline.arrangement, timeline.disturbances.len(), usize::MAX);
        let (arrangement, after, entry) =
            found.map_or_else(now, |found| (&found.arrangement, found.after, found.entry));
        let slot = after.min(MOST);
        // What was there before anything was done is what a test of the past asks for.
        let present = parts.iter().filter(|part| {
            if test.past { part.presence & 1 == 1 } else { part.there(slot, entry) }
        });
        let set = finding.map_or(self.data.sets.len().checked_sub(1), |&f| self.read_before[f]);
        let mut concerned: Vec<There> = present
            .map(|part| self.found_after(part, set))
            .filter(|there| speaks_to(*there, arrangement))
            .collect();
        concerned.sort_unstable();
        concerned.dedup();
        concerned
    }

    fn make_ready(&self, watch: &mut Option<Watch>, parts: &[Part], looks: &Looks, look: usize) {
        let concerned =
            self.concerned(parts, looks, look, |there, now| self.speaks_to(there, looks, now));
        self.draw(watch, concerned, looks, look);
    }

    /// Draws anew what there is to be seen, if other faults are there than at the look before or what
    /// is looked at has changed.
    fn draw(&self, watch: &mut Option<Watch>, concerned: Vec<There>, looks: &Looks, look: usize) {
        if watch.as_ref().is_some_and(|w| w.concerned == concerned && !looks.changed[look]) {
            return;
        }
        let timeline = self.timeline;
        let finding = looks.findings.get(look);
        let arrangement =
            finding.map_or(&timeline.arrangement, |&index| &timeline.findings[index].arrangement);
        let seen = self.outcome_row(&concerned, looks);
        let test = &self.knowledge.tests[looks.test];
        let partners = self.partners(test, looks, &concerned, arrangement);
        *watch = Some(Watch { concerned, seen, partners });
    }

    /// Whether a test done there says anything about a fault.
    pub(crate) fn speaks_to(&self, there: There, looks: &Looks, arrangement: &Arrangement) -> bool {
        let test = &self.knowledge.tests[looks.test];
        let known = &self.candidates[there.candidate];
        let listed = match known.fault.cause {
            CauseRef::Listed(cause) => test.given.contains_key(&cause),
            CauseRef::Unlisted => true,
        };
        let listed = listed || test.by_charge.contains_key(&there.charge);
        listed && self.concerns(known, test, looks.cylinder, arrangement)
    }

    /// Chances of what a test has to show when these faults are there.
    fn outcome_row(&self, concerned: &[There], looks: &Looks) -> Vec<f64> {
        let test = &self.knowledge.tests[looks.test];
        let constants = &self.knowledge.constants;
        let moment = test.sees_the_moment();
        let row = |&there: &There| {
            let own = self.own_row(there, looks.test)?;
            let at_point = looks.at.map_or(1.0, |at| self.shows_at(there.candidate, at));
            // What rests hardly shows in a look at how the engine runs just now.
            let share = at_point * if moment { there.shown.share(constants) } else { 1.0 };
            if share >= 1.0 {
                return Some(Cow::Borrowed(own));
            }
            let both = own.iter().zip(&test.default);
            Some(both.map(|(own, default)| share * own + (1.0 - share) * default).collect())
        };
        let rows: Vec<Cow<'_, [f64]>> = concerned.iter().filter_map(row).collect();
        let rows: Vec<&[f64]> = rows.iter().map(AsRef::as_ref).collect();
        tables::together(&test.default, &rows)
    }

    /// Share of a candidate's row that belongs to a running point: how often it shows there, against
    /// the point where it shows most.
    fn shows_at(&self, candidate: usize, at: RunningPoint) -> f64 {
        let CauseRef::Listed(cause) = self.candidates[candidate].fault.cause else { return 1.0 };
        let share = at.regime.of_three(self.showing[cause]).filter(|_| at.settled);
        share.unwrap_or(1.0)
    }

    /// The row of a fault in a test's table.
    fn own_row(&self, there: There, test: usize) -> Option<&[f64]> {
        self.expected.row(test, self.candidates[there.candidate].fault.cause, there.charge)
    }

    /// Which cylinder an outcome points at, by outcome: of two that were mixed up the other one, of
    /// anything else any.
    fn partners(
        &self,
        test: &Test,
        looks: &Looks,
        concerned: &[There],
        arrangement: &Arrangement,
    ) -> Vec<Vec<f64>> {
        let mut list = vec![Vec::new(); test.outcomes.len()];
        let Some(cylinder) = looks.cylinder else { return list };
        let cylinders = usize::from(self.timeline.engine.cylinders);
        let even = 1.0 / real(cylinders.saturating_sub(1).max(1));
        for (outcome, chances) in list.iter_mut().enumerate() {
            if !test.outcomes[outcome].partner {
                continue;
            }
            let leak = test.default[outcome];
            *chances = vec![leak * even; cylinders];
            chances[usize::from(cylinder) - 1] = 0.0;
            for &c in concerned {
                let Some(row) = self.own_row(c, looks.test) else { continue };
                let more = (row[outcome] - leak).max(0.0);
                match self.mate(c.candidate, cylinder, arrangement) {
                    Some(mate) => chances[usize::from(mate) - 1] += more,
                    None => {
                        for (index, chance) in chances.iter_mut().enumerate() {
                            *chance +=
                                if index + 1 == usize::from(cylinder) { 0.0 } else { more * even };
                        }
                    }
                }
            }
            let sum: f64 = chances.iter().sum();
            for chance in chances {
                *chance /= sum.max(f64::MIN_POSITIVE);
            }
        }
        list
    }

    /// The other cylinder of two that were mixed up.
    fn mate(&self, candidate: usize, cylinder: Cylinder, now: &Arrangement) -> Option<Cylinder> {
        let known = &self.candidates[candidate];
        let CauseRef::Listed(cause) = known.fault.cause else { return None };
        let &[a, b] = known.numbers.as_slice() else { return None };
        if self.knowledge.causes[cause].place != PlaceKind::Pair {
            return None;
        }
        let travels = self.timeline.engine.depth_travels();
        let places = [a, b].map(|number| now.cylinder_of(known.seat, number, travels));
        // Seen from a display at the box, or from a cylinder.
        let shown = [a, b].map(|number| now.display_showing(known.seat, number, travels));
        let other = |of: [Cylinder; 2]| match of {
            [first, second] if first == cylinder => Some(second),
            [first, second] if second == cylinder => Some(first),
            _ => None,
        };
        other(places).or_else(|| other(shown)).filter(|mate| *mate != cylinder)
    }

    /// Whether a test on a cylinder looks at what a candidate is attached to.
    pub(crate) fn concerns(
        &self,
        candidate: &Candidate,
        test: &Test,
        cylinder: Option<Cylinder>,
        arrangement: &Arrangement,
    ) -> bool {
        let (Scope::Cylinder, Some(cylinder)) = (test.scope, cylinder) else {
            return true;
        };
        if let Place::Bank(_) = candidate.fault.place {
            return candidate.fault.place.cylinders(&self.timeline.engine).contains(&cylinder);
        }
        let travels = self.timeline.engine.depth_travels();
        // What is at the box is looked at from its display; all else where it is.
        let at_the_box = matches!(candidate.seat, Seat::Lead | Seat::Channel | Seat::Settings);
        candidate.numbers.iter().any(|&number| {
            arrangement.cylinder_of(candidate.seat, number, travels) == cylinder
                || at_the_box
                    && arrangement.display_showing(candidate.seat, number, travels) == cylinder
        })
    }
}

/// Natural spreads from which a cylinder is taken to be odd enough to be seen or felt so (practice).
const SEEN: f64 = 1.5;

/// By cause and steady point: how often it shows there, against the point where it shows most. What
/// sits in the measuring chain shows the same at all.
pub(super) fn showing(knowledge: &Knowledge, timeline: &Timeline) -> Vec<[f64; 3]> {
    let engine = &timeline.engine;
    let site = engine.probes;
    let kinds = knowledge.points.steady().map(|at| Kind { site, at });
    let levels = knowledge.constants.reference_rise.map(|rise| AMBIENT + rise);
    let installed = effect::installed(timeline, &kinds, &levels);
    let context =
        Context { knowledge, engine, kinds: &kinds, levels: &levels, installed: &installed };
    let standard = Normal::standard();
    let of = |cause: usize| {
        if knowledge.is_measuring(cause) || knowledge.causes[cause].effects.is_empty() {
            return [1.0; 3];
        }
        let mut shows = [0.0; 3];
        for side in effect::moments(context, cause, None) {
            for (point, (shows, kind)) in shows.iter_mut().zip(&kinds).enumerate() {
                let far = SEEN * knowledge.natural_sd(engine, site, kind.at);
                let variance: f64 = side.factor.row(point).iter().map(|f| f * f).sum();
                let sd = variance.sqrt().max(1e-6);
                let below = standard.cdf((-far - side.mean[point]) / sd);
                let above = standard.cdf((side.mean[point] - far) / sd);
                *shows += side.share * (below + above);
            }
        }
        let most = shows.iter().copied().fold(0.0, f64::max);
        if most < 1e-3 { [1.0; 3] } else { shows.map(|p| p / most) }
    };
    (0..knowledge.causes.len()).map(of).collect()
}
