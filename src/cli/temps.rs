//! `oddpot temps`: one reading per display.

use std::fmt::Write as _;
use std::path::PathBuf;

use serde_json::json;

use super::answer::Answer;
use super::context::{Context, Work, quote};
use super::failure::Failure;
use super::from_log::{self, Asked};
use super::json;
use super::log_args::LogArgs;
use super::{points, texts};
use facts::job::entry::{Reading, What};
use facts::job::typed::{self, NOT_SOAKED, hot_for_cold_soak};
use facts::knowledge::RunningPoint;
use judge::heat;
use measure::engine::{PointId, ProbeSite};
use measure::units::{Celsius, Scale};
use pages::report;

/// Enter one reading per display at one running point
///
/// Each value is a number (a decimal comma is fine, `1205F` is °F), `open`, `stuck`, `falling`,
/// or `LO..HI` for a display that jumps: `oddpot temps van --at idle 652 590 655 640..660`. `OL` and
/// `---` count as open, `T1=652` as the value of display 1; a quoted line is taken apart, and `-`
/// reads the values from standard input.
///
/// With `--from FILE` they come out of a data log (see `oddpot log`): every settled window becomes
/// a reading set, and what the log shows of pace, scatter and steps becomes outcomes of tests.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot temps van --at idle 652 590 655 648
  oddpot temps van --at cruise 701 open 698 690..720
  oddpot temps van --from run.csv")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Running point; with --from only where the log does not tell it
    #[arg(long, ignore_case = true, value_parser = points::point(),
          required_unless_present = "from")]
    at: Option<PointId>,
    /// These are head probes
    #[arg(long)]
    head: bool,
    /// At cold soak, the air beside the engine by a thermometer of its own
    #[arg(long, value_name = "T", conflicts_with = "from")]
    air: Option<String>,
    /// One value per display, in order
    #[arg(value_name = "VALUE", required_unless_present = "from", conflicts_with = "from")]
    values: Vec<String>,
    /// Take settled windows of a data log; `-` for standard input
    #[arg(long, value_name = "FILE")]
    from: Option<PathBuf>,
    /// Windows to take, as `oddpot log FILE` numbers them; all if left out
    #[arg(long, value_name = "N", value_delimiter = ',', requires = "from")]
    window: Vec<usize>,
    /// Enter the values as typed, though their scale or level cannot be right
    #[arg(long, conflicts_with = "from")]
    as_typed: bool,
    #[command(flatten)]
    log: LogArgs,
}

impl Args {
    /// Whether the values were typed, so that it is one set.
    pub(super) fn is_typed(&self) -> bool {
        self.from.is_none()
    }
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    if let Some(file) = &args.from {
        return from_log::run(
            context,
            &Asked {
                job: &args.job,
                file,
                log: &args.log,
                windows: &args.window,
                at: args.at,
                head: args.head,
            },
        );
    }
    if args.log.said() {
        return Err(Failure::usage("how a log is written was said, but no log was given")
            .hint("`--from FILE` names it"));
    }
    let Some(at) = args.at else {
        return Err(Failure::usage("say the running point with `--at POINT`"));
    };
    let mut work = context.work(&args.job)?;
    let at = points::known(&work.knowledge.points, at)?;
    let air = air(context, args, at)?;
    let engine = &work.timeline.engine;
    let values = values(&args.values)?;
    let readings = typed::readings(&values, context.scale(), engine.cylinders)?;
    if !args.as_typed
        && let Some(mixed) = typed::mixed(&values, context.scale())
    {
        return Err(Failure::usage(mixed).hint(AS_TYPED));
    }
    let site = if args.head { ProbeSite::Head } else { engine.probes };
    let notes = soaked(at, &readings);
    let values: Vec<String> = values.iter().map(|value| quote(&value.replace('−', "-"))).collect();
    let values = values.join(" ");
    let mut typed = format!("temps --at {at}");
    if args.head {
        typed.push_str(" --head");
    }
    if context.scale() == Scale::Fahrenheit {
        typed.push_str(" --units f");
    }
    if let Some(air) = &args.air {
        let _ = write!(typed, " --air {}", quote(air));
    }
    let typed = format!("{typed} {values}");
    let what = What::Temps { at: at.id, site, readings, from: None };
    let beside = air.map_or_else(String::new, |air| {
        let scale = context.scale();
        format!("; {:.1} {} beside it", scale.show(air), scale.sign())
    });
    let said = format!("{site} readings at {at}: {values}{beside}");
    let scale = context.scale();
    let number = work.number();
    if !args.as_typed
        && let Some(why) =
            report::no_temperatures(&work.knowledge, &work.trial(what.clone()), number, scale)
    {
        return Err(Failure::usage(format!("{why}: nothing was entered"))
            .hint("look at the running point, the scale (`--units`) and the box")
            .hint(AS_TYPED));
    }
    let journal = work.held.journal();
    if !args.as_typed
        && let Some(earlier) = typed::other_scale(journal, &what, scale, number)
    {
        let why = typed::on_the_other(scale, earlier);
        return Err(Failure::usage(format!("{why}: nothing was entered"))
            .hint("`--units c` or `--units f` says the scale of all numbers")
            .hint(AS_TYPED));
    }
    let same = work.held.journal().same_as(&what).filter(|same| *same != number);
    let same = same.map(|same| {
        format!(
            "every reading is exactly that of entry {same}: if it was entered twice, `oddpot undo {}`",
            quote(&args.job)
        )
    });
    let understood = report::entry_text(&work.knowledge, &what, scale);
    let entered = work.enter_beside(typed, what, &said, air)?;
    let notes = notes.into_iter().chain(same).chain(all_hot(&work, number, &args.job));
    Ok(with_verdict(entered, &work, (number, scale), &understood).notes(notes))
}

/// A remark when every display of a set just entered is too hot: then it is likelier the scale.
fn all_hot(work: &Work, number: usize, job: &str) -> Option<String> {
    let set = work.timeline.sets.iter().find(|set| set.entry == number)?;
    let numbers = set.readings.iter().filter(|reading| reading.middle().is_some()).count();
    let heat = heat::judge(&work.knowledge, &work.timeline)?;
    let all = heat.at == Some(set.at) && heat.readings.len() == numbers && numbers > 1;
    all.then(|| {
        format!(
            "every display is that hot: if the numbers are °F, type `oddpot undo {}` and enter them with \
             `--units f`",
            quote(job)
        )
    })
}

/// The air beside a cold engine, where it was said.
fn air(context: &Context, args: &Args, at: RunningPoint) -> Result<Option<Celsius>, Failure> {
    let Some(typed) = &args.air else { return Ok(None) };
    if !at.is_cold() {
        return Err(Failure::usage(format!("`--air` goes with `--at cold`, not with {at}")));
    }
    match typed::reading(typed, context.scale()) {
        Ok(Reading::Degrees(air)) => Ok(Some(air)),
        Ok(_) => Err(Failure::usage(format!("`{typed}` is no temperature"))
            .hint("give what the thermometer shows, as 18.5 or 65F")),
        Err(error) => Err(Failure::usage(error.to_string())),
    }
}

/// How to insist.
const AS_TYPED: &str = "`--as-typed` enters it all the same";

/// Most that is read from standard input, bytes: readings of sixteen displays are far less.
const MOST: u64 = 64 * 1024;

/// The values as single words: from standard input for `-`, else as given.
fn values(given: &[String]) -> Result<Vec<String>, Failure> {
    let lines = if given == ["-"] {
        let text = texts::bounded(std::io::stdin().lock(), MOST)
            .map_err(|error| Failure::file(format!("could not read standard input: {error}")))?;
        vec![text]
    } else {
        given.to_vec()
    };
    Ok(lines.iter().flat_map(|line| typed::parted(line)).collect())
}

/// Says back what was understood, how it compares, and first of all whether the engine must stop.
#[expect(clippy::needless_pass_by_value, reason = "the answer becomes another")]
fn with_verdict(
    entered: Answer,
    work: &Work,
    (number, scale): (usize, Scale),
    understood: &str,
) -> Answer {
    let (knowledge, timeline) = (&work.knowledge, &work.timeline);
    let compared = report::compared(knowledge, timeline, number, scale);
    let stop = report::heat_line(knowledge, timeline, scale);
    let mut text = stop.map_or_else(String::new, |line| format!("{}\n", work.lines(&line)));
    text.push_str(&entered.text);
    let compared_text = compared.as_ref().map_or_else(String::new, |c| format!("; {c}"));
    let line = format!("{}{compared_text}.", report::words::upper_first(understood));
    let _ = writeln!(text, "{}", work.lines(&line));
    let mut document = entered.json.clone();
    document["understood"] = json!(understood);
    document["compared"] = json!(compared);
    Answer::new(text, json::with_stop(document, knowledge, timeline))
}

/// A remark when readings said to be cold soaked are hot.
fn soaked(at: RunningPoint, readings: &[Reading]) -> Option<String> {
    (at.is_cold() && hot_for_cold_soak(readings)).then(|| {
        format!(
            "most displays are above {NOT_SOAKED} °C: is the engine really cold soaked? \
             `oddpot undo` takes the entry back"
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use fixture::degrees;
    use measure::engine::Regime;

    #[test]
    fn hot_readings_at_cold_soak_are_remarked_on() {
        let (hot, cold) = (degrees(&[80.0; 4]), degrees(&[18.0, 18.0, 18.0, 90.0]));
        assert!(soaked(fixture::at(Regime::ColdSoak), &hot).is_some());
        assert!(soaked(fixture::at(Regime::ColdSoak), &cold).is_none());
        assert!(soaked(fixture::at(Regime::Idle), &hot).is_none());
        assert!(soaked(fixture::at(Regime::ColdSoak), &[Reading::Open]).is_none());
    }
}
