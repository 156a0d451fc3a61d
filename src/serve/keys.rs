//! Who is let in: a key that is good once, traded for a token that a device keeps.
//!
//! Keys and tokens come in as they were drawn and are kept only as hashes. Wrong keys are counted by
//! address. It must not draw them, or look at a clock: times are seconds since the start.

use std::collections::BTreeMap;
use std::net::IpAddr;

use sha2::{Digest, Sha256};

use super::limits::{DEVICE_IDLE, DEVICES, TRIES, TRIES_OF_ALL, TRIES_WITHIN};

/// Random bytes of a key or a token.
pub const BYTES: usize = 16;

/// By which a device is known here; no token can be made of it.
pub type Device = [u8; 32];

/// What came of a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Admitted {
    /// It was right, is spent now, and the token is known from now on.
    In(Device),
    /// It was never right, or is spent.
    Wrong,
    /// So many were wrong that none is looked at for a while.
    TooMany,
}

/// The key that is out, the devices that are in, and the wrong keys of late.
#[derive(Debug, Default)]
pub struct Keys {
    out: Option<Device>,
    /// When each device was last used.
    devices: BTreeMap<Device, u64>,
    /// Since when wrong keys are counted, and those of each address.
    since: u64,
    wrong: BTreeMap<IpAddr, u32>,
    all: u32,
}

fn hash(text: &str) -> Device {
    Sha256::digest(text.as_bytes()).into()
}

impl Keys {
    /// Gives out a key; one that was out before is good no more.
    pub fn give(&mut self, key: &str) {
        self.out = Some(hash(key));
    }

    /// Whether a key is out that nobody has used.
    #[must_use]
    pub fn is_out(&self) -> bool {
        self.out.is_some()
    }

    /// Trades a key for a token.
    pub fn admit(&mut self, key: &str, token: &str, from: IpAddr, now: u64) -> Admitted {
        if now.saturating_sub(self.since) >= TRIES_WITHIN {
            (self.since, self.all) = (now, 0);
            self.wrong.clear();
        }
        let of_one = self.wrong.get(&from).copied().unwrap_or(0);
        if of_one >= TRIES || self.all >= TRIES_OF_ALL {
            return Admitted::TooMany;
        }
        // Hashes are compared, so that the time it takes says nothing of the key.
        if self.out != Some(hash(key)) {
            self.all += 1;
            self.wrong.insert(from, of_one + 1);
            return Admitted::Wrong;
        }
        self.out = None;
        self.devices.retain(|_, used| now.saturating_sub(*used) < DEVICE_IDLE);
        if self.devices.len() >= DEVICES {
            let oldest = self.devices.iter().min_by_key(|(_, used)| **used).map(|(d, _)| *d);
            oldest.map(|device| self.devices.remove(&device));
        }
        let device = hash(token);
        self.devices.insert(device, now);
        Admitted::In(device)
    }

    /// The device that a token belongs to, used now.
    pub fn known(&mut self, token: &str, now: u64) -> Option<Device> {
        let device = hash(token);
        let used = self.devices.get_mut(&device)?;
        if now.saturating_sub(*used) >= DEVICE_IDLE {
            self.devices.remove(&device);
            return None;
        }
        *used = now;
        Some(device)
    }

    /// Lets a device in no more.
    pub fn forget(&mut self, device: &Device) {
        self.devices.remove(device);
    }

    /// The devices that are in.
    #[must_use]
    pub fn devices(&self) -> usize {
        self.devices.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HERE: IpAddr = IpAddr::V4(std::net::Ipv4Addr::LOCALHOST);

    fn address(n: u8) -> IpAddr {
        IpAddr::from([192, 0, 2, n])
    }

    #[test]
    fn a_key_is_good_once_and_the_token_stays() {
        let mut keys = Keys::default();
        assert_eq!(keys.admit("", "t", HERE, 0), Admitted::Wrong);
        keys.give("first");
        keys.give("second");
        assert_eq!(keys.admit("first", "t", HERE, 1), Admitted::Wrong);
        let Admitted::In(device) = keys.admit("second", "t", HERE, 2) else { panic!("let in") };
        assert_eq!(keys.admit("second", "u", HERE, 3), Admitted::Wrong);
        assert_eq!(keys.known("t", 4), Some(device));
        assert_eq!((keys.known("u", 4), keys.known("second", 4)), (None, None));
        keys.forget(&device);
        assert_eq!(keys.known("t", 5), None);
    }

    #[test]
    fn wrong_keys_are_bounded_by_address_and_altogether() {
        let mut keys = Keys::default();
        keys.give("right");
        for _ in 0..TRIES {
            assert_eq!(keys.admit("guess", "t", address(1), 0), Admitted::Wrong);
        }
        assert_eq!(keys.admit("right", "t", address(1), 1), Admitted::TooMany);
        // Another address is not hindered by it, until all together were too many.
        for n in 2..20 {
            for _ in 0..TRIES {
                keys.admit("guess", "t", address(n), 1);
            }
        }
        assert_eq!(keys.admit("right", "t", address(99), 2), Admitted::TooMany);
        assert!(matches!(keys.admit("right", "t", address(1), TRIES_WITHIN), Admitted::In(_)));
    }

    #[test]
    fn devices_are_bounded_and_those_unused_go() {
        let mut keys = Keys::default();
        for n in 0..=DEVICES {
            keys.give("k");
            let token = n.to_string();
            assert!(matches!(keys.admit("k", &token, HERE, n as u64), Admitted::In(_)));
        }
        assert_eq!(keys.devices(), DEVICES);
        assert_eq!(keys.known("0", 20), None);
        assert!(keys.known("1", 20).is_some());
        assert_eq!(keys.known("1", 20 + DEVICE_IDLE), None);
    }
}
