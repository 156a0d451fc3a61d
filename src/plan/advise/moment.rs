//! Moments at which the trade leaves no choice.
//!
//! They come before any price: verify after a remedy, read after an exchange, read a far number once
//! more, put back what seemed to cure, read the points that were not read, end what is at its end.
//! What an end needs is judged in [`crate::plan::ends`]; here it is only asked.

use crate::diagnosis::{CauseRef, same_work};
use crate::engine::RunningPoint;
use crate::job::read::already_done;
use crate::job::timeline::{self, ReadingSet, Touch, Work};
use crate::knowledge::Thermal;
use crate::percent::percent;
use crate::plan::advice::{JobEnd, Standing, Step};
use crate::plan::ends::{ButFor, ODD, Points, SURE, Spot};
use crate::plan::guard::{may_run_at, no_fault};

use super::{Desk, heat_is_news};

/// Share of the fault's probability still there below which an oddness counts as gone.
const GONE: f64 = 0.3;
/// Probability of any fault from which a vanished oddness is worth explaining.
const WAS_THERE: f64 = 0.5;
/// Probability that a far number is one misread, or nothing, from which it is read once more before
/// anything is made of it: a set costs a few minutes, the cheapest work on a wrong lead as many.
const DOUBTED: f64 = 0.1;
/// Probability that a fault is there and rests from which it is waited for (common practice, no source).
const RESTS: f64 = 0.3;

/// A step that must come now.
pub(super) struct Moment {
    pub(super) step: Step,
    pub(super) standing: Standing,
    pub(super) why: String,
    /// Its work was done by what came before; only to be entered.
    pub(super) done: bool,
}

impl Moment {
    /// Without a reason of its own.
    pub(super) fn plain(step: Step) -> Self {
        Self::new(step, "Parts are home, and it is likely enough.")
    }

    /// A remedy that comes before the job is left.
    pub(super) fn likely(step: Step) -> Self {
        Self::new(
            step,
            "Enough was looked at, and this is what it most likely is: put it right before the job is left.",
        )
    }

    /// A remedy that no test is left to speak for, and that costs less than leaving what it may cure.
    pub(super) fn worth_trying(step: Step) -> Self {
        Self::new(
            step,
            "Looking has cost enough. Putting this right costs less than leaving it, should it be the cause: try \
             it before the job is left.",
        )
    }

    /// A cheap look before the job is left.
    pub(super) fn look(step: Step) -> Self {
        Self::new(
            step,
            "Dear work is not worth its price here; before the job is left as not found, what takes minutes is \
             looked at.",
        )
    }

    pub(super) fn new(step: Step, why: impl Into<String>) -> Self {
        Self { step, standing: Standing::of(step), why: why.into(), done: false }
    }
}

impl Desk<'_, '_> {
    /// The first that holds, in the order in which they overrule each other.
    pub(super) fn no_choice(&self) -> Option<Moment> {
        let points = Points::new(self.diagnosis.model.timeline, &self.diagnosis.assessment.oddness);
        self.closed()
            .or_else(|| self.unread_work(&points))
            .or_else(|| self.nothing_read())
            .or_else(|| self.not_settled())
            .or_else(|| self.below_what_was_hot())
            .or_else(|| self.read_again(&points))
            .or_else(|| self.at_an_end())
            .or_else(|| self.look_at_the_complaint())
            .or_else(|| self.look_at_outlier())
            .or_else(|| self.still_to_verify(&points))
            .or_else(|| self.gone_after_exchange())
            .or_else(|| self.not_read_yet(&points))
    }

    fn closed(&self) -> Option<Moment> {
        let closed = self.diagnosis.model.timeline.standing != timeline::Standing::Open;
        closed.then(|| Moment::new(Step::End(JobEnd::Closed), "The job is closed."))
    }

    /// Whether the engine was read running since the last disturbance.
    fn running_after(&self) -> bool {
        let timeline = self.diagnosis.model.timeline;
        let slot = timeline.disturbances.len();
        timeline.sets.iter().any(|s| s.after == slot && s.at != RunningPoint::ColdSoak)
    }

    /// Whether the engine may be run at a point now.
    pub(super) fn may(&self, at: RunningPoint) -> bool {
        may_run_at(self.diagnosis, at)
    }

    /// What was put right, exchanged or remade says nothing until it is read, where the oddness shows.
    fn unread_work(&self, points: &Points<'_>) -> Option<Moment> {
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
        let home = last.work.is_some_and(|work| work.b.is_some() && self.is_home(work));
        if home && !self.went_away_before(points, work) {
            return None;
        }
        let spot = points.to_read_work(self.may(RunningPoint::Full))?;
        Some(Moment::new(
            Step::Readings { at: spot.at, site: spot.site },
            "Something was exchanged or remade and nothing was read since: the readings now, at a point \
             where it showed, are what it was done for.",
        ))
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
        let spot = points.to_read_work(self.may(RunningPoint::Full))?;
        Some(Moment::new(
            Step::Readings { at: spot.at, site: spot.site },
            "Something was found, and refitted as it should be on the way: the readings now show whether that was it.",
        ))
    }

    /// Whether all parts of the kind that was exchanged are where they belong.
    fn is_home(&self, work: Work) -> bool {
        let item = self.knowledge().tests[work.test].item;
        let mut away = self.diagnosis.model.timeline.arrangement.displaced().into_iter();
        away.all(|(displaced, _, _)| Some(displaced) != item)
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

    /// Readings that verify, at the first point that is owed and allowed; climbing towards it where
    /// it is not yet.
    fn verify(&self, points: &Points<'_>, why: &str) -> Option<Moment> {
        let owed = self.ends.owed?;
        let main = self.diagnosis.model.timeline.engine.probes;
        let mut climb = [RunningPoint::Idle, RunningPoint::Cruise]
            .into_iter()
            .map(|at| Spot { at, site: main })
            .filter(|spot| spot.at < owed.at && !points.read_since_work(*spot));
        let at = if self.may(owed.at) { owed.at } else { climb.next()?.at };
        Some(Moment::new(Step::Verify { at }, why))
    }

    /// Good so far, and not yet read at every point where it was odd.
    fn still_to_verify(&self, points: &Points<'_>) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        let remedied = timeline.disturbances.iter().any(|d| d.remedied.is_some());
        let good = points.good_since_remedy(&self.diagnosis.assessment.oddness);
        if !remedied || !good {
            return None;
        }
        self.verify(
            points,
            "It is as it should be so far. It must be so wherever it showed, and where nobody has read yet.",
        )
    }

    fn nothing_read(&self) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        if !timeline.sets.is_empty() || !timeline.findings.is_empty() {
            return None;
        }
        let complaint = timeline.complaint.at;
        let (at, why) = match complaint {
            Some(at @ (RunningPoint::Warming | RunningPoint::Idle | RunningPoint::Cruise))
                if timeline.thermal != Thermal::ColdSoaked || at == RunningPoint::Warming =>
            {
                (at, "That is where it is complained of: read all displays there.")
            }
            _ if timeline.thermal == Thermal::ColdSoaked => (
                RunningPoint::ColdSoak,
                "The engine is cold-soaked, which a start would spoil for a day: three minutes with \
                 the key on show whether the displays agree when everything is at one temperature.",
            ),
            _ => {
                let why = "Nothing can be judged without all displays at one steady point.";
                (RunningPoint::Idle, why)
            }
        };
        Some(Moment::new(Step::Readings { at, site: timeline.engine.probes }, why))
    }

    /// Cold or warming readings without anything else against any cylinder.
    fn not_settled(&self) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        let sets = &timeline.sets;
        let undecided = !sets.is_empty()
            && timeline.numbers_only()
            && timeline.findings.is_empty()
            && !sets.iter().any(ReadingSet::is_settled);
        let step = Step::Readings { at: RunningPoint::Idle, site: timeline.engine.probes };
        if undecided && sets.iter().any(|s| s.at == RunningPoint::Warming) {
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

    /// What must stop the engine was read just now: before anything is made of it, a point below that nobody has
    /// read, as the warning says.
    fn below_what_was_hot(&self) -> Option<Moment> {
        if !heat_is_news(self.diagnosis) {
            return None;
        }
        let timeline = self.diagnosis.model.timeline;
        let hot = timeline.sets.last()?;
        let read =
            |at: RunningPoint| timeline.sets.iter().any(|s| (s.at, s.site) == (at, hot.site));
        let below = [RunningPoint::Idle, RunningPoint::Cruise].into_iter();
        let at = below.filter(|at| *at < hot.at).find(|at| !read(*at) && self.may(*at))?;
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
    fn read_again(&self, points: &Points<'_>) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        let newly = points.newly_far(&self.diagnosis.assessment.oddness);
        let (size, spot) = newly.or_else(|| {
            let far = points.worst_newest()?;
            let doubted = no_fault(self.diagnosis) >= DOUBTED;
            (doubted && points.times(far.1) == 1 && timeline.findings.is_empty()).then_some(far)
        })?;
        if size < ODD || !size.is_finite() || spot.at == RunningPoint::ColdSoak {
            return None;
        }
        let below = |at: RunningPoint| at < spot.at && points.times(Spot { at, ..spot }) == 0;
        let at = if self.may(spot.at) {
            spot.at
        } else {
            [RunningPoint::Idle, RunningPoint::Cruise].into_iter().find(|at| below(*at))?
        };
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

    /// Proven or normal.
    pub(super) fn at_an_end(&self) -> Option<Moment> {
        if self.ends.is_proven() {
            return Some(Moment::new(
                Step::End(JobEnd::Proven),
                "It is gone wherever it showed, and the cause is proven: close the job.",
            ));
        }
        self.ends.is_normal().then(|| {
            if self.diagnosis.model.timeline.is_recorded() {
                return Moment::new(
                    Step::End(JobEnd::Normal),
                    "It is written down as normal and nothing was touched since: close the job.",
                );
            }
            Moment::new(
                Step::End(JobEnd::Normal),
                format!(
                    "Every display is within normal at every point that was read, and that \
                     no fault shows is {} likely: write the readings down as this engine's own.",
                    percent(self.ends.sound)
                ),
            )
        })
    }

    /// It would be normal, and what is complained of was read once and did not show, or nobody has looked at it.
    fn look_at_the_complaint(&self) -> Option<Moment> {
        match self.ends.but_for? {
            ButFor::Again(spot) if self.may(spot.at) => {
                return Some(Moment::new(
                    Step::Readings { at: spot.at, site: spot.site },
                    "What is complained of did not show. Hold the point as long as the customer says it takes, \
                     and read it once more.",
                ));
            }
            ButFor::Common(test) if !self.diagnosis.model.timeline.barred.contains(&test) => {
                return Some(Moment::new(
                    Step::Test { test, cylinder: None, partner: None },
                    "All displays are complained of together. Their differences cannot show that, so look at \
                     what all of them hang on.",
                ));
            }
            ButFor::Looks => {}
            ButFor::Again(_) | ButFor::Common(_) | ButFor::Hidden => return None,
        }
        let look = self.look_before_leaving(true)?;
        let why = "The readings are as they should be. Before what is complained of is called normal, what takes \
                   minutes is looked at.";
        Some(Moment::new(look, why))
    }

    /// What was put right is gone, and another display stands out that nobody looked at.
    fn look_at_outlier(&self) -> Option<Moment> {
        let cylinder = self.ends.outlier.filter(|_| self.ends.but_for_outlier)?;
        if self.looked_long() {
            return None;
        }
        let look = self.look_at(cylinder)?;
        Some(Moment::new(
            look,
            format!(
                "What was complained of is dealt with. Cylinder {cylinder} stands out too, less than would make it \
                 a fault by itself: a look or two before the job is closed."
            ),
        ))
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
    fn not_read_yet(&self, points: &Points<'_>) -> Option<Moment> {
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

    /// Gone after an exchange or a re-seat: nobody is convicted until it is put back, or the
    /// re-seat is as good as certain.
    fn gone_after_exchange(&self) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        let assessment = &self.diagnosis.assessment;
        let knowledge = self.knowledge();
        let last = timeline.disturbances.last()?;
        // A remedy says itself what it was for; it is verified, not entered again.
        if last.remedied.is_some() {
            return None;
        }
        let said_gone = last.verdict.as_ref().is_some_and(|v| !v.superseded);
        let fault = 1.0 - assessment.healthy;
        if !(self.running_after() || said_gone)
            || fault < WAS_THERE
            || assessment.present > GONE * fault
        {
            return None;
        }
        let suspect = assessment.suspects.first()?;
        let CauseRef::Listed(index) = suspect.fault.cause else { return None };
        let seat = knowledge.causes[index].seat;
        // A known good part in its place is a cure as much as a joint remade.
        let mended = |replaced: bool| {
            last.touched.iter().any(|&(s, n, touch)| {
                s == seat
                    && matches!(touch, Touch::Replaced) == replaced
                    && suspect.fault.place.cylinder() == Some(n)
            })
        };
        let share = same_work(knowledge, assessment, suspect.fault);
        let exchanged = last.work.and_then(|work| Some((work, work.b?)));
        if mended(true)
            || mended(false) && (share >= knowledge.constants.proof || exchanged.is_none())
        {
            let done =
                mended(true) || already_done(knowledge, timeline, index, suspect.fault.place);
            let what = if mended(true) {
                "It went away with a known good part in its place"
            } else {
                "It went away when this was undone and remade"
            };
            let then = if done {
                "Enter it as set right, then read again to prove it."
            } else {
                "Finish it as below, then read again to prove it."
            };
            let why = format!("{what} ({}). {then}", percent(share));
            return Some(Moment { done, ..Moment::new(Step::Remedy(suspect.fault), why) });
        }
        let (work, b) = exchanged?;
        let same = |w: &Work| {
            w.test == work.test
                && [Some(w.a), w.b].contains(&Some(work.a))
                && [Some(w.a), w.b].contains(&Some(b))
        };
        let times = timeline.disturbances.iter().filter_map(|d| d.work).filter(same).count();
        let item = knowledge.tests[work.test].item?;
        if times % 2 == 0 || self.is_home(work) {
            // It is back already, and nothing more is learnt by going to and fro.
            return None;
        }
        Some(Moment::new(
            Step::PutBack { item, a: work.a, b },
            "It went away after an exchange, which moved one thing and undid others: put it back and read again. \
             If it comes back, the moved part or its place is to blame; if not, what was re-seated.",
        ))
    }

    /// What a step becomes once parts that stand exchanged are thought of: they go home before
    /// anything is put right, and before a job ends.
    pub(super) fn home_first(&self, moment: Moment) -> Moment {
        let timeline = self.diagnosis.model.timeline;
        let ends = match moment.step {
            Step::Remedy(_) => !moment.done,
            Step::End(end) => end != JobEnd::Closed,
            _ => false,
        };
        let back = timeline.put_back(self.knowledge()).first().copied();
        match back {
            Some(back) if ends => Moment::new(
                Step::PutBack { item: back.item, a: back.positions.0, b: back.positions.1 },
                "What the exchange showed is known: parts go home, so that the engine is in one known state.",
            ),
            _ => moment,
        }
    }
}
