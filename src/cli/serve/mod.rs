//! `oddpot serve`: the guided session on a phone or a tablet.
//!
//! Sockets, threads, the clock and randomness; what a request may do and what a page says stands in
//! `crate::serve`, what is asked in `crate::session`. Nothing is judged here.

mod app;
mod basis;
mod bench;
mod crowd;
mod lan;
mod live;
mod logs;
mod shelf;
mod table;
mod wire;

use std::io::BufRead as _;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::thread;
use std::time::Duration;

use serde_json::json;

use self::app::App;
use self::basis::Basis;
use self::crowd::Crowd;
use self::lan::Lan;
use self::live::{Asked, Ready};
use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::watch::Manner;
use super::{complain, harmless, print};
use crate::serve::{Gate, qr};

/// The port where nobody said another.
const PORT: u16 = 8137;

/// Ask the way through a job on a phone or tablet at the engine
///
/// Serves the session that `oddpot` holds on a terminal as a page: the same questions in the same order,
/// the same jobs, a card to print. The page is on this computer alone unless `--lan` says otherwise. It
/// prints an address with a key; the key lets one device in and is then spent. Enter gives out another,
/// and so does the page itself. Several may work on one job: each sees what the others enter. With
/// `--watch` a log is followed as `oddpot watch` does: its displays are on the page while the engine runs,
/// every page says STOP at once, and what has settled is entered by a press. It goes on until Ctrl-C;
/// everything that was entered is in the job by then.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot serve
  oddpot serve --lan
  oddpot serve --lan --watch run.csv --job van
  oddpot serve --lan 192.0.2.7 --port 8200")]
pub(super) struct Args {
    /// Also serve the workshop's network, at this computer's address in it [default: the one it goes out by]
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, default_missing_value = "auto")]
    lan: Option<Lan>,
    /// Port to listen on; 0 takes any that is free
    #[arg(long, value_name = "N", default_value_t = PORT)]
    port: u16,
    /// Minutes without use after which a session ends
    #[arg(long, value_name = "MINUTES", default_value_t = 60, value_parser = clap::value_parser!(u16).range(1..))]
    idle: u16,
    /// Follow a log and show it on the page; `-` for standard input, `tcp:HOST:PORT` for a connection
    #[arg(long = "watch", value_name = "SOURCE", requires = "job")]
    source: Option<String>,
    /// Job of the store whose engine runs
    #[arg(long, value_name = "JOB", requires = "source")]
    job: Option<String>,
    #[command(flatten)]
    manner: Manner,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    let basis = Basis::new(context)?;
    let ready = asked(args, &basis)?.map(|asked| Ready::new(context, &basis, asked)).transpose()?;
    let lan = args.lan.as_ref().map(Lan::address).transpose()?;
    let here = listen(IpAddr::V4(Ipv4Addr::LOCALHOST), args.port)?;
    let port = port_of(&here)?;
    let mut hosts = vec![format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    let mut listeners = vec![here];
    let mut shown = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
    if let Some(address) = lan {
        listeners.push(listen(address, port)?);
        shown = SocketAddr::from((address, port));
        hosts.push(shown.to_string());
    }
    let store = basis.store();
    let idle = u64::from(args.idle) * 60;
    // Standard input is the log, or where Enter is pressed.
    let typed = args.source.as_deref() != Some("-");
    let app = App::new(basis.clone(), Gate::new(hosts), shown, lan.is_none(), idle);
    let app = Arc::new(app.beside(ready.as_ref().map(Ready::board)));
    if !context.json {
        say(&format!("The jobs in {} are on this page:\n", store.display()));
        if let Some(ready) = &ready {
            say(&harmless::plain(&ready.said()));
        }
    }
    give(context, &app)?;
    if let Some(ready) = ready {
        ready.start(context.json, basis)?;
    }
    let crowd = Arc::new(Crowd::default());
    let mut doors = Vec::new();
    for listener in listeners {
        let (app, crowd) = (app.clone(), crowd.clone());
        doors.push(started(
            thread::Builder::new().spawn(move || wire::admit(&listener, &app, &crowd)),
        )?);
    }
    let swept = app.clone();
    started(thread::Builder::new().spawn(move || {
        loop {
            thread::sleep(Duration::from_secs(20));
            swept.sweep();
        }
    }))?;
    // Enter gives out another key; where nobody can type, the page does.
    let mut line = String::new();
    while typed && std::io::stdin().lock().read_line(&mut line).is_ok_and(|read| read > 0) {
        line.clear();
        give(context, &app)?;
    }
    for door in doors {
        // It never comes back but by a fault of its own.
        let _ = door.join();
    }
    Err(Failure::file("the page is no longer served: its socket was lost"))
}

/// The log that is to be followed.
fn asked(args: &Args, basis: &Basis) -> Result<Option<Asked>, Failure> {
    let Some((source, job)) = args.source.clone().zip(args.job.clone()) else {
        if args.manner.log.said() {
            return Err(Failure::usage("how a log is written was said, and no log to follow")
                .hint("`--watch SOURCE` says which"));
        }
        return Ok(None);
    };
    shelf::named(&job, &basis.store()).map_err(Failure::usage)?;
    Ok(Some(Asked { source, job, manner: args.manner.clone() }))
}

/// Gives out a key, as an address and as a code to scan.
fn give(context: &Context, app: &App) -> Result<(), Failure> {
    let address = app.invite().map_err(Failure::file)?;
    if context.json {
        let document = json!({"event": "key", "address": address});
        say(&format!("{}\n", harmless::document(&document.to_string())));
        return Ok(());
    }
    let code = if app.is_alone() { String::new() } else { qr::lines(&address).join("\n") + "\n" };
    say(&format!(
        "\n  {address}\n\n{code}It lets one device in. Enter gives out another key, Ctrl-C ends it all.\n"
    ));
    Ok(())
}

fn say(text: &str) {
    if let Err(error) = print(text) {
        // Whoever read it is gone; the page is served on.
        complain(&format!("note: could not print: {error}\n"));
    }
}

fn started<T>(thread: std::io::Result<T>) -> Result<T, Failure> {
    thread.map_err(|error| Failure::file(format!("could not start a thread: {error}")))
}

fn listen(address: IpAddr, port: u16) -> Result<TcpListener, Failure> {
    TcpListener::bind((address, port)).map_err(|error| {
        let at = SocketAddr::from((address, port));
        Failure::file(format!("could not listen at {at}: {error}"))
            .hint("`--port N` takes another port, `--port 0` any that is free")
    })
}

fn port_of(listener: &TcpListener) -> Result<u16, Failure> {
    let address = listener.local_addr();
    let address = address.map_err(|error| Failure::file(format!("could not listen: {error}")))?;
    Ok(address.port())
}

/// Random letters for a key or a token.
fn drawn() -> Result<String, String> {
    let mut bytes = [0; crate::serve::keys::BYTES];
    getrandom::fill(&mut bytes).map_err(|error| {
        format!("this computer gives no random numbers, so no key can be made: {error}")
    })?;
    Ok(measure::hexadecimal::hexadecimal(&bytes))
}
