//! What is done before a job is left without an answer.
//!
//! First the remedy of what is as likely as dear work must be. Then looks: a price alone leaves a job
//! early, for with little left for a fault no look is worth its minutes. Who has a display far off before
//! him looks all the same at what takes minutes, since he cannot call it normal. So each cheap look is
//! weighed as if a fault and none were equally likely. It must not lift a guard, and it must not send anybody
//! on a look twice.

use crate::number::real;
use crate::plan::actions::{Cure, price};
use crate::plan::advice::{JobEnd, Step};
use crate::plan::ends::{ButFor, ODD, Points, SURE};
use crate::plan::guard;

use super::Desk;
use super::moment::Moment;

/// Probability that a fault shows from which the cheap looks come before a job is left as not found.
const LIKELY: f64 = 0.3;
/// Probability that no fault shows from which even what stands off is left as it is (common practice, no
/// source): one in twenty.
const NATURAL: f64 = 0.95;
/// Minutes of hands up to which a look is cheap (common practice, no source).
const CHEAP: f64 = 20.0;
/// Share of what leaving is expected to cost up to which a look is cheap too (common practice, no source).
const CHEAP_SHARE: f64 = 0.25;
/// Minutes that each test takes beside its own: to fetch what it wants, to find the place, to write it down
/// (common practice, no source). Fifty looks of a minute are no hour.
const BY_THE_WAY: f64 = 2.0;
/// What a bit is worth more where a display that stands far off would be left so (common practice, no source).
const STANDS: f64 = 10.0;

impl Desk<'_, '_> {
    /// An end, or, where it leaves the job without an answer, what is done before: the remedy of what is as
    /// likely as dear work must be, else a look.
    pub(super) fn rather_than_leave(&self, ending: Moment) -> Moment {
        if !matches!(ending.step, Step::End(JobEnd::NotFound | JobEnd::Unproven)) {
            return ending;
        }
        let share = |&r: &usize| guard::mass(self.choices, r);
        let remedies = (0..self.choices.cures.len())
            .filter(|&r| matches!(self.choices.cures[r], Cure::Remedy(_)) && !self.held.repairs[r]);
        let remedy = remedies
            .filter(|r| share(r) >= guard::BUY)
            .max_by(|a, b| share(a).total_cmp(&share(b)).then(b.cmp(a)))
            .map(|r| self.repair_step(r));
        if let Some(remedy) = remedy {
            return Moment::likely(remedy);
        }
        let owed = !self.ends.looked;
        let look = self.too_early().then(|| self.look_before_leaving(owed)).flatten();
        look.map_or(ending, Moment::look)
    }

    /// Whether too much is likely wrong to leave it before the cheap looks are done, the more so where
    /// something stands off. A job that was looked at so often comes to its end all the same.
    fn too_early(&self) -> bool {
        let least = if self.stands_far() {
            NATURAL
        } else if self.ends.complaint_stands {
            SURE
        } else {
            1.0 - LIKELY
        };
        let hidden = self.ends.but_for == Some(ButFor::Hidden);
        let early = self.ends.sound < least || hidden || !self.ends.looked;
        early && !self.looked_long()
    }

    /// Whether a display stands far off now: whoever leaves the job leaves that too.
    fn stands_far(&self) -> bool {
        let timeline = self.diagnosis.model.timeline;
        let points = Points::new(timeline, &self.diagnosis.assessment.oddness);
        points.worst_newest().is_some_and(|(size, _)| size >= ODD)
    }

    /// Whether looking has cost as much as the long search would, so that the job is at its end whatever is
    /// left: who goes on to there and no further pays at most twice what he would have paid had he known
    /// (the ski-rental problem: Karlin, Manasse, Rudolph and Sleator, Competitive snoopy caching, 1988).
    pub(super) fn looked_long(&self) -> bool {
        let knowledge = self.knowledge();
        let timeline = self.diagnosis.model.timeline;
        let looked =
            price(knowledge, timeline.looked).total + BY_THE_WAY * real(timeline.findings.len());
        looked >= price(knowledge, knowledge.constants.unlisted_cure).total
    }

    /// The look that tells most for its time about whether anything is wrong, and what; one that is `owed`
    /// whatever it costs.
    pub(super) fn look_before_leaving(&self, owed: bool) -> Option<Step> {
        let even = self.even_belief();
        // A bit, a fault and none being equally likely, is worth no more than what comes back otherwise. What
        // stands far off, or as it was complained of, does not come back some day: it is there when the
        // customer looks.
        let stands = self.stands_far() || self.ends.complaint_stands;
        let worth = if stands { STANDS } else { 1.0 };
        let least = 1.0 / (worth * self.knowledge().constants.comeback.max(1.0));
        let comeback = self.knowledge().constants.comeback;
        let cheap = CHEAP.max(CHEAP_SHARE * (1.0 - self.ends.sound) * comeback);
        let rate = |p: usize| {
            let doing = self.planner.doing(p, self.now()).0;
            let bits = self.bits(p, &even);
            let rate = bits / doing.total.max(1.0);
            let free = !self.held.probes[p] && !self.choices.options[p].again;
            let worth = owed && rate > 0.0 || doing.hands_on <= cheap && rate > least;
            (free && worth).then_some(rate)
        };
        let rated = (0..self.choices.options.len()).filter_map(|p| Some((rate(p)?, p)));
        let best = rated.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        best.map(|(_, p)| self.choices.options[p].step)
    }

    /// The belief if what would be mended and all else were equally likely.
    fn even_belief(&self) -> Vec<f64> {
        let problem = &self.choices.problem;
        let mended = |case: usize| {
            problem.cures[case].iter().any(|&c| matches!(self.choices.cures[c], Cure::Remedy(_)))
        };
        let some: f64 =
            problem.belief.iter().enumerate().filter(|(c, _)| mended(*c)).map(|(_, p)| p).sum();
        let share = |case: usize| match (mended(case), some) {
            (_, some) if some <= 0.0 || some >= 1.0 => 1.0,
            (true, some) => 0.5 / some,
            (false, some) => 0.5 / (1.0 - some),
        };
        problem.belief.iter().enumerate().map(|(case, p)| p * share(case)).collect()
    }
}
