//! What is done before a job is left without an answer.
//!
//! First the remedy of what is as likely as dear work must be. Then looks: a price alone leaves a job
//! early, for with little left for a fault no look is worth its minutes. Who has a display far off before
//! him looks all the same at what takes minutes, since he cannot call it normal. So each cheap look is
//! weighed as if a fault were no less likely than none, until looks have cost what leaving would. Last the remedies that are worth their price against
//! leaving, which no test may speak for any more. It must not lift a guard, and it must not send anybody
//! on a look twice.

use crate::diagnosis::{CauseRef, Fault, same_work};
use crate::plan::actions::{Cure, price};
use crate::plan::advice::{JobEnd, Step};
use crate::plan::ends::{ButFor, MOSTLY, ODD, Points, SURE};
use crate::plan::guard;
use crate::plan::problem::Price;
use crate::plan::value::repair;
use facts::job::timeline::Disturbance;
use measure::engine::Cylinder;
use measure::number::real;
use measure::units::Cost;

use super::Desk;
use super::moment::Moment;
use super::rank::ABOUT_EVEN;

/// Probability that a fault shows from which the cheap looks come before a job is left as not found.
const LIKELY: f64 = 0.3;
/// Probability that no fault shows from which even what stands off is left as it is (common practice, no
/// source): one in twenty.
const NATURAL: f64 = 0.95;
/// Minutes of hands up to which a look is cheap (common practice, no source).
const CHEAP: f64 = 20.0;
/// Share of what leaving is expected to cost up to which a look is cheap too (common practice, no source).
const CHEAP_SHARE: f64 = 0.25;
/// What a bit is worth more where a display that stands far off would be left so (common practice, no source).
const STANDS: f64 = 10.0;
/// Bits from which a look tells so much that it is done before a job is left, however long that was looked at
/// (common practice, no source): as a look that halves what is left does in every third case.
const TELLING: f64 = 0.3;
/// Share of the long search that is looked for where hardly a fault is left (common practice, no source): a look
/// or two.
const LEAST_WORTH: f64 = 0.1;
/// The same where what was complained of stands as it did, whose owner comes back whatever it is (common practice,
/// no source): an hour.
const ASKED: f64 = 0.3;
/// Share of what comes back otherwise that no look may cost, owed or not (common practice, no source): nobody
/// keeps an engine overnight for one.
const DEAREST: f64 = 0.5;
/// Probability of what a remedy cures from which it is tried for its price alone (common practice, no source):
/// below one in ten it is a guess.
const NO_GUESS: f64 = 0.1;

impl Desk<'_, '_> {
    /// An end, or, where it leaves the job without an answer, what is done before: the likely remedy, a
    /// look, the remedy that is worth trying.
    pub(super) fn rather_than_leave(&self, ending: Moment) -> Moment {
        if !matches!(ending.step, Step::End(JobEnd::NotFound | JobEnd::Unproven)) {
            return ending;
        }
        let remedy = self.remedy_before_leaving();
        // Who has looked long puts right what is about even, and looks on only where nothing is.
        let least = if self.looked_long() { ABOUT_EVEN } else { guard::BUY };
        if let Some((remedy, share)) = remedy
            && share >= least
        {
            return self
                .awaited(remedy)
                .unwrap_or_else(|| Moment::likely(self.repair_step(remedy)));
        }
        let owed = !self.ends.looked;
        let look = if !self.too_early() {
            None
        } else if let Some(asked) = self.look_for_recent_work() {
            Some(asked)
        } else if self.looked_long() || !owed && self.looked_for_its_worth() {
            self.telling_look()
        } else {
            self.look_before_leaving(owed)
        };
        let remedy = || {
            let (remedy, _) = remedy?;
            let moment = || Moment::worth_trying(self.repair_step(remedy));
            Some(self.awaited(remedy).unwrap_or_else(moment))
        };
        look.map(Moment::look).or_else(remedy).unwrap_or(ending)
    }

    /// The look for which alone a remedy waits that would be done: nobody leaves a job because a rule asks for a look.
    fn awaited(&self, remedy: usize) -> Option<Moment> {
        let look = self.look_awaited(remedy)?;
        Some(Moment::new(
            self.choices.options[look].step,
            "What is likeliest waits for this look alone: look before it is put right, or the job left.",
        ))
    }

    /// The remedy that is worth its price against leaving the job, where no test is left, with its share: the
    /// first by chance for its price that comes before calling it sound, or giving it up, and that may be
    /// done, or waits for one look alone. What waits only for its hours waits for no test any more, and is done where
    /// it is about even; no dear part is bought so.
    fn remedy_before_leaving(&self) -> Option<(usize, f64)> {
        let plan = repair(&self.choices.problem, self.planner.prices(), self.belief(), self.now());
        let cure = |r: usize| &self.choices.cures[r];
        let worth = plan
            .order
            .into_iter()
            .take_while(|&r| matches!(cure(r), Cure::Remedy(_) | Cure::Settle))
            .filter(|&r| matches!(cure(r), Cure::Remedy(_)));
        let mut shares = worth.map(|r| (r, guard::mass(self.choices, r)));
        let labour = self.knowledge().constants.rates.labour_per_minute;
        let hours = |r: usize| self.choices.cure_costs[r].parts <= guard::DEAR_PART * labour;
        let may = |r: usize, share: f64| {
            let waited = self.held.dear[r] && share > ABOUT_EVEN && hours(r);
            let may = !self.held.repairs[r] || waited || self.look_awaited(r).is_some();
            share >= NO_GUESS && may
        };
        shares.find(|&(r, share)| may(r, share))
    }

    /// Whether too much is likely wrong to leave it before the cheap looks are done, the more so where
    /// something stands off.
    fn too_early(&self) -> bool {
        let least = if self.stands_far() {
            NATURAL
        } else if self.ends.complaint_stands {
            SURE
        } else {
            1.0 - LIKELY
        };
        let hidden = self.ends.but_for == Some(ButFor::Hidden);
        // Where nothing was put right, what went away by itself is left as well.
        let ends = &self.ends;
        let sound = if ends.verification.remedied.is_some() { ends.sound } else { ends.ever };
        sound < least || hidden || !ends.looked
    }

    /// Whether a display stands far off now: whoever leaves the job leaves that too.
    fn stands_far(&self) -> bool {
        let timeline = self.diagnosis.model.timeline;
        let points = Points::new(timeline, &self.diagnosis.assessment.oddness);
        points.worst_newest().is_some_and(|(size, _)| size >= ODD)
    }

    /// The same, or what was complained of stands as it did.
    fn stands(&self) -> bool {
        self.stands_far() || self.ends.complaint_stands
    }

    /// Whether looking has cost as much as the long search would, so that the job is at its end whatever is
    /// left: who goes on to there and no further pays at most twice what he would have paid had he known
    /// (the ski-rental problem: Karlin, Manasse, Rudolph and Sleator, Competitive snoopy caching, 1988). What
    /// is left after a fault was found and put right is looked for anew, once.
    pub(super) fn looked_long(&self) -> bool {
        self.searches_since(self.last_cure()) >= 1.0 || self.searches_since(0) >= 2.0
    }

    /// Whether looks have cost what leaving is expected to cost, which is what the long search costs times the
    /// chance that a fault is left: by the same rule, of looks that only the price of leaving speaks for. Where
    /// nothing stands far off they may still bring the job to a better end, and a number that was seen but once is
    /// no reason to leave.
    fn looked_for_its_worth(&self) -> bool {
        let least = if self.ends.complaint_stands { ASKED } else { LEAST_WORTH };
        let worth = (1.0 - self.ends.sound).max(least);
        self.stands_far()
            && self.seen_once().is_none()
            && self.searches_since(self.last_cure()) >= worth
    }

    /// What was looked at after an entry, as a share of what the long search costs.
    fn searches_since(&self, from: usize) -> f64 {
        let knowledge = self.knowledge();
        let timeline = self.diagnosis.model.timeline;
        let since = timeline.looked.iter().filter(|(entry, _)| *entry > from);
        let cost = since.fold(Cost::default(), |sum, (_, cost)| sum + *cost);
        let tests = timeline.findings.iter().filter(|finding| finding.entry > from).count();
        let cost = price(knowledge, cost).total + knowledge.constants.by_the_way * real(tests);
        cost / price(knowledge, knowledge.constants.unlisted_cure).total
    }

    /// Entry of the last remedy that was for what was the matter, more likely than not; nought for none.
    fn last_cure(&self) -> usize {
        let (knowledge, assessment) = (self.knowledge(), &self.diagnosis.assessment);
        let cured = |disturbance: &&Disturbance| {
            disturbance.remedied.is_some_and(|(cause, place)| {
                let fault = Fault { cause: CauseRef::Listed(cause), place };
                same_work(knowledge, assessment, fault) >= MOSTLY
            })
        };
        let done = &self.diagnosis.model.timeline.disturbances;
        done.iter().rev().find(cured).map_or(0, |disturbance| disturbance.entry)
    }

    /// The look that tells most for its time about whether anything is wrong, and what; one that is `owed`
    /// whatever it costs.
    pub(super) fn look_before_leaving(&self, owed: bool) -> Option<Step> {
        // Reading the same again is no look.
        self.look_of(owed, |step| !owed || self.is_look(step))
    }

    /// Minutes of hands up to which a look is cheap here.
    fn cheap(&self) -> f64 {
        let comeback = self.knowledge().constants.comeback;
        CHEAP.max(CHEAP_SHARE * (1.0 - self.ends.sound) * comeback)
    }

    /// The cheap look that tells most of what is wrong, however long the job was looked at: what knows that
    /// two displays bear each other's names follows a lead before it gives up. Each is done once, so that the job
    /// ends.
    fn telling_look(&self) -> Option<Step> {
        // For what the job is about, and for no more than twice the long search in all.
        if !self.stands() || self.searches_since(0) >= 2.0 {
            return None;
        }
        self.best_look(|p, doing| {
            let bits = self.bits(p, self.belief());
            let may = doing.hands_on <= self.cheap() && self.is_look(self.choices.options[p].step);
            (may && bits >= TELLING).then_some(bits / doing.total.max(1.0))
        })
    }

    /// The same of one cylinder; readings where nothing was read yet are a look at it too.
    pub(super) fn look_at(&self, cylinder: Cylinder) -> Option<Step> {
        let there = |step: Step| match step {
            Step::Test { cylinder: Some(at), .. } => at == cylinder,
            step => matches!(step, Step::Readings { .. }) && self.is_look(step),
        };
        self.look_of(true, there)
    }

    /// Whether a step looks at something that was not read before.
    fn is_look(&self, step: Step) -> bool {
        let sets = &self.diagnosis.model.timeline.sets;
        match step {
            Step::Readings { at, site } => !sets.iter().any(|s| s.at == at && s.site == site),
            step => matches!(step, Step::Test { .. }),
        }
    }

    fn look_of(&self, owed: bool, wanted: impl Fn(Step) -> bool) -> Option<Step> {
        let even = self.even_belief();
        // A bit, a fault and none being equally likely, is worth no more than what comes back otherwise. What
        // stands far off, or as it was complained of, does not come back some day: it is there when the
        // customer looks.
        let comeback = self.knowledge().constants.comeback;
        let worth = if self.stands() { STANDS } else { 1.0 };
        let least = 1.0 / (worth * comeback.max(1.0));
        let cheap = self.cheap();
        self.best_look(|p, doing| {
            let rate = self.bits(p, &even) / doing.total.max(1.0);
            let worth = owed && rate > 0.0 && self.is_affordable(doing)
                || doing.hands_on <= cheap && rate > least;
            (worth && wanted(self.choices.options[p].step)).then_some(rate)
        })
    }

    /// Whether a look costs little enough to be owed.
    pub(super) fn is_affordable(&self, doing: Price) -> bool {
        doing.total <= DEAREST * self.knowledge().constants.comeback
    }

    /// The option rated best of those that may be done and would not see again what was seen.
    pub(super) fn best_look(&self, rate: impl Fn(usize, Price) -> Option<f64>) -> Option<Step> {
        let free = |p: &usize| !self.held.probes[*p] && !self.choices.options[*p].again;
        let options = (0..self.choices.options.len()).filter(free);
        let rated =
            options.filter_map(|p| Some((rate(p, self.planner.doing(p, self.now()).0)?, p)));
        let best = rated.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        best.map(|(_, p)| self.choices.options[p].step)
    }

    /// The belief if what would be mended and all else were equally likely; as it is where something to mend
    /// is the likelier, since then it matters which.
    fn even_belief(&self) -> Vec<f64> {
        let problem = &self.choices.problem;
        let mended = |case: usize| {
            problem.cures[case].iter().any(|&c| matches!(self.choices.cures[c], Cure::Remedy(_)))
        };
        let some: f64 =
            problem.belief.iter().enumerate().filter(|(c, _)| mended(*c)).map(|(_, p)| p).sum();
        if some >= 0.5 {
            return problem.belief.clone();
        }
        let share = |case: usize| match (mended(case), some) {
            (_, some) if some <= 0.0 => 1.0,
            (true, some) => 0.5 / some,
            (false, some) => 0.5 / (1.0 - some),
        };
        problem.belief.iter().enumerate().map(|(case, p)| p * share(case)).collect()
    }
}
