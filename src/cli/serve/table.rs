//! A session at a table of its own: it runs on a thread, and each question waits here for its answer.
//!
//! The asker parks what the session shows and asks; requests look at it and answer. Neither knows what is
//! asked about.

use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::Duration;

use super::basis::Basis;
use super::shelf::{Rack, named};
use crate::cli::folder::Folder;
use crate::cli::memory;
use crate::serve::parked::Line as AskedLine;
use crate::serve::{Answer, Form, Parked, Question};
use crate::session::{self, Asked, Asker, Bench, Line, Medium, Purpose, Seats, Settings, Stop};
use facts::job::store;
use pages::report::{Block, Doc, Style};

/// Characters of an option, and lines of a page: a page has room.
const WIDTH: usize = 400;
const HEIGHT: usize = 10_000;
/// Of a session's thread; the same as that of a program.
const STACK: usize = 8 * 1024 * 1024;

/// Where a session is.
#[derive(Debug)]
enum Stage {
    Working,
    Waits(Question),
    Answered(Answer),
    Ended(String),
}

/// What question comes next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Next {
    /// One on the way to an entry.
    Inner,
    /// The main one.
    Rest,
    /// The main one, and what is shown before it says where the job stands.
    RestAnew,
}

#[derive(Debug)]
struct State {
    stage: Stage,
    number: u64,
    bench: Option<Bench>,
    said: Vec<Block>,
    stands: Vec<Block>,
    next: Next,
    /// The question that waits is the main one.
    rest: bool,
    /// It is to end.
    leave: bool,
}

impl State {
    /// Neither a question to look at, nor the end.
    fn is_at_work(&self) -> bool {
        match self.stage {
            Stage::Working | Stage::Answered(_) => true,
            // One that is to end takes no answer any more.
            Stage::Waits(_) => self.leave,
            Stage::Ended(_) => false,
        }
    }
}

#[derive(Debug)]
struct Parking {
    state: Mutex<State>,
    changed: Condvar,
}

/// What there is to see of a session.
#[derive(Debug)]
pub(super) enum Seen {
    /// It waits for an answer.
    Waits(Box<Parked>),
    /// It is at work.
    Working,
    /// It has ended, with what was said then.
    Ended(String),
}

/// What became of an answer.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Given {
    /// It was taken.
    Taken,
    /// The question was answered before, or is no longer asked.
    Late,
    /// It is no answer to the question.
    Wrong(&'static str),
}

/// A session.
#[derive(Debug)]
pub(super) struct Table {
    parking: Arc<Parking>,
    /// When it was last used, s since the start.
    used: Mutex<u64>,
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    // Whoever panicked with it left nothing half done: each change is one assignment.
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Table {
    /// Begins a session.
    ///
    /// # Errors
    /// When there is no room for its thread.
    pub(super) fn begin(basis: &Basis, purpose: Purpose, now: u64) -> std::io::Result<Self> {
        let parking = Arc::new(Parking {
            state: Mutex::new(State {
                stage: Stage::Working,
                number: 0,
                bench: None,
                said: Vec::new(),
                stands: Vec::new(),
                next: Next::Inner,
                rest: false,
                leave: false,
            }),
            changed: Condvar::new(),
        });
        let mut page = Page(parking.clone());
        let basis = basis.clone();
        thread::Builder::new().stack_size(STACK).spawn(move || {
            let said = play(&basis, &mut page, purpose);
            page.end(said);
        })?;
        Ok(Self { parking, used: Mutex::new(now) })
    }

    /// What there is to see, waited for up to so long.
    pub(super) fn see(&self, patience: Duration) -> Seen {
        let state = locked(&self.parking.state);
        let working = |state: &mut State| state.is_at_work();
        let waited = self.parking.changed.wait_timeout_while(state, patience, working);
        let (state, _) = waited.unwrap_or_else(PoisonError::into_inner);
        if state.is_at_work() {
            return Seen::Working;
        }
        match &state.stage {
            Stage::Working | Stage::Answered(_) => Seen::Working,
            Stage::Ended(said) => Seen::Ended(said.clone()),
            Stage::Waits(question) => Seen::Waits(Box::new(Parked {
                number: state.number,
                bench: state.bench.clone(),
                said: state.said.clone(),
                stands: state.stands.clone(),
                rest: state.rest,
                question: question.clone(),
            })),
        }
    }

    /// Answers a question by its number.
    pub(super) fn answer(&self, number: Option<u64>, form: &Form) -> Given {
        self.give(number, |question| question.answer(form))
    }

    /// Sends the session back to where the job stands, read again.
    pub(super) fn anew(&self, number: Option<u64>) -> Given {
        self.give(number, |_| Ok(Answer::Anew))
    }

    /// Answers the question of a number, or whichever is asked.
    fn give(
        &self,
        number: Option<u64>,
        answer: impl FnOnce(&Question) -> Result<Answer, &'static str>,
    ) -> Given {
        let mut state = locked(&self.parking.state);
        let current = state.number;
        let Stage::Waits(question) = &state.stage else { return Given::Late };
        if state.leave || number.is_some_and(|number| number != current) {
            return Given::Late;
        }
        match answer(question) {
            Ok(answer) => state.stage = Stage::Answered(answer),
            Err(wrong) => return Given::Wrong(wrong),
        }
        self.parking.changed.notify_all();
        Given::Taken
    }

    /// Ends the session; what was entered is kept.
    pub(super) fn leave(&self) {
        locked(&self.parking.state).leave = true;
        self.parking.changed.notify_all();
    }

    /// It has ended.
    pub(super) fn has_ended(&self) -> bool {
        matches!(locked(&self.parking.state).stage, Stage::Ended(_))
    }

    /// Notes that it was used.
    pub(super) fn use_now(&self, now: u64) {
        *locked(&self.used) = now;
    }

    /// When it was last used.
    pub(super) fn used(&self) -> u64 {
        *locked(&self.used)
    }

    /// The job on the bench.
    pub(super) fn bench(&self) -> Option<Bench> {
        locked(&self.parking.state).bench.clone()
    }
}

/// Runs the session to its end, and says how it ended.
fn play(basis: &Basis, page: &mut Page, purpose: Purpose) -> String {
    let context = basis.context();
    let memory = match memory::used(&context) {
        Ok(memory) => memory,
        Err(failure) => return failure.in_a_line(),
    };
    let mut rack = Rack { folder: Folder { context: &context, store: basis.store(), memory } };
    let now = || context.time();
    let settings = Settings {
        scale: context.scale(),
        scale_said: context.units.is_some(),
        width: WIDTH,
        height: HEIGHT,
        style: Style::Plain,
        now: &now,
        local: &context.local,
        again: "oddpot serve",
        purpose,
        medium: Medium::Page,
    };
    let ended = session::run(basis.knowledge(), &mut rack, page, settings);
    // Jobs may have been closed, and opened again.
    let learned = memory::note_all(&context).map_or_else(String::new, |said| format!(" {said}"));
    format!("{}{learned}", ended.said)
}

/// So many entries of a job are there that a session does not know of.
pub(super) fn meanwhile(basis: &Basis, bench: &Bench) -> usize {
    let now = named(&bench.name, &basis.store()).ok().and_then(|path| store::open(&path).ok());
    now.map_or(0, |journal| journal.entries.len().saturating_sub(bench.entries))
}

/// The asker behind a page.
struct Page(Arc<Parking>);

impl Page {
    /// Parks a question and waits for its answer.
    fn ask(&mut self, question: Question) -> Asked<Answer> {
        let mut state = locked(&self.0.state);
        state.number += 1;
        state.rest = state.next != Next::Inner;
        state.next = Next::Inner;
        state.stage = Stage::Waits(question);
        self.0.changed.notify_all();
        let waits = |state: &mut State| matches!(state.stage, Stage::Waits(_)) && !state.leave;
        let mut state =
            self.0.changed.wait_while(state, waits).unwrap_or_else(PoisonError::into_inner);
        state.said.clear();
        match std::mem::replace(&mut state.stage, Stage::Working) {
            _ if state.leave => Err(Stop::Leave),
            Stage::Answered(Answer::Back) => Err(Stop::Back),
            Stage::Answered(Answer::Anew) => Err(Stop::Anew),
            Stage::Answered(answer) => Ok(answer),
            Stage::Working | Stage::Waits(_) | Stage::Ended(_) => Err(Stop::Leave),
        }
    }

    fn end(&self, said: String) {
        let mut state = locked(&self.0.state);
        if !matches!(state.stage, Stage::Ended(_)) {
            state.stage = Stage::Ended(said);
            (state.bench, state.stands) = (None, Vec::new());
        }
        self.0.changed.notify_all();
    }

    fn choice(&mut self, question: Question) -> Asked<usize> {
        match self.ask(question)? {
            Answer::Choice(index) => Ok(index),
            _ => Err(Stop::Back),
        }
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        // Where the session's thread went down, whoever waits for it is told.
        self.end(
            "The session stopped by a fault in the program. What was entered before is kept."
                .to_owned(),
        );
    }
}

impl Asker for Page {
    fn say(&mut self, text: &str) -> Asked<()> {
        let mut doc = Doc::new("");
        let lines = text.lines().filter(|line| !line.trim().is_empty());
        doc.blocks = lines.map(|line| Block::Para(line.trim().to_owned())).collect();
        self.show(&doc)
    }

    fn show(&mut self, page: &Doc) -> Asked<()> {
        let mut state = locked(&self.0.state);
        let blocks = page.blocks.iter().cloned();
        if state.next == Next::RestAnew {
            state.stands.extend(blocks);
        } else {
            state.said.extend(blocks);
        }
        Ok(())
    }

    fn bench(&mut self, bench: Option<Bench>) {
        let mut state = locked(&self.0.state);
        if bench.is_none() {
            state.stands.clear();
        }
        state.bench = bench;
    }

    fn rest(&mut self, anew: bool) {
        let mut state = locked(&self.0.state);
        state.next = if anew { Next::RestAnew } else { Next::Rest };
        if anew {
            state.stands.clear();
        }
    }

    fn more(&mut self) -> Asked<()> {
        Ok(())
    }

    fn choose(&mut self, question: &str, options: &[String], start: usize) -> Asked<usize> {
        let (question, options) = (question.to_owned(), options.to_vec());
        self.choice(Question::Choose { question, options, start, seats: None })
    }

    fn choose_seat(
        &mut self,
        question: &str,
        options: &[String],
        start: usize,
        seats: &Seats,
    ) -> Asked<usize> {
        let (question, options) = (question.to_owned(), options.to_vec());
        self.choice(Question::Choose { question, options, start, seats: Some(seats.clone()) })
    }

    fn choose_many(&mut self, question: &str, options: &[String]) -> Asked<Vec<usize>> {
        let (question, options) = (question.to_owned(), options.to_vec());
        match self.ask(Question::Many { question, options })? {
            Answer::Many(marked) => Ok(marked),
            _ => Err(Stop::Back),
        }
    }

    fn line(&mut self, line: Line<'_>) -> Asked<String> {
        let asked = AskedLine {
            question: line.question.to_owned(),
            help: line.help.to_owned(),
            default: line.default.to_owned(),
            typed: line.typed.to_owned(),
            values: line.values,
            states: line.states.iter().map(|state| (*state).to_owned()).collect(),
            below_zero: line.below_zero,
        };
        match self.ask(Question::Line(asked))? {
            Answer::Line(text) => Ok(text),
            _ => Err(Stop::Back),
        }
    }
}
