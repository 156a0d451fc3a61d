//! A log that is still being written: rows as they come, and each window as it ends.
//!
//! The same stages as of a finished log, in one thread, so that what settles is the same. A second row of
//! names begins the log anew. Memory does not grow with it. It must not wait or look at a clock: whoever
//! gives the bytes does.

use std::io::Read;
use std::ops::ControlFlow;

use super::block::{Gather, Step};
use super::chunk::Chunk;
use super::detect::{Detect, Found};
use super::number::number;
use super::parse::{Rows, parse};
use super::text::Source;
use super::{Begun, Form, Log, LogError, Options, Range, begin, log_of, range, stages};

/// Lines from which the form of a log is guessed while it is being written: names and a few rows.
const ENOUGH: usize = 8;

/// What is told of a log that is being written.
#[derive(Debug)]
pub enum Live<'a> {
    /// How it is written: at its beginning, and again where its columns have changed.
    Form(&'a Form),
    /// A row.
    Row(Moment<'a>),
    /// A point was held and had settled; the log has this window alone.
    Settled(&'a Log),
    /// How the engine is held, after some rows.
    Hold(Hold),
}

/// Who is told; what it gives says whether more is wanted.
pub type Tell<'t> = dyn FnMut(Live<'_>) -> ControlFlow<()> + 't;

/// One row of a log.
#[derive(Debug, Clone, Copy)]
pub struct Moment<'a> {
    /// Time as the log has it, s.
    pub time: f64,
    /// What each display shows, °C; not a number where there was none.
    pub displays: &'a [f64],
    /// Speed, in the log's unit.
    pub speed: Option<f64>,
    /// Load, in the log's unit.
    pub load: Option<f64>,
    /// Speeds and loads before the row.
    pub range: Range,
}

/// How the engine is held.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Hold {
    /// For how long speed and load were steady, s; `None` where they are not.
    pub steady: Option<f64>,
    /// For how long the displays have been at rest, s; `None` where they are not.
    pub settled: Option<f64>,
}

/// Reads a log as it grows, until the source ends or who is told wants no more.
///
/// # Errors
/// When the reader fails, or its first lines are no log.
pub fn live<R: Read>(from: R, options: &Options, tell: &mut Tell<'_>) -> Result<(), LogError> {
    let (mut source, mut start) = (Source::at_once(from), None);
    loop {
        let mut part = Part::of(begin(source, start, options, ENOUGH)?, options);
        if tell(Live::Form(&part.begun.form)).is_break() {
            return Ok(());
        }
        let rest = part.follow(options, tell)?;
        let Some(mut rest) = rest else { return Ok(()) };
        rest.append(&mut part.begun.chunker.pending);
        source = part.begun.chunker.source;
        start = Some((rest, part.begun.form.encoding));
    }
}

/// A log with one row of names.
struct Part<R> {
    begun: Begun<R>,
    gather: Gather,
    detect: Detect,
    /// What stood before the first row of numbers: names, and units it may be.
    head: Vec<Vec<u8>>,
}

impl<R: Read> Part<R> {
    fn of(begun: Begun<R>, options: &Options) -> Self {
        let (gather, detect) = stages(&begun.form, &begun.plan, options);
        let skip = usize::try_from(begun.plan.skip).unwrap_or(usize::MAX);
        let lines = begun.chunker.pending.split(|b| *b == b'\n').take(skip);
        let head = lines.map(|line| line.trim_ascii().to_vec()).collect();
        Self { begun, gather, detect, head }
    }

    /// To the end of the source, or to other names: then what begins with them.
    fn follow(
        &mut self,
        options: &Options,
        tell: &mut Tell<'_>,
    ) -> Result<Option<Vec<u8>>, LogError> {
        while let Some(mut chunk) = self.begun.chunker.next()? {
            let mut rows = parse(&chunk, &self.begun.plan);
            let cut = if rows.findings.is_empty() { None } else { self.other_names(&chunk) };
            let rest = cut.map(|at| chunk.bytes.split_off(at));
            if rest.is_some() {
                rows = parse(&chunk, &self.begun.plan);
            }
            let told = self.rows(&rows, chunk.lines_before, tell);
            if told.is_break() || self.windows(options, rest.is_some(), tell).is_break() {
                return Ok(None);
            }
            if rest.is_some() {
                return Ok(rest);
            }
        }
        // Nothing comes after it, whatever is said to it.
        let _ = self.windows(options, true, tell);
        Ok(None)
    }

    fn rows(&mut self, rows: &Rows, lines_before: u64, tell: &mut Tell<'_>) -> ControlFlow<()> {
        let Begun { form, plan, .. } = &self.begun;
        let displays = form.displays.len();
        let range = range(&self.detect.found, form);
        for (&time, row) in rows.times.iter().zip(rows.values.chunks_exact(plan.width)) {
            let other = |place: Option<usize>| place.map(|p| row[p]).filter(|v| !v.is_nan());
            let (speed, load) = (other(form.speed_place), other(form.load_place));
            tell(Live::Row(Moment { time, displays: &row[..displays], speed, load, range }))?;
        }
        let detect = &mut self.detect;
        let mut take = |gather: &mut Gather, step: Step| match step {
            Step::Block(block) => detect.block(block, gather),
            Step::Break => detect.break_off(gather, false),
        };
        self.gather.rows(rows, lines_before, &mut take);
        tell(Live::Hold(self.detect.hold()))
    }

    /// Tells of the windows that have ended, and forgets them.
    fn windows(&mut self, options: &Options, end: bool, tell: &mut Tell<'_>) -> ControlFlow<()> {
        if end {
            let detect = &mut self.detect;
            self.gather.close(&mut |gather: &mut Gather, step: Step| {
                if let Step::Block(block) = step {
                    detect.block(block, gather);
                }
            });
            self.detect.break_off(&mut self.gather, true);
        }
        let found = &mut self.detect.found;
        for window in std::mem::take(&mut found.windows) {
            // What it has shown so far says how a display behaves; of the course nothing is wanted here.
            let so_far = Found { windows: vec![window], ..found.clone() };
            let (form, source) = (self.begun.form.clone(), &self.begun.chunker.source);
            let log = log_of(form, so_far, &self.gather, &options.rule, source);
            tell(Live::Settled(&log))?;
        }
        ControlFlow::Continue(())
    }

    /// Where a line begins that is another row of names.
    fn other_names(&self, chunk: &Chunk) -> Option<usize> {
        let Begun { form, plan, .. } = &self.begun;
        let mut at = 0;
        for (line, text) in (1_u64..).zip(chunk.bytes.split_inclusive(|b| *b == b'\n')) {
            let start = at;
            at += text.len();
            let own = form.encoding.words(text.trim_ascii());
            let fields: Vec<&str> = own.split(char::from(plan.delimiter)).map(bare).collect();
            let known = self.head.iter().any(|head| head == text.trim_ascii());
            let word = |field: &&str| {
                let begins = field.chars().any(char::is_alphabetic);
                begins && number(field.as_bytes(), plan.point).is_none()
            };
            // A row of words alone: displays that all show an error are some of them.
            let wordy = fields.len() >= 3 && fields.iter().all(|f| f.is_empty() || word(f));
            if chunk.lines_before + line > plan.skip && wordy && !known {
                return Some(start);
            }
        }
        None
    }
}

/// A field without quotes and space about it.
fn bare(field: &str) -> &str {
    field.trim().trim_matches('"').trim()
}

#[cfg(test)]
mod tests {
    use std::fmt::Write as _;
    use std::io;

    use proptest::prelude::*;

    use super::*;
    use crate::readings::log::{Window, read};

    /// A log that comes a few bytes at a time.
    struct Bits<'a> {
        rest: &'a [u8],
        most: usize,
    }

    impl Read for Bits<'_> {
        fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
            let count = self.most.min(into.len()).min(self.rest.len());
            into[..count].copy_from_slice(&self.rest[..count]);
            self.rest = &self.rest[count..];
            Ok(count)
        }
    }

    /// Three displays held at each speed for so many seconds, the third with an offset of its own.
    fn text(holds: &[(f64, u32)], off: f64) -> String {
        let mut text = String::from("time;EGT 1;EGT 2;EGT 3;rpm\n");
        let mut second = 0_u32;
        for &(speed, seconds) in holds {
            for _ in 0..seconds {
                let shake = f64::from(second % 7) * 0.1;
                let level = 200.0 + speed / 5.0 + shake;
                let _ = writeln!(
                    text,
                    "{second};{:.1};{:.1};{:.1};{speed:.0}",
                    level,
                    level + 4.0,
                    level + off
                );
                second += 1;
            }
        }
        text
    }

    fn windows(text: impl AsRef<[u8]>, most: usize) -> (Vec<Window>, usize, usize) {
        let (mut windows, mut rows, mut forms) = (Vec::new(), 0, 0);
        let bits = Bits { rest: text.as_ref(), most };
        let told = live(bits, &Options::default(), &mut |told| {
            match told {
                Live::Settled(log) => windows.extend(log.windows.iter().cloned()),
                Live::Row(_) => rows += 1,
                Live::Form(_) => forms += 1,
                Live::Hold(_) => {}
            }
            ControlFlow::Continue(())
        });
        told.expect("a log");
        (windows, rows, forms)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        /// What settles while a log is written is what settles in the finished file, however it comes.
        #[test]
        fn windows_are_those_of_the_finished_file(
            holds in proptest::collection::vec((8_u32..30, 20_u32..120), 1..5),
            off in -80.0..80.0_f64,
            most in 1_usize..400,
        ) {
            let holds: Vec<(f64, u32)> =
                holds.iter().map(|(speed, seconds)| (f64::from(*speed) * 100.0, *seconds)).collect();
            let text = text(&holds, off);
            let whole = read(text.as_bytes(), &Options::default(), &mut |_| {}).expect("a log");
            let (windows, rows, forms) = windows(&text, most);
            prop_assert_eq!(windows, whole.windows);
            prop_assert_eq!((rows as u64, forms), (whole.rows, 1));
        }
    }

    /// A log that pauses: how many rows had been told when it was asked for more.
    struct Pauses<'a> {
        parts: std::vec::IntoIter<Vec<u8>>,
        told: &'a std::cell::Cell<usize>,
        by_then: &'a std::cell::RefCell<Vec<usize>>,
    }

    impl Read for Pauses<'_> {
        fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
            self.by_then.borrow_mut().push(self.told.get());
            let Some(part) = self.parts.next() else { return Ok(0) };
            into[..part.len()].copy_from_slice(&part);
            Ok(part.len())
        }
    }

    /// Whatever has come is told before more is waited for, from the first rows on.
    #[test]
    fn no_row_waits_for_the_next() {
        let text = text(&[(800.0, 14)], 9.0);
        let lines: Vec<&[u8]> = text.as_bytes().split_inclusive(|byte| *byte == b'\n').collect();
        let mut parts = vec![lines[..12].concat()];
        parts.extend(lines[12..].iter().map(|line| line.to_vec()));
        let (told, by_then) = (std::cell::Cell::new(0), std::cell::RefCell::default());
        let from = Pauses { parts: parts.into_iter(), told: &told, by_then: &by_then };
        let ended = live(from, &Options::default(), &mut |live| {
            told.set(told.get() + usize::from(matches!(live, Live::Row(_))));
            ControlFlow::Continue(())
        });
        assert!(ended.is_ok());
        assert_eq!(by_then.into_inner()[..5], [0, 11, 12, 13, 14]);
    }

    #[test]
    fn other_names_begin_it_anew_and_the_same_again_do_not() {
        let first = text(&[(800.0, 90)], 9.0);
        let again = format!("{first}{first}");
        assert_eq!(windows(&again, 64).2, 1);
        let units = first.replacen('\n', "\ns;°C;°C;°C;1/min\n", 1);
        assert_eq!(windows(format!("{units}{units}"), 64).2, 1);
        let other = first.replace("rpm", "load %").replace("EGT", "Cyl");
        let (found, _, forms) = windows(format!("{first}{other}"), 64);
        assert_eq!((found.len(), forms), (2, 2));
    }

    #[test]
    fn who_wants_no_more_is_told_no_more() {
        let text = text(&[(800.0, 90)], 9.0);
        let (mut rows, bits) = (0, Bits { rest: text.as_bytes(), most: 64 });
        let told = live(bits, &Options::default(), &mut |told| {
            rows += usize::from(matches!(told, Live::Row(_)));
            if rows < 20 { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
        });
        assert!(told.is_ok() && rows == 20, "{rows}");
    }

    /// What tells the encoding stands in the third line of it, and the units with it.
    #[test]
    fn a_log_of_another_encoding_is_the_same_in_whatever_pieces_it_comes() {
        let text = include_bytes!("../../../../tests/fixtures/log-six.csv");
        let whole = read(&text[..], &Options::default(), &mut |_| {}).expect("a log");
        for most in [1, 7, 60, 97, 1000] {
            let (found, rows, forms) = windows(text, most);
            assert_eq!(
                (found.len(), rows as u64, forms),
                (whole.windows.len(), whole.rows, 1),
                "{most}"
            );
        }
        let wide: Vec<u8> = text.iter().flat_map(|byte| u16::from(*byte).to_le_bytes()).collect();
        let wide = [b"\xff\xfe".as_slice(), &wide].concat();
        for most in [1, 97] {
            assert_eq!(windows(&wide, most).0.len(), whole.windows.len(), "{most}");
        }
    }
}
