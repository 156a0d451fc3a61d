//! Rows of numbers out of a chunk of text.
//!
//! A row of plain numbers takes the short way; whatever it does not understand goes the long way,
//! which names what is wrong. Both give the same rows. It must not compare a row with another.

use memchr::memchr;

use super::chunk::Chunk;
use super::finding::{Code, Findings};
use super::number::{number, plain};
use super::records;
use super::time::TimeForm;

/// Hottest and coldest that a display can mean, °C; as [`crate::units::Celsius`].
const LIKELY: std::ops::RangeInclusive<f64> = -60.0..=1300.0;

/// What a column is read for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Slot {
    /// Nothing.
    Skip,
    /// The time.
    Time,
    /// A display: its place in the row, and what makes °C of it: `(x − less) / per`.
    Display(usize, f64, f64),
    /// Another number: its place in the row.
    Other(usize),
}

/// How rows are to be read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plan {
    pub(super) delimiter: u8,
    pub(super) point: u8,
    /// One for each column.
    pub(super) slots: Vec<Slot>,
    /// Names of the columns, for findings.
    pub(super) names: Vec<String>,
    /// Numbers kept of a row.
    pub(super) width: usize,
    pub(super) time: TimeForm,
    /// Offset from universal time in the first row.
    pub(super) zone: Option<i32>,
    /// Lines of the file to be left out at its start.
    pub(super) skip: u64,
}

/// Rows in order.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Rows {
    /// Time of each, s.
    pub(super) times: Vec<f64>,
    /// Row by row; not a number where there was none.
    pub(super) values: Vec<f64>,
    /// Line of each, in the chunk, from 1.
    pub(super) lines: Vec<u32>,
    /// Whether any number is missing.
    pub(super) holes: bool,
    /// What was odd, with lines of the chunk.
    pub(super) findings: Findings,
}

/// Reads a chunk.
pub(super) fn parse(chunk: &Chunk, plan: &Plan) -> Rows {
    let mut rows = Rows::default();
    let lines = usize::try_from(chunk.lines).unwrap_or(0);
    rows.times.reserve(lines);
    rows.lines.reserve(lines);
    rows.values.reserve((lines + 1) * plan.width);
    let skip = plan.skip.saturating_sub(chunk.lines_before);
    if chunk.quoted {
        records::each(&chunk.bytes, plan.delimiter, true, |record| {
            if record.line > skip {
                #[expect(clippy::cast_possible_truncation, reason = "a chunk is a few MiB")]
                rows.long_way(record.fields(), record.line as u32, plan);
            }
            true
        });
        return rows;
    }
    let text = &chunk.bytes[..];
    let (mut at, mut line) = (0, 0_u32);
    while at < text.len() {
        line += 1;
        if u64::from(line) > skip
            && let Some(next) = rows.short_way(text, at, plan)
        {
            rows.lines.push(line);
            at = next;
            continue;
        }
        let end = memchr(b'\n', &text[at..]).map_or(text.len(), |length| at + length);
        if u64::from(line) > skip {
            let own = text[at..end].trim_ascii_end();
            // A tab at the end of a line parts two fields, it is no space.
            let own = if plan.delimiter == b'\t' { text[at..end].trim_suffix_cr() } else { own };
            rows.long_way(own.split(|b| *b == plan.delimiter), line, plan);
        }
        at = end + 1;
    }
    rows
}

/// Cuts a carriage return off the end.
trait TrimCr {
    fn trim_suffix_cr(&self) -> &[u8];
}

impl TrimCr for [u8] {
    fn trim_suffix_cr(&self) -> &[u8] {
        self.strip_suffix(b"\r").unwrap_or(self)
    }
}

impl Rows {
    /// A line of plain numbers: where the next begins. Nothing, and no trace, for any other.
    #[inline]
    fn short_way(&mut self, text: &[u8], mut at: usize, plan: &Plan) -> Option<usize> {
        let first = self.values.len();
        self.values.resize(first + plan.width, f64::NAN);
        let row = &mut self.values[first..];
        let mut time = f64::NAN;
        let mut sound = true;
        let (start, last) = (at, plan.slots.len() - 1);
        for (index, slot) in plan.slots.iter().enumerate() {
            match *slot {
                Slot::Skip => {
                    while text.get(at).is_some_and(|b| *b != plan.delimiter && *b != b'\n') {
                        at += 1;
                    }
                }
                Slot::Time => {
                    if let Some(divisor) = plan.time.divisor() {
                        let Some((value, length)) = plain(&text[at..], plan.point) else {
                            sound = false;
                            break;
                        };
                        time = value / divisor;
                        at += length;
                    } else {
                        let from = at;
                        while text.get(at).is_some_and(|b| *b != plan.delimiter && *b != b'\n') {
                            at += 1;
                        }
                        let read = plan.time.read(&text[from..at], plan.point);
                        match read.filter(|moment| moment.zone == plan.zone) {
                            Some(moment) => time = moment.seconds,
                            None => sound = false,
                        }
                    }
                }
                Slot::Display(place, less, per) => {
                    let Some((value, length)) = plain(&text[at..], plan.point) else {
                        sound = false;
                        break;
                    };
                    let value = (value - less) / per;
                    sound &= LIKELY.contains(&value);
                    row[place] = value;
                    at += length;
                }
                Slot::Other(place) => {
                    let Some((value, length)) = plain(&text[at..], plan.point) else {
                        sound = false;
                        break;
                    };
                    row[place] = value;
                    at += length;
                }
            }
            match text.get(at) {
                Some(b) if *b == plan.delimiter => at += 1,
                _ => {
                    sound &= index == last;
                    break;
                }
            }
        }
        let next = match (text.get(at), text.get(at + 1)) {
            (Some(b'\n'), _) => at + 1,
            (Some(b'\r'), Some(b'\n')) => at + 2,
            _ => {
                sound = false;
                at
            }
        };
        // A delimiter after the last column was stepped over: then there is one more column.
        if !sound || at == start || text[at - 1] == plan.delimiter {
            self.values.truncate(first);
            return None;
        }
        self.times.push(time);
        Some(next)
    }

    /// Any line, by its fields.
    fn long_way<'a>(
        &mut self,
        fields: impl Iterator<Item = &'a [u8]> + Clone,
        line: u32,
        plan: &Plan,
    ) {
        if fields.clone().all(|field| field.trim_ascii().is_empty()) {
            return;
        }
        let place = |column: usize| (u64::from(line), column);
        let count = fields.clone().count();
        let columns = plan.slots.len();
        // One more that is empty: a delimiter at the end of the line.
        let spare = count == columns + 1
            && fields.clone().last().is_some_and(|field| field.trim_ascii().is_empty());
        if count != columns && !spare {
            self.findings.add(Code::Columns, place(0), || {
                (
                    format!("the row has {count} columns, the header has {columns}"),
                    "it was left out; a delimiter within a number looks like this".to_owned(),
                )
            });
            return;
        }
        let first = self.values.len();
        self.values.resize(first + plan.width, f64::NAN);
        let mut time = None;
        for (index, (field, slot)) in fields.zip(&plan.slots).enumerate() {
            let name = || shown(&plan.names[index]);
            match *slot {
                Slot::Skip => {}
                Slot::Time => {
                    let Some(moment) = plan.time.read(field, plan.point) else {
                        self.findings.add(Code::Time, place(index + 1), || {
                            let given = shown(&String::from_utf8_lossy(field));
                            let form = plan.time.name();
                            (
                                format!("`{given}` is no time ({form})"),
                                "the row was left out; `--time COLUMN` and `--time-in UNIT` say \
                                 which column it is and how it counts"
                                    .to_owned(),
                            )
                        });
                        self.values.truncate(first);
                        return;
                    };
                    if moment.zone != plan.zone {
                        let lacks = moment.zone.is_none() || plan.zone.is_none();
                        let code = if lacks { Code::NoZone } else { Code::Zones };
                        self.findings.add(code, place(index + 1), || zones(&moment, plan));
                        if lacks {
                            self.values.truncate(first);
                            return;
                        }
                    }
                    time = Some(moment.seconds);
                }
                Slot::Display(..) | Slot::Other(_) => {
                    let Some(value) = number(field, plan.point) else {
                        self.holes = true;
                        // A word says that there is no number; figures were meant for one.
                        let figures = field.iter().any(u8::is_ascii_digit);
                        let code = if figures { Code::Unreadable } else { Code::NoNumber };
                        self.findings.add(code, place(index + 1), || {
                            let given = shown(&String::from_utf8_lossy(field));
                            (
                                format!("`{given}` is no number, in column `{}`", name()),
                                "it was left out of that display's figures".to_owned(),
                            )
                        });
                        continue;
                    };
                    match *slot {
                        Slot::Display(to, less, per) => {
                            let value = (value - less) / per;
                            if LIKELY.contains(&value) {
                                self.values[first + to] = value;
                            } else {
                                self.holes = true;
                                self.findings.add(Code::Impossible, place(index + 1), || {
                                    (
                                        format!(
                                            "{value:.0} °C in column `{}` cannot be: expected \
                                             −60 to 1300 °C",
                                            name()
                                        ),
                                        "it was left out, as an open display; `--scale f` if the \
                                         log is in °F"
                                            .to_owned(),
                                    )
                                });
                            }
                        }
                        Slot::Other(to) => self.values[first + to] = value,
                        Slot::Skip | Slot::Time => {}
                    }
                }
            }
        }
        match time {
            Some(time) => {
                self.times.push(time);
                self.lines.push(line);
            }
            None => self.values.truncate(first),
        }
    }
}

fn zones(moment: &super::time::Moment, plan: &Plan) -> (String, String) {
    let hours = |zone: Option<i32>| {
        zone.map_or("none".to_owned(), |zone| format!("{:+.1} h", f64::from(zone) / 3600.0))
    };
    (
        format!(
            "the offset from universal time changes from {} to {}",
            hours(plan.zone),
            hours(moment.zone)
        ),
        if moment.zone.is_none() || plan.zone.is_none() {
            "rows without an offset among rows with one cannot be placed and were left out"
        } else {
            "times were brought to one zone"
        }
        .to_owned(),
    )
}

/// Foreign text in a message: not too long.
pub(super) fn shown(text: &str) -> String {
    let mut short: String = text.trim().chars().take(24).collect();
    if short.len() < text.trim().len() {
        short.push('…');
    }
    short
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn plan() -> Plan {
        Plan {
            delimiter: b',',
            point: b'.',
            slots: vec![
                Slot::Time,
                Slot::Other(2),
                Slot::Skip,
                Slot::Display(0, 0.0, 1.0),
                Slot::Display(1, 32.0, 1.8),
            ],
            names: ["t", "rpm", "note", "1", "2"].map(str::to_owned).to_vec(),
            width: 3,
            time: TimeForm::Seconds,
            zone: None,
            skip: 0,
        }
    }

    fn chunk(text: &str, quoted: bool) -> Chunk {
        let bytes = text.as_bytes().to_vec();
        let lines = text.matches('\n').count() as u64;
        Chunk { bytes, lines_before: 0, lines, quoted, taken: 0 }
    }

    fn read(text: &str) -> Rows {
        parse(&chunk(text, false), &plan())
    }

    #[track_caller]
    fn finds(text: &str, rows: usize, code: Code, place: (u64, usize)) {
        let read = read(text);
        let found: Vec<_> = read.findings.into_list();
        let brief: Vec<_> = found.iter().map(|f| (f.code, f.line, f.column)).collect();
        assert_eq!((read.times.len(), brief), (rows, vec![(code, place.0, place.1)]), "{text:?}");
    }

    #[test]
    fn a_good_row_is_numbers_in_their_places() {
        let rows = read("0.5,800,x,100.5,212\r\n1,900,,101,392\n");
        assert_eq!(rows.times, [0.5, 1.0]);
        assert_eq!(rows.values, [100.5, 100.0, 800.0, 101.0, 200.0, 900.0]);
        assert_eq!(rows.lines, [1, 2]);
        assert!(!rows.holes && rows.findings.is_empty());
    }

    #[test]
    fn what_is_wrong_is_named_with_its_place() {
        let good = "1,800,,100,212\n";
        finds(&format!("{good}2,800,,100\n{good}"), 2, Code::Columns, (2, 0));
        finds(&format!("{good}2,800,,100,212,7\n"), 1, Code::Columns, (2, 0));
        finds(&format!("{good}x,800,,100,212\n"), 1, Code::Time, (2, 1));
        finds(&format!("{good}2,800,,open,212\n"), 2, Code::NoNumber, (2, 4));
        finds(&format!("{good}2,800,,,212\n"), 2, Code::NoNumber, (2, 4));
        finds(&format!("{good}2,800,,9999,212\n"), 2, Code::Impossible, (2, 4));
        finds(&format!("{good}2,nan,,100,212\n"), 2, Code::NoNumber, (2, 2));
        finds(&format!("{good}2,800,,1e2,212\n2,800,,\u{0}1,212\n"), 3, Code::Unreadable, (3, 4));
    }

    #[test]
    fn empty_lines_and_a_delimiter_at_the_end_are_no_fault() {
        let rows = read("1,800,,100,212,\n\n  \n,,,,\n2,800,,100,212\n");
        assert_eq!((rows.times, rows.lines), (vec![1.0, 2.0], vec![1, 5]));
        assert!(rows.findings.is_empty());
    }

    /// The same by the CSV crate and the standard library alone.
    fn slow(text: &str) -> Vec<Option<[f64; 4]>> {
        let mut rows = Vec::new();
        for line in text.lines() {
            let fields: Vec<&str> = line.split(',').collect();
            let number = |i: usize| fields[i].trim().parse::<f64>().unwrap_or(f64::NAN);
            let likely = |x: f64| if (-60.0..=1300.0).contains(&x) { x } else { f64::NAN };
            if fields.len() == 5 && fields[0].trim().parse::<f64>().is_ok() {
                let second = likely((number(4) - 32.0) / 1.8);
                rows.push(Some([number(0), likely(number(3)), second, number(1)]));
            }
        }
        rows
    }

    proptest! {
        #[test]
        fn short_and_long_way_agree_with_the_obvious(
            lines in proptest::collection::vec(
                proptest::collection::vec("-?[0-9]{1,4}(\\.[0-9]{1,3})?| ?[0-9]{2} ?|open|", 4..7),
                0..12,
            )
        ) {
            let text: String = lines.iter().map(|f| f.join(",") + "\n").collect();
            // One more empty field is lawful, and the obvious reader does not know it.
            prop_assume!(lines.iter().all(|f| !(f.len() == 6 && f[5].trim().is_empty())));
            let rows = read(&text);
            let flat = |rows: &Rows| -> Vec<Option<[f64; 4]>> {
                rows.times
                    .iter()
                    .zip(rows.values.chunks(3))
                    .map(|(t, v)| Some([*t, v[0], v[1], v[2]]))
                    .collect()
            };
            let quoted = parse(&chunk(&text, true), &plan());
            let text_of = |rows: Vec<Option<[f64; 4]>>| format!("{rows:?}");
            prop_assert_eq!(text_of(flat(&rows)), text_of(slow(&text)));
            prop_assert_eq!(text_of(flat(&quoted)), text_of(slow(&text)));
        }
    }
}
