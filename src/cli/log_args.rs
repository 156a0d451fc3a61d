//! What can be told about a log, and reading it with a bar that shows how far it is.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, IsTerminal, Read, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use super::failure::Failure;
use super::named;
use measure::readings::log::{self, Encoding, Log, LogError, LogScale, Options, TimeForm};
use measure::readings::settle::Rule;

/// How a log is to be read; what is not said is detected.
#[derive(Debug, Clone, Default, PartialEq, clap::Args)]
#[command(next_help_heading = "How the log is written (detected where not said)")]
pub(super) struct LogArgs {
    /// Delimiter: one character, `tab` or `space`
    #[arg(long, value_name = "C", value_parser = delimiter)]
    delimiter: Option<u8>,
    /// Decimal sign
    #[arg(long, value_name = "point|comma", value_parser = decimal)]
    decimal: Option<u8>,
    /// Encoding
    #[arg(long, value_name = "ENCODING", value_parser = named::<Encoding>(Encoding::NAMES))]
    encoding: Option<Encoding>,
    /// Time column, by name or by number from 1
    #[arg(long, value_name = "COLUMN")]
    time: Option<String>,
    /// What a time that is a number counts
    #[arg(long, value_name = "s|ms|us|min", value_parser = time_in)]
    time_in: Option<TimeForm>,
    /// Temperature scale of the log
    #[arg(long, value_name = "c|f|k", value_parser = named::<LogScale>(LogScale::NAMES))]
    scale: Option<LogScale>,
    /// Column of a display; again for each
    #[arg(long, value_name = "N=COLUMN", value_parser = display)]
    display: Vec<(u8, String)>,
    /// Column of the engine's speed
    #[arg(long, value_name = "COLUMN")]
    speed: Option<String>,
    /// Column of the load
    #[arg(long, value_name = "COLUMN")]
    load: Option<String>,
    /// A display has settled when it moves less than this, °C [default: 3]
    #[arg(long, value_name = "DEGREES", value_parser = above_zero)]
    within: Option<f64>,
    /// In this time, s [default: 30]
    #[arg(long = "for", value_name = "SECONDS", value_parser = above_zero)]
    for_seconds: Option<f64>,
}

fn delimiter(text: &str) -> Result<u8, String> {
    match text {
        "tab" | "\\t" => Ok(b'\t'),
        "space" => Ok(b' '),
        _ => match text.as_bytes() {
            [one] if !one.is_ascii_alphanumeric() && *one != b'"' && !one.is_ascii_control() => {
                Ok(*one)
            }
            [b'\t'] => Ok(b'\t'),
            _ => {
                Err("expected one character that is no letter, digit or quote, or `tab`".to_owned())
            }
        },
    }
}

fn decimal(text: &str) -> Result<u8, String> {
    match text {
        "point" | "." => Ok(b'.'),
        "comma" | "," => Ok(b','),
        _ => Err("expected `point` or `comma`".to_owned()),
    }
}

fn time_in(text: &str) -> Result<TimeForm, String> {
    match text {
        "s" => Ok(TimeForm::Seconds),
        "ms" => Ok(TimeForm::Milliseconds),
        "us" => Ok(TimeForm::Microseconds),
        "min" => Ok(TimeForm::Minutes),
        _ => Err("expected `s`, `ms`, `us` or `min`".to_owned()),
    }
}

fn display(text: &str) -> Result<(u8, String), String> {
    let parts = text.split_once('=').and_then(|(n, column)| Some((n.parse::<u8>().ok()?, column)));
    match parts {
        Some((number, column)) if (1..=32).contains(&number) && !column.is_empty() => {
            Ok((number, column.to_owned()))
        }
        _ => Err("expected N=COLUMN, as `3=EGT front`, N from 1 to 32".to_owned()),
    }
}

fn above_zero(text: &str) -> Result<f64, String> {
    match text.replace(',', ".").parse::<f64>() {
        Ok(value) if value > 0.0 && value <= 86_400.0 => Ok(value),
        _ => Err("expected a number above 0".to_owned()),
    }
}

impl LogArgs {
    /// Whether anything was said.
    pub(super) fn said(&self) -> bool {
        *self != Self::default()
    }

    /// When a display counts as settled.
    pub(super) fn rule(&self) -> Rule {
        let usual = Rule::default();
        Rule {
            moves: self.within.unwrap_or(usual.moves),
            within: self.for_seconds.unwrap_or(usual.within),
            ..usual
        }
    }

    /// As the reader wants it; `head` for head probes.
    pub(super) fn options(&self, head: bool) -> Result<Options, Failure> {
        let mut displays = BTreeMap::new();
        for (number, column) in &self.display {
            if displays.insert(*number, column.clone()).is_some() {
                return Err(Failure::usage(format!("display {number} was given two columns")));
            }
        }
        Ok(Options {
            delimiter: self.delimiter,
            point: self.decimal,
            encoding: self.encoding,
            time: self.time.clone(),
            time_in: self.time_in,
            scale: self.scale,
            displays,
            speed: self.speed.clone(),
            load: self.load.clone(),
            head,
            rule: self.rule(),
        })
    }
}

/// The name of a log without its folder.
pub(super) fn name(file: &Path) -> String {
    if file == Path::new("-") {
        return "standard input".to_owned();
    }
    file.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

/// Reads a log from a file, or from standard input for `-`.
pub(super) fn read(file: &PathBuf, options: &Options) -> Result<Log, Failure> {
    let failed = |error: LogError| failure(file, &error);
    if file == Path::new("-") {
        return log::read(io::stdin(), options, &mut |_| {}).map_err(failed);
    }
    let io = |error: io::Error| failed(LogError::Io(error));
    let from = File::open(file).map_err(io)?;
    let about = from.metadata().map_err(io)?;
    if about.is_dir() {
        return Err(Failure::file(format!("could not read {}: it is a folder", file.display())));
    }
    let mut bar = Bar::new(about.len());
    let result = log::read(Plain(from), options, &mut |taken| bar.show(taken));
    bar.clear();
    result.map_err(failed)
}

/// A file that is read as it comes.
struct Plain(File);

impl Read for Plain {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        self.0.read(into)
    }
}

pub(super) fn failure(file: &Path, error: &LogError) -> Failure {
    let shown = file.display();
    match error {
        LogError::Io(error) => Failure::file(format!("could not read {shown}: {error}")),
        error => {
            let failure = Failure::usage(format!("{shown}: {error}"));
            match error {
                LogError::NoTime { .. } => failure.hint("`--time COLUMN` says which it is"),
                LogError::NoDisplays { .. } | LogError::MissingDisplay { .. } => failure.hint(
                    "`--display N=COLUMN`, once for each display, says which columns they are",
                ),
                LogError::NoSuchColumn { .. } => {
                    failure.hint("a column is given by its name or its number from 1")
                }
                LogError::NoTable | LogError::NoNumbers => failure.hint(
                    "a log has a row of names and rows of numbers; `--delimiter`, `--decimal` and \
                     `--encoding` say how it is written",
                ),
                LogError::NoRows { .. } => {
                    failure.hint("`--time COLUMN` and `--time-in UNIT` say how time is written")
                }
                _ => failure.hint("give a CSV file: a row of names, then rows of numbers"),
            }
        }
    }
}

/// A bar on standard error, on a terminal only.
struct Bar {
    total: u64,
    started: std::time::Instant,
    shown: Option<Duration>,
    on: bool,
}

/// No bar for what is done before a person wonders.
const PATIENCE: Duration = Duration::from_millis(400);
const EVERY: Duration = Duration::from_millis(150);

impl Bar {
    #[expect(clippy::disallowed_methods, reason = "time left is for the person at the terminal")]
    fn new(total: u64) -> Self {
        let on = io::stderr().is_terminal();
        Self { total, started: std::time::Instant::now(), shown: None, on }
    }

    fn show(&mut self, taken: u64) {
        if !self.on {
            return;
        }
        let now = self.started.elapsed();
        let due = self.shown.map_or(PATIENCE, |last| last + EVERY);
        if now >= due {
            self.shown = Some(now);
            let _ = write!(io::stderr(), "\r{}", line(taken, self.total, now));
            let _ = io::stderr().flush();
        }
    }

    fn clear(&self) {
        if self.shown.is_some() {
            let _ = write!(io::stderr(), "\r{:60}\r", "");
        }
    }
}

/// The bar as a line of at most 60 cells.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a share of a bar"
)]
fn line(taken: u64, total: u64, now: Duration) -> String {
    // A file may grow while it is read.
    let share = (taken as f64 / total.max(1) as f64).clamp(0.0, 1.0);
    let full = (share * 30.0) as usize;
    let left = if share > 0.0 { now.as_secs_f64() * (1.0 - share) / share } else { 0.0 };
    let text = format!(
        "reading [{}{}] {:>3.0} %, {left:.0} s left",
        "#".repeat(full),
        ".".repeat(30 - full),
        share * 100.0
    );
    format!("{text:<60}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_says_how_long_it_takes() {
        let second = Duration::from_secs(1);
        assert_eq!(
            line(25, 100, second).trim_end(),
            format!("reading [{}{}]  25 %, 3 s left", "#".repeat(7), ".".repeat(23))
        );
        assert_eq!(line(0, 0, second).len(), 60);
        assert!(line(200, 100, second).contains("100 %, 0 s left"));
    }

    #[test]
    fn words_become_what_they_say() {
        assert_eq!(delimiter("tab"), Ok(b'\t'));
        assert_eq!(delimiter(";"), Ok(b';'));
        assert!(delimiter("5").is_err() && delimiter(";;").is_err() && delimiter("\"").is_err());
        assert_eq!(display("3=EGT front"), Ok((3, "EGT front".to_owned())));
        assert!(display("0=x").is_err() && display("3").is_err() && display("3=").is_err());
        assert_eq!(above_zero("2,5"), Ok(2.5));
        assert!(above_zero("-1").is_err() && above_zero("inf").is_err());
    }
}
