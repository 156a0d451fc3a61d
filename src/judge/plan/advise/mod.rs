//! The recommendation.
//!
//! First the moments at which the trade leaves no choice (verify after a remedy, put back after
//! an exchange that seemed to cure), then the cheapest expected way among what the guards allow.

mod choice;
mod deadline;
mod ending;
mod leaving;
mod moment;
mod rank;
mod reading;
mod recent;
mod sensitivity;

pub use deadline::in_time;

use crate::diagnosis::assess::Diagnosis;
use crate::heat;
use facts::knowledge::Knowledge;

use super::actions::{Choices, choices};
use super::advice::{Advice, Choice, InTime, JobEnd, Standing, Step};
use super::bound::Limits;
use super::ends::{Ends, ends};
use super::guard::{Held, held, price_the_risk};
use super::problem::Situation;
use super::value::{Best, Planner, Prices, exact};
use super::wishes::{Thinking, Wishes};
use moment::Moment;

/// Alternatives shown.
const ALTERNATIVES: usize = 5;

/// Tests up to which the best plan of all is looked for, and places that are looked at for it.
const FEW: usize = 10;
const PLACES: usize = 2000;

/// What to do next.
#[must_use]
pub fn advise(diagnosis: &Diagnosis<'_>) -> Advice {
    advise_as_wished(diagnosis, &Wishes::default())
}

/// The same with wishes.
#[must_use]
pub fn advise_as_wished(diagnosis: &Diagnosis<'_>, wishes: &Wishes<'_>) -> Advice {
    let mut choices = choices(diagnosis);
    price_the_risk(diagnosis, &mut choices, wishes.risk);
    let held = held(diagnosis, &mut choices);
    let choices = choices;
    let prices = Prices::new(&choices.problem);
    let desk = Desk::new(diagnosis, &choices, &held, &prices, wishes.thinking);
    let mut ranked = desk.ranked();
    let moment = desk.no_choice().or_else(|| desk.planned(&ranked, wishes.in_time));
    let moment = moment.map(|moment| desk.home_first(moment));
    let forced = moment.is_some();
    let mut standing = moment.as_ref().map(|moment| moment.standing);
    let best = if let Some(moment) = moment {
        let mut choice = desk.forced(moment.step, moment.done);
        choice.why = vec![moment.why];
        choice
    } else {
        let in_time = wishes.in_time.map(|in_time| in_time.step);
        let known = in_time.map_or(Some(0), |step| ranked.iter().position(|c| c.step == step));
        match (known, in_time) {
            (None, Some(step)) => desk.forced(step, false),
            (known, _) => ranked.remove(known.unwrap_or(0)),
        }
    };
    ranked.retain(|c| c.step != best.step && !matches!(c.step, Step::End(_)));
    let left = matches!(best.step, Step::End(JobEnd::NotFound | JobEnd::Unproven));
    if heat_is_news(diagnosis) || left && stops(diagnosis) {
        standing = Some(Standing::StopTheEngine);
    }
    let standing = standing.unwrap_or_else(|| Standing::of(best.step));
    ranked.truncate(ALTERNATIVES);
    let leans = if forced { Vec::new() } else { desk.leans(&best, &ranked) };
    // Where the trade leaves no choice, other plans are none.
    let least = if forced { best.lower_bound } else { desk.bound() };
    Advice {
        standing,
        sound: desk.ends.sound,
        lower_bound: least.min(best.expected_total),
        best,
        alternatives: ranked,
        guards: held.guards.clone(),
        holds: leans.iter().all(|lean| lean.instead.is_none()),
        leans,
        in_time: if forced { None } else { wishes.in_time },
    }
}

/// Everything at hand while advising.
pub(crate) struct Desk<'a, 'k> {
    diagnosis: &'a Diagnosis<'k>,
    choices: &'a Choices,
    held: &'a Held,
    planner: Planner<'a>,
    /// Tests that may be looked at later in a plan, most promising first.
    inner: Vec<usize>,
    limits: Limits<'a>,
    /// The best plan of all, where few tests are worth a look.
    best: Option<Best>,
    ends: Ends,
    thinking: Thinking<'a>,
}

impl<'a, 'k> Desk<'a, 'k> {
    pub(crate) fn new(
        diagnosis: &'a Diagnosis<'k>,
        choices: &'a Choices,
        held: &'a Held,
        prices: &'a Prices,
        thinking: Thinking<'a>,
    ) -> Self {
        let problem = &choices.problem;
        // What may be done once the measuring chain is cleared can be counted on; what waits for the
        // mechanic's word cannot. Nor can a second look at the same: it is worth something now or never,
        // and would lend its worth to every test before it.
        let waits =
            problem.probes.iter().zip(&held.probes).map(|(p, held)| *held && p.held_back.is_none());
        let later = waits.zip(&choices.options).map(|(waits, option)| waits || option.again);
        let planner = Planner::new(problem).barring(later.collect());
        let limits = Limits::new(problem, prices, &problem.belief);
        let inner = Vec::new();
        let (belief, now) = (&problem.belief, problem.now);
        let most = planner.stop(belief, now).total - limits.bound().informed;
        let few = planner.worth_a_look(belief, now, most, &[]).len() <= FEW;
        let best = if few { exact(&planner, belief, now, PLACES) } else { None };
        let ends = ends(diagnosis);
        let mut desk =
            Self { diagnosis, choices, held, planner, inner, limits, best, ends, thinking };
        desk.inner = desk.promising();
        desk
    }

    /// What the plan comes to where that is no test: an end as far as the job allows one, or a remedy
    /// before which parts may have to go home.
    fn planned(&self, ranked: &[Choice], in_time: Option<InTime>) -> Option<Moment> {
        let step = match (ranked.first(), in_time) {
            (_, Some(in_time)) => in_time.step,
            (Some(first), None) => first.step,
            // Nothing is worth its price, or nothing that is may be done.
            (None, None) => Step::End(JobEnd::NotFound),
        };
        if self.hides_at_rest(step)
            && !self.looked_long()
            && let Some(moment) = self.read_at_rest()
        {
            return Some(moment);
        }
        match step {
            Step::End(end) => {
                let ending = self.ending(end == JobEnd::Unproven || self.seems_gone());
                Some(self.rather_than_leave(ending))
            }
            // Whatever is left to try, nobody looks for ever.
            Step::Test { .. } | Step::Readings { .. } if self.looked_long() => {
                Some(self.rather_than_leave(self.ending(self.seems_gone())))
            }
            Step::Remedy(_) if !self.diagnosis.model.timeline.arrangement.is_original() => {
                Some(Moment::plain(step))
            }
            _ => None,
        }
    }

    /// Whether something was wrong and is not there any more, more likely than not.
    fn seems_gone(&self) -> bool {
        let assessment = &self.diagnosis.assessment;
        !self.diagnosis.model.timeline.disturbances.is_empty()
            && assessment.present < 0.5 * (1.0 - assessment.healthy)
    }

    /// No plan costs less than this, whatever the cases that were left out would cost.
    fn bound(&self) -> f64 {
        let least = self.best.map_or(self.limits.bound().total, |best| best.price.total);
        least * (1.0 - self.choices.left_out)
    }

    fn knowledge(&self) -> &'k Knowledge {
        self.diagnosis.model.knowledge
    }

    fn belief(&self) -> &[f64] {
        &self.choices.problem.belief
    }

    fn now(&self) -> Situation {
        self.choices.problem.now
    }

    /// One test's choice in full, for explanations.
    pub(crate) fn explain(&self, p: usize) -> Choice {
        let expected = self.planner.two_step(self.belief(), self.now(), p, &self.inner);
        let mut choice = self.probe_choice(p, expected, true);
        let without: Vec<usize> = self.inner.iter().copied().filter(|x| *x != p).collect();
        let other = self.planner.best_one_step(self.belief(), self.now(), &without).1;
        choice.why.insert(
            0,
            format!(
                "About {:.0} min to fixed and proven when starting with it, {:.0} without it.",
                expected.total, other.total
            ),
        );
        choice
    }

    /// Expected price of the best plan that does not start with a test.
    pub(crate) fn without(&self, p: usize) -> f64 {
        let rest: Vec<usize> = self.inner.iter().copied().filter(|x| *x != p).collect();
        self.planner.best_one_step(self.belief(), self.now(), &rest).1.total
    }
}

/// Whether something that was read must stop the engine, as far as anything is known.
fn stops(diagnosis: &Diagnosis<'_>) -> bool {
    let heat = heat::judge(diagnosis.model.knowledge, diagnosis.model.timeline);
    heat.is_some_and(|heat| heat.verdict == heat::Verdict::Stop)
}

/// Whether the last thing entered is a reading that must stop the engine.
fn heat_is_news(diagnosis: &Diagnosis<'_>) -> bool {
    let timeline = diagnosis.model.timeline;
    let last = timeline.sets.last().map_or(0, |set| set.entry);
    let later = timeline.findings.iter().map(|f| f.entry);
    let later = later.chain(timeline.disturbances.iter().map(|d| d.entry)).any(|e| e > last);
    let stop = |heat: &heat::Heat| heat.verdict == heat::Verdict::Stop;
    !later && heat::of_entry(diagnosis.model.knowledge, timeline, last).is_some_and(|h| stop(&h))
}
