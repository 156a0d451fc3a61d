//! Runners and probes as they are typed or written in a file: one figure for all, or one each.

use std::path::Path;

use ron::extensions::Extensions;
use serde::Deserialize;

use super::fit_plan::failed;
use super::values;
use crate::cli::failure::Failure;
use crate::cli::texts;
use facts::job::file::syntax;
use measure::probe::fit_plan::{FEWEST, MOST, PlanError, Probe, Runner};

/// Measures of runners and probes, a list each.
#[derive(Debug, Clone, Default, clap::Args)]
pub(super) struct Lists {
    /// Bore of the runners
    #[arg(long, value_name = "MM", num_args = 1..)]
    bore: Vec<String>,
    /// Where their straight ends and a bend begins, from the flange
    #[arg(long, value_name = "MM", num_args = 1..)]
    straight: Vec<String>,
    /// Where it begins, if not at the flange
    #[arg(long, value_name = "MM", num_args = 1..)]
    straight_from: Vec<String>,
    /// Angle of the bend after the straight [default: 90]
    #[arg(long, value_name = "DEGREES", num_args = 1..)]
    bend: Vec<String>,
    /// Angle of the bend before it [default: 90]
    #[arg(long, value_name = "DEGREES", num_args = 1..)]
    bend_before: Vec<String>,
    /// How far the bosses lean from square to the runner [default: 0]
    #[arg(long, value_name = "DEGREES", num_args = 1..)]
    lean: Vec<String>,
    /// Boss: from the inner wall to where the stem comes out of the fitting, along the stem
    #[arg(long, value_name = "MM", num_args = 1..)]
    boss: Vec<String>,
    /// Probes: from the tip to where the sheath ends at the head
    #[arg(long, value_name = "MM", num_args = 1..)]
    probe_length: Vec<String>,
    /// Thickness of the probes [default: 3]
    #[arg(long, value_name = "MM", num_args = 1..)]
    diameter: Vec<String>,
    /// Length of the probes' leads
    #[arg(long, value_name = "MM", num_args = 1..)]
    lead: Vec<String>,
    /// Way from boss to box, as the loom runs
    #[arg(long, value_name = "MM", num_args = 1..)]
    to_box: Vec<String>,
}

/// A file of runners.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct FileRunners {
    pub(super) wish: FileWish,
    runners: Vec<Measures>,
}

/// What is wanted, as a file has it.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct FileWish {
    pub(super) within: Option<f64>,
    pub(super) distance: Option<f64>,
    pub(super) depth: Option<f64>,
}

/// The form on disk.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    #[serde(default)]
    within: Option<f64>,
    #[serde(default)]
    distance: Option<f64>,
    #[serde(default)]
    depth: Option<f64>,
    #[serde(default)]
    all: Measures,
    runners: Vec<Measures>,
}

/// Measures of one runner, what is not known left out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct Measures {
    bore: Option<f64>,
    straight: Option<f64>,
    straight_from: Option<f64>,
    bend: Option<f64>,
    bend_before: Option<f64>,
    lean: Option<f64>,
    boss: Option<f64>,
    probe_length: Option<f64>,
    diameter: Option<f64>,
    lead: Option<f64>,
    to_box: Option<f64>,
}

impl Measures {
    /// These, and the other's where there are none.
    fn or(self, other: Self) -> Self {
        Self {
            bore: self.bore.or(other.bore),
            straight: self.straight.or(other.straight),
            straight_from: self.straight_from.or(other.straight_from),
            bend: self.bend.or(other.bend),
            bend_before: self.bend_before.or(other.bend_before),
            lean: self.lean.or(other.lean),
            boss: self.boss.or(other.boss),
            probe_length: self.probe_length.or(other.probe_length),
            diameter: self.diameter.or(other.diameter),
            lead: self.lead.or(other.lead),
            to_box: self.to_box.or(other.to_box),
        }
    }

    fn runner(self, cylinder: usize) -> Result<Runner, Failure> {
        let bore = self.bore.ok_or_else(|| {
            Failure::usage(format!("the bore of runner {cylinder} is not given"))
                .hint("`--bore 42` for all, or one figure per cylinder: `--bore 42 42 38 42`")
        })?;
        let plain = Runner::straight(bore);
        Ok(Runner {
            straight_from_mm: self.straight_from.unwrap_or(plain.straight_from_mm),
            straight_to_mm: self.straight,
            bend_before_deg: self.bend_before.unwrap_or(plain.bend_before_deg),
            bend_after_deg: self.bend.unwrap_or(plain.bend_after_deg),
            lean_deg: self.lean.unwrap_or(plain.lean_deg),
            boss_mm: self.boss,
            to_box_mm: self.to_box,
            probe: Probe {
                diameter_mm: self.diameter.unwrap_or(plain.probe.diameter_mm),
                length_mm: self.probe_length,
                lead_mm: self.lead,
            },
            ..plain
        })
    }
}

/// Reads a file of runners.
///
/// # Errors
/// When it cannot be read or is no such file.
pub(super) fn read(path: &Path) -> Result<FileRunners, Failure> {
    let shown = path.display();
    let text = texts::text(path)
        .map_err(|error| Failure::file(format!("could not read {shown}: {error}")))?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let raw: RawFile = ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME)
        .from_str(text)
        .map_err(|error| {
            Failure::file(format!("{shown}: {}", syntax(text, &error)))
                .hint("as in `(all: (bore: 42, boss: 20), runners: [(straight: 90), (), (), ()])`")
        })?;
    let RawFile { within, distance, depth, all, runners } = raw;
    Ok(FileRunners {
        wish: FileWish { within, distance, depth },
        runners: runners.into_iter().map(|one| one.or(all)).collect(),
    })
}

/// The runners that lists, file and number of cylinders come to.
///
/// # Errors
/// When a list has neither one figure nor one per cylinder, or something is no number.
pub(super) fn runners(
    lists: &Lists,
    file: &FileRunners,
    cylinders: Option<usize>,
) -> Result<Vec<Runner>, Failure> {
    let named: [(&str, &[String]); 11] = [
        ("--bore", &lists.bore),
        ("--straight", &lists.straight),
        ("--straight-from", &lists.straight_from),
        ("--bend", &lists.bend),
        ("--bend-before", &lists.bend_before),
        ("--lean", &lists.lean),
        ("--boss", &lists.boss),
        ("--probe-length", &lists.probe_length),
        ("--diameter", &lists.diameter),
        ("--lead", &lists.lead),
        ("--to-box", &lists.to_box),
    ];
    let longest = named.iter().map(|(_, list)| list.len()).max().unwrap_or(0);
    let count = match (cylinders, file.runners.len()) {
        (Some(cylinders), 0) => cylinders,
        (Some(cylinders), there) if there != cylinders => {
            return Err(Failure::usage(format!(
                "the file has {there} runners, `--cylinders {cylinders}` was given"
            ))
            .hint("leave `--cylinders` out, or write a runner per cylinder"));
        }
        (_, 0) if longest < 2 => {
            return Err(Failure::usage("how many cylinders there are is not given")
                .hint("`--cylinders 4`, or one figure per cylinder: `--bore 42 42 38 42`"));
        }
        (_, 0) => longest,
        (_, there) => there,
    };
    if !(FEWEST..=MOST).contains(&count) {
        return Err(failed(PlanError::Count(count)));
    }
    let mut values: Vec<Vec<f64>> = Vec::new();
    for (name, list) in named {
        if list.len() > 1 && list.len() != count {
            return Err(Failure::usage(format!(
                "{name} has {} figures for {count} cylinders",
                list.len()
            ))
            .hint("give one figure for all, or one per cylinder in order"));
        }
        values.push(list.iter().map(|typed| number(name, typed)).collect::<Result<_, _>>()?);
    }
    let of = |list: usize, at: usize| {
        let list = &values[list];
        list.get(if list.len() == 1 { 0 } else { at }).copied()
    };
    (0..count)
        .map(|at| {
            let typed = Measures {
                bore: of(0, at),
                straight: of(1, at),
                straight_from: of(2, at),
                bend: of(3, at),
                bend_before: of(4, at),
                lean: of(5, at),
                boss: of(6, at),
                probe_length: of(7, at),
                diameter: of(8, at),
                lead: of(9, at),
                to_box: of(10, at),
            };
            let written = file.runners.get(at).copied().unwrap_or_default();
            typed.or(written).runner(at + 1)
        })
        .collect()
}

/// A figure of a list.
fn number(name: &str, typed: &str) -> Result<f64, Failure> {
    let what = if matches!(name, "--bend" | "--bend-before" | "--lean") {
        "an angle in degrees"
    } else {
        "a length in mm"
    };
    let value = values::number(typed, what).map_err(|_| {
        Failure::usage(format!("{name}: `{typed}` is not {what}"))
            .hint("separate figures with spaces, as in `42 42 38 42`; a comma is a decimal point")
    })?;
    Ok(value)
}
