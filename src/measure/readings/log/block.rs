//! Rows gathered into blocks of equal time, a thirtieth of the time a display must be still.
//!
//! Everything after this looks at blocks, so that a log of a thousand rows a second costs no more
//! than one of ten. Also the place where the order of time is watched over. It must not judge.

use super::finding::{Code, Findings};
use super::parse::Rows;
use super::tally::{Moments, on_grid};

/// Blocks in the time that a display must be still.
pub(super) const PER_WINDOW: usize = 30;
/// Values a block keeps for medians; beyond, every other row is left out of the median, then three
/// of four, and so on.
const MOST_KEPT: usize = 65_536;
/// Rows in order among themselves after which an earlier time is taken for a new start.
const NEW_START: u32 = 10;
const HALF_DAY: f64 = 43_200.0;
const DAY: f64 = 86_400.0;

/// A short stretch of rows.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Block {
    /// Where it begins, s since the first row of the log.
    pub(super) start: f64,
    /// Rows in it.
    pub(super) rows: u32,
    /// Figures of each number of a row.
    pub(super) figures: Vec<Moments>,
    /// Displays' values on the grid, row by row; [`MISSING`] where there was none.
    pub(super) kept: Vec<i32>,
}

/// In [`Block::kept`], no number.
pub(super) const MISSING: i32 = i32::MIN;

/// What the rows come to, in order.
#[derive(Debug)]
pub(super) enum Step {
    /// A full block.
    Block(Block),
    /// Nothing connects what was before with what comes.
    Break,
}

/// Gathers rows.
pub(super) struct Gather {
    length: f64,
    displays: usize,
    width: usize,
    clock: bool,
    /// File time that is nought of the log's.
    zero: Option<f64>,
    last: f64,
    earlier: (u32, f64),
    open: Option<Open>,
    spare: Vec<Block>,
    pub(super) rows: u64,
    pub(super) findings: Findings,
}

struct Open {
    index: i64,
    block: Block,
    base: Vec<f64>,
    sums: Vec<[f64; 3]>,
    thin: u32,
}

impl Gather {
    /// Blocks of `length` seconds; the first `displays` of `width` numbers are displays. With
    /// `clock`, times begin anew at midnight.
    pub(super) fn new(length: f64, displays: usize, width: usize, clock: bool) -> Self {
        Self {
            length,
            displays,
            width,
            clock,
            zero: None,
            last: 0.0,
            earlier: (0, 0.0),
            open: None,
            spare: Vec::new(),
            rows: 0,
            findings: Findings::default(),
        }
    }

    /// Seconds from first to last row.
    pub(super) fn seconds(&self) -> f64 {
        self.last
    }

    /// A block that is done with.
    pub(super) fn give_back(&mut self, block: Block) {
        if self.spare.len() < 4 {
            self.spare.push(block);
        }
    }

    /// Takes rows in; `lines_before` is lines of the file before the chunk.
    pub(super) fn rows(
        &mut self,
        rows: &Rows,
        lines_before: u64,
        take: &mut dyn FnMut(&mut Self, Step),
    ) {
        let gap = self.length * 5.0;
        for (i, (&time, row)) in
            rows.times.iter().zip(rows.values.chunks_exact(self.width)).enumerate()
        {
            let line = || lines_before + u64::from(rows.lines[i]);
            let zero = *self.zero.get_or_insert(time);
            let mut at = time - zero;
            if at < self.last {
                match self.backwards(at, line()) {
                    None => continue,
                    Some((moved, connected)) => {
                        at = moved;
                        if !connected {
                            self.close(take);
                            take(self, Step::Break);
                        }
                    }
                }
            } else if at > self.last + gap && self.rows > 0 {
                let (from, length) = (self.last, at - self.last);
                self.findings.add(Code::Gap, (line(), 0), || {
                    (
                        format!("{length:.1} s without a row, from {from:.1} s on"),
                        "no window runs across it".to_owned(),
                    )
                });
                self.close(take);
                take(self, Step::Break);
            }
            self.earlier.0 = 0;
            self.last = at;
            self.rows += 1;
            #[expect(clippy::cast_possible_truncation, reason = "seconds of a log")]
            let index = (at / self.length).floor() as i64;
            if self.open.as_ref().is_none_or(|open| open.index != index) {
                self.close(take);
                self.begin(index, row);
            }
            if let Some(open) = &mut self.open {
                open.add(row, self.displays, rows.holes);
            }
        }
    }

    /// What becomes of a row earlier than the one before: nothing, or another time and whether
    /// that goes on from what was.
    fn backwards(&mut self, at: f64, line: u64) -> Option<(f64, bool)> {
        if self.clock && self.last - at > HALF_DAY {
            // The clock passed midnight; its zero is a day earlier now.
            self.findings.add(Code::Midnight, (line, 0), || {
                ("midnight passed".to_owned(), "a day was added to the times".to_owned())
            });
            self.zero = self.zero.map(|zero| zero - DAY);
            let moved = (at + DAY).max(self.last);
            return Some((moved, moved <= self.last + self.length * 5.0));
        }
        let (run, before) = self.earlier;
        self.earlier = (if at >= before || run == 0 { run + 1 } else { 1 }, at);
        if self.earlier.0 <= NEW_START {
            let last = self.last;
            self.findings.add(Code::Backwards, (line, 0), || {
                (
                    format!("time goes back, from {last:.1} s to {at:.1} s of the log"),
                    "rows earlier than the one before were left out".to_owned(),
                )
            });
            return None;
        }
        self.findings.add(Code::Restart, (line, 0), || {
            (
                "time begins anew".to_owned(),
                "what follows was set behind what was before".to_owned(),
            )
        });
        let moved = self.last + self.length;
        self.zero = self.zero.map(|zero| zero + at - moved);
        Some((moved, false))
    }

    fn begin(&mut self, index: i64, row: &[f64]) {
        let mut block = self.spare.pop().unwrap_or_default();
        block.kept.clear();
        block.figures.clear();
        block.rows = 0;
        #[expect(clippy::cast_precision_loss, reason = "blocks of a log")]
        let start = index as f64 * self.length;
        block.start = start;
        let base = row.iter().map(|v| if v.is_nan() { 0.0 } else { *v }).collect();
        self.open = Some(Open { index, block, base, sums: vec![[0.0; 3]; self.width], thin: 1 });
    }

    /// Hands the open block over.
    pub(super) fn close(&mut self, take: &mut dyn FnMut(&mut Self, Step)) {
        let Some(mut open) = self.open.take() else { return };
        let figures = open.base.iter().zip(&open.sums).map(|(base, &[count, sum, squares])| {
            if count == 0.0 {
                Moments::default()
            } else {
                let mean = sum / count;
                let squares = (squares - sum * mean).max(0.0);
                Moments { count, mean: base + mean, squares }
            }
        });
        open.block.figures.extend(figures);
        take(self, Step::Block(open.block));
    }
}

impl Open {
    #[inline]
    fn add(&mut self, row: &[f64], displays: usize, holes: bool) {
        if holes {
            for ((value, base), sums) in row.iter().zip(&self.base).zip(&mut self.sums) {
                if !value.is_nan() {
                    let step = value - base;
                    sums[0] += 1.0;
                    sums[1] += step;
                    sums[2] += step * step;
                }
            }
        } else {
            for ((value, base), sums) in row.iter().zip(&self.base).zip(&mut self.sums) {
                let step = value - base;
                sums[0] += 1.0;
                sums[1] += step;
                sums[2] += step * step;
            }
        }
        if self.block.rows.is_multiple_of(self.thin) {
            let grid = |v: &f64| if v.is_nan() { MISSING } else { on_grid(*v) };
            self.block.kept.extend(row[..displays].iter().map(grid));
            if self.block.kept.len() >= MOST_KEPT {
                let mut keep = 0;
                self.block.kept.retain(|_| {
                    keep += 1;
                    ((keep - 1) / displays).is_multiple_of(2)
                });
                self.thin *= 2;
            }
        }
        self.block.rows += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Start and rows of blocks; nothing for a break.
    type Steps = Vec<Option<(f64, u32)>>;

    /// Blocks, breaks and findings of rows at these times, one display that shows the time.
    fn gather(times: &[f64], clock: bool) -> (Steps, Vec<(Code, u64, u64)>) {
        let rows = Rows {
            times: times.to_vec(),
            values: times.to_vec(),
            lines: (1..).take(times.len()).collect(),
            ..Rows::default()
        };
        let mut gather = Gather::new(1.0, 1, 1, clock);
        let mut seen = Vec::new();
        let mut take = |gather: &mut Gather, step: Step| match step {
            Step::Block(block) => {
                assert!(block.figures[0].count > 0.0);
                seen.push(Some((block.start, block.rows)));
                gather.give_back(block);
            }
            Step::Break => seen.push(None),
        };
        gather.rows(&rows, 0, &mut take);
        gather.close(&mut take);
        let findings = std::mem::take(&mut gather.findings).into_list();
        (seen, findings.into_iter().map(|f| (f.code, f.line, f.count)).collect())
    }

    #[test]
    fn rows_fall_into_their_blocks() {
        let (seen, findings) = gather(&[10.0, 10.5, 11.0, 11.9, 12.1], false);
        assert_eq!(seen, [Some((0.0, 2)), Some((1.0, 2)), Some((2.0, 1))]);
        assert!(findings.is_empty());
    }

    #[test]
    fn gaps_and_steps_back_are_told() {
        let (seen, findings) = gather(&[0.0, 1.0, 20.0], false);
        assert_eq!(seen, [Some((0.0, 1)), Some((1.0, 1)), None, Some((20.0, 1))]);
        assert_eq!(findings, [(Code::Gap, 3, 1)]);
        let (seen, findings) = gather(&[0.0, 5.0, 3.0, 6.0], false);
        assert_eq!(seen.iter().flatten().map(|(_, rows)| rows).sum::<u32>(), 3);
        assert_eq!(findings, [(Code::Backwards, 3, 1)]);
    }

    #[test]
    fn a_logger_started_again_goes_on_behind() {
        let times: Vec<f64> = (0..50).chain(0..50).map(f64::from).collect();
        let (seen, findings) = gather(&times, false);
        assert_eq!(findings, [(Code::Backwards, 51, 10), (Code::Restart, 61, 1)]);
        assert_eq!(seen.iter().filter(|s| s.is_none()).count(), 1);
        let starts: Vec<f64> = seen.iter().flatten().map(|(start, _)| *start).collect();
        assert!(starts.windows(2).all(|pair| pair[0] < pair[1]), "{starts:?}");
    }

    #[test]
    fn a_clock_may_pass_midnight() {
        let (seen, findings) = gather(&[86_398.0, 86_399.0, 0.0, 1.0], true);
        assert_eq!(findings, [(Code::Midnight, 3, 1)]);
        let starts: Vec<f64> = seen.iter().flatten().map(|(start, _)| *start).collect();
        assert_eq!(starts, [0.0, 1.0, 2.0, 3.0]);
    }
}
