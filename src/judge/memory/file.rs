//! A memory as text, and back.
//!
//! Pure. RON that reads as a table: for each kind of engine and recent work the jobs, by their keys, in
//! which each cause was proven.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use ron::extensions::Extensions;
use serde::Deserialize;
use serde::de::IgnoredAny;

use super::counts::{Lesson, Memory, Stratum};
use facts::job::file::{FileError, syntax};
use measure::engine::Kind;

/// Version of the form. The first also named the workshop, and could hold counts of others.
pub const FORMAT: u32 = 2;

const HEADER: &str = "\
// What this workshop remembers of its closed and proven jobs; `oddpot memory show` reads it.
// Written whole each time, so comments added here do not stay. Without this file nothing is
// remembered. Jobs are named by a hash: `memory learn` knows by it what it has counted.
";

/// Why a text is no memory.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MemoryFileError {
    /// As a job file can be wrong.
    #[error(transparent)]
    Form(FileError),
    /// Written by a newer version of the program.
    #[error(
        "it has format {0}, this program knows format {FORMAT}: use the newer oddpot that wrote it"
    )]
    Newer(u32),
    /// A number that cannot be.
    #[error("{0}")]
    Number(String),
}

#[derive(Deserialize)]
struct Version {
    format: u32,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawMemory {
    #[expect(dead_code, reason = "looked at before")]
    format: u32,
    #[serde(default)]
    own: Vec<RawOwn>,
    /// By test: job and minutes.
    #[serde(default)]
    took: BTreeMap<String, Vec<(String, f64)>>,
    #[serde(default)]
    left_out: u32,
    #[serde(default)]
    #[expect(dead_code, reason = "of the first form, for other workshops")]
    workshop: IgnoredAny,
    #[serde(default)]
    #[expect(dead_code, reason = "of the first form, for other workshops")]
    revision: IgnoredAny,
    #[serde(default)]
    pooled: Vec<RawShare>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawOwn {
    engine: Kind,
    recent: Vec<String>,
    /// By cause: jobs.
    proven: BTreeMap<String, Vec<String>>,
}

/// What the first form had of another workshop; it no longer counts.
#[derive(Deserialize)]
struct RawShare {
    #[serde(default)]
    counts: Vec<RawCounts>,
}

#[derive(Deserialize)]
struct RawCounts {
    /// By cause: how many jobs.
    proven: BTreeMap<String, u32>,
}

fn options() -> ron::Options {
    ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

fn parsed<T: for<'de> Deserialize<'de>>(text: &str) -> Result<T, MemoryFileError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if let Ok(Version { format }) = options().from_str::<Version>(text)
        && format > FORMAT
    {
        return Err(MemoryFileError::Newer(format));
    }
    options().from_str(text).map_err(|error| MemoryFileError::Form(syntax(text, &error)))
}

/// Reads a workshop's memory.
///
/// # Errors
/// When the text is of a newer form or is no memory.
pub fn read(text: &str) -> Result<Memory, MemoryFileError> {
    let raw: RawMemory = parsed(text)?;
    let mut own: BTreeMap<String, Lesson> = BTreeMap::new();
    for group in raw.own {
        let stratum = stratum(group.engine, group.recent);
        for (cause, jobs) in group.proven {
            for job in jobs {
                let stratum = stratum.clone();
                let lesson = Lesson { stratum, cause: cause.clone(), took: Vec::new() };
                if own.insert(job.clone(), lesson).is_some() {
                    let twice = format!("the job `{job}` is counted twice");
                    return Err(MemoryFileError::Number(twice));
                }
            }
        }
    }
    for (test, list) in raw.took {
        for (job, minutes) in list {
            check_minutes(&test, minutes)?;
            if let Some(lesson) = own.get_mut(&job) {
                lesson.took.push((test.clone(), minutes));
            }
        }
    }
    let pooled = raw.pooled.iter().flat_map(|share| &share.counts);
    let pooled = pooled.flat_map(|counts| counts.proven.values());
    let left_out = pooled.fold(raw.left_out, |sum, count| sum.saturating_add(*count));
    Ok(Memory { own, left_out })
}

fn stratum(kind: Kind, mut recent: Vec<String>) -> Stratum {
    recent.sort();
    recent.dedup();
    Stratum { kind, recent }
}

fn check_minutes(test: &str, minutes: f64) -> Result<(), MemoryFileError> {
    if minutes.is_finite() && minutes >= 0.0 {
        Ok(())
    } else {
        Err(MemoryFileError::Number(format!("`{test}` cannot have taken {minutes} minutes")))
    }
}

/// Writes a workshop's memory.
#[must_use]
pub fn write(memory: &Memory) -> String {
    let mut own: BTreeMap<&Stratum, BTreeMap<&str, Vec<&str>>> = BTreeMap::new();
    let mut took: BTreeMap<&str, Vec<(&str, f64)>> = BTreeMap::new();
    for (job, lesson) in memory.own() {
        let causes = own.entry(&lesson.stratum).or_default();
        causes.entry(&lesson.cause).or_default().push(job);
        for (test, minutes) in &lesson.took {
            took.entry(test).or_default().push((job, *minutes));
        }
    }
    let mut out = format!("{HEADER}(\n  format: {FORMAT},\n  own: [\n");
    for (stratum, causes) in own {
        let recent: Vec<String> = stratum.recent.iter().map(|flag| quoted(flag)).collect();
        let (engine, recent) = (quoted(&stratum.kind.to_string()), recent.join(", "));
        let _ = writeln!(out, "    (engine: {engine}, recent: [{recent}], proven: {{");
        for (cause, jobs) in causes {
            let jobs: Vec<String> = jobs.into_iter().map(quoted).collect();
            let _ = writeln!(out, "      {}: [{}],", quoted(cause), jobs.join(", "));
        }
        out.push_str("    }),\n");
    }
    out.push_str("  ],\n  took: {\n");
    for (test, list) in took {
        let list: Vec<String> =
            list.into_iter().map(|(job, m)| format!("({}, {m:?})", quoted(job))).collect();
        let _ = writeln!(out, "    {}: [{}],", quoted(test), list.join(", "));
    }
    out.push_str("  },\n");
    if memory.left_out > 0 {
        let _ = writeln!(out, "  left_out: {},", memory.left_out);
    }
    out.push_str(")\n");
    out
}

/// A text as RON has it.
fn quoted(text: &str) -> String {
    ron::to_string(text).unwrap_or_else(|_| "\"\"".to_owned())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use facts::job::brief::Brief;
    use facts::job::entry::{Entry, What};
    use measure::engine::Place;

    fn memory() -> Memory {
        let mut memory = Memory::default();
        for (vehicle, cause, recent) in [
            ("a", "fit-deep", "manifold-off"),
            ("b", "fit-deep", "manifold-off"),
            ("c", "old-id", "x"),
        ] {
            let mut journal = fixture::journal();
            journal.head.vehicle = vehicle.to_owned();
            journal.head.recent = vec![recent.to_owned()];
            let found = What::Found {
                test: "look-fit".to_owned(),
                outcome: "deeper".to_owned(),
                cylinder: Some(1),
                partner: None,
            };
            let remedy = What::Remedy { cause: cause.to_owned(), place: Place::Cylinder(1) };
            journal.entries = vec![
                Entry { minutes: Some(7.5), ..fixture::entry(found) },
                fixture::entry(remedy),
                fixture::entry(What::Close { proven: true, reason: None }),
            ];
            memory.learn(&Brief::of(&journal));
        }
        memory
    }

    #[test]
    fn what_is_written_reads_back_the_same() {
        let memory = memory();
        assert_eq!(read(&write(&memory)), Ok(memory.clone()));
        let memory = Memory { left_out: 60, ..memory };
        assert_eq!(read(&write(&memory)), Ok(memory));
    }

    #[test]
    fn the_first_form_is_read_and_what_others_counted_left_out() {
        let new = write(&memory());
        let own = new.split_once("  own: [").expect("own jobs").1.trim_end().trim_end_matches(')');
        let pooled = r#"pooled: [
            (workshop: "theirs", revision: 9, counts: [
              (engine: "4 inline port wasted-spark plenum natural liquid exhaust", recent: ["x"], proven: {
                "fit-deep": 40, "old-id": 2,
              }),
              (engine: "no engine of today", recent: [], proven: {"fit-deep": 4294967290}),
            ], took: {"look-fit": (3, 22.5)}),
            (workshop: "others", revision: 1, counts: [], took: {}),
        ]"#;
        let old = |pooled: &str| {
            format!("(format: 1, workshop: \"ours\", revision: 3, own: [{own} {pooled})")
        };
        assert_eq!(read(&old("pooled: []")), Ok(memory()));
        let fewer = pooled.replace("4294967290", "18");
        assert_eq!(read(&old(&fewer)), Ok(Memory { left_out: 60, ..memory() }));
        assert_eq!(read(&old(pooled)), Ok(Memory { left_out: u32::MAX, ..memory() }));
    }

    #[test]
    fn what_is_no_memory_says_why() {
        let text = write(&memory());
        let cases = [
            (text.replace("format: 2", "format: 9"), "format 9"),
            (text.replace("took", "tok"), "did you mean `took`?"),
            (text.replace("4 inline", "40 inline"), "compares 2 to 16"),
            (text.replace("7.5", "-7.5"), "cannot have taken -7.5 minutes"),
            (text.replace("7.5", "inf"), "cannot have taken inf"),
        ];
        for (text, why) in cases {
            let error = read(&text).expect_err("refused").to_string();
            assert!(error.contains(why), "{why}: {error}");
        }
        let key = memory().own().keys().next().expect("a job").clone();
        let other = memory().own().keys().nth(1).expect("another").clone();
        let twice = read(&text.replace(&other, &key)).expect_err("twice").to_string();
        assert!(twice.contains("is counted twice"), "{twice}");
    }

    proptest! {
        #[test]
        fn no_text_brings_the_readers_down(text in ".{0,200}") {
            prop_assert!(read(&text).is_err());
        }
    }
}
