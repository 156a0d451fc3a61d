//! `oddpot found`: a test's outcome in words.

use super::answer::Answer;
use super::context::{Context, Work, quote};
use super::failure::Failure;
use super::points;
use super::took::Took;
use super::{items, subject};
use facts::job::entry::What;
use facts::knowledge::{CANNOT, Item, Scope, Test};
use judge::diagnosis::assess;
use measure::engine::{Cylinder, PointId};

/// Enter a test's outcome in words
///
/// `oddpot next JOB` names tests and outcomes, `oddpot knowledge show TEST` explains them. An
/// exchange that was entered with `exchange` gets its verdict here if there are no numbers.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot found van look-fit deeper --cylinder 2
  oddpot found van look-fit deeper --cylinder 2 --minutes 9")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Test id
    test: String,
    /// Outcome id, or `cannot` where the test cannot be done here
    outcome: String,
    /// Cylinder it was done on; the odd one if left out
    #[arg(long, value_name = "N")]
    cylinder: Option<Cylinder>,
    /// The other cylinder of an exchange, or the one that the outcome points at
    #[arg(long, value_name = "N")]
    partner: Option<Cylinder>,
    /// Running point it was done at, for tests that judge the running engine; that of the last
    /// readings, or idle, if left out
    #[arg(long, ignore_case = true, value_parser = points::point())]
    at: Option<PointId>,
    #[command(flatten)]
    took: Took,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut work = context.work(&args.job)?;
    let knowledge = &work.knowledge;
    let engine = &work.timeline.engine;
    let test = &knowledge.tests[subject::test(knowledge, engine, &args.test)?];
    let outcomes = || test.outcomes.iter().map(|o| o.id.as_str());
    if args.outcome == CANNOT && outcomes().all(|id| id != CANNOT) {
        let test = test.clone();
        return cannot(&mut work, &test, args);
    }
    let Some(outcome) = test.outcomes.iter().find(|o| o.id == args.outcome) else {
        let all: Vec<&str> = outcomes().collect();
        return Err(Failure::unknown(
            &format!("outcome of `{}`:", test.id),
            &args.outcome,
            outcomes(),
        )
        .hint(format!(
            "it can show {}; `{CANNOT}` says that it cannot be done here",
            all.join(", ")
        )));
    };
    if let Some(item) = test.item {
        match (args.cylinder, args.partner) {
            (Some(a), Some(b)) => items::check_pair(engine, item, a, b)?,
            _ => items::check(engine, item)?,
        }
    }
    let exchanges = !test.moves.is_empty();
    if exchanges && args.partner.is_none() && !exchanged(&work, test) {
        let Some(item) = test.item else {
            return Err(Failure::usage("an exchange needs --cylinder A and --partner B"));
        };
        let job = quote(&args.job);
        let said =
            format!("`{}` is an exchange, and which two changed places was not said", test.id);
        return Err(Failure::usage(said)
            .hint(format!(
                "`oddpot exchange {job} {item} A B` enters it, then this line tells how it went"
            ))
            .hint("or say both here: --cylinder A --partner B"));
    }
    if args.partner.is_some() && !exchanges && !outcome.partner {
        return Err(Failure::usage(format!(
            "`{}` points at no other cylinder: leave out --partner",
            outcome.id
        )));
    }
    let mut notes = Vec::new();
    let cylinder = cylinder(&work, test, args, &mut notes)?;
    if args.partner.is_some() && cylinder.is_none() {
        return Err(Failure::usage("--partner needs --cylinder, the odd one"));
    }
    let mut typed = vec![format!("found {} {}", test.id, outcome.id)];
    let mut on = vec![test.name.clone()];
    if let Some(cylinder) = cylinder {
        typed.push(format!("--cylinder {cylinder}"));
        let place = if test.item == Some(Item::LeadAtBox) { "display" } else { "cylinder" };
        on.push(format!("on {place} {cylinder}"));
    }
    if let Some(partner) = args.partner {
        typed.push(format!("--partner {partner}"));
        on.push(if exchanges { format!("with {partner}") } else { format!("it is {partner}") });
    }
    let said = format!("{}: {}", on.join(" "), outcome.text);
    let what = What::Found {
        test: test.id.clone(),
        outcome: outcome.id.clone(),
        cylinder,
        partner: args.partner,
    };
    let told = points::known_if(&knowledge.points, args.at)?;
    let at = told.or_else(|| work.timeline.point_for(test)).map(|at| at.id);
    if let Some(at) = told {
        if !test.at_point {
            let said = format!("`{}` shows the same at every point: leave out --at", test.id);
            return Err(Failure::usage(said));
        }
        typed.push(format!("--at {at}"));
    }
    let typed = typed.join(" ") + &args.took.typed();
    Ok(work.enter_at(typed, what, &said, args.took.minutes, at)?.notes(notes))
}

/// Whether the exchange that a test is was entered.
fn exchanged(work: &Work, test: &Test) -> bool {
    let index = work.knowledge.test(&test.id);
    let mut entered = work.timeline.disturbances.iter().filter_map(|d| d.work);
    entered.any(|done| Some(done.test) == index)
}

/// Enters that a test cannot be done here: it is not offered again in this job.
fn cannot(work: &mut Work, test: &Test, args: &Args) -> Result<Answer, Failure> {
    if args.partner.is_some() {
        return Err(Failure::usage("what cannot be done has no partner: leave out --partner"));
    }
    let typed = format!("found {} {CANNOT}", test.id);
    let said =
        format!("{}: cannot be done here, and is not asked for again in this job", test.name);
    let what = What::Found {
        test: test.id.clone(),
        outcome: CANNOT.to_owned(),
        cylinder: None,
        partner: None,
    };
    work.enter(typed, what, &said)
}

/// The cylinder to enter: as typed, or the odd one where a test needs one.
fn cylinder(
    work: &Work,
    test: &Test,
    args: &Args,
    notes: &mut Vec<String>,
) -> Result<Option<Cylinder>, Failure> {
    if test.scope == Scope::Engine {
        if args.cylinder.is_some() {
            notes.push(format!("`{}` is of the whole engine: the cylinder was left out", test.id));
        }
        return Ok(None);
    }
    if args.cylinder.is_some() {
        return Ok(args.cylinder);
    }
    // Words on an exchange that was entered know their cylinders.
    let number = work.number();
    let trial = work.trial(What::Found {
        test: test.id.clone(),
        outcome: args.outcome.clone(),
        cylinder: None,
        partner: None,
    });
    if test.kind.follows_seats() && trial.unknown.iter().all(|&(n, _)| n != number) {
        return Ok(None);
    }
    let timeline = &work.timeline;
    let Some(display) = assess(&work.knowledge, timeline).odd_display else {
        return Err(Failure::usage(format!(
            "`{}` is done on one cylinder, and no display stands out to say which",
            test.id
        ))
        .hint("say which with --cylinder N"));
    };
    // The box end of a lead is at a display, everything else at a cylinder.
    let cylinder = if test.item == Some(Item::LeadAtBox) {
        display
    } else {
        timeline.arrangement.cylinder_shown(display)
    };
    notes.push(format!(
        "taken for {cylinder}, the odd one; `oddpot undo` and --cylinder N if it was another"
    ));
    Ok(Some(cylinder))
}
