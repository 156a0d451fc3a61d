//! Running points as they are typed: any word that can be one, held against the knowledge base once that is read.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::builder::{PossibleValue, TypedValueParser};
use clap::error::{ContextKind, ContextValue, ErrorKind};

use super::failure::Failure;
use facts::knowledge::{Points, RunningPoint};
use measure::engine::PointId;

/// Takes the id of a running point in any case; help and completions name those that are known by then.
#[derive(Debug, Clone)]
pub(super) struct Point {
    known: Vec<&'static str>,
}

/// For running points of the built-in knowledge base, and any of one's own.
pub(super) fn point() -> Point {
    Point { known: Points::built_in().ids() }
}

/// The same where a warm engine is held.
pub(super) fn held() -> Point {
    Point { known: Points::built_in().settled().map(RunningPoint::as_str).collect() }
}

/// Options by which a running point is said.
const SAID: [&str; 2] = ["at", "complaint_at"];

/// The command line whose help names the running points of a knowledge base.
pub(super) fn named(mut command: clap::Command, points: &Points) -> clap::Command {
    let names: Vec<String> =
        command.get_subcommands().map(|sub| sub.get_name().to_owned()).collect();
    for name in names {
        command = command.mut_subcommand(name, |mut sub| {
            for id in SAID {
                if sub.get_arguments().any(|arg| arg.get_id() == id) {
                    let held = sub.get_name() == "balance";
                    let known = points.iter().filter(|point| point.settled || !held);
                    let known = Point { known: known.map(RunningPoint::as_str).collect() };
                    sub = sub.mut_arg(id, |arg| arg.value_parser(known));
                }
            }
            sub
        });
    }
    command
}

/// The folder of one's own knowledge that a command line names.
pub(super) fn folder(arguments: &[OsString]) -> Option<PathBuf> {
    let after = |index: usize| arguments.get(index + 1).map(PathBuf::from);
    arguments.iter().enumerate().find_map(|(index, word)| match word.to_str()? {
        "--knowledge" => after(index),
        word => word.strip_prefix("--knowledge=").map(PathBuf::from),
    })
}

impl TypedValueParser for Point {
    type Value = PointId;

    fn parse_ref(
        &self,
        command: &clap::Command,
        arg: Option<&clap::Arg>,
        value: &std::ffi::OsStr,
    ) -> Result<PointId, clap::Error> {
        let typed = value.to_string_lossy().to_lowercase();
        typed.parse().map_err(|_| {
            let mut error = clap::Error::new(ErrorKind::InvalidValue).with_cmd(command);
            let named = arg.map_or_else(|| "...".to_owned(), ToString::to_string);
            error.insert(ContextKind::InvalidArg, ContextValue::String(named));
            error.insert(ContextKind::InvalidValue, ContextValue::String(typed));
            let known = self.known.iter().map(|id| (*id).to_owned()).collect();
            error.insert(ContextKind::ValidValue, ContextValue::Strings(known));
            error
        })
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(self.known.iter().map(PossibleValue::new)))
    }
}

/// The running point that was typed.
///
/// # Errors
/// When the knowledge base has none of this id.
pub(super) fn known(points: &Points, typed: PointId) -> Result<RunningPoint, Failure> {
    points.get(typed).ok_or_else(|| {
        Failure::unknown("running point", typed.as_str(), points.ids())
            .hint(format!("it is one of {}", points.ids().join(", ")))
    })
}

/// The same where one was typed.
///
/// # Errors
/// As [`known`].
pub(super) fn known_if(
    points: &Points,
    typed: Option<PointId>,
) -> Result<Option<RunningPoint>, Failure> {
    typed.map(|typed| known(points, typed)).transpose()
}
