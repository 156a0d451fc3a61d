//! Moments at which the trade leaves no choice.
//!
//! They come before any price: readings that must be had (`reading.rs`), verify after a remedy, put back what
//! seemed to cure, end what is at its end. What an end needs is judged in [`crate::plan::ends`]; here it is only
//! asked.

use crate::diagnosis::{CauseRef, same_work};
use crate::plan::advice::{JobEnd, Standing, Step};
use crate::plan::ends::{ButFor, MOSTLY, ODD, Points, Spot};
use crate::plan::guard::may_run_at;
use facts::job::read::already_done;
use facts::job::timeline::{self, Touch, Work};
use facts::knowledge::RunningPoint;
use measure::engine::Regime;
use measure::percent::percent;

use super::Desk;

/// Share of the fault's probability still there below which an oddness counts as gone.
const GONE: f64 = 0.3;
/// Probability of any fault from which a vanished oddness is worth explaining.
const WAS_THERE: f64 = 0.5;

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
            .or_else(|| self.below_what_was_hot(&points))
            .or_else(|| self.read_again(&points))
            .or_else(|| self.at_an_end())
            .or_else(|| self.look_at_the_complaint())
            .or_else(|| self.look_at_outlier())
            .or_else(|| self.still_to_verify(&points))
            .or_else(|| self.read_where_it_was_read(&points))
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
        timeline.sets.iter().any(|s| s.after == slot && !s.at.is_cold())
    }

    /// The point that physics knows by a regime.
    pub(super) fn at(&self, regime: Regime) -> RunningPoint {
        self.diagnosis.model.timeline.points.of(regime)
    }

    /// Whether the engine may be run at a point now.
    pub(super) fn may(&self, at: RunningPoint) -> bool {
        may_run_at(self.diagnosis, at)
    }

    /// Whether all parts of the kind that was exchanged are where they belong.
    pub(super) fn is_home(&self, work: Work) -> bool {
        let item = self.knowledge().tests[work.test].item;
        let mut away = self.diagnosis.model.timeline.arrangement.displaced().into_iter();
        away.all(|(displaced, _, _)| Some(displaced) != item)
    }

    /// Readings that verify, at the first point that is owed and allowed; climbing towards it where
    /// it is not yet.
    pub(super) fn verify(&self, points: &Points<'_>, why: &str) -> Option<Moment> {
        let owed = self.ends.owed?;
        let timeline = self.diagnosis.model.timeline;
        let main = timeline.engine.probes;
        let mut climb = timeline
            .points
            .routine()
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
            "Nothing stands far off so far. It must be so wherever it showed, and where nobody has read yet.",
        )
    }

    /// Gone, and that what was put right was the cause is likely, not proven: what a remedy changed at one point may
    /// have been chance; at two it hardly is.
    fn read_where_it_was_read(&self, points: &Points<'_>) -> Option<Moment> {
        let calm = points.worst_newest().is_some_and(|(size, _)| size < ODD);
        let assessment = &self.diagnosis.assessment;
        let gone = calm
            && points.good_since_remedy(&assessment.oddness)
            && assessment.present <= GONE * (1.0 - assessment.healthy);
        if !gone || self.ends.verification.probability < MOSTLY {
            return None;
        }
        let read = |spot: Spot, why: &str| {
            Moment::new(Step::Readings { at: spot.at, site: spot.site }, why)
        };
        let may = |spot: &Spot| self.may(spot.at);
        if let Some(spot) = points.only_before_remedy().into_iter().find(may) {
            return Some(read(
                spot,
                "It is gone, and that this was the cause is likely, not proven. Read where it was read before the \
                 work as well: what changed there too proves it better.",
            ));
        }
        let spot = points.odd_and_good_once().into_iter().find(may)?;
        Some(read(
            spot,
            "It is gone, and that this was the cause is likely, not proven. Read once more where it showed: what is \
             gone once may be away for a while.",
        ))
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
                    Step::Test {
                        test,
                        cylinder: None,
                        partner: None,
                        at: self
                            .diagnosis
                            .model
                            .timeline
                            .points_of(&self.knowledge().tests[test])
                            .first()
                            .copied(),
                    },
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
        let named = self.diagnosis.model.timeline.concerned().contains(&cylinder);
        let why = if named {
            format!(
                "What was put right is gone. Cylinder {cylinder} is named in the complaint too, and still stands off: \
                 a look or two at it before the job is closed."
            )
        } else {
            format!(
                "What was put right is gone. Cylinder {cylinder} stands out too, which may be nature's or a second \
                 fault: a look or two before the job is closed."
            )
        };
        Some(Moment::new(look, why))
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
