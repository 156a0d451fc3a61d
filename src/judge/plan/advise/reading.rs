//! Readings that leave no choice.
//!
//! After work, after heat, after a far number; where nobody has read yet, and where something came and rests. It must
//! not choose a test or a remedy.

use crate::diagnosis::same_work;
use crate::plan::advice::{JobEnd, Standing, Step};
use crate::plan::ends::{ODD, Points, SURE, Spot};
use crate::plan::guard::no_fault;
use facts::job::arrangement::Arrangement;
use facts::job::timeline::{ReadingSet, Work};
use facts::knowledge::RunningPoint;
use facts::knowledge::Thermal;
use measure::engine::Regime;

use super::moment::Moment;
use super::{Desk, heat_is_news};

/// Probability that a far number is one misread, or nothing, from which it is read once more before
/// anything is made of it: a set costs a few minutes, the cheapest work on a wrong lead as many.
const DOUBTED: f64 = 0.1;
/// Probability that a fault is there and rests from which it is waited for (common practice, no source).
const RESTS: f64 = 0.3;

impl Desk<'_, '_> {
    /// What was put right, exchanged or remade says nothing until it is read, where the oddness shows.
    pub(super) fn unread_work(&self, points: &Points<'_>) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        if let Some(moment) = self.found_and_refitted(points) {
            return Some(moment);
        }
        let work = points.last_work()?;
        let last = &timeline.disturbances[work];
        if last.verdict.is_some() || timeline.sets.iter().any(|s| s.after > work) {
            return None;
        }
        if last.remedied.is_some() {
            return self.verify(
                points,
                "A remedy proves nothing until the readings after it are as they should be.",
            );
        }
        // Brought home for nothing but to have it home: what it showed was read before.
        let home = last.work.is_some_and(|work| self.went_home(work));
        if home && !self.went_away_before(points, work) {
            return None;
        }
        let spot = points.to_read_work(|at| self.may(at))?;
        Some(Moment::new(
            Step::Readings { at: spot.at, site: spot.site },
            "Nothing was read since the last work. Read now, where the fault showed: that is what the work was for.",
        ))
    }

    /// Whether the last work, an exchange, left less of its kind away from home than there was before: others may
    /// still be on their way.
    fn went_home(&self, work: Work) -> bool {
        let timeline = self.diagnosis.model.timeline;
        let (Some(b), Some(item)) = (work.b, self.knowledge().tests[work.test].item) else {
            return false;
        };
        let away = |arrangement: &Arrangement| {
            arrangement.displaced().iter().filter(|(kind, _, _)| *kind == item).count()
        };
        let mut before = timeline.arrangement.clone();
        before.exchange(&timeline.engine, item, work.a, b);
        away(&timeline.arrangement) < away(&before)
    }

    /// What a look found that undid it on the way was refitted as it should be: read before anything else.
    fn found_and_refitted(&self, points: &Points<'_>) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        let last = timeline.disturbances.last()?;
        let all = timeline.disturbances.len();
        let found = timeline.findings.iter().rev().find(|finding| finding.entry == last.entry)?;
        let test = &self.knowledge().tests[found.test];
        let wholly = test.reseats.iter().any(|(_, share)| *share >= 1.0);
        let read = timeline.sets.is_empty() || timeline.sets.iter().any(|set| set.after == all);
        let assessment = &self.diagnosis.assessment;
        // What is as good as certain is put right, and then read.
        let certain = assessment
            .suspects
            .first()
            .is_some_and(|suspect| same_work(self.knowledge(), assessment, suspect.fault) >= SURE);
        if !wholly || read || certain || found.outcome == test.usual() {
            return None;
        }
        let spot = points.to_read_work(|at| self.may(at))?;
        Some(Moment::new(
            Step::Readings { at: spot.at, site: spot.site },
            "Something was found, and refitted as it should be on the way: the readings now show whether that was it.",
        ))
    }

    /// Whether the newest sets before some work showed nothing odd where something was odd before.
    fn went_away_before(&self, points: &Points<'_>, work: usize) -> bool {
        let timeline = self.diagnosis.model.timeline;
        let newest = points.newest();
        let last = newest.iter().filter(|&&i| timeline.sets[i].after <= work).max();
        last.is_some_and(|&i| {
            let set = &timeline.sets[i];
            points.size(i) < ODD && points.odd().contains(&Spot { at: set.at, site: set.site })
        })
    }

    pub(super) fn nothing_read(&self) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        if !timeline.sets.is_empty() || !timeline.findings.is_empty() {
            return None;
        }
        let complaint = timeline.complaint.at;
        let (at, why) = match complaint {
            Some(at)
                if !at.is_cold()
                    && !at.is_full_load()
                    && (timeline.thermal != Thermal::ColdSoaked || at.is_warming()) =>
            {
                (at, "That is where it is complained of: read all displays there.")
            }
            _ if timeline.thermal == Thermal::ColdSoaked => (
                self.at(Regime::ColdSoak),
                "The engine is cold-soaked, which a start would spoil for a day: three minutes with \
                 the key on show whether the displays agree when everything is at one temperature.",
            ),
            _ => {
                let why = "Nothing can be judged without all displays at one steady point.";
                (self.at(Regime::Idle), why)
            }
        };
        Some(Moment::new(Step::Readings { at, site: timeline.engine.probes }, why))
    }

    /// Cold or warming readings without anything else against any cylinder.
    pub(super) fn not_settled(&self) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        let sets = &timeline.sets;
        let undecided = !sets.is_empty()
            && timeline.numbers_only()
            && timeline.findings.is_empty()
            && !sets.iter().any(ReadingSet::is_settled);
        let step = Step::Readings { at: self.at(Regime::Idle), site: timeline.engine.probes };
        if undecided && sets.iter().any(|s| s.at.is_warming()) {
            return Some(Moment::new(
                step,
                "While an engine warms up its displays differ and prove nothing: hold a warm idle until no \
                 display moves more than 3 °C in 30 s, then read again.",
            ));
        }
        let points = Points::new(timeline, &self.diagnosis.assessment.oddness);
        let odd = points.worst_newest().is_some_and(|(size, _)| size >= ODD);
        (undecided && !odd && timeline.disturbances.is_empty()).then(|| {
            Moment::new(
                step,
                "Cold, the displays agree as healthy ones do, so no cylinder stands out yet: let it warm up, \
                 hold a warm idle until no display moves more than 3 °C in 30 s, and read.",
            )
        })
    }

    /// A point at less load than a spot that nobody has read there.
    fn unread_below(&self, points: &Points<'_>, spot: Spot) -> Option<RunningPoint> {
        let unread = |at: &RunningPoint| points.times(Spot { at: *at, ..spot }) == 0;
        let below = self.diagnosis.model.timeline.points.routine();
        below.filter(|at| *at < spot.at && self.may(*at)).find(unread)
    }

    /// What must stop the engine was read just now: before anything is made of it, a point below that nobody has
    /// read, as the warning says.
    pub(super) fn below_what_was_hot(&self, points: &Points<'_>) -> Option<Moment> {
        if !heat_is_news(self.diagnosis) {
            return None;
        }
        let timeline = self.diagnosis.model.timeline;
        let hot = timeline.sets.last()?;
        let at = self.unread_below(points, Spot { at: hot.at, site: hot.site })?;
        let mut moment = Moment::new(
            Step::Readings { at, site: hot.site },
            "What was read must stop the engine. Before anything is made of it, read at less load: a slip of the eye \
             looks just like this.",
        );
        moment.standing = Standing::ReadAgain;
        Some(moment)
    }

    /// A far number that was read once and that nothing explains is read once more, at the same
    /// point, or below it where that point is not for running at now.
    pub(super) fn read_again(&self, points: &Points<'_>) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        let newly = points.newly_far(&self.diagnosis.assessment.oddness);
        let (size, spot) = newly.or_else(|| {
            let far = points.worst_newest()?;
            let doubted = no_fault(self.diagnosis) >= DOUBTED;
            (doubted && points.times(far.1) == 1 && timeline.findings.is_empty()).then_some(far)
        })?;
        if size < ODD || !size.is_finite() || spot.at.is_cold() {
            return None;
        }
        let at = if self.may(spot.at) { spot.at } else { self.unread_below(points, spot)? };
        let mut moment = Moment::new(
            Step::Readings { at, site: spot.site },
            format!(
                "A display is off by {size:.1} × the usual scatter, read once. Read it again before anything is \
                 made of it: a slip of the eye or an unsteady engine looks just like this."
            ),
        );
        moment.standing = Standing::ReadAgain;
        Some(moment)
    }

    /// Whether what comes and goes hides from a step as long as it rests.
    pub(super) fn hides_at_rest(&self, step: Step) -> bool {
        match step {
            Step::Test { test, .. } => self.knowledge().tests[test].sees_the_moment(),
            Step::End(end) => matches!(end, JobEnd::NotFound | JobEnd::Unproven),
            _ => false,
        }
    }

    /// What came and went, and likely rests, is read again where it showed: looks say more while it shows.
    pub(super) fn read_at_rest(&self) -> Option<Moment> {
        let assessment = &self.diagnosis.assessment;
        let resting = assessment.hypotheses.iter().map(|hypothesis| {
            hypothesis.probability * hypothesis.resting.iter().copied().fold(0.0, f64::max)
        });
        if resting.sum::<f64>() < RESTS {
            return None;
        }
        let points = Points::new(self.diagnosis.model.timeline, &assessment.oddness);
        let spot = points.rests().filter(|spot| self.may(spot.at))?;
        Some(Moment::new(
            Step::Readings { at: spot.at, site: spot.site },
            "It came and went, and rests just now: looks at an engine that runs well say little. Read again where it \
             showed, as long as the customer says it takes; once it shows, look at once.",
        ))
    }

    /// As long as nothing stands out the points that were not read come before any test.
    pub(super) fn not_read_yet(&self, points: &Points<'_>) -> Option<Moment> {
        let (size, _) = points.worst_newest()?;
        let clean = size < ODD && self.diagnosis.model.timeline.numbers_only();
        let spot = points.never_read().into_iter().find(|spot| self.may(spot.at))?;
        let complaint = self.diagnosis.model.timeline.complaint.at == Some(spot.at);
        clean.then(|| {
            let why = if complaint {
                "Nothing stands out so far, and it is complained of there: read it there."
            } else {
                "Nothing stands out so far: what is level here may differ there, and reading costs minutes."
            };
            Moment::new(Step::Readings { at: spot.at, site: spot.site }, why)
        })
    }
}
