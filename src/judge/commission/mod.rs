//! Commissioning: an engine that is believed sound is gone through once, and kept as its own record.
//!
//! Says what of it is done, what comes next and what stands in the way, from the journal as it is: a job
//! is commissioned by what was entered, whoever asked for it. Whether something is wrong is the
//! word of the ends ([`mod@crate::plan::ends`]) and of heat; only how displays agree on a cold engine is
//! held against what thermocouples may differ by ([`cold()`]). It must not enter anything, choose a
//! test where something is found, or word pages.

pub mod cold;
pub mod identity;

#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use crate::diagnosis::Diagnosis;
use crate::heat;
use crate::plan::ends::MOSTLY;
use crate::plan::{self, Ends, Guard};
use facts::job::timeline::{Closing, Standing, Timeline};
use facts::knowledge::Knowledge;
use measure::engine::{Cylinder, Regime};

pub use cold::{Cold, cold};
pub use identity::{Asked, asked, identified};

/// What commissioning goes through, in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Step {
    /// Each display shown to be its cylinder's, one at a time.
    Identity,
    /// All displays of a cold-soaked engine agree.
    ColdSoak,
    /// How deep each probe sits.
    Fit,
    /// Warm idle.
    Idle,
    /// Steady cruise.
    Cruise,
    /// Full load, where it is safe.
    Full,
    /// Written down as this engine's normal.
    Record,
    /// Warning limits set from what was read.
    Limits,
    /// The job closed, so that later ones go by it.
    Close,
}

impl Step {
    /// All in order.
    pub const ALL: [Self; 9] = [
        Self::Identity,
        Self::ColdSoak,
        Self::Fit,
        Self::Idle,
        Self::Cruise,
        Self::Full,
        Self::Record,
        Self::Limits,
        Self::Close,
    ];

    /// Whether a record is one without it.
    #[must_use]
    pub fn may_be_left_out(self) -> bool {
        matches!(self, Self::Fit | Self::Full | Self::Limits)
    }

    /// The name of the step for programs.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Identity => "identity",
            Self::ColdSoak => "cold-soak",
            Self::Fit => "fit",
            Self::Idle => "idle",
            Self::Cruise => "cruise",
            Self::Full => "full",
            Self::Record => "record",
            Self::Limits => "limits",
            Self::Close => "close",
        }
    }
}

/// Why a step is not done here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeftOut {
    /// The builder's limit for a single display is not known.
    NoBuilderLimit,
    /// A rule holds full load back, or a display is too hot for it.
    Held,
    /// It was passed over.
    PassedOver,
}

/// How far a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// Done.
    Done,
    /// To do.
    ToDo,
    /// Not done, and not asked for any more.
    LeftOut(LeftOut),
}

/// What stops commissioning.
#[derive(Debug, Clone, PartialEq)]
pub enum Trouble {
    /// A display did not answer for its cylinder.
    NotItsOwn(Cylinder, Asked),
    /// Displays of a cold-soaked engine do not agree.
    Cold(Cold),
    /// What every good end lacks, a sentence.
    Missing(String),
    /// The last word on the job is that it ended without proof.
    Unproven,
}

/// How far a job is commissioned.
#[derive(Debug, Clone, PartialEq)]
pub struct Commission {
    /// Every step with how far it is.
    pub steps: Vec<(Step, State)>,
    /// Displays shown to be their cylinders', with the entry.
    pub identified: BTreeMap<Cylinder, usize>,
    /// How the displays agree cold.
    pub cold: Option<Cold>,
    /// What was found on the way: until it is put right this is an ordinary job.
    pub troubles: Vec<Trouble>,
    /// Something was put right in this job, so that it ends as proven.
    pub cured: bool,
}

impl Commission {
    /// How far a step is.
    #[must_use]
    pub fn state(&self, step: Step) -> State {
        let found = self.steps.iter().find(|(known, _)| *known == step);
        found.map_or(State::ToDo, |(_, state)| *state)
    }

    /// What to do next; nothing where something was found, and where the job is closed.
    #[must_use]
    pub fn next(&self) -> Option<Step> {
        let open = self.state(Step::Close) != State::Done;
        self.to_do().next().filter(|_| open && self.troubles.is_empty())
    }

    /// What to do in the place of the next step if that is passed over.
    #[must_use]
    pub fn or_else(&self) -> Option<Step> {
        let next = self.next()?;
        self.to_do().nth(1).filter(|_| next.may_be_left_out())
    }

    /// The displays still to be asked after, in order.
    #[must_use]
    pub fn unasked(&self, timeline: &Timeline) -> Vec<Cylinder> {
        timeline.engine.all().filter(|c| !self.identified.contains_key(c)).collect()
    }

    /// A step as the plan has it, where it is a test or readings.
    #[must_use]
    pub fn planned(
        &self,
        knowledge: &Knowledge,
        timeline: &Timeline,
        step: Step,
    ) -> Option<plan::Step> {
        let site = timeline.engine.probes;
        let read = |at| Some(plan::Step::Readings { at: knowledge.points.of(at), site });
        match step {
            Step::Identity => Some(plan::Step::Test {
                test: identity::way(knowledge, timeline)?,
                cylinder: self.unasked(timeline).first().copied(),
                partner: None,
                at: None,
            }),
            Step::ColdSoak => read(Regime::ColdSoak),
            Step::Idle => read(Regime::Idle),
            Step::Cruise => read(Regime::Cruise),
            Step::Full => read(Regime::Full),
            Step::Fit | Step::Record | Step::Limits | Step::Close => None,
        }
    }

    /// Whether all that a record asks for was done, and the job ended well.
    #[must_use]
    pub fn is_done(&self) -> bool {
        let done = |step: &Step| step.may_be_left_out() || self.state(*step) == State::Done;
        Step::ALL.iter().all(done)
    }

    fn to_do(&self) -> impl Iterator<Item = Step> + '_ {
        self.steps.iter().filter(|(_, state)| *state == State::ToDo).map(|(step, _)| *step)
    }
}

/// How far a job is commissioned, by what its ends ask for and the rules that bite in its advice.
#[must_use]
pub fn commission(diagnosis: &Diagnosis<'_>, ends: &Ends, guards: &[Guard]) -> Commission {
    let (knowledge, timeline) = (diagnosis.model.knowledge, diagnosis.model.timeline);
    let identified = identified(knowledge, timeline);
    let cold = cold(timeline);
    let done = |step| is_done(knowledge, timeline, ends, step);
    let held = !timeline.load_confirmed && guards.iter().any(|guard| guard.code == "no-load")
        || !heat::allows(knowledge, timeline, knowledge.points.of(Regime::Full));
    let begun = |from: Step| Step::ALL.iter().any(|step| *step > from && done(*step));
    let state = |step: Step| {
        if done(step) {
            return State::Done;
        }
        match step {
            Step::Full if timeline.builder_limit.is_none() => {
                State::LeftOut(LeftOut::NoBuilderLimit)
            }
            // Until the engine was read at cruise the rule has not had its last word.
            Step::Full if held && done(Step::Cruise) => State::LeftOut(LeftOut::Held),
            Step::Fit | Step::Full | Step::Limits if begun(step) => {
                State::LeftOut(LeftOut::PassedOver)
            }
            _ => State::ToDo,
        }
    };
    Commission {
        steps: Step::ALL.into_iter().map(|step| (step, state(step))).collect(),
        troubles: troubles(knowledge, timeline, ends, cold.as_ref()),
        cured: ends.verification.remedied.is_some(),
        identified,
        cold,
    }
}

/// Whether all that a record asks for was done in a job that ended well: cheap, for jobs of the past.
#[must_use]
pub fn was_commissioned(knowledge: &Knowledge, timeline: &Timeline) -> bool {
    let asked = [Step::Identity, Step::ColdSoak, Step::Idle, Step::Cruise, Step::Close];
    asked.into_iter().all(|step| was_done(knowledge, timeline, step))
        && cold(timeline).is_some_and(|cold| cold.agrees())
}

fn is_done(knowledge: &Knowledge, timeline: &Timeline, ends: &Ends, step: Step) -> bool {
    match step {
        Step::Record => timeline.is_recorded() || ends.is_proven(),
        _ => was_done(knowledge, timeline, step),
    }
}

/// What the journal alone says of a step.
fn was_done(knowledge: &Knowledge, timeline: &Timeline, step: Step) -> bool {
    let all = usize::from(timeline.engine.cylinders);
    let now = timeline.disturbances.len();
    let site = timeline.engine.probes;
    let read = |at| {
        let at = knowledge.points.of(at);
        timeline.sets.iter().any(|s| (s.at, s.site, s.after) == (at, site, now))
    };
    match step {
        Step::Identity => identified(knowledge, timeline).len() == all,
        // A night of waiting is not asked for again because of work that cannot have changed it.
        Step::ColdSoak => cold::newest(timeline)
            .is_some_and(|set| identity::touched(timeline, set.after, &identity::CHAIN).is_empty()),
        Step::Fit => {
            let lines = timeline.sheet.lines();
            let known = lines.values().filter(|line| line.depth.is_some() || line.stem.is_some());
            known.count() == all
        }
        Step::Idle => read(Regime::Idle),
        Step::Cruise => read(Regime::Cruise),
        Step::Full => read(Regime::Full),
        Step::Record => timeline.is_recorded(),
        Step::Limits => timeline.limits_set.is_some(),
        Step::Close => {
            matches!(timeline.standing, Standing::Closed(Closing::Proven | Closing::Normal))
        }
    }
}

fn troubles(
    knowledge: &Knowledge,
    timeline: &Timeline,
    ends: &Ends,
    cold: Option<&Cold>,
) -> Vec<Trouble> {
    let asked = asked(knowledge, timeline).into_iter();
    let mut list: Vec<Trouble> = asked
        .filter(|(_, asked)| !asked.own)
        .map(|(c, asked)| Trouble::NotItsOwn(c, asked))
        .collect();
    let cold = cold.filter(|cold| !cold.agrees() && was_done(knowledge, timeline, Step::ColdSoak));
    list.extend(cold.cloned().map(Trouble::Cold));
    list.extend(ends.off.iter().cloned().map(Trouble::Missing));
    // Before all was read a fault is not ruled out, which is no finding yet: one that is likelier than not is.
    let read = [Step::Idle, Step::Cruise].iter().all(|step| was_done(knowledge, timeline, *step));
    let begun = !(timeline.sets.is_empty() && timeline.findings.is_empty());
    if read || begun && ends.sound < MOSTLY {
        list.extend(ends.doubt.iter().cloned().map(Trouble::Missing));
    }
    if timeline.standing == Standing::Closed(Closing::Unproven) {
        list.push(Trouble::Unproven);
    }
    list
}
