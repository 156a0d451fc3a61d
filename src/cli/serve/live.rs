//! The log that is followed beside the page: one thread reads it, requests look at what came of it.
//!
//! What a row comes to is `watch`'s, as at a terminal; here it is kept for pages, and what has settled is
//! entered by a press as `watch --take` enters it. Nothing is judged here.

use measure::engine::Regime;
use std::collections::BTreeMap;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::Instant;

use serde_json::{Value, json};

use super::app::{App, bad};
use super::basis::Basis;
use super::started;
use crate::cli::context::Context;
use crate::cli::failure::Failure;
use crate::cli::watch::{
    Follow, Followed, Manner, Opened, Outlet, Printer, Settled, Stands, Taken, enter, open, table,
};
use crate::serve::keys::Device;
use crate::serve::limits::{NEWS, PICTURE, WATCHING};
use crate::serve::live::{Fate, Live, OLD, Set};
use crate::serve::page::live::On;
use crate::serve::{Form, Reply, page};
use facts::knowledge::RunningPoint;
use judge::watch::{Event, Kept};

/// Of the thread that follows; a set is weighed on it.
const STACK: usize = 8 * 1024 * 1024;

struct State {
    live: Live,
    /// What each set that is shown enters.
    offers: BTreeMap<u64, Settled>,
    next: u64,
    /// The rows about the last stop.
    led: Vec<Kept>,
    /// When the last row came.
    last: Instant,
    /// Requests that wait.
    waiting: usize,
}

/// What came of a log so far, to be had from any thread.
pub(super) struct Board {
    job: String,
    state: Mutex<State>,
    changed: Condvar,
}

#[expect(clippy::disallowed_methods, reason = "how long nothing has come")]
fn now() -> Instant {
    Instant::now()
}

impl Board {
    fn new(job: &str, points: Vec<RunningPoint>) -> Self {
        let live = Live::new(job.to_owned(), points);
        let (offers, led) = Default::default();
        let state = State { live, offers, next: 1, led, last: now(), waiting: 0 };
        Self { job: job.to_owned(), state: Mutex::new(state), changed: Condvar::new() }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        // Whoever panicked with it left nothing half done that a page would not show.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn change(&self, change: impl FnOnce(&mut State)) {
        change(&mut self.state());
        self.changed.notify_all();
    }

    /// The job whose engine runs.
    pub(super) fn job(&self) -> &str {
        &self.job
    }

    /// As it is now.
    pub(super) fn live(&self) -> Live {
        shown(&self.state())
    }

    /// As it is once something was said that a page does not have, or once there is a newer row and a picture
    /// of it is due; or after a while.
    fn after(&self, news: u64, row: Option<u64>) -> Live {
        let mut state = self.state();
        if state.waiting >= WATCHING {
            return shown(&state);
        }
        state.waiting += 1;
        let wait = |state, patience, waits: &dyn Fn(&Live) -> bool| {
            let waits = |state: &mut State| waits(&state.live);
            let waited = self.changed.wait_timeout_while(state, patience, waits);
            waited.unwrap_or_else(PoisonError::into_inner).0
        };
        state = wait(state, PICTURE, &|live| live.news == news);
        let old = |live: &Live| live.news == news && row.is_none_or(|row| live.row == row);
        state = wait(state, NEWS, &old);
        state.waiting -= 1;
        shown(&state)
    }

    /// The rows about the last stop, as a CSV file.
    fn led(&self) -> Option<String> {
        let rows = self.state().led.clone();
        (!rows.is_empty()).then(|| table(&rows))
    }

    /// Enters a set, once.
    fn enter(&self, basis: &Basis, number: u64, at: Option<RunningPoint>) -> Result<(), String> {
        let set = {
            let mut state = self.state();
            let fate = state.live.sets.iter().find(|set| set.number == number).map(|set| set.fate);
            match (fate, state.offers.get(&number).cloned()) {
                (Some(Fate::Offered), Some(set)) => {
                    let set = match (set.at, at) {
                        (Some(_), _) => set,
                        (None, Some(at)) => set.said_at(at),
                        (None, None) => {
                            return Err("say at which point the engine was held".to_owned());
                        }
                    };
                    state.live.becomes(number, Fate::Entering);
                    set
                }
                // Pressed twice, or by two at once: it is entered, and once.
                (Some(_), _) => return Ok(()),
                (None, _) => {
                    return Err(
                        "these readings are not offered any more; `oddpot log` has them all"
                            .to_owned(),
                    );
                }
            }
        };
        let entered = enter(&basis.context(), &self.job, &set);
        let fate = entered.as_ref().map_or(Fate::Offered, |taken| Fate::Entered(taken.entry()));
        self.change(|state| state.live.becomes(number, fate));
        entered.map(|_| ()).map_err(|failure| failure.in_a_line())
    }
}

/// As it is, with how long nothing has come.
fn shown(state: &State) -> Live {
    let silent = now().saturating_duration_since(state.last).as_secs();
    let silent = (state.live.ended.is_none() && state.live.levels.is_some() && silent >= OLD)
        .then_some(silent);
    Live { silent, ..state.live.clone() }
}

/// What is to be followed.
pub(super) struct Asked {
    pub(super) source: String,
    pub(super) job: String,
    pub(super) manner: Manner,
}

impl Asked {
    fn followed(&self) -> Followed<'_> {
        Followed { source: &self.source, job: Some(&self.job), manner: &self.manner }
    }
}

/// A log that is open, to be followed.
pub(super) struct Ready {
    asked: Asked,
    opened: Opened,
    board: Arc<Board>,
}

impl Ready {
    /// Opens a log and looks whether it can be followed for its job.
    ///
    /// # Errors
    /// When it cannot be read, or its job cannot.
    pub(super) fn new(context: &Context, basis: &Basis, asked: Asked) -> Result<Self, Failure> {
        asked.followed().check()?;
        Follow::new(&basis.context(), asked.followed(), Printer::new(context, false))?;
        let opened = open(&asked.source, false)?;
        let points = context.knowledge()?.points;
        let points = points.settled().chain([points.of(Regime::ColdSoak)]).collect();
        let board = Arc::new(Board::new(&asked.job, points));
        Ok(Self { asked, opened, board })
    }

    /// Where pages look.
    pub(super) fn board(&self) -> Arc<Board> {
        self.board.clone()
    }

    /// What is followed, in a line.
    pub(super) fn said(&self) -> String {
        let Asked { source, job, .. } = &self.asked;
        let waited =
            if self.opened.waits { ", which is not there yet and is waited for" } else { "" };
        format!("The engine of {job} is on it too, by {source}{waited}.\n")
    }

    /// Follows it on a thread of its own.
    ///
    /// # Errors
    /// When there is none to be had.
    pub(super) fn start(self, json: bool, basis: Basis) -> Result<(), Failure> {
        let Self { asked, opened, board } = self;
        let thread = thread::Builder::new().name("watch".to_owned()).stack_size(STACK);
        started(thread.spawn(move || {
            let context = Context { json, ..basis.context() };
            let outlet = Shown { board: &board, printer: Printer::new(&context, false) };
            let ended = Follow::new(&context, asked.followed(), outlet)
                .and_then(|follow| follow.until_over(opened.rows));
            let said = match ended {
                Ok(seen) => seen.said(),
                Err(failure) => failure.in_a_line(),
            };
            let text = format!("nothing more comes from {}: {said}", asked.source);
            let document = json!({"event": "end", "text": said});
            Printer::new(&context, false).says(None, &text, &document);
            board.change(|state| {
                state.live.ended = Some(said);
                state.live.say(None, &text);
            });
        }))
        .map(|_| ())
    }
}

/// Pages, and the terminal beside them.
struct Shown<'a> {
    board: &'a Board,
    printer: Printer,
}

impl Shown<'_> {
    fn offer(&self, set: &Settled, fate: Fate) {
        self.board.change(|state| {
            let number = state.next;
            state.next += 1;
            state.offers.insert(number, set.clone());
            let gone = state.live.settled(Set {
                number,
                at: set.at,
                seconds: set.to,
                text: set.text(),
                doubt: set.doubt.to_owned(),
                fate,
            });
            for number in gone {
                state.offers.remove(&number);
            }
        });
    }
}

impl Outlet for Shown<'_> {
    fn says(&mut self, seconds: Option<f64>, text: &str, document: &Value) {
        self.printer.says(seconds, text, document);
        self.board.change(|state| state.live.say(seconds, text));
    }

    fn event(&mut self, event: &Event, seconds: Option<f64>, text: &str) {
        // Whoever looks at a page is told before the terminal is.
        self.board.change(|state| state.live.event(event, seconds, text));
        self.printer.event(event, seconds, text);
    }

    fn settled(&mut self, set: &Settled, taken: Option<&Taken>) {
        self.offer(set, taken.map_or(Fate::Offered, |taken| Fate::Entered(taken.entry())));
        self.printer.settled(set, taken);
    }

    fn refused(&mut self, set: &Settled, seconds: Option<f64>, failure: &Failure) {
        self.offer(set, Fate::Offered);
        self.board.change(|state| state.live.say(seconds, &failure.in_a_line()));
        self.printer.refused(set, seconds, failure);
    }

    fn stands(&mut self, stands: &Stands<'_>) {
        let Stands { levels, hold, scale, .. } = *stands;
        let Some(levels) = levels() else { return };
        self.board.change(|state| {
            let before = state.live.row;
            state.live.stands(levels, hold, scale);
            if state.live.row != before {
                state.last = now();
            }
        });
    }

    fn led(&mut self, rows: &[Kept]) {
        self.board.change(|state| {
            state.led = rows.to_vec();
            state.live.led = true;
        });
    }
}

impl App {
    /// The page of the engine that runs.
    pub(super) fn live(&self) -> Reply {
        self.board
            .as_ref()
            .map_or_else(none, |board| Reply::page(200, page::live::page(&board.live(), None)))
    }

    /// The same in parts, once there is something new.
    pub(super) fn now(&self, news: u64, row: u64, on: On) -> Reply {
        let Some(board) = &self.board else { return none() };
        let live = board.after(news, (on != On::Other).then_some(row));
        Reply { kind: "text/html; charset=utf-8", ..Reply::word(200, &page::live::now(&live, on)) }
    }

    /// Enters readings that have settled.
    pub(super) fn enter(&self, form: &Form) -> Reply {
        let Some(board) = &self.board else { return none() };
        let number = form.one("n").and_then(|n| n.parse().ok()).unwrap_or(0);
        let points = board.live().points;
        let at =
            form.one("at").and_then(|at| points.into_iter().find(|point| point.as_str() == at));
        match board.enter(&self.basis, number, at) {
            Ok(()) => Reply::on(On::read(form.one("on").unwrap_or_default()).address()),
            Err(wrong) => Reply::page(400, page::live::page(&board.live(), Some(&wrong))),
        }
    }

    /// What led to a stop.
    pub(super) fn led(&self) -> Reply {
        match self.board.as_ref().and_then(|board| board.led()) {
            Some(text) => {
                let file = Some("stop.csv".to_owned());
                Reply { kind: "text/csv; charset=utf-8", file, ..Reply::word(200, &text) }
            }
            None => bad("nothing had to stop so far"),
        }
    }

    /// A reply with the engine that runs at its top, for a device that is in.
    pub(super) fn topped(&self, reply: Reply, device: Option<&Device>) -> Reply {
        let Some(board) = self.board.as_ref().filter(|_| device.is_some()) else { return reply };
        match String::from_utf8(reply.body) {
            Ok(text) => {
                let body = page::live::topped(&text, &board.live()).into_bytes();
                Reply { body, ..reply }
            }
            Err(error) => Reply { body: error.into_bytes(), ..reply },
        }
    }
}

fn none() -> Reply {
    Reply::page(404, page::live::none())
}
