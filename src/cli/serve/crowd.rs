//! The connections that are open, so that there are never too many.
//!
//! When there are, the one that has been slowest to say what it wants has to go: slow ones cannot keep
//! others out.

use std::collections::BTreeMap;
use std::net::{IpAddr, Shutdown, TcpStream};
use std::sync::{Mutex, MutexGuard, PoisonError};

use crate::serve::limits::{CONNECTIONS, OF_ONE};

#[derive(Debug, Default)]
struct Inside {
    next: u64,
    open: BTreeMap<u64, One>,
}

#[derive(Debug)]
struct One {
    from: IpAddr,
    /// Where it can be cut; none once its request is whole, for then it is being answered.
    unheard: Option<TcpStream>,
}

/// The connections.
#[derive(Debug, Default)]
pub(super) struct Crowd(Mutex<Inside>);

/// A place among them, given back when dropped.
#[derive(Debug)]
pub(super) struct Place<'a> {
    crowd: &'a Crowd,
    number: u64,
}

impl Crowd {
    fn inside(&self) -> MutexGuard<'_, Inside> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A place for a connection, if there is one or one can be made.
    pub(super) fn enter(&self, stream: &TcpStream, from: IpAddr) -> Option<u64> {
        let unheard = stream.try_clone().ok()?;
        let mut inside = self.inside();
        let of_one = inside.open.values().filter(|one| one.from == from).count();
        if !from.is_loopback() && of_one >= OF_ONE {
            return None;
        }
        if inside.open.len() >= CONNECTIONS {
            // Numbers go up, so that the first is the oldest.
            let slowest = inside.open.iter().find(|(_, one)| one.unheard.is_some());
            let slowest = slowest.map(|(number, _)| *number)?;
            if let Some(stream) = inside.open.remove(&slowest).and_then(|one| one.unheard) {
                let _ = stream.shutdown(Shutdown::Both);
            }
        }
        let number = inside.next;
        inside.next += 1;
        inside.open.insert(number, One { from, unheard: Some(unheard) });
        Some(number)
    }

    /// The place of a connection, for the thread that has it.
    pub(super) fn place(&self, number: u64) -> Place<'_> {
        Place { crowd: self, number }
    }
}

impl Place<'_> {
    /// The request is whole: it is answered now and no longer cut.
    pub(super) fn heard(&self) {
        if let Some(one) = self.crowd.inside().open.get_mut(&self.number) {
            one.unheard = None;
        }
    }
}

impl Drop for Place<'_> {
    fn drop(&mut self) {
        self.crowd.inside().open.remove(&self.number);
    }
}

#[cfg(test)]
mod tests {
    use std::net::TcpListener;

    use super::*;

    const FAR: IpAddr = IpAddr::V4(std::net::Ipv4Addr::new(192, 0, 2, 9));

    #[test]
    fn the_slowest_goes_when_there_are_too_many() {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let address = listener.local_addr().expect("its address");
        let stream = || TcpStream::connect(address).expect("connected");
        let here = address.ip();
        let crowd = Crowd::default();
        let held: Vec<(TcpStream, u64)> = (0..CONNECTIONS)
            .map(|_| stream())
            .map(|stream| {
                let number = crowd.enter(&stream, here).expect("a place");
                (stream, number)
            })
            .collect();
        crowd.place(held[0].1).heard();
        // A place that was only looked at is given back: it is taken again.
        let first = stream();
        assert!(crowd.enter(&first, here).is_some());
        let newcomer = stream();
        assert!(crowd.enter(&newcomer, here).is_some());
        assert!(crowd.inside().open.len() <= CONNECTIONS);
        assert!(!crowd.inside().open.contains_key(&held[1].1), "the oldest unheard one is gone");
    }

    #[test]
    fn one_address_has_a_share_only() {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
        let stream =
            TcpStream::connect(listener.local_addr().expect("its address")).expect("connected");
        let crowd = Crowd::default();
        for _ in 0..OF_ONE {
            assert!(crowd.enter(&stream, FAR).is_some());
        }
        assert!(crowd.enter(&stream, FAR).is_none());
        assert!(crowd.enter(&stream, IpAddr::from([127, 0, 0, 1])).is_some());
    }
}
