//! `oddpot commission`: an engine that is believed sound, gone through once and kept as its own record.

use std::collections::BTreeSet;
use std::path::Path;

use serde::Serialize;
use serde_json::json;

use super::answer::Answer;
use super::card::{Form, put};
use super::context::{Context, View, quote};
use super::failure::Failure;
use super::limits::enter_builder_limit;
use super::{letterhead, session};
use judge::commission::{Commission, LeftOut, State, Step, Trouble, commission};
use judge::diagnosis::{Diagnosis, diagnose};
use judge::{limits, plan, vehicle};
use measure::engine::Cylinder;
use pages::report::{self, CommissionInput, Commissioned, Known, Room};

/// Go through a sound engine once, for later jobs to go by
///
/// Which display is whose, one at a time; all displays of the cold engine; how deep the probes sit; idle,
/// cruise, full load where that is safe; warning limits. With a job it says what of that is done, what
/// comes next and what to type. Without one, at a terminal, it asks its way through a new job. What is
/// found on the way stops it: the job goes on as any other, with everything kept.
///
/// Closed, it is the vehicle's record: a later job opened with the same `--vehicle` is compared with how
/// this engine reads when it is well.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot open van --cylinders 4 --vehicle 'blue van' --recent probes-new --state cold-soaked
  oddpot commission van
  oddpot commission van --builder-limit 900
  oddpot commission van -o van-commissioned.pdf")]
pub(super) struct Args {
    /// Job: a name in the store or a path; without one, a new job is asked for at a terminal
    job: Option<String>,
    /// Enter the engine builder's limit for any single display: without it full load is left out
    #[arg(long, value_name = "TEMPERATURE", requires = "job")]
    builder_limit: Option<String>,
    /// The commissioning sheet, to print and keep with the engine
    #[arg(long, requires = "job")]
    sheet: bool,
    #[command(flatten)]
    form: Form,
}

impl Args {
    /// Whether a person, or a script of answers, is to be asked.
    pub(super) fn asks(&self) -> bool {
        self.job.is_none()
    }
}

pub(super) fn run(
    context: &Context,
    args: &Args,
    answers: Option<&Path>,
) -> Result<Answer, Failure> {
    let Some(job) = &args.job else {
        if !args.form.is_plain() {
            return Err(Failure::usage("a sheet is of a job, and none was named")
                .hint("`oddpot commission JOB -o FILE` writes it"));
        }
        return guided(context, answers);
    };
    let mut notes = Vec::new();
    if let Some(typed) = &args.builder_limit {
        let mut work = context.work(job)?;
        notes.push(enter_builder_limit(context, &mut work, "commission", typed)?);
    }
    let view = context.view(job)?;
    let diagnosis = diagnose(&view.knowledge, &view.timeline);
    let guards = plan::advise(&diagnosis).guards;
    let found = commission(&diagnosis, &plan::ends(&diagnosis), &guards);
    let about = about(context, &view, &diagnosis, &found);
    if args.sheet || !args.form.is_plain() {
        let usual = vehicle::after(&view.knowledge, &view.timeline);
        let set = limits::as_set(&view.knowledge, &view.journal);
        let letterhead = letterhead::read(context);
        let (usual, limits) = (usual.as_slice(), set.as_ref());
        let journal = &view.journal;
        let (letterhead, local) = (&letterhead, &context.local);
        let input = CommissionInput { about, journal, usual, limits, letterhead, local };
        return put(context, &report::commission_sheet(&input), &args.form);
    }
    let (told, foot, name) = (BTreeSet::new(), context.foot(), quote(job));
    let room = Room { lines: report::LINES, job: Some(&name), told: &told, foot: &foot };
    let page = if context.detail {
        report::commission(&about, &room)
    } else {
        report::commission_at_a_glance(&about, &room)
    };
    let troubles = report::commission_troubles(&about);
    let typed = report::commission_arguments(&about, job);
    let document = CommissionDocument::of(&view, &found, &troubles, typed);
    let document = super::json::with_stop(document, &view.knowledge, &view.timeline);
    Ok(Answer::new(context.whole(&page), document).notes(notes))
}

const WHAT_TO_TYPE: &str = "\
To commission an engine that is believed sound, at the time its probes are fitted:
  oddpot open JOB --cylinders 4 --vehicle NAME --state cold-soaked
  oddpot commission JOB
The second line says what is done and what comes next, as often as it is typed. At a
terminal `oddpot commission` alone asks its way through it.
";

/// Asks its way where somebody can be asked.
fn guided(context: &Context, answers: Option<&Path>) -> Result<Answer, Failure> {
    if answers.is_none() && !super::can_ask() {
        let said = json!({"ok": true, "said": "no job given: see `oddpot commission --help`"});
        return Ok(Answer::new(WHAT_TO_TYPE, said));
    }
    session::commission(context, answers)
}

/// The job as commissioning looks at it.
fn about<'a>(
    context: &'a Context,
    view: &'a View,
    diagnosis: &'a Diagnosis<'_>,
    found: &'a Commission,
) -> Commissioned<'a> {
    Commissioned {
        known: Known {
            knowledge: &view.knowledge,
            timeline: &view.timeline,
            assessment: &diagnosis.assessment,
            scale: context.scale(),
            local: &context.local,
        },
        found,
        vehicle: &view.journal.head.vehicle,
    }
}

/// `commission`.
#[derive(Debug, Serialize)]
struct CommissionDocument<'a> {
    done: bool,
    next: Option<&'static str>,
    steps: Vec<StepDocument>,
    identified: Vec<Cylinder>,
    unasked: Vec<Cylinder>,
    cold: Option<ColdDocument<'a>>,
    cured: bool,
    troubles: Vec<TroubleDocument<'a>>,
    /// The lists of arguments that enter the next step.
    r#type: Vec<Vec<String>>,
}

#[derive(Debug, Serialize)]
struct StepDocument {
    step: &'static str,
    state: &'static str,
    why: Option<&'static str>,
}

/// How the displays agree cold, °C.
#[derive(Debug, Serialize)]
struct ColdDocument<'a> {
    entry: usize,
    apart: f64,
    apart_allowed: f64,
    above_air: Option<f64>,
    from_air_allowed: f64,
    beyond: &'a [Cylinder],
    agrees: bool,
}

#[derive(Debug, Serialize)]
struct TroubleDocument<'a> {
    kind: &'static str,
    said: &'a str,
}

impl<'a> CommissionDocument<'a> {
    fn of(
        view: &View,
        found: &'a Commission,
        troubles: &'a [String],
        typed: Vec<Vec<String>>,
    ) -> Self {
        let step = |(step, state): &(Step, State)| {
            let (state, why) = match *state {
                State::Done => ("done", None),
                State::ToDo => ("to-do", None),
                State::LeftOut(why) => ("left-out", Some(left_out(why))),
            };
            StepDocument { step: step.as_str(), state, why }
        };
        let cold = found.cold.as_ref().map(|cold| ColdDocument {
            entry: cold.entry,
            apart: cold.spread,
            apart_allowed: cold.apart(),
            above_air: cold.above_air,
            from_air_allowed: cold.from_air(),
            beyond: &cold.beyond,
            agrees: cold.agrees(),
        });
        let kinds = found.troubles.iter().zip(troubles);
        Self {
            done: found.is_done(),
            next: found.next().map(Step::as_str),
            steps: found.steps.iter().map(step).collect(),
            identified: found.identified.keys().copied().collect(),
            unasked: found.unasked(&view.timeline),
            cold,
            cured: found.cured,
            troubles: kinds
                .map(|(trouble, said)| TroubleDocument { kind: kind(trouble), said })
                .collect(),
            r#type: typed,
        }
    }
}

fn left_out(why: LeftOut) -> &'static str {
    match why {
        LeftOut::NoBuilderLimit => "no-builder-limit",
        LeftOut::Held => "held",
        LeftOut::PassedOver => "passed-over",
    }
}

fn kind(trouble: &Trouble) -> &'static str {
    match trouble {
        Trouble::NotItsOwn(..) => "not-its-own",
        Trouble::Cold(_) => "cold",
        Trouble::Missing(_) => "missing",
        Trouble::Unproven => "unproven",
    }
}
