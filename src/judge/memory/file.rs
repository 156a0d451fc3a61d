//! A memory and a share as text, and back.
//!
//! Pure. RON that reads as a table: for each kind of engine and recent work how often each cause
//! was proven. The workshop's own file names its jobs by their keys; a share has numbers only.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use ron::extensions::Extensions;
use serde::Deserialize;

use super::counts::{Counts, Lesson, Memory, Share, Stratum, Took};
use facts::job::file::{FileError, syntax};
use measure::engine::Kind;

/// Version of the form of both.
pub const FORMAT: u32 = 1;

const MEMORY_HEADER: &str = "\
// What this workshop remembers of its closed and proven jobs; `oddpot memory show` reads it.
// Written whole each time, so comments added here do not stay. Without this file nothing is
// remembered. Jobs are named by a hash: `memory learn` knows by it what it has counted.
";

const SHARE_HEADER: &str = "\
// Counts of proven causes of one workshop, for another: `oddpot memory import FILE` pools them.
// Sums only: no job, vehicle, customer, date or complaint is in here.
";

/// Why a text is no memory or share.
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
    workshop: String,
    revision: u64,
    #[serde(default)]
    own: Vec<RawOwn>,
    /// By test: job and minutes.
    #[serde(default)]
    took: BTreeMap<String, Vec<(String, f64)>>,
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

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawShare {
    #[serde(default)]
    #[expect(dead_code, reason = "looked at before")]
    format: u32,
    workshop: String,
    revision: u64,
    #[serde(default)]
    counts: Vec<RawCounts>,
    /// By test: how often, and minutes together.
    #[serde(default)]
    took: BTreeMap<String, (u32, f64)>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawCounts {
    engine: Kind,
    recent: Vec<String>,
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
    let pooled: Result<Vec<Share>, _> = raw.pooled.into_iter().map(whole).collect();
    let pooled = pooled?.into_iter().map(|share| (share.workshop.clone(), share)).collect();
    Ok(Memory::of((raw.workshop, raw.revision), own, pooled))
}

/// Reads what another workshop handed over.
///
/// # Errors
/// When the text is of a newer form or is no share.
pub fn read_share(text: &str) -> Result<Share, MemoryFileError> {
    whole(parsed(text)?)
}

fn whole(raw: RawShare) -> Result<Share, MemoryFileError> {
    let mut counts = Counts::default();
    for group in raw.counts {
        let causes = counts.causes.entry(stratum(group.engine, group.recent)).or_default();
        for (cause, count) in group.proven {
            let sum = causes.entry(cause).or_default();
            *sum = sum.saturating_add(count);
        }
    }
    for (test, (times, minutes)) in raw.took {
        check_minutes(&test, minutes)?;
        counts.took.insert(test, Took { times, minutes });
    }
    Ok(Share { workshop: raw.workshop, revision: raw.revision, counts })
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
    let mut out = format!("{MEMORY_HEADER}(\n  format: {FORMAT},\n");
    let _ = writeln!(out, "  workshop: {},", quoted(&memory.workshop));
    let _ = writeln!(out, "  revision: {},\n  own: [", memory.revision);
    for (stratum, causes) in own {
        head(&mut out, "    ", stratum);
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
    out.push_str("  },\n  pooled: [\n");
    for share in memory.pooled() {
        out.push_str("    (\n");
        body(&mut out, "    ", share);
        out.push_str("    ),\n");
    }
    out.push_str("  ],\n)\n");
    out
}

/// Writes what another workshop may have.
#[must_use]
pub fn write_share(share: &Share) -> String {
    let mut out = format!("{SHARE_HEADER}(\n  format: {FORMAT},\n");
    body(&mut out, "", share);
    out.push_str(")\n");
    out
}

fn body(out: &mut String, deep: &str, share: &Share) {
    let _ = writeln!(out, "{deep}  workshop: {},", quoted(&share.workshop));
    let _ = writeln!(out, "{deep}  revision: {},\n{deep}  counts: [", share.revision);
    for (stratum, causes) in &share.counts.causes {
        head(out, &format!("{deep}    "), stratum);
        for (cause, count) in causes {
            let _ = writeln!(out, "{deep}      {}: {count},", quoted(cause));
        }
        let _ = writeln!(out, "{deep}    }}),");
    }
    let _ = writeln!(out, "{deep}  ],\n{deep}  took: {{");
    for (test, took) in &share.counts.took {
        let _ = writeln!(out, "{deep}    {}: ({}, {:?}),", quoted(test), took.times, took.minutes);
    }
    let _ = writeln!(out, "{deep}  }},");
}

fn head(out: &mut String, deep: &str, stratum: &Stratum) {
    let recent: Vec<String> = stratum.recent.iter().map(|flag| quoted(flag)).collect();
    let engine = quoted(&stratum.kind.to_string());
    let _ = writeln!(out, "{deep}(engine: {engine}, recent: [{}], proven: {{", recent.join(", "));
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
        let mut memory = Memory::new("ours".to_owned());
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
        let share = Share { workshop: "theirs".to_owned(), ..memory.share() };
        memory.pool(share).expect("pooled");
        memory
    }

    #[test]
    fn what_is_written_reads_back_the_same() {
        let memory = memory();
        assert_eq!(read(&write(&memory)), Ok(memory.clone()));
        let share = memory.share();
        assert_eq!(read_share(&write_share(&share)), Ok(share));
    }

    #[test]
    fn a_share_has_sums_and_nothing_of_a_customer() {
        insta::assert_snapshot!(write_share(&memory().share()), @r#"
        // Counts of proven causes of one workshop, for another: `oddpot memory import FILE` pools them.
        // Sums only: no job, vehicle, customer, date or complaint is in here.
        (
          format: 1,
          workshop: "ours",
          revision: 3,
          counts: [
            (engine: "4 inline port wasted-spark plenum natural liquid exhaust", recent: ["manifold-off"], proven: {
              "fit-deep": 2,
            }),
            (engine: "4 inline port wasted-spark plenum natural liquid exhaust", recent: ["x"], proven: {
              "old-id": 1,
            }),
          ],
          took: {
            "look-fit": (3, 22.5),
          },
        )
        "#);
    }

    #[test]
    fn what_is_no_memory_says_why() {
        let text = write(&memory());
        let share = write_share(&memory().share());
        let cases = [
            (read(&text.replace("format: 1", "format: 9")).map(|_| ()), "format 9"),
            (read(&text.replace("revision", "revsion")).map(|_| ()), "did you mean `revision`?"),
            (read(&text.replace("4 inline", "40 inline")).map(|_| ()), "compares 2 to 16"),
            (read(&text.replace("7.5", "-7.5")).map(|_| ()), "cannot have taken -7.5 minutes"),
            (read_share(&share.replace("22.5", "inf")).map(|_| ()), "cannot have taken inf"),
            (read(&share).map(|_| ()), "unknown field `counts`"),
            (read_share(&text).map(|_| ()), "unknown field `own`"),
        ];
        for (result, why) in cases {
            let error = result.expect_err("refused").to_string();
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
            prop_assert!(read_share(&text).is_err());
        }
    }
}
