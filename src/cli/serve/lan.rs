//! The address of this computer in the workshop's network.

use std::net::{IpAddr, Ipv4Addr, UdpSocket};
use std::str::FromStr;

use crate::cli::failure::Failure;

/// What was said after `--lan`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Lan {
    /// Nothing: the address by which the computer goes out.
    Auto,
    /// This one.
    Address(IpAddr),
}

impl FromStr for Lan {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        if text == "auto" {
            return Ok(Self::Auto);
        }
        let address: IpAddr = text.parse().map_err(|_| {
            "expected an address of this computer, as 192.0.2.7; or leave it out".to_owned()
        })?;
        if address.is_unspecified() || address.is_multicast() || address.is_loopback() {
            return Err(
                "that is no address of this computer in a network: expected one as 192.0.2.7"
                    .to_owned(),
            );
        }
        Ok(Self::Address(address))
    }
}

impl Lan {
    /// The address.
    pub(super) fn address(&self) -> Result<IpAddr, Failure> {
        match self {
            Self::Address(address) => Ok(*address),
            Self::Auto => outward().ok_or_else(|| {
                Failure::file("this computer's address in the network was not found").hint(
                    "say it as `--lan 192.0.2.7`; `ip address` or the network settings show it",
                )
            }),
        }
    }
}

/// The address by which the computer would go out. A datagram socket that is connected sends nothing; the
/// address it is pointed at is one that is nobody's.
fn outward() -> Option<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    let address = socket.local_addr().ok()?.ip();
    (!address.is_unspecified() && !address.is_loopback()).then_some(address)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_an_address_in_a_network_is_one() {
        assert_eq!("auto".parse(), Ok(Lan::Auto));
        assert_eq!("192.0.2.7".parse(), Ok(Lan::Address(IpAddr::from([192, 0, 2, 7]))));
        for bad in ["", "0.0.0.0", "::", "127.0.0.1", "::1", "224.0.0.1", "bench", "192.0.2.7:80"] {
            assert!(bad.parse::<Lan>().is_err(), "{bad}");
        }
    }
}
