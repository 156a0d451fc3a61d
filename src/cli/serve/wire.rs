//! Bytes from and to a socket, all of it bounded in size and in time.
//!
//! One request a connection: nothing of one can be taken for the next.

use std::io::{self, ErrorKind, Read as _, Write as _};
use std::net::{IpAddr, Shutdown, TcpListener, TcpStream};
use std::sync::Arc;
use std::thread;
use std::time::{Duration, Instant};

use super::app::App;
use super::crowd::{Crowd, Place};
use crate::serve::limits::{FORM, HEAD, TAKEN, WHOLE, WHOLE_UPLOAD};
use crate::serve::request::Refused;
use crate::serve::{Reply, Request, page};

/// After a connection that could not be taken, so that a computer without room is not kept busy by it.
const BREATH: Duration = Duration::from_millis(50);

/// Of a connection's thread: a card is made on it.
const STACK: usize = 8 * 1024 * 1024;

/// Takes connections for ever.
pub(super) fn admit(listener: &TcpListener, app: &Arc<App>, crowd: &Arc<Crowd>) {
    for stream in listener.incoming() {
        let Ok(stream) = stream else {
            thread::sleep(BREATH);
            continue;
        };
        let Ok(from) = stream.peer_addr().map(|address| address.ip()) else { continue };
        let Some(number) = crowd.enter(&stream, from) else { continue };
        let (app, one) = (app.clone(), crowd.clone());
        let taken = thread::Builder::new().stack_size(STACK).spawn(move || {
            let place = one.place(number);
            // Whoever went away needs no answer.
            let _ = connection(stream, from, &app, &place);
        });
        if taken.is_err() {
            drop(crowd.place(number));
            thread::sleep(BREATH);
        }
    }
}

#[expect(clippy::disallowed_methods, reason = "how long a request may take")]
fn now() -> Instant {
    Instant::now()
}

fn connection(mut stream: TcpStream, from: IpAddr, app: &App, place: &Place<'_>) -> io::Result<()> {
    stream.set_nodelay(true)?;
    let reply = match heard(&mut stream, from, app, place) {
        Ok(reply) => reply,
        Err(error) if matches!(error.kind(), ErrorKind::TimedOut | ErrorKind::WouldBlock) => {
            Reply::word(408, "too slow\n")
        }
        Err(error) => return Err(error),
    };
    place.heard();
    let until = now() + TAKEN;
    let mut bytes = reply.head().into_bytes();
    bytes.extend_from_slice(&reply.body);
    let mut left = bytes.as_slice();
    while !left.is_empty() {
        stream.set_write_timeout(Some(remaining(until)?))?;
        let sent = stream.write(left)?;
        left = &left[sent..];
    }
    stream.shutdown(Shutdown::Write)?;
    // What was sent and not read would make the system throw the answer away.
    let until = now() + Duration::from_millis(500);
    let mut sink = [0; 4096];
    for _ in 0..FORM / sink.len() {
        stream.set_read_timeout(Some(remaining(until)?))?;
        if stream.read(&mut sink)? == 0 {
            break;
        }
    }
    Ok(())
}

/// What is left until a moment; an error once it has come.
fn remaining(until: Instant) -> io::Result<Duration> {
    let left = until.saturating_duration_since(now());
    if left.is_zero() { Err(ErrorKind::TimedOut.into()) } else { Ok(left) }
}

/// Reads a request and gives the answer to it.
fn heard(stream: &mut TcpStream, from: IpAddr, app: &App, place: &Place<'_>) -> io::Result<Reply> {
    let until = now() + WHOLE;
    let mut bytes = Vec::new();
    let (request, begins) = loop {
        let before = bytes.len();
        if read_some(stream, &mut bytes, HEAD, until)? == 0 {
            return Err(ErrorKind::UnexpectedEof.into());
        }
        // A head ends with a line: without one nothing new can be known.
        if !bytes[before..].contains(&b'\n') && bytes.len() < HEAD {
            continue;
        }
        match Request::read(&bytes) {
            Ok(Some(whole)) => break whole,
            Ok(None) => {}
            Err(refused) => return Ok(unread(refused)),
        }
    };
    // A stranger's body is not even read.
    let device = match app.entitled(&request) {
        Ok(device) => device,
        Err(reply) => return Ok(*reply),
    };
    let mut body = bytes.split_off(begins);
    let until = if request.length > FORM { now() + WHOLE_UPLOAD } else { until };
    if request.waits && body.len() < request.length {
        stream.set_write_timeout(Some(remaining(until)?))?;
        stream.write_all(b"HTTP/1.1 100 Continue\r\n\r\n")?;
    }
    while body.len() < request.length {
        let most = request.length;
        if read_some(stream, &mut body, most, until)? == 0 {
            return Err(ErrorKind::UnexpectedEof.into());
        }
    }
    body.truncate(request.length);
    place.heard();
    Ok(app.answer(&request, device, &body, from))
}

/// Reads what is there, up to so many bytes in all; nought at the end.
fn read_some(
    stream: &mut TcpStream,
    bytes: &mut Vec<u8>,
    most: usize,
    until: Instant,
) -> io::Result<usize> {
    let mut some = [0; 8192];
    let room = most.saturating_sub(bytes.len()).min(some.len());
    stream.set_read_timeout(Some(remaining(until)?))?;
    let read = stream.read(&mut some[..room])?;
    bytes.extend_from_slice(&some[..read]);
    Ok(read)
}

fn unread(refused: Refused) -> Reply {
    let (what, to_do) = match refused {
        Refused::Bad => ("That was no request", "Open the page again in a browser."),
        Refused::HeadTooLong => ("That request is too long", "Open the page again in a browser."),
        Refused::BodyTooLong => (
            "That is too large",
            "A job file has at most 2 MB, a photo 10 MB, a log 16 MB (`oddpot log` reads larger ones). Nothing \
             was taken.",
        ),
        Refused::NoLength => {
            ("That request does not say how long it is", "Open the page again in a browser.")
        }
    };
    Reply::page(refused.status(), page::refused(what, to_do))
}
