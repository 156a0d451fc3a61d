//! Data logs: from the bytes of a CSV file of any logger to settled readings.
//!
//! [`read`] streams: bytes are hashed and cut into chunks by one thread, chunks are read into
//! numbers by two, and rows are gathered into blocks, and blocks into windows, in order, by the
//! caller's. Memory does not grow with the file. Nothing here opens a file, looks at a clock or
//! knows a job; what is odd about a log is a [`Finding`], and only what leaves nothing to read is
//! an error.

mod block;
mod building;
mod chunk;
mod columns;
mod detect;
mod error;
mod finding;
mod live;
mod manner;
mod number;
mod parse;
mod point;
mod records;
mod rest;
mod sniff;
mod still;
mod supply;
mod tally;
mod text;
mod time;
mod trace;

#[cfg(test)]
mod tests;

use std::collections::BTreeMap;
use std::io::Read;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread;

use block::{Gather, Step};
use chunk::{Chunk, Chunker};
use detect::{Detect, Found};
use finding::Findings;
use parse::{Plan, Rows, parse};
use text::Source;

pub use building::Shown;
pub use chunk::LONGEST;
pub use columns::LogScale;
pub use detect::{MOST_WINDOWS, Window};
pub use error::LogError;
pub use finding::{Code, Finding};
pub use live::{Hold, Live, Moment, Tell, live};
pub use manner::{Follow, Manner, Noise, NoiseAt, Rise, Seen};
pub use point::{Guess, point_at, points};
pub use rest::{Rest, heading, rest};
pub use sniff::{MOST_COLUMNS, MOST_DISPLAYS};
pub use text::Encoding;
pub use time::TimeForm;

use crate::readings::settle::{Rule, Settling, Verdict};

/// What was told about a log; what was not is guessed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Options {
    /// Delimiter.
    pub delimiter: Option<u8>,
    /// Decimal sign.
    pub point: Option<u8>,
    /// Encoding.
    pub encoding: Option<Encoding>,
    /// Time column, by name or number from 1.
    pub time: Option<String>,
    /// How a time that is a number counts.
    pub time_in: Option<TimeForm>,
    /// Temperature scale of all displays.
    pub scale: Option<LogScale>,
    /// Columns of displays.
    pub displays: BTreeMap<u8, String>,
    /// Speed column.
    pub speed: Option<String>,
    /// Load column.
    pub load: Option<String>,
    /// Of head and exhaust probes the former are meant.
    pub head: bool,
    /// When a display counts as settled.
    pub rule: Rule,
}

/// How a log is written, as detected or told.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    /// Encoding.
    pub encoding: Encoding,
    /// Delimiter.
    pub delimiter: u8,
    /// Decimal sign.
    pub point: u8,
    /// Line of the names; 0 for none.
    pub header_line: u64,
    /// Names of all columns.
    pub names: Vec<String>,
    /// Index of the time column.
    pub time: usize,
    /// How times are written.
    pub time_form: TimeForm,
    /// Index of each display's column.
    pub displays: Vec<usize>,
    /// Scale of each display.
    pub scales: Vec<LogScale>,
    /// Index of the speed column.
    pub speed: Option<usize>,
    /// Index of the load column.
    pub load: Option<usize>,
    /// The load is in per cent.
    pub load_in_percent: bool,
    /// Index of the column of the supply voltage.
    pub supply: Option<usize>,
    pub(in crate::readings::log) speed_place: Option<usize>,
    pub(in crate::readings::log) load_place: Option<usize>,
    pub(in crate::readings::log) supply_place: Option<usize>,
}

/// A hold that ended before its displays had settled.
#[derive(Debug, Clone, PartialEq)]
pub struct Unsettled {
    /// Beginning, s.
    pub from: f64,
    /// End, s.
    pub to: f64,
    /// Mean speed.
    pub speed: Option<f64>,
    /// How each display did; nothing for one without numbers.
    pub displays: Vec<Option<Settling>>,
    /// The log ends with it, so that waiting longer would have helped.
    pub at_end: bool,
}

impl Unsettled {
    /// Seconds more until all that can be foretold are within the rule: the longest.
    #[must_use]
    pub fn more_seconds(&self) -> Option<f64> {
        let moving = |s: &&Settling| matches!(s.verdict, Verdict::StillMoving | Verdict::Falling);
        let moving: Vec<&Settling> = self.displays.iter().flatten().filter(moving).collect();
        let waits: Option<Vec<f64>> = moving.iter().map(|s| s.more_seconds).collect();
        waits?.into_iter().reduce(f64::max)
    }
}

/// Speeds and loads of a log, 0 where there is no such column.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Range {
    /// Speed of the slowest hold with the engine running.
    pub slowest: f64,
    /// Greatest speed.
    pub fastest: f64,
    /// Greatest load.
    pub heaviest: f64,
    /// The load is in per cent.
    pub percent: bool,
}

/// Courses of all displays over the log, thinned.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Courses {
    /// Times, s.
    pub times: Vec<f64>,
    /// Point by point, display by display; not a number where there was none.
    pub values: Vec<f64>,
}

/// What a log holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// How it is written.
    pub form: Form,
    /// What is odd about it.
    pub findings: Vec<Finding>,
    /// Rows used.
    pub rows: u64,
    /// Bytes of the file.
    pub bytes: u64,
    /// SHA-256 of the file, in hexadecimal.
    pub hash: String,
    /// Seconds from first to last row.
    pub seconds: f64,
    /// Speed of the slowest hold with the engine running; greatest speed and load of all.
    pub range: Range,
    /// Running points held and settled, in order of time.
    pub windows: Vec<Window>,
    /// Holds that ended too soon: the first few and the last.
    pub unsettled: Vec<Unsettled>,
    /// How displays behave beside their mates.
    pub manner: Manner,
    /// Courses, for a plot.
    pub courses: Courses,
}

impl Log {
    /// Rows left out whole.
    #[must_use]
    pub fn skipped(&self) -> u64 {
        self.findings.iter().filter(|f| f.code.skips_row()).map(|f| f.count).sum()
    }
}

/// Threads that read numbers.
const READERS: usize = 2;
/// Chunks that may wait for a thread.
const WAITING: usize = 2;

/// A log whose first lines were looked at.
struct Begun<R> {
    form: Form,
    plan: Plan,
    chunker: Chunker<R>,
    findings: Findings,
}

/// Looks at the first lines of a log: of so many if there are so many. `part` is what was read from the source
/// already, as text, and how it was written.
fn begin<R: Read>(
    mut source: Source<R>,
    part: Option<(Vec<u8>, Encoding)>,
    options: &Options,
    enough: usize,
) -> Result<Begun<R>, LogError> {
    let mut findings = Findings::default();
    let lines = |text: &[u8]| memchr::memchr_iter(b'\n', text).take(enough).count();
    let fill = |source: &mut Source<R>, start: &mut Vec<u8>| -> Result<(), LogError> {
        while lines(start) < enough {
            if start.len() > LONGEST {
                return Err(LogError::LongLine);
            }
            if !source.more(start)? {
                break;
            }
        }
        Ok(())
    };
    let (mut start, encoding) = if let Some(part) = part {
        part
    } else {
        let mut start = Vec::new();
        // The mark of an encoding may stand in any line, so that all are there before it is guessed.
        fill(&mut source, &mut start)?;
        let (guessed, unsure) = Encoding::guess(&start);
        let encoding = options.encoding.unwrap_or(guessed);
        if unsure && options.encoding.is_none() {
            findings.add(Code::Encoding, (0, 0), || {
                (
                    format!("no mark of the encoding; taken as {encoding}"),
                    "`--encoding` says it; numbers read the same in most".to_owned(),
                )
            });
        }
        source.set_encoding(encoding, &mut start);
        (start, encoding)
    };
    fill(&mut source, &mut start)?;
    // A short file may lack the last line end; the guess may look at that line all the same.
    let whole = if start.len() < LONGEST && !start.ends_with(b"\n") {
        let mut whole = start.clone();
        whole.push(b'\n');
        whole
    } else {
        start.clone()
    };
    let (form, plan) = sniff::sniff(&whole, encoding, options, &mut findings)?;
    let chunker = Chunker::new(source, start, form.delimiter);
    Ok(Begun { form, plan, chunker, findings })
}

/// What gathers rows into blocks, and what finds windows in them.
fn stages(form: &Form, plan: &Plan, options: &Options) -> (Gather, Detect) {
    let displays = form.displays.len();
    let clock = form.time_form == TimeForm::Clock;
    #[expect(clippy::cast_precision_loss, reason = "thirty")]
    let length = options.rule.within / block::PER_WINDOW as f64;
    let gather = Gather::new(length, displays, plan.width, clock);
    let detect =
        Detect::new(options.rule, displays, form.speed_place, form.load_place, form.supply_place);
    (gather, detect)
}

/// Reads a log. `progress` is told how many bytes were taken so far.
///
/// # Errors
/// When the reader fails, or nothing can be read from what it gives.
pub fn read<R: Read + Send>(
    from: R,
    options: &Options,
    progress: &mut dyn FnMut(u64),
) -> Result<Log, LogError> {
    let begun = begin(Source::new(from), None, options, 1)?;
    let Begun { form, plan, chunker, mut findings } = begun;
    let (mut gather, mut detect) = stages(&form, &plan, options);
    let mut take = |gather: &mut Gather, step: Step| match step {
        Step::Block(block) => detect.block(block, gather),
        Step::Break => detect.break_off(gather, false),
    };
    let chunker = stream(chunker, &plan, |chunk, mut rows| {
        findings.merge(std::mem::take(&mut rows.findings), chunk.lines_before);
        gather.rows(&rows, chunk.lines_before, &mut take);
        progress(chunk.taken);
    })?;
    gather.close(&mut take);
    detect.break_off(&mut gather, true);
    findings.merge(chunker.findings, 0);
    findings.merge(std::mem::take(&mut gather.findings), 0);
    let (found, rule) = (detect.found, &options.rule);
    judge_whole(&mut findings, &found, &gather, rule)?;
    let log = log_of(form, found, &gather, rule, &chunker.source);
    Ok(Log { findings: findings.into_list(), ..log })
}

/// A chunk without its text.
struct Passed {
    lines_before: u64,
    taken: u64,
}

/// Cuts, reads and hands over, in order.
fn stream<R: Read + Send>(
    mut chunker: Chunker<R>,
    plan: &Plan,
    mut take: impl FnMut(&Passed, Rows),
) -> Result<Chunker<R>, LogError> {
    type Out = (Passed, Rows);
    thread::scope(|scope| {
        let mut into: Vec<SyncSender<Chunk>> = Vec::new();
        let mut out: Vec<Receiver<Out>> = Vec::new();
        for _ in 0..READERS {
            let (send, chunks) = sync_channel::<Chunk>(WAITING);
            let (rows, receive) = sync_channel::<Out>(WAITING);
            into.push(send);
            out.push(receive);
            scope.spawn(move || {
                for chunk in chunks {
                    let read = Passed { lines_before: chunk.lines_before, taken: chunk.taken };
                    if rows.send((read, parse(&chunk, plan))).is_err() {
                        return;
                    }
                }
            });
        }
        let cutter = scope.spawn(move || {
            for sender in into.iter().cycle() {
                let Some(chunk) = chunker.next()? else { break };
                // A reader that is gone has panicked, which its scope will pass on.
                if sender.send(chunk).is_err() {
                    break;
                }
            }
            Ok(chunker)
        });
        for receiver in out.iter().cycle() {
            let Ok((read, rows)) = receiver.recv() else { break };
            take(&read, rows);
        }
        match cutter.join() {
            Ok(result) => result.map_err(LogError::Io),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
}

/// What can be said of a log when it has ended.
fn judge_whole(
    findings: &mut Findings,
    found: &Found,
    gather: &Gather,
    rule: &Rule,
) -> Result<(), LogError> {
    if gather.rows == 0 {
        let first = std::mem::take(findings).into_list().into_iter().find(|f| f.line > 0);
        let first = first
            .map_or_else(|| "there is none".to_owned(), |f| format!("line {}: {}", f.line, f.text));
        return Err(LogError::NoRows { first });
    }
    #[expect(clippy::cast_precision_loss, reason = "counts of rows")]
    let apart = gather.seconds() / gather.rows.max(2) as f64;
    if found.windows.is_empty() && apart > rule.within / 6.0 {
        findings.add(Code::Sparse, (0, 0), || {
            (
                format!("rows are {apart:.0} s apart: too few in {:.0} s to judge", rule.within),
                format!(
                    "`--for {:.0}` asks for the longer time that this log can show",
                    6.0 * apart
                ),
            )
        });
    } else if found.windows.is_empty() {
        findings.add(Code::NotSettled, (0, 0), || {
            (
                format!(
                    "nowhere do all displays move less than {} °C in {} s",
                    rule.moves, rule.within
                ),
                "hold the point longer; `--within` and `--for` change the rule".to_owned(),
            )
        });
    }
    Ok(())
}

/// What was found, as a log; without what is odd about it.
fn log_of<R: Read>(
    form: Form,
    found: Found,
    gather: &Gather,
    rule: &Rule,
    source: &Source<R>,
) -> Log {
    let last = found.unsettled.len().saturating_sub(1);
    let unsettled = found.unsettled.iter().enumerate().filter_map(|(i, hold)| {
        Some(Unsettled {
            from: hold.from,
            to: hold.to,
            speed: hold.speed,
            displays: manner::judged(hold, rule)?,
            at_end: found.ended_unsettled && i == last,
        })
    });
    Log {
        findings: Vec::new(),
        rows: gather.rows,
        bytes: source.taken,
        hash: source.hash(),
        seconds: gather.seconds(),
        range: range(&found, &form),
        unsettled: unsettled.collect(),
        manner: manner::manner(&found, rule),
        windows: found.windows,
        courses: Courses { times: found.course.times, values: found.course.values },
        form,
    }
}

/// Speeds and loads so far.
fn range(found: &Found, form: &Form) -> Range {
    Range {
        slowest: found.slowest.unwrap_or(found.greatest.0),
        fastest: found.greatest.0,
        heaviest: found.greatest.1,
        percent: form.load_in_percent,
    }
}
