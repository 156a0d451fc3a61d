//! `oddpot temps`: one reading per display.

use super::answer::Answer;
use super::context::{Context, quote};
use super::failure::Failure;
use super::named;
use crate::engine::{ProbeSite, RunningPoint};
use crate::job::entry::{Reading, What};
use crate::job::typed::{self, NOT_SOAKED, hot_for_cold_soak};
use crate::units::Scale;

/// Enter one reading per display at one running point
///
/// Each value is a number (a decimal comma is fine, `1205F` is °F), `open`, `stuck`, `falling`,
/// or `LO..HI` for a display that jumps: `oddpot temps van --at idle 652 590 655 640..660`.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot temps van --at idle 652 590 655 648
  oddpot temps van --at cruise 701 open 698 690..720")]
pub(super) struct Args {
    /// Job: a name in the store or a path
    job: String,
    /// Running point
    #[arg(long, value_parser = named::<RunningPoint>(RunningPoint::NAMES))]
    at: RunningPoint,
    /// These are head probes
    #[arg(long)]
    head: bool,
    /// One value per display, in order
    #[arg(required = true, value_name = "VALUE")]
    values: Vec<String>,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let mut work = context.work(&args.job)?;
    let engine = &work.timeline.engine;
    let readings = typed::readings(&args.values, context.scale, engine.cylinders)?;
    let site = if args.head { ProbeSite::Head } else { engine.probes };
    let notes = soaked(args.at, &readings);
    let values: Vec<String> =
        args.values.iter().map(|value| quote(&value.replace('−', "-"))).collect();
    let values = values.join(" ");
    let mut typed = format!("temps --at {}", args.at);
    if args.head {
        typed.push_str(" --head");
    }
    if context.scale == Scale::Fahrenheit {
        typed.push_str(" --units f");
    }
    let typed = format!("{typed} {values}");
    let what = What::Temps { at: args.at, site, readings };
    let said = format!("{site} readings at {}: {values}", args.at);
    Ok(work.enter(typed, what, &said)?.notes(notes))
}

/// A remark when readings said to be cold soaked are hot.
fn soaked(at: RunningPoint, readings: &[Reading]) -> Option<String> {
    (at == RunningPoint::ColdSoak && hot_for_cold_soak(readings)).then(|| {
        format!(
            "most displays are above {NOT_SOAKED} °C: is the engine really cold soaked? \
             `oddpot undo` takes the entry back"
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::fixture::degrees;

    #[test]
    fn hot_readings_at_cold_soak_are_remarked_on() {
        let (hot, cold) = (degrees(&[80.0; 4]), degrees(&[18.0, 18.0, 18.0, 90.0]));
        assert!(soaked(RunningPoint::ColdSoak, &hot).is_some());
        assert!(soaked(RunningPoint::ColdSoak, &cold).is_none());
        assert!(soaked(RunningPoint::Idle, &hot).is_none());
        assert!(soaked(RunningPoint::ColdSoak, &[Reading::Open]).is_none());
    }
}
