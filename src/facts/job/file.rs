//! A journal as text, and back.
//!
//! Pure. The text is RON with one line for each part of an entry, so that two versions of a
//! job compare well. Comments do not survive, since the file is written whole each time.

use ron::extensions::Extensions;
use ron::ser::PrettyConfig;
use serde::Deserialize;
use thiserror::Error;

use super::check::{self, JournalError};
use super::entry::{Entry, Journal, NINTH_FORMAT as NEWEST};
use measure::names::nearest;

/// What stands at the top of every job file.
pub const HEADER: &str = "\
// A job of oddpot. Entries are only ever added; to take one back, use `oddpot undo`.
// The file is written whole each time, so comments added here do not stay.
";

/// Why a text is not a job.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FileError {
    /// Written by a newer version of the program.
    #[error(
        "it has format {found}, this program knows formats up to {NEWEST}: use the newer oddpot \
         that wrote it"
    )]
    Newer {
        /// The format it says it has.
        found: u32,
    },
    /// Not readable as a job.
    #[error("line {line}, column {column}: {what}")]
    Syntax {
        /// Line, from 1.
        line: usize,
        /// Column in characters, from 1.
        column: usize,
        /// What is wrong there.
        what: String,
        /// The line itself.
        text: String,
    },
    /// Readable, but it cannot be.
    #[error(transparent)]
    Nonsense(#[from] JournalError),
}

/// Only the version; the rest of a newer form need not be understood.
#[derive(Deserialize)]
struct Version {
    format: u32,
}

fn options() -> ron::Options {
    ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

/// Writes a journal.
///
/// # Errors
/// When a value cannot be written as RON; none of a journal's can be so.
pub fn write(journal: &Journal) -> Result<String, ron::Error> {
    let config =
        PrettyConfig::new().depth_limit(3).indentor("  ").new_line("\n").compact_arrays(false);
    let body = options().to_string_pretty(journal, config)?;
    Ok(format!("{HEADER}{body}\n"))
}

/// Reads and checks a journal.
///
/// # Errors
/// When the text is of a newer form, is not a journal, or holds what its engine cannot have.
pub fn read(text: &str) -> Result<Journal, FileError> {
    // Editors on some systems put a byte order mark in front.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let journal: Journal = match options().from_str(text) {
        Ok(journal) => journal,
        // Read only here, since reading a text twice takes twice as long.
        Err(error) => {
            return Err(match options().from_str::<Version>(text) {
                Ok(Version { format: found }) if found > NEWEST => FileError::Newer { found },
                _ => syntax(text, &error),
            });
        }
    };
    if journal.format > NEWEST {
        return Err(FileError::Newer { found: journal.format });
    }
    check::journal(&journal)?;
    Ok(journal)
}

/// Reads one entry by itself; the error is a sentence.
pub(super) fn entry(text: &str) -> Result<Entry, String> {
    options().from_str(text).map_err(|error| sentence(&error.code))
}

/// Turns an error of the RON reader into a place and a sentence.
#[must_use]
pub fn syntax(text: &str, error: &ron::error::SpannedError) -> FileError {
    let at = error.span.start;
    FileError::Syntax {
        line: at.line,
        column: at.col,
        what: sentence(&error.code),
        text: text.lines().nth(at.line.saturating_sub(1)).unwrap_or_default().to_owned(),
    }
}

/// Lower case, in our words where the reader's are odd.
fn sentence(code: &ron::Error) -> String {
    let near = |found: &str, expected: &[&'static str]| {
        nearest(found, expected.iter().copied())
            .map_or_else(String::new, |name| format!(", did you mean `{name}`?"))
    };
    match code {
        ron::Error::NoSuchStructField { expected, found, .. } => {
            format!("unknown field `{found}`{}", near(found, expected))
        }
        ron::Error::NoSuchEnumVariant { expected, found, .. } => {
            format!("unknown word `{found}`{}", near(found, expected))
        }
        ron::Error::MissingStructField { field, .. } => {
            format!("the field `{field}` is missing before here")
        }
        ron::Error::DuplicateStructField { field, .. } => {
            format!("the field `{field}` is given twice")
        }
        ron::Error::Eof => "the file ends too early".to_owned(),
        other => {
            let text = other.to_string();
            let mut letters = text.chars();
            letters
                .next()
                .map(|first| first.to_lowercase().chain(letters).collect())
                .unwrap_or(text)
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture;
    use crate::job::entry::{SECOND_FORMAT, What};
    use crate::job::typed;
    use measure::units::Scale;

    #[test]
    fn what_is_written_reads_back_the_same() {
        let journal = fixture::long_journal();
        let text = write(&journal).expect("written");
        assert_eq!(read(&text).expect("read"), journal);
        let marked = format!("\u{feff}{text}");
        assert_eq!(read(&marked).expect("read"), journal);
    }

    #[test]
    fn an_entry_is_a_few_lines() {
        let mut journal = fixture::journal();
        let before = write(&journal).expect("written").lines().count();
        journal.entries.push(fixture::entry(What::Reopen));
        let after = write(&journal).expect("written").lines().count();
        // Opening, time, typed, what, closing; the list itself opened up, too.
        assert_eq!(after - before, 6);
    }

    #[test]
    fn a_file_from_before_logs_stays_byte_for_byte() {
        let old = "\
// A job of oddpot. Entries are only ever added; to take one back, use `oddpot undo`.
// The file is written whole each time, so comments added here do not stay.
(
  format: 1,
";
        let text = write(&fixture::long_journal()).expect("written");
        assert!(text.starts_with(old) && !text.contains("from:"), "{text}");
        let again = write(&read(&text).expect("read")).expect("written");
        assert_eq!(again, text);
        let example = include_str!("../../cli/example.ron");
        assert!(example.contains("format: 1") && read(example).is_ok());
    }

    #[test]
    fn a_set_from_a_log_keeps_where_it_is_from() {
        let what = |error: Option<f64>| What::Temps {
            at: measure::engine::Regime::Idle.into(),
            site: measure::engine::ProbeSite::Exhaust,
            readings: fixture::degrees(&[640.0; 4]),
            from: Some(crate::job::entry::FromLog {
                file: "run 3.csv".to_owned(),
                sha256: "00ff".to_owned(),
                from: 163.0,
                to: 255.5,
                errors: vec![error; 4],
            }),
        };
        let mut journal = fixture::journal();
        journal.entries.push(fixture::entry(what(Some(0.12))));
        journal.entries.push(fixture::entry(what(None)));
        let text = write(&journal).expect("written");
        assert!(text.contains("file: \"run 3.csv\""), "{text}");
        assert_eq!(read(&text).expect("read"), journal);
        assert_eq!((what(None).format(), What::Reopen.format()), (SECOND_FORMAT, 1));
    }

    #[test]
    fn minutes_are_kept_with_their_entry_in_the_form_that_has_them() {
        let mut journal = fixture::journal();
        let timed = |minutes| Entry { minutes, ..fixture::entry(What::Reopen) };
        journal.entries = vec![timed(Some(12.5)), timed(None)];
        let text = write(&journal).expect("written");
        assert_eq!(text.matches("minutes: 12.5").count(), 1, "{text}");
        assert_eq!(read(&text).expect("read"), journal);
        assert_eq!((timed(Some(1.0)).format(), timed(None).format()), (3, 1));
        let odd = text.replace("12.5", "0");
        let error = read(&odd).expect_err("no work takes nothing").to_string();
        assert_eq!(error, "entry 1: 0 minutes for one piece of work: expected above 0, up to 600");
    }

    #[test]
    fn a_newer_form_is_told_from_a_broken_one() {
        let error = read("(format: 10, novel: [Thing(1)], head: 3)").expect_err("newer");
        assert_eq!(error, FileError::Newer { found: 10 });
        // Also where nothing in it happens to be new.
        let text = write(&fixture::journal()).expect("written").replace("format: 1", "format: 10");
        assert_eq!(read(&text), Err(FileError::Newer { found: 10 }));
    }

    #[test]
    fn a_broken_file_names_line_and_column() {
        let text = write(&fixture::long_journal()).expect("written");
        let cases = [
            ("vehicle:", "vehicel:", "unknown field `vehicel`, did you mean `vehicle`?"),
            ("Exchange(", "Exchang(", "unknown word `Exchang`, did you mean `Exchange`?"),
            (
                "652.0",
                "6520.0",
                "6520 °C cannot be right here: expected −60 to 1820 °C (is it in °F?)",
            ),
        ];
        for (old, new, sentence) in cases {
            assert!(text.contains(old), "{old} in\n{text}");
            let broken = text.replacen(old, new, 1);
            let line = 1 + text[..text.find(old).expect("there")].matches('\n').count();
            match read(&broken).expect_err("broken") {
                FileError::Syntax { line: at, what, .. } => {
                    assert_eq!((at, what.as_str()), (line, sentence));
                }
                other => panic!("{other:?}"),
            }
        }
    }

    #[test]
    fn sense_is_checked_too() {
        let mut journal = fixture::long_journal();
        journal.head.engine.cylinders = 5;
        let error = read(&write(&journal).expect("written")).expect_err("nonsense");
        assert!(matches!(error, FileError::Nonsense(_)), "{error:?}");
    }

    proptest! {
        #[test]
        fn no_text_brings_the_reader_down(text in ".{0,200}") {
            prop_assert!(read(&text).is_err());
        }

        #[test]
        fn any_reading_survives_the_file(t in -60.0..1300.0f64) {
            let mut journal = fixture::journal();
            let typed = vec![format!("{t}"); 4];
            let readings = typed::readings(&typed, Scale::Celsius, 4).expect("readings");
            journal.entries.push(fixture::entry(fixture::temps("idle", readings)));
            let text = write(&journal).expect("written");
            prop_assert_eq!(read(&text).expect("read"), journal);
        }
    }
}
