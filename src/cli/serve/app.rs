//! What each request comes to: who may ask, and which session answers.

use std::collections::BTreeMap;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use super::basis::Basis;
use super::drawn;
use super::live::Board;
use super::table::{Given, Seen, Table, meanwhile};
use crate::serve::keys::Device;
use crate::serve::limits::{PATIENCE, SESSIONS};
use crate::serve::page::{self, Around};
use crate::serve::{Admitted, Form, Gate, Keys, Reply, Request, Route};
use crate::session::Purpose;

/// Everything that is shared between connections.
pub(super) struct App {
    pub(super) basis: Basis,
    /// The log that is followed.
    pub(super) board: Option<Arc<Board>>,
    gate: Gate,
    /// The address that is given out.
    shown: SocketAddr,
    /// On this computer alone.
    alone: bool,
    /// Without use for so long a session ends, s.
    idle: u64,
    started: Instant,
    keys: Mutex<Keys>,
    tables: Mutex<BTreeMap<Device, Arc<Table>>>,
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[expect(clippy::disallowed_methods, reason = "how long a session was not used")]
fn now() -> Instant {
    Instant::now()
}

impl App {
    pub(super) fn new(basis: Basis, gate: Gate, shown: SocketAddr, alone: bool, idle: u64) -> Self {
        let (keys, tables) = Default::default();
        Self { basis, board: None, gate, shown, alone, idle, started: now(), keys, tables }
    }

    /// The same beside a log that is followed.
    pub(super) fn beside(self, board: Option<Arc<Board>>) -> Self {
        Self { board, ..self }
    }

    /// Seconds since the start.
    fn seconds(&self) -> u64 {
        now().saturating_duration_since(self.started).as_secs()
    }

    /// The page is on this computer alone.
    pub(super) fn is_alone(&self) -> bool {
        self.alone
    }

    /// The cookie's name; browsers keep cookies by host, whatever the port.
    fn cookie(&self) -> String {
        format!("oddpot-{}", self.shown.port())
    }

    /// Gives out a key, as the address that carries it.
    pub(super) fn invite(&self) -> Result<String, String> {
        let key = drawn()?;
        locked(&self.keys).give(&key);
        Ok(format!("http://{}/in?key={key}", self.shown))
    }

    /// Ends sessions that were not used for long.
    pub(super) fn sweep(&self) {
        self.sweep_at(self.seconds());
    }

    fn sweep_at(&self, now: u64) {
        for table in locked(&self.tables).values() {
            if now.saturating_sub(table.used()) >= self.idle {
                table.leave();
            }
        }
    }

    /// Whether a request may be answered at all, judged before its body is read; the device it comes from.
    pub(super) fn entitled(&self, request: &Request) -> Result<Option<Device>, Box<Reply>> {
        if !self.gate.host(request.host.as_deref()) {
            let to_do = "Open the address that `oddpot serve` printed.";
            return Err(refused(421, "The page is not here under that name", to_do));
        }
        if request.posts && !self.gate.origin(request.origin.as_deref(), request.host.as_deref()) {
            let to_do = "Open this page by itself and press there.";
            return Err(refused(403, "That came from another page", to_do));
        }
        if matches!(request.route, Route::Door { .. } | Route::Key) {
            return Ok(None);
        }
        let token = request.kept(&self.cookie());
        let device = token.and_then(|token| locked(&self.keys).known(token, self.seconds()));
        if device.is_none() {
            let to_do = "Ask for a key where `oddpot serve` runs, by Enter; or on a device that is in, under \
                         \"Another device\".";
            return Err(refused(403, "This device is not let in", to_do));
        }
        Ok(device)
    }

    /// Answers a request that may be answered.
    pub(super) fn answer(
        &self,
        request: &Request,
        device: Option<Device>,
        body: &[u8],
        from: IpAddr,
    ) -> Reply {
        let reply = self.answered(request, device, body, from);
        // A picture, a job or a card is not looked through for a place to put it.
        let page = reply.kind.starts_with("text/html") && reply.status != 303;
        if page { self.topped(reply, device.as_ref()) } else { reply }
    }

    fn answered(
        &self,
        request: &Request,
        device: Option<Device>,
        body: &[u8],
        from: IpAddr,
    ) -> Reply {
        let form = || Form::read(body);
        match (&request.route, device) {
            (Route::Door { key }, _) => Reply::page(200, page::door(key)),
            (Route::Key, _) => match form() {
                Ok(form) => self.admit(form.one("key").unwrap_or_default(), from),
                Err(wrong) => bad(wrong),
            },
            (Route::Nothing, _) => {
                Reply::page(404, page::refused("There is no such page", "Go back to the session."))
            }
            (Route::OtherMethod, _) => Reply::word(405, "not so\n"),
            (_, None) => Reply::word(403, ""),
            (route, Some(device)) => {
                if request.posts
                    && let Some(table) = self.table(&device)
                {
                    table.use_now(self.seconds());
                }
                match route {
                    Route::Page { find } => self.page(&device, find),
                    Route::Poll { question } => self.poll(&device, *question),
                    Route::Begin => match form() {
                        Ok(form) => self.begin(device, &form),
                        Err(wrong) => bad(wrong),
                    },
                    Route::Answer => match form() {
                        Ok(form) => self.take(&device, &form),
                        Err(wrong) => bad(wrong),
                    },
                    Route::Anew => {
                        self.table(&device).map(|table| table.anew(None));
                        Reply::on("/")
                    }
                    Route::End => {
                        self.table(&device).inspect(|table| table.leave());
                        Reply::on("/")
                    }
                    Route::Live => self.live(),
                    Route::Now { news, row, on } => self.now(*news, *row, *on),
                    Route::Enter => match form() {
                        Ok(form) => self.enter(&form),
                        Err(wrong) => bad(wrong),
                    },
                    Route::Led => self.led(),
                    Route::Forget => self.forget(&device),
                    Route::Card => self.card(&device),
                    Route::File => self.file(&device),
                    Route::TakeInPage => Reply::page(200, page::take_in(None)),
                    Route::TakeIn => self.take_in(&request.kind, body),
                    Route::Photos => self.photos(&device, None),
                    Route::Photo { entry, number } => self.photo(&device, *entry, *number),
                    Route::KeepPhoto => self.keep_photo(&device, &request.kind, body),
                    Route::LogPage => self.log_page(&device),
                    Route::TakeLog => self.take_log(&device, &request.kind, body),
                    Route::InvitePage => Reply::page(200, page::invite(None, self.alone)),
                    Route::Invite => match self.invite() {
                        Ok(address) => Reply::page(200, page::invite(Some(&address), self.alone)),
                        Err(problem) => bad(&problem),
                    },
                    Route::Door { .. } | Route::Key | Route::Nothing | Route::OtherMethod => {
                        Reply::word(404, "")
                    }
                }
            }
        }
    }

    pub(super) fn table(&self, device: &Device) -> Option<Arc<Table>> {
        locked(&self.tables).get(device).cloned()
    }

    fn admit(&self, key: &str, from: IpAddr) -> Reply {
        let token = match drawn() {
            Ok(token) => token,
            Err(problem) => return bad(&problem),
        };
        let admitted = locked(&self.keys).admit(key, &token, from, self.seconds());
        match admitted {
            Admitted::In(_) => {
                let cookie = Some(format!("{}={token}", self.cookie()));
                Reply { cookie, ..Reply::on("/") }
            }
            Admitted::Wrong => {
                let to_do = "A key lets one device in and is then spent; a newer one puts an older one out of \
                             use. Press Enter where `oddpot serve` runs for another.";
                Reply::page(403, page::refused("That key is not good, or not any more", to_do))
            }
            Admitted::TooMany => {
                let to_do = "So many were wrong that none is looked at now. Wait a minute, then use a new one.";
                Reply::page(429, page::refused("Too many wrong keys", to_do))
            }
        }
    }

    fn page(&self, device: &Device, find: &str) -> Reply {
        let Some(table) = self.table(device) else { return Reply::page(200, page::begin(None)) };
        let mut seen = table.see(PATIENCE);
        if let Seen::Waits(parked) = &seen
            && parked.rest
            && self.meanwhile(&table) > 0
            && table.anew(Some(parked.number)) == Given::Taken
        {
            seen = table.see(PATIENCE);
        }
        self.seen(&table, seen, find, None)
    }

    fn seen(&self, table: &Table, seen: Seen, find: &str, wrong: Option<&str>) -> Reply {
        match seen {
            Seen::Working => Reply::page(200, page::working()),
            Seen::Ended(said) => Reply::page(200, page::begin(Some(&said))),
            Seen::Waits(parked) => {
                let meanwhile = self.meanwhile(table);
                let status = if wrong.is_some() { 400 } else { 200 };
                let own = |board: &&Arc<Board>| {
                    parked.bench.as_ref().is_some_and(|bench| bench.name == board.job())
                };
                let live = self.board.as_ref().filter(own).map(|board| board.live());
                let around = Around { wrong, meanwhile, find, live: live.as_ref() };
                Reply::page(status, page::parked(&parked, &around))
            }
        }
    }

    fn meanwhile(&self, table: &Table) -> usize {
        table.bench().map_or(0, |bench| meanwhile(&self.basis, &bench))
    }

    /// A word for the script: whether the page is still as it is.
    fn poll(&self, device: &Device, question: u64) -> Reply {
        let Some(table) = self.table(device) else { return Reply::word(200, "other") };
        let word = match table.see(Duration::ZERO) {
            Seen::Waits(parked) if parked.number != question => "other",
            Seen::Waits(_) if self.meanwhile(&table) > 0 => "entered",
            Seen::Waits(_) => "same",
            Seen::Working | Seen::Ended(_) => "other",
        };
        Reply::word(200, word)
    }

    fn begin(&self, device: Device, form: &Form) -> Reply {
        let purpose = match form.one("for") {
            Some("commission") => Purpose::Commission,
            _ => Purpose::Complaint,
        };
        let mut tables = locked(&self.tables);
        if tables.get(&device).is_some_and(|table| !table.has_ended()) {
            return Reply::on("/");
        }
        if tables.values().filter(|table| !table.has_ended()).count() >= SESSIONS {
            let to_do = "End one on the device that has it; one that is not used ends by itself.";
            return Reply::page(
                503,
                page::refused("So many sessions are open that none can be begun", to_do),
            );
        }
        // Those of devices that are let in no more have nobody to look at them.
        tables.retain(|_, table| !table.has_ended());
        match Table::begin(&self.basis, purpose, self.seconds()) {
            Ok(table) => {
                tables.insert(device, Arc::new(table));
                Reply::on("/")
            }
            Err(error) => bad(&format!("the session could not be begun: {error}")),
        }
    }

    fn take(&self, device: &Device, form: &Form) -> Reply {
        let Some(table) = self.table(device) else { return Reply::on("/") };
        let number = form.one("n").and_then(|n| n.parse().ok()).unwrap_or(0);
        match table.answer(Some(number), form) {
            // What was answered before is not answered again: the page as it is now says more.
            Given::Taken | Given::Late => Reply::on("/"),
            Given::Wrong(wrong) => {
                let seen = table.see(PATIENCE);
                self.seen(&table, seen, "", Some(wrong))
            }
        }
    }

    fn forget(&self, device: &Device) -> Reply {
        locked(&self.keys).forget(device);
        if let Some(table) = locked(&self.tables).remove(device) {
            table.leave();
        }
        let cookie = Some(format!("{}=; Max-Age=0", self.cookie()));
        let to_do = "What was entered is kept. A new key lets it in again.";
        Reply {
            cookie,
            ..Reply::page(200, page::refused("This device is not let in any more", to_do))
        }
    }
}

fn refused(status: u16, what: &str, to_do: &str) -> Box<Reply> {
    Box::new(Reply::page(status, page::refused(what, to_do)))
}

pub(super) fn no_job() -> Reply {
    let to_do = "Choose a job in the session first.";
    Reply::page(409, page::refused("There is no job on the bench", to_do))
}

pub(super) fn bad(problem: &str) -> Reply {
    Reply::page(400, page::refused("That could not be done", problem))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::context::Context;

    #[test]
    fn a_session_that_is_not_used_ends_and_nothing_is_lost_by_it() {
        let folder = tempfile::tempdir().expect("a folder");
        let jobs = Some(folder.path().to_owned());
        let context = Context { jobs, ..Context::for_tests() };
        let basis = Basis::new(&context).expect("a basis");
        let here = SocketAddr::from(([127, 0, 0, 1], 8137));
        let app = App::new(basis, Gate::new([here.to_string()]), here, true, 3600);
        let device = [7; 32];
        assert_eq!(app.begin(device, &Form::default()).status, 303);
        let table = app.table(&device).expect("a session");
        app.sweep_at(table.used() + 3599);
        let Seen::Waits(parked) = table.see(PATIENCE) else { panic!("it waits") };
        app.sweep_at(table.used() + 3600);
        assert_eq!(table.answer(Some(parked.number), &Form::default()), Given::Late);
        assert!(matches!(table.see(PATIENCE), Seen::Ended(_)));
        assert!(app.page(&device, "").status == 200 && table.has_ended());
        // Another is begun in its place.
        assert_eq!(app.begin(device, &Form::default()).status, 303);
        assert!(!app.table(&device).expect("a session").has_ended());
    }
}
