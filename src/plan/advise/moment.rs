//! Moments at which the trade leaves no choice.
//!
//! They come before any price: verify after a remedy, read after an exchange, put back what
//! seemed to cure, read at a steady point, record what is natural. Each gives its reason.

use crate::diagnosis::{CauseRef, same_work, verify};
use crate::engine::RunningPoint;
use crate::job::read::already_done;
use crate::job::timeline::{ReadingSet, Standing, Touch, Work};
use crate::knowledge::Thermal;
use crate::percent::percent;

use super::Desk;
use crate::plan::advice::Step;
use crate::plan::guard::no_fault;

/// Standard deviations of natural spread below which a difference is none (common practice, no
/// source: three from one look, two where something else is likelier than nothing).
const NATURAL: f64 = 3.0;
const SURELY_NATURAL: f64 = 2.0;
/// Share of the fault's probability still there below which an oddness counts as gone.
const GONE: f64 = 0.3;
/// Probability of any fault from which a vanished oddness is worth explaining.
const WAS_THERE: f64 = 0.5;

/// A step that must come now.
pub(super) struct Moment {
    pub(super) step: Step,
    pub(super) why: String,
    /// Its work was done by what came before; only to be entered.
    pub(super) done: bool,
}

impl Moment {
    fn new(step: Step, why: impl Into<String>) -> Self {
        Self { step, why: why.into(), done: false }
    }
}

impl Desk<'_, '_> {
    /// The first that holds, in the order in which they overrule each other.
    pub(super) fn no_choice(&self) -> Option<Moment> {
        self.closed()
            .or_else(|| self.after_a_remedy())
            .or_else(|| self.unread_exchange())
            .or_else(|| self.proven())
            .or_else(|| self.nothing_read())
            .or_else(|| self.not_settled())
            .or_else(|| self.gone_after_exchange())
            .or_else(|| self.natural())
    }

    fn closed(&self) -> Option<Moment> {
        let closed = self.diagnosis.model.timeline.standing != Standing::Open;
        closed.then(|| Moment::new(Step::Stop, "The job is closed."))
    }

    /// Whether the engine was read running since the last disturbance.
    fn running_after(&self) -> bool {
        let timeline = self.diagnosis.model.timeline;
        let slot = timeline.disturbances.len();
        timeline.sets.iter().any(|s| s.after == slot && s.at != RunningPoint::ColdSoak)
    }

    fn after_a_remedy(&self) -> Option<Moment> {
        let last = self.diagnosis.model.timeline.disturbances.last()?;
        let unproven = last.remedied.is_some() && !self.running_after();
        unproven.then(|| {
            let why = "A remedy proves nothing until the readings after it are as they should be.";
            Moment::new(Step::Verify, why)
        })
    }

    /// An exchange says nothing until it is read, at the point last read before it.
    fn unread_exchange(&self) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        let slot = timeline.disturbances.len();
        let last = timeline.disturbances.last()?;
        if last.work.is_none()
            || last.verdict.is_some()
            || timeline.sets.iter().any(|s| s.after == slot)
        {
            return None;
        }
        let before = timeline.sets.iter().rev().find(|s| s.at != RunningPoint::ColdSoak)?;
        Some(Moment::new(
            Step::Readings { at: before.at, site: before.site },
            "Something was exchanged or remade and nothing was read since: the readings now, at the \
             same point as before, are what it was done for.",
        ))
    }

    fn proven(&self) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        let remedied = timeline.disturbances.iter().any(|d| d.remedied.is_some());
        let proven =
            remedied && verify(self.knowledge(), timeline, &self.diagnosis.assessment).verified();
        proven.then(|| {
            Moment::new(Step::Stop, "The oddness is gone and the cause proven: close the job.")
        })
    }

    fn nothing_read(&self) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        if !timeline.sets.is_empty() || !timeline.findings.is_empty() {
            return None;
        }
        let (at, why) = if timeline.thermal == Thermal::ColdSoaked {
            (
                RunningPoint::ColdSoak,
                "The engine is cold-soaked, which a start would spoil for a day: three minutes with \
                 the key on show whether the displays agree when everything is at one temperature.",
            )
        } else {
            let why = "Nothing can be judged without all displays at one steady point.";
            (RunningPoint::Idle, why)
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
        let odd = self.largest_oddness() >= NATURAL;
        (undecided && !odd && timeline.disturbances.is_empty()).then(|| {
            Moment::new(
                step,
                "Cold, the displays agree as healthy ones do, so no cylinder stands out yet: let it warm up, \
                 hold a warm idle until no display moves more than 3 °C in 30 s, and read.",
            )
        })
    }

    /// The largest difference of any reading, in standard deviations of the natural spread; of
    /// several sets at one point the last counts.
    fn largest_oddness(&self) -> f64 {
        let sets = &self.diagnosis.model.timeline.sets;
        let kind = |set: &ReadingSet| (set.site, set.at);
        let last = |at: usize| sets[at + 1..].iter().all(|later| kind(later) != kind(&sets[at]));
        let oddness = self.diagnosis.assessment.oddness.iter().filter(|o| last(o.set));
        oddness.filter_map(|o| o.sigmas).map(f64::abs).fold(0.0, f64::max)
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
        let re_seated = last.touched.iter().any(|&(s, n, touch)| {
            s == seat
                && matches!(touch, Touch::Reseated(_))
                && suspect.fault.place.cylinder() == Some(n)
        });
        let share = same_work(knowledge, assessment, suspect.fault);
        let exchanged = last.work.and_then(|work| Some((work, work.b?)));
        if re_seated && (share >= knowledge.constants.proof || exchanged.is_none()) {
            let done = already_done(knowledge, timeline, index, suspect.fault.place);
            let then = if done {
                "Enter it as set right, then read again to prove it."
            } else {
                "Finish it as below, then read again to prove it."
            };
            let why = format!(
                "It went away when this was undone and remade ({}); the part that moved is not convicted. {then}",
                percent(share)
            );
            return Some(Moment { step: Step::Remedy(suspect.fault), why, done });
        }
        let (work, b) = exchanged?;
        let same = |w: &Work| {
            w.test == work.test
                && [Some(w.a), w.b].contains(&Some(work.a))
                && [Some(w.a), w.b].contains(&Some(b))
        };
        let times = timeline.disturbances.iter().filter_map(|d| d.work).filter(same).count();
        if times % 2 == 0 {
            // It is back already, and nothing more is learnt by going to and fro.
            return None;
        }
        Some(Moment::new(
            Step::Test { test: work.test, cylinder: Some(work.a), partner: Some(b) },
            "It went away after an exchange, which moved one thing and undid others: put it back and read again. \
             If it comes back, the moved part or its place is to blame; if not, what was re-seated.",
        ))
    }

    /// Inside the natural spread there is nothing to find.
    fn natural(&self) -> Option<Moment> {
        let timeline = self.diagnosis.model.timeline;
        let assessment = &self.diagnosis.assessment;
        let nothing_said = timeline.findings.is_empty() && timeline.disturbances.is_empty();
        let settled = timeline.sets.iter().any(ReadingSet::is_settled);
        if !(nothing_said && timeline.numbers_only() && settled) {
            return None;
        }
        let largest = self.largest_oddness();
        let sound = no_fault(self.diagnosis);
        let top = assessment.suspects.first().map_or(0.0, |s| s.probability);
        let natural = largest < SURELY_NATURAL || (largest < NATURAL && sound >= top);
        let then = if self.diagnosis.model.timeline.is_recorded() {
            "the readings are kept as this engine's own"
        } else {
            "write the readings down as this engine's own and compare with them next time"
        };
        natural.then(|| {
            Moment::new(
                Step::Stop,
                format!(
                    "The largest difference is {largest:.1} natural spreads of this layout, and below three nothing is \
                     to be found: {then}."
                ),
            )
        })
    }
}
