//! An engine that runs while a log of it is followed, as a page shows it.
//!
//! What is here was judged by [`judge::watch`] and said by [`pages::report`]; it is only kept, bounded, until
//! pages ask for it. It must not judge, enter anything or look at a clock.

use std::collections::{BTreeMap, VecDeque};

use facts::knowledge::RunningPoint;
use judge::watch::{Event, Levels};
use measure::engine::Cylinder;
use measure::readings::log::Hold;
use measure::units::Scale;
use pages::report::NoticeKind;

/// Sets and lines that are kept; the log has all.
const SETS: usize = 8;
const LINES: usize = 16;

/// Without a row for so long the numbers are called old, s.
pub const OLD: u64 = 3;

/// What became of a set that had settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// It can be entered.
    Offered,
    /// Someone is entering it.
    Entering,
    /// It is in the job, as this entry.
    Entered(usize),
}

/// A set that had settled.
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// Its number; each is given once.
    pub number: u64,
    /// The running point, where it is known.
    pub at: Option<RunningPoint>,
    /// When it ended in the log, s.
    pub seconds: f64,
    /// What it is, in a line, and what makes its point doubtful.
    pub text: String,
    /// See `text`.
    pub doubt: String,
    /// What became of it.
    pub fate: Fate,
}

/// An engine that runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Live {
    /// The job.
    pub job: String,
    /// Points at which readings can be entered as settled.
    pub points: Vec<RunningPoint>,
    /// The displays at the last row.
    pub levels: Option<Levels>,
    /// How the engine is held.
    pub hold: Hold,
    /// The scale in which they are shown.
    pub scale: Scale,
    /// Why the engine must stop or be watched now.
    pub heat: Option<(NoticeKind, String)>,
    /// Displays that are beyond their warning limits, with what was said.
    pub strayed: BTreeMap<Cylinder, String>,
    /// What was said, the last first, with the moment of the log, s.
    pub said: VecDeque<(Option<f64>, String)>,
    /// What had settled, the last first.
    pub sets: VecDeque<Set>,
    /// Nothing more comes, and why.
    pub ended: Option<String>,
    /// Seconds since the last row, where that is long.
    pub silent: Option<u64>,
    /// There are rows that led to a stop.
    pub led: bool,
    /// Counts rows, and all that is more than a row.
    pub row: u64,
    /// See `row`.
    pub news: u64,
}

impl Live {
    /// An engine of which nothing has come yet.
    #[must_use]
    pub fn new(job: String, points: Vec<RunningPoint>) -> Self {
        Self {
            job,
            points,
            levels: None,
            hold: Hold::default(),
            scale: Scale::Celsius,
            heat: None,
            strayed: BTreeMap::new(),
            said: VecDeque::new(),
            sets: VecDeque::new(),
            ended: None,
            silent: None,
            led: false,
            row: 0,
            news: 0,
        }
    }

    /// Something begins or ends.
    pub fn event(&mut self, event: &Event, seconds: Option<f64>, text: &str) {
        let reason = |kind: NoticeKind| {
            let word = format!("{}: ", kind.word());
            Some((kind, text.strip_prefix(&word).unwrap_or(text).to_owned()))
        };
        match event {
            Event::Stop(_) => self.heat = reason(NoticeKind::Stop),
            Event::Watch(_) => self.heat = reason(NoticeKind::Watch),
            Event::Cool => self.heat = None,
            Event::Strayed { display, .. } => {
                self.strayed.insert(*display, text.to_owned());
            }
            Event::Back(display) => {
                self.strayed.remove(display);
            }
            Event::Recorded(_) => return,
        }
        self.say(seconds, text);
    }

    /// Something is said at a moment of the log, s.
    pub fn say(&mut self, seconds: Option<f64>, text: &str) {
        self.said.push_front((seconds, text.trim().to_owned()));
        self.said.truncate(LINES);
        self.news += 1;
    }

    /// A set had settled; numbers of those that went to make room for it come back.
    pub fn settled(&mut self, set: Set) -> Vec<u64> {
        self.sets.push_front(set);
        self.news += 1;
        let most = self.sets.len().min(SETS);
        self.sets.split_off(most).into_iter().map(|set| set.number).collect()
    }

    /// Changes what became of a set.
    pub fn becomes(&mut self, number: u64, fate: Fate) {
        if let Some(set) = self.sets.iter_mut().find(|set| set.number == number) {
            set.fate = fate;
            self.news += 1;
        }
    }

    /// A row was read.
    pub fn stands(&mut self, levels: Levels, hold: Hold, scale: Scale) {
        if self.levels.as_ref() != Some(&levels) {
            self.levels = Some(levels);
            self.row += 1;
        }
        (self.hold, self.scale) = (hold, scale);
    }

    /// Sets that can be entered.
    #[must_use]
    pub fn offered(&self) -> usize {
        self.sets.iter().filter(|set| set.fate == Fate::Offered).count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_bounded_whatever_comes() {
        let mut live = Live::new("van".to_owned(), Vec::new());
        let mut gone = Vec::new();
        for number in 0..1000_u64 {
            let text = number.to_string();
            let (at, seconds, doubt, fate) = (None, 0.0, String::new(), Fate::Offered);
            gone.extend(live.settled(Set { number, at, seconds, text: text.clone(), doubt, fate }));
            live.say(None, &text);
        }
        assert_eq!((live.sets.len(), live.said.len(), live.offered()), (SETS, LINES, SETS));
        assert_eq!(gone.len(), 1000 - SETS);
        assert_eq!((live.sets[0].number, live.said[0].1.as_str()), (999, "999"));
        live.becomes(999, Fate::Entered(4));
        live.becomes(1, Fate::Entered(5));
        assert_eq!(live.offered(), SETS - 1);
    }
}
