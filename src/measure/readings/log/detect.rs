//! Finds running points as steady windows, block by block.
//!
//! A *hold* is a stretch of steady speed and load. Within it a *window* is open while every display
//! is at rest; one that scatters, is open or never comes to rest does not keep its mates from being
//! read. Memory is a ring of blocks, whatever the log. It must not say which running point a window
//! is, nor why a display does not settle.

use std::collections::VecDeque;

use super::block::{Block, Gather, PER_WINDOW};
use super::building::{Building, Shown, TAIL};
use super::finding::Code;
use super::live;
use super::still::course;
use super::supply::Switching;
use super::tally::Moments;
use super::trace::{Course, Warm};
use crate::readings::outlier::median;
use crate::readings::settle::{FEWEST, Rule, Sample};

/// Speed is steady while block means stay within this share of their mean, or of the greatest seen
/// (common practice, no source).
const SPEED_SHARE: (f64, f64) = (0.1, 0.02);
/// Load is steady while block means stay within this share of the greatest seen.
const LOAD_SHARE: f64 = 0.15;
/// An open window ends when a display moves this many times the movement that opened it.
const HYSTERESIS: f64 = 2.0;
/// Blocks, two minutes by the usual rule, after which the few that never come to rest no longer hold
/// up their mates.
const PATIENCE: usize = 4 * PER_WINDOW;
/// Windows and holds that are kept.
pub const MOST_WINDOWS: usize = 500;
const MOST_STEPS: usize = 24;
const MOST_UNSETTLED: usize = 20;
/// A step has moved its displays by this, median, °C.
const STEP: f64 = 20.0;

/// A running point held and settled.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// Beginning, s since the first row.
    pub from: f64,
    /// End, s; a row at this very time is not in it.
    pub to: f64,
    /// Mean speed, in the log's unit.
    pub speed: Option<f64>,
    /// Mean load, in the log's unit.
    pub load: Option<f64>,
    /// Displays in order.
    pub shown: Vec<Shown>,
    /// Beginning of the hold it is in, s.
    pub hold_from: f64,
}

/// A stretch of steady speed and load, with its course.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Hold {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) speed: Option<f64>,
    /// Speed of the hold before that was long enough to count, without a break between.
    pub(super) speed_before: Option<f64>,
    pub(super) traces: Vec<Vec<Sample>>,
}

/// What the whole log came to.
#[derive(Debug, Clone, Default)]
pub(super) struct Found {
    pub(super) windows: Vec<Window>,
    /// Holds with a window, whose displays moved.
    pub(super) steps: Vec<Hold>,
    /// Holds that ended before the displays were at rest; the last is always kept.
    pub(super) unsettled: Vec<Hold>,
    /// Lowest and highest block mean of each display, °C.
    pub(super) ranges: Vec<(f64, f64)>,
    /// Blocks without a single number, of all, for each display.
    pub(super) silent: Vec<(u64, u64)>,
    pub(super) course: Course,
    pub(super) warm: Warm,
    pub(super) switching: Switching,
    /// Speed of the slowest hold with the engine running, so far as one was long enough.
    pub(super) slowest: Option<f64>,
    /// Greatest speed and load of a block.
    pub(super) greatest: (f64, f64),
    /// The log ended within a hold that had not settled.
    pub(super) ended_unsettled: bool,
}

/// Looks for windows.
pub(super) struct Detect {
    rule: Rule,
    length: f64,
    displays: usize,
    speed: Option<usize>,
    load: Option<usize>,
    supply: Option<usize>,
    ring: VecDeque<Block>,
    taken: usize,
    building: Option<Building>,
    hold: Option<HoldSoFar>,
    speed_before: Option<f64>,
    nearly: usize,
    pub(super) found: Found,
}

struct HoldSoFar {
    from: f64,
    speed: Moments,
    course: Course,
    window: bool,
}

impl Detect {
    pub(super) fn new(
        rule: Rule,
        displays: usize,
        speed: Option<usize>,
        load: Option<usize>,
        supply: Option<usize>,
    ) -> Self {
        #[expect(clippy::cast_precision_loss, reason = "thirty")]
        let length = rule.within / PER_WINDOW as f64;
        let found = Found {
            ranges: vec![(f64::INFINITY, f64::NEG_INFINITY); displays],
            silent: vec![(0, 0); displays],
            ..Found::default()
        };
        Self {
            rule,
            length,
            displays,
            speed,
            load,
            supply,
            ring: VecDeque::with_capacity(PER_WINDOW + 1),
            taken: 0,
            building: None,
            hold: None,
            speed_before: None,
            nearly: 0,
            found,
        }
    }

    /// Takes the next block.
    pub(super) fn block(&mut self, block: Block, gather: &mut Gather) {
        for (i, figures) in block.figures[..self.displays].iter().enumerate() {
            self.found.silent[i].1 += 1;
            if figures.count == 0.0 {
                self.found.silent[i].0 += 1;
            } else {
                let range = &mut self.found.ranges[i];
                *range = (range.0.min(figures.mean), range.1.max(figures.mean));
            }
        }
        self.found.course.push(&block, self.displays);
        self.found.warm.push(&block, self.displays);
        let top = |place: Option<usize>, so_far: f64| {
            place.map_or(so_far, |place| so_far.max(block.figures[place].mean.abs()))
        };
        let greatest = self.found.greatest;
        self.found.greatest = (top(self.speed, greatest.0), top(self.load, greatest.1));
        if self.upset(&block) {
            self.end_window(false, gather);
            self.end_hold(false);
            self.clear(gather);
            self.found.switching.break_off();
        }
        if let Some(place) = self.supply {
            self.found.switching.push(&block, self.displays, place);
        }
        let hold = self.hold.get_or_insert_with(|| HoldSoFar {
            from: block.start,
            speed: Moments::default(),
            course: Course::short(),
            window: false,
        });
        if let Some(place) = self.speed {
            hold.speed.merge(&block.figures[place]);
        }
        hold.course.push(&block, self.displays);
        self.ring.push_back(block);
        if self.ring.len() > PER_WINDOW {
            self.taken = self.taken.saturating_sub(1);
            if let Some(old) = self.ring.pop_front() {
                gather.give_back(old);
            }
        }
        if self.ring.len() < PER_WINDOW {
            return;
        }
        if self.steady() {
            if self.building.is_none() {
                self.building =
                    Some(Building::new(self.ring[0].start, self.displays, &self.ring[0]));
                self.taken = 0;
            }
            if let Some(hold) = &mut self.hold {
                hold.window = true;
            }
            self.take_until(PER_WINDOW - TAIL);
        } else if self.building.is_some() {
            self.end_window(false, gather);
            self.end_hold(false);
            self.clear(gather);
        }
    }

    /// Ends what is open: a gap, or the end of the log.
    pub(super) fn break_off(&mut self, gather: &mut Gather, end: bool) {
        self.end_window(true, gather);
        self.end_hold(end);
        self.clear(gather);
        self.speed_before = None;
        self.found.warm.break_off();
        self.found.switching.break_off();
    }

    /// How the engine is held at the last full block.
    pub(super) fn hold(&self) -> live::Hold {
        let now = self.ring.back().map(|block| block.start + self.length);
        let since = |from: Option<f64>| now.zip(from).map(|(now, from)| now - from);
        live::Hold {
            steady: since(self.hold.as_ref().map(|hold| hold.from)),
            settled: since(self.building.as_ref().map(|building| building.from)),
        }
    }

    fn clear(&mut self, gather: &mut Gather) {
        for block in self.ring.drain(..) {
            gather.give_back(block);
        }
        self.taken = 0;
        self.nearly = 0;
    }

    /// Whether speed or load leaves the band of the last blocks.
    fn upset(&self, block: &Block) -> bool {
        let leaves = |place: Option<usize>, share: f64, greatest: f64| {
            place.is_some_and(|place| {
                let means = self.ring.iter().chain([block]).map(|b| b.figures[place]);
                let (mut low, mut high, mut sum, mut n) =
                    (f64::INFINITY, f64::NEG_INFINITY, 0.0, 0.0);
                for figures in means.filter(|figures| figures.count > 0.0) {
                    low = low.min(figures.mean);
                    high = high.max(figures.mean);
                    sum += figures.mean;
                    n += 1.0;
                }
                n > 0.0 && high - low > (share * (sum / n).abs()).max(greatest)
            })
        };
        leaves(self.speed, SPEED_SHARE.0, SPEED_SHARE.1 * self.found.greatest.0)
            || leaves(self.load, 0.0, LOAD_SHARE * self.found.greatest.1)
    }

    fn steady(&mut self) -> bool {
        let limit =
            if self.building.is_some() { HYSTERESIS * self.rule.moves } else { self.rule.moves };
        let (mut moving, mut scattering, mut there) = (0, 0, 0);
        for display in 0..self.displays {
            let mut means = [f64::NAN; PER_WINDOW];
            for (mean, block) in means.iter_mut().zip(&self.ring) {
                let figures = &block.figures[display];
                if figures.count > 0.0 {
                    *mean = figures.mean;
                }
            }
            let Some(course) = course(&means, FEWEST) else { continue };
            there += 1;
            if course.noise > self.rule.scatter {
                scattering += 1;
            } else if course.movement.abs() >= limit.max(2.0 * course.movement_se) {
                moving += 1;
            }
        }
        if there < 2 || 2 * scattering > there {
            self.nearly = 0;
            return false;
        }
        if moving == 0 {
            return true;
        }
        // One in four, and at least one of three, may be of those that never come to rest.
        let few = there >= 3 && moving <= (there / 4).max(1);
        // A leaky count, so that a passing doubt about a third does not begin it anew.
        self.nearly =
            if few { (self.nearly + 1).min(2 * PATIENCE) } else { self.nearly.saturating_sub(3) };
        self.nearly >= PATIENCE
    }

    fn take_until(&mut self, end: usize) {
        if let Some(building) = &mut self.building {
            while self.taken < end.min(self.ring.len()) {
                building.add(&self.ring[self.taken], self.displays, self.length);
                self.taken += 1;
            }
        }
    }

    fn end_window(&mut self, with_tail: bool, gather: &mut Gather) {
        if with_tail {
            self.take_until(self.ring.len());
        }
        let Some(building) = self.building.take() else { return };
        if self.found.windows.len() >= MOST_WINDOWS {
            gather.findings.add(Code::ManyWindows, (0, 0), || {
                (
                    format!("more than {MOST_WINDOWS} windows"),
                    "the later ones are not shown; part the log, or ask for longer windows with \
                     `--for`"
                        .to_owned(),
                )
            });
            return;
        }
        let mean = |place: Option<usize>| {
            place.map(|p| building.totals[p]).filter(|f| f.count > 0.0).map(|f| f.mean)
        };
        let (speed, load) = (mean(self.speed), mean(self.load));
        let hold_from = self.hold.as_ref().map_or(building.from, |hold| hold.from);
        let recent = |display: usize| -> f64 {
            let mut means = [f64::NAN; PER_WINDOW];
            for (mean, block) in means.iter_mut().zip(self.ring.iter().take(self.taken)) {
                let figures = &block.figures[display];
                if figures.count > 0.0 {
                    *mean = figures.mean;
                }
            }
            course(&means, FEWEST).map_or(0.0, |course| course.movement)
        };
        let shown = (0..self.displays).map(|d| building.shown(d, recent(d))).collect();
        let (from, to) = (building.from, building.to);
        self.found.windows.push(Window { from, to, speed, load, shown, hold_from });
    }

    fn end_hold(&mut self, end: bool) {
        let Some(hold) = self.hold.take() else { return };
        let to = self.ring.back().map_or(hold.from, |block| block.start + self.length);
        let speed = (hold.speed.count > 0.0).then_some(hold.speed.mean);
        if to - hold.from < self.rule.within {
            return;
        }
        let speed_before = std::mem::replace(&mut self.speed_before, speed);
        if speed.is_some_and(|speed| speed <= 0.05 * self.found.greatest.0) {
            return;
        }
        if let Some(speed) = speed {
            let slowest = self.found.slowest.map_or(speed, |so_far| so_far.min(speed));
            self.found.slowest = Some(slowest);
        }
        let traces = hold.course.traces(&self.ring, self.displays);
        let kept = Hold { from: hold.from, to, speed, speed_before, traces };
        if hold.window {
            if self.found.steps.len() < MOST_STEPS && kept.moved().abs() >= STEP {
                self.found.steps.push(kept);
            }
        } else {
            if self.found.unsettled.len() >= MOST_UNSETTLED {
                self.found.unsettled.pop();
            }
            self.found.unsettled.push(kept);
            self.found.ended_unsettled |= end;
        }
    }
}

impl Hold {
    /// How far its displays moved, median, °C.
    pub(super) fn moved(&self) -> f64 {
        let ends = |trace: &Vec<Sample>| Some(trace.last()?.value - trace.first()?.value);
        let moved: Vec<f64> = self.traces.iter().filter_map(ends).collect();
        median(&moved).unwrap_or(0.0)
    }
}
