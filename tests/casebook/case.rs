//! The form of a complaint with its truth, as it stands in `cases/*.ron`.
//!
//! Plain data. What the truth does to displays and tests is `world`'s matter.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use serde::Deserialize;

/// A complaint, what the customer says of it, and what is really the matter.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Case {
    #[serde(skip)]
    pub(crate) name: String,
    #[expect(dead_code, reason = "for whoever reads the case")]
    pub(crate) title: String,
    pub(crate) families: Vec<String>,
    /// Options of `open` that describe the engine.
    pub(crate) engine: Vec<String>,
    pub(crate) cylinders: u8,
    pub(crate) recent: Vec<String>,
    /// Whether the recent work has to do with it: `true`, `false`, or `silent`.
    #[expect(dead_code, reason = "for whoever reads the case")]
    pub(crate) recent_is: String,
    pub(crate) says: Says,
    pub(crate) builder_limit: Option<f64>,
    /// What a healthy cylinder shows at each point, °C.
    pub(crate) levels: BTreeMap<String, f64>,
    pub(crate) head_levels: BTreeMap<String, f64>,
    /// Offset of each healthy cylinder at each point, °C.
    pub(crate) natural: BTreeMap<String, Vec<f64>>,
    /// Standard deviation of a display from one set to the next, °C.
    pub(crate) noise: f64,
    pub(crate) faults: Vec<Fault>,
    /// Parts mixed up before the job began.
    pub(crate) crossed: Vec<(String, u8, u8)>,
    /// Answers that hold whatever the fault.
    pub(crate) answers: Vec<(String, Option<u8>, String)>,
    /// Tests that the second player cannot do.
    pub(crate) no_tool: Vec<String>,
    pub(crate) best: Best,
    /// Ends that are right.
    pub(crate) ends: Vec<String>,
    /// Sets of cures that prove it.
    #[expect(
        dead_code,
        reason = "for whoever reads the case: a play is judged by what its work ends"
    )]
    pub(crate) cause: Vec<Vec<String>>,
    /// Beginnings of steps that are never right here.
    pub(crate) never: Vec<String>,
    /// The engine must be stopped, and that said.
    pub(crate) must_stop: bool,
    /// Where sizes and truth come from.
    #[expect(dead_code, reason = "for whoever reads the case")]
    pub(crate) notes: String,
}

/// Tests that came into the knowledge base after the cases were written. A case that does not speak of
/// one says nothing of what it would show: there it cannot be done, for "as usual" would be an answer.
const CAME_LATER: [&str; 14] = [
    "bank-trims",
    "box-check",
    "crankcase-pressure",
    "dies-return-flow",
    "dies-seat-look",
    "dies-timing-check",
    "dies-trims",
    "glow-ohms",
    "inj-listen",
    "knock-listen",
    "misfire-count",
    "plug-wiggle",
    "rail-scan",
    "running-compression",
];

impl Case {
    /// Whether the case was written without a test in mind.
    pub(crate) fn is_silent_about(&self, test: &str) -> bool {
        let spoken = self.answers.iter().any(|(t, _, _)| t == test)
            || self.faults.iter().any(|fault| {
                fault.answers.iter().any(|(t, _)| t == test)
                    || fault.answers_at.iter().any(|(t, _, _)| t == test)
                    || fault.elsewhere.iter().any(|(t, _, _)| t == test)
            });
        CAME_LATER.contains(&test) && !spoken
    }
}

/// What is complained of.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Says {
    pub(crate) text: String,
    pub(crate) at: Option<String>,
    pub(crate) cylinder: Option<u8>,
    /// All displays together.
    #[serde(default)]
    pub(crate) all: bool,
    pub(crate) does: Option<String>,
    pub(crate) since: Option<String>,
}

/// One thing that is wrong.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Fault {
    #[expect(dead_code, reason = "for whoever reads the case")]
    pub(crate) what: String,
    /// What carries it.
    pub(crate) seat: String,
    pub(crate) numbers: Vec<u8>,
    pub(crate) shows: BTreeMap<String, Shows>,
    pub(crate) head_shows: BTreeMap<String, Shows>,
    pub(crate) course: Course,
    /// Acts that undo and remake the joint that carries it.
    pub(crate) undone_by: Vec<String>,
    pub(crate) reseat: Reseat,
    pub(crate) goes_with_part: bool,
    /// Causes whose cure ends it.
    pub(crate) cured_by: Vec<String>,
    /// A part of the engine really runs hot enough to be hurt.
    pub(crate) hot: bool,
    pub(crate) answers: Vec<(String, String)>,
    pub(crate) answers_at: Vec<(String, String, Vec<String>)>,
    pub(crate) elsewhere: Vec<(String, Option<u8>, String)>,
}

/// What a fault does to a display.
#[derive(Debug, Clone, Copy, Deserialize)]
pub(crate) enum Shows {
    /// Moves it by so many °C.
    By(f64),
    /// It goes to this value whatever the engine does.
    Reads(f64),
    Open,
    Stuck(#[expect(dead_code, reason = "a stuck display is entered as stuck")] f64),
    Falling,
    /// It jumps between so much below and above.
    Jumps(f64, f64),
}

/// When a fault is there.
#[derive(Debug, Clone, Deserialize)]
pub(crate) enum Course {
    Always,
    /// From this reading set on, counted from nought.
    Begins(usize),
    /// Reading set by reading set, round and round.
    Comes(Vec<bool>),
}

/// What undoing and remaking its joint does to a fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub(crate) enum Reseat {
    Cures,
    Stays,
}

/// The way of a careful mechanic who does not know the truth.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Best {
    #[expect(dead_code, reason = "for whoever reads the case")]
    pub(crate) path: Vec<String>,
    pub(crate) hands_on_min: f64,
}

/// Three natural spreads, °C: petrol exhausts, and diesels or heads.
const UNEVEN: [f64; 2] = [36.0, 24.0];

impl Case {
    /// Whether a sound engine has a cylinder three natural spreads from the middle of its mates: the
    /// contract of the program forbids to call that normal.
    pub(crate) fn is_uneven(&self) -> bool {
        let narrow =
            self.levels.is_empty() || self.engine.iter().any(|word| word.contains("diesel"));
        let bar = UNEVEN[usize::from(narrow)];
        let far = |offsets: &Vec<f64>| {
            (0..offsets.len()).any(|own| {
                let mut mates: Vec<f64> =
                    (0..offsets.len()).filter(|n| *n != own).map(|n| offsets[n]).collect();
                mates.sort_by(f64::total_cmp);
                let middle = mates[(mates.len() - 1) / 2].midpoint(mates[mates.len() / 2]);
                (offsets[own] - middle).abs() >= bar
            })
        };
        self.faults.is_empty() && self.crossed.is_empty() && self.natural.values().any(far)
    }
}

/// Every case, in order of name: those that something was mended on (`cases`) and those that nothing was
/// (`fresh`). `ODDPOT_CASE` picks those whose path has this in it, as `fresh/` or `30-`.
pub(crate) fn all() -> Vec<Case> {
    let wanted = std::env::var("ODDPOT_CASE").unwrap_or_default();
    let mut paths: Vec<PathBuf> = ["cases", "fresh"]
        .iter()
        .map(|folder| Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/casebook").join(folder))
        .flat_map(|folder| fs::read_dir(folder).expect("a folder of cases"))
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "ron"))
        .filter(|path| path.to_string_lossy().contains(&wanted))
        .collect();
    paths.sort();
    paths.iter().map(|path| read(path)).collect()
}

fn read(path: &Path) -> Case {
    let text = fs::read_to_string(path).expect("a case that can be read");
    let mut case: Case =
        ron::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    case.name = path.file_stem().expect("a name").to_string_lossy().into_owned();
    case
}
